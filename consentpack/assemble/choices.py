"""The parts of the consent document about what else could be done: techniques that may become
necessary, newer techniques with the established ones beside, and other choices."""

from __future__ import annotations

from consentpack.assemble.context import Context, cell
from consentpack.assemble.figures import short_figures
from consentpack.assemble.layers import BOOKLET, HOW_SURE, WHAT_IT_IS, in_full_line, piece, stands_in_full
from consentpack.catalogues import N_
from consentpack.model import Option, Technique
from consentpack.tree import PHRASED, Body, Box, Cell, Items, Node, Paragraph, Run, Table, paragraphs, text_of
from consentpack.wording import in_sentence


def may_become_necessary(ctx: Context) -> list[Node]:
    found: list[Node] = []
    for match in ctx.matches.may_become_necessary:
        technique = ctx.library.techniques[match.id]
        found.append(ctx.heading(technique))
        found += ctx.section(technique, "What it is")
        extra = [
            Paragraph(ctx.title(ctx.library.risks[m.id]))
            for m in ctx.matches.risks
            if m.only_if_needed and m.id in technique.risks
        ]
        if extra:
            # points, not one sentence: nothing bounds their number, and their titles hold commas
            found += [ctx.para("It would add these risks to the list:"), Items(tuple(extra))]
        else:
            found.append(ctx.para("It has no risks that are not in the list in this booklet."))
    return found


def newer(ctx: Context) -> list[Node]:
    found: list[Node] = []
    for match in ctx.matches.newer:
        technique = ctx.library.techniques[match.id]
        beside = ctx.library.techniques[technique.established_alternative]
        found.append(ctx.heading(technique))
        found.append(ctx.para("This is a newer treatment. Less is known about it."))
        found += ctx.section(technique, "How sure we are")
        found.append(_beside(ctx, beside))
    found += _side_by_side(ctx)
    if ctx.plan.experience:
        found.append(
            ctx.para("How often your clinician has done it: {words}", words=ctx.own_words("experience"))
        )
    return found


def _side_by_side(ctx: Context) -> list[Node]:
    """Newer and established technique with the same denominator, where both figures may be quoted."""
    if not ctx.beside:
        return []
    lead = ctx.para("These are our own figures for the two, side by side. Other steps may differ.")
    columns = (ctx.say("What"), ctx.say("The newer one"), ctx.say("The longer-known one"))
    rows = tuple(
        (
            cell(Paragraph(ctx.title(ctx.library.outcome(each.outcome), strong=True)), head=True),
            *short_figures(ctx, each.rates),
        )
        for each in ctx.beside
        if each.rates
    )
    return [lead, Table(columns, rows, (34, 33, 33), ctx.say("Two treatments side by side."))]


def _beside(ctx: Context, established: Technique) -> Paragraph:
    title = ctx.title_text(established)
    if established.id in ctx.plan.planned:
        message = N_("The longer-known treatment is part of your plan: {title}.")
    else:
        message = N_("You can have the longer-known treatment instead: {title}. Ask us about it.")
    return ctx.para(message, title=in_sentence(title))


def options(ctx: Context) -> list[Node]:
    """Choices side by side, with what is planned first and doing nothing second; then, in a line each, those
    that there was no room for."""
    return [_side_by_side_with(ctx, moved=False), *_no_room_for(ctx), *_established(ctx)]


def choices_in_full(ctx: Context) -> list[Node]:
    """The choices that the booklet had no room for, side by side."""
    moved = any(match.id in ctx.moved(BOOKLET) for match in ctx.matches.options)
    return [_side_by_side_with(ctx, moved=True)] if moved else []


def _no_room_for(ctx: Context) -> list[Node]:
    options = [ctx.library.options[m.id] for m in ctx.matches.options if m.id in ctx.moved(BOOKLET)]
    if not options:
        return []
    lines = tuple(_what_it_is(ctx, option) for option in options)
    return [ctx.para("You can also choose:", strong=True), Items(lines), *stands_in_full(ctx)]


def both_lines(ctx: Context, option: Option) -> tuple[tuple[Cell, ...], Paragraph]:
    """A choice weighed, and in a line."""
    return _weighed(ctx, option), _what_it_is(ctx, option)


def _what_it_is(ctx: Context, option: Option) -> Paragraph:
    """A choice by name, with what it is where there is room for it."""
    title = ctx.title_text(option)
    if piece(WHAT_IT_IS, option.id) in ctx.moved(BOOKLET):
        return Paragraph((Run(title, strong=True),), scored=False)
    said = [p for node in ctx.lines(option, "What it is") for p in paragraphs(node)]
    words = ctx.words.sentences(*(text_of(p.runs) for p in said))
    runs = Run(f"{title}{ctx.words.colon}", strong=True), Run(words)
    return Paragraph(runs, said[0].source if said else PHRASED)


def _side_by_side_with(ctx: Context, *, moved: bool) -> Table:
    columns = (
        ctx.say("Your choice"),
        ctx.say("What it may gain"),
        ctx.say("What can go wrong, and what we do not know"),
    )
    there = [ctx.library.options[match.id] for match in ctx.matches.options]
    there = [option for option in there if (option.id in ctx.moved(BOOKLET)) == moved]
    rows = [*([] if moved else [_planned_row(ctx)]), *(_weighed(ctx, option) for option in there)]
    return Table(columns, tuple(rows), (34, 26, 40), ctx.say("Your choices side by side."))


def _weighed(ctx: Context, option: Option) -> tuple[Cell, ...]:
    name = Paragraph(ctx.title(option, strong=True))
    wrong = ctx.lines(option, "What can go wrong")
    return (
        cell(name, *ctx.lines(option, "What it is"), head=True),
        cell(*ctx.lines(option, "What it may gain")),
        cell(*wrong, *ctx.lines(option, "What we do not know")),
    )


def _planned_row(ctx: Context) -> tuple[Cell, ...]:
    return (
        cell(
            ctx.para("The treatment we plan", strong=True),
            ctx.para("It is set out in this booklet."),
            head=True,
        ),
        cell(ctx.para("See the part “What you may gain”.")),
        cell(ctx.para("See the part “What can go wrong”.")),
    )


def _established(ctx: Context) -> list[Node]:
    found: list[Node] = []
    for match in ctx.matches.established:
        technique = ctx.library.techniques[match.id]
        title = ctx.title_text(technique)
        said = N_("You can also choose a longer-known treatment: {title}.")
        found.append(ctx.para(said, title=in_sentence(title)))
        body = list[Body](ctx.section(technique, "What it may gain"))
        sure = piece(HOW_SURE, technique.id) not in ctx.moved(BOOKLET)
        body += ctx.section(technique, "How sure we are") if sure else [in_full_line(ctx)]
        found.append(Box(ctx.say("The longer-known way"), tuple(body)))
    return found
