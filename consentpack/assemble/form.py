"""The form to sign, as four sides: what is decided, the figures side by side, the serious harms and the other
choices. All of it stands at length in the booklet; here each thing has one line.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from consentpack.assemble import short_figures
from consentpack.assemble.consent import fresh, how_and_when, treated
from consentpack.assemble.context import Context, cell
from consentpack.assemble.layers import FORM
from consentpack.assemble.short_figures import (
    figure_groups,
    has_figure,
    is_worse,
    named,
    share_of,
    short_figure,
    starred,
    told_short,
)
from consentpack.catalogues import N_
from consentpack.match import GROUPS
from consentpack.model import Match, Technique
from consentpack.suitability import would_matter
from consentpack.talk_back import CHOICES, NO_FIGURE, choice, outcome, planned
from consentpack.tree import (
    Box,
    Cell,
    Facts,
    Items,
    Node,
    Paragraph,
    Run,
    Table,
)
from consentpack.wording import in_sentence

NAMED_CHOICES = 2
"""Other choices named in the box that states the decision; all of them stand on the form's third side."""
LINED_CHOICES = 2
"""Choices with a line of their own, doing nothing first; the others are named, and stand in the booklet."""
GAINS, COSTS = 2, 3
"""Figures of the first side: gains, then what one pays for them. All stand side by side on the next, with how
far the true number may lie."""


def decision(ctx: Context) -> list[Node]:
    """What is asked for, in a frame: by what and for what; newer steps as newer; what else there is."""
    newer = {match.id for match in ctx.matches.newer}
    body: list[Paragraph | Facts] = [
        _planned(ctx, technique, first=not place, newer=technique.id in newer)
        for place, technique in enumerate(ctx.techniques(ctx.matches.techniques))
    ]
    body.append(Facts((treated(ctx),)))
    body += [Paragraph((Run(said),)) for said in _may_become_necessary(ctx, newer)]
    options = [in_sentence(ctx.title_text(ctx.library.options[m.id])) for m in ctx.matches.options]
    named = options[:NAMED_CHOICES] + ([ctx.say("more, see below")] if options[NAMED_CHOICES:] else [])
    chosen = ctx.para("You can also choose: {choices}.", choices=ctx.words.series(named))
    body.append(replace(chosen, tag=CHOICES))
    body.append(ctx.para("You can say no. You can change your mind at any time, even on the day."))
    return [Box(ctx.say("What you decide"), tuple(body))]


def _planned(ctx: Context, technique: Technique, *, first: bool, newer: bool) -> Paragraph:
    message = N_("We plan to use {what}.") if first else N_("We also plan to use {what}.")
    said = [ctx.say(message, what=ctx.phrase_of(technique))]
    said += [ctx.say("This is a newer treatment. Less is known about it.")] if newer else []
    return Paragraph((Run(ctx.words.sentences(*said), strong=True),), tag=planned(technique.id))


def plan_facts(ctx: Context) -> list[Node]:
    """How the area is numbed, when it is done and by whom: after the figures, so that these stand on the
    first screen of a phone."""
    return [Facts(how_and_when(ctx))]


def _may_become_necessary(ctx: Context, newer: set[str]) -> Iterable[str]:
    for technique in ctx.techniques(ctx.matches.may_become_necessary):
        said = ctx.say("This is a newer treatment. Less is known about it.") if technique.id in newer else ""
        name = in_sentence(ctx.title_text(technique))
        message = N_("This may also be needed on the day: {technique}. {newer}")
        yield ctx.say(message, technique=name, newer=said).rstrip()


def gains_and_costs(ctx: Context) -> list[Node]:
    """What it may do beside what it may cost, so that neither is read alone; every serious harm by name."""
    columns = ctx.say("What it may do for you"), ctx.say("What it may cost you")
    row = cell(_gains(ctx)), cell(Items(tuple(_line(ctx, id) for id in _cost_ids(ctx))))
    both = Table(columns, (row,), (50, 50), ctx.say("What you may gain, beside what can go wrong."))
    serious = [ctx.title_text(ctx.library.risks[match.id]) for match in serious_harms(ctx)]
    return [both, *([named(ctx, ctx.say("What may happen that is serious"), serious)] if serious else [])]


def _gains(ctx: Context) -> Items:
    """The gains the treatment is for, and that it may not bring them, with their figures: that one begins
    with a 'but', or it is read as one more gain."""
    wanted = [_line(ctx, id) for id in _gain_ids(ctx)]
    return Items((*wanted, *(_line(ctx, id, but=True) for id in _may_not_ids(ctx))))


def _gain_ids(ctx: Context) -> list[str]:
    return [match.id for match in ctx.matches.benefits[:GAINS]]


def _may_not_ids(ctx: Context) -> list[str]:
    return [match.id for match in ctx.matches.risks if match.id in ctx.library.field.may_not_work]


def _cost_ids(ctx: Context) -> list[str]:
    """What is seen most, and what is seen more than elsewhere."""
    shown = [id for id in _by_frequency(ctx) if ctx.library.risks[id].group != "serious"]
    shown = [id for id in shown if id not in ctx.library.field.may_not_work]
    most, others = shown[:COSTS], shown[COSTS:]
    return [*most, *(id for id in others if is_worse(ctx, id))]


def _by_frequency(ctx: Context) -> list[str]:
    """Harms of what is planned that somebody had, the most frequent first, told as a share or as a count: a
    study's one in a hundred must not stand before half of our own."""
    planned = [match.id for match in ctx.matches.risks if not match.only_if_needed]
    return sorted((id for id in planned if share_of(ctx, id) > 0), key=lambda id: -share_of(ctx, id))


def _line(ctx: Context, id: str, *, but: bool = False) -> Paragraph:
    """An outcome by name, with its figure where there is one."""
    name = ctx.title_text(ctx.library.outcome(id))
    title = Run(ctx.say("But {what}", what=in_sentence(name)) if but else name, strong=True)
    figure = Run(f"{ctx.words.colon}{told_short(ctx, ctx.rates[id], ranged=False)}")
    return Paragraph((title, figure), scored=False, tag=outcome(id))


def happens_in_short(ctx: Context) -> list[Node]:
    """What each planned technique is, in the words of the booklet.

    Of more than `TOLD_IN_FULL` techniques two paragraphs stay here, the first and the last that says
    something strongly; the others stand in the booklet alone, and what is serious in its own table.
    """
    said: set[str] = set()
    found: list[Node] = []
    techniques = ctx.techniques(ctx.matches.techniques)
    for technique in techniques:
        told = [b for b in fresh(ctx.section(technique, "What it is"), said) if isinstance(b, Paragraph)]
        if len(techniques) > TOLD_IN_FULL:
            strong = [b for b in told if any(run.strong for run in b.runs)]
            told = [b for b in told if b is told[0] or b in strong[-1:]]
        found += told
    return found


TOLD_IN_FULL = 3
"""Techniques that the form has room to tell of in full."""


def tell_us_if(ctx: Context) -> list[Node]:
    """Circumstances with which a rule of suitability would speak, and those the plan knows of already."""
    there = set(ctx.plan.factors)
    others = (factor for id, factor in ctx.library.factors.items() if id not in there)
    asked = [ctx.title_text(factor) for factor in would_matter(others, ctx.plan, ctx.library)]
    known = [ctx.title_text(ctx.library.factors[match.id]) for match in ctx.matches.factors]
    found: list[Node] = []
    if asked:
        found.append(_unscored(ctx.words.sentence(ctx.words.series(asked))))
    if known:
        found.append(named(ctx, ctx.say("What we know about you"), known))
    return found


def _unscored(words: str) -> Paragraph:
    """Names in a row: no sentence to be read."""
    return Paragraph((Run(words),), scored=False)


def serious_harms(ctx: Context) -> list[Match]:
    return [m for m in ctx.matches.risks if ctx.library.risks[m.id].group == "serious"]


def serious_table(ctx: Context) -> list[Node]:
    """Every serious harm, a line each, with its figure and what may last. None is ever moved."""
    rows = tuple(_serious_row(ctx, match) for match in serious_harms(ctx))
    if not rows:
        return []
    columns = (ctx.say("What it is"), ctx.say("How many"), ctx.say("How long it lasts"))
    return [Table(columns, rows, (28, 27, 45), ctx.say("What may happen that is serious"))]


def _serious_row(ctx: Context, match: Match) -> tuple[Cell, ...]:
    risk = ctx.library.risks[match.id]
    lasts = [each for each in ctx.lines(risk, "How long it lasts") if isinstance(each, Paragraph)]
    needed = [ctx.para("Only if we need more on the day.")] if match.only_if_needed else []
    return (
        cell(Paragraph(ctx.title(risk, strong=True), tag=outcome(risk.id)), *needed, head=True),
        cell(*short_figure(ctx, ctx.rates[match.id])),
        cell(*lasts[:1]),
    )


def without_figure(ctx: Context) -> list[Node]:
    """Harms that are not serious and of which nothing was counted, by name."""
    names = [
        in_sentence(ctx.title_text(ctx.library.risks[match.id]))
        for group in GROUPS
        if group != "serious"
        for match in ctx.matches.risks
        if ctx.library.risks[match.id].group == group and not has_figure(ctx, match.id)
    ]
    if not names:
        return []
    label = ctx.say("What may also happen, with no figure")
    without = replace(named(ctx, label, names), tag=NO_FIGURE)
    return [without, ctx.para("That does not mean it cannot happen.")]


def choices_in_line(ctx: Context) -> list[Node]:
    """Choices side by side, the planned one first, doing nothing second; what has no line is named."""
    columns = (ctx.say("Your choice"), ctx.say("What it may gain"), ctx.say("What can go wrong"))
    options = [ctx.library.options[match.id] for match in ctx.matches.options]
    lined = [option for option in options[:LINED_CHOICES] if option.id not in ctx.moved(FORM)]
    rows = [_planned_row(ctx)]
    rows += [
        (
            cell(Paragraph(ctx.title(option, strong=True), tag=choice(option.id)), head=True),
            cell(*ctx.lines(option, "What it may gain")[:1]),
            cell(*ctx.lines(option, "What can go wrong")[:1]),
        )
        for option in lined
    ]
    found: list[Node] = [Table(columns, tuple(rows), (25, 35, 40), ctx.say("Your choices side by side."))]
    established = [ctx.library.techniques[match.id] for match in ctx.matches.established]
    others = [
        in_sentence(ctx.title_text(each))
        for each in (*established, *(each for each in options if each not in lined))
    ]
    if others:
        said = ctx.say("You can also choose: {choices}.", choices=ctx.words.series(others))
        found.append(Paragraph((Run(said),), scored=False))
    return found


def _planned_row(ctx: Context) -> tuple[Cell, ...]:
    """The planned treatment beside the other choices, with figures of one denominator."""
    gains, harms = _planned_ids(ctx)
    return (
        cell(ctx.para("The treatment we plan", strong=True), head=True),
        cell(*(_line(ctx, id) for id in gains)),
        cell(*(_line(ctx, id) for id in harms)),
    )


def _planned_ids(ctx: Context) -> tuple[list[str], list[str]]:
    """The first gain that has a figure, and the most frequent harm that is neither expected nor serious."""
    gains = [match.id for match in ctx.matches.benefits if has_figure(ctx, match.id)]
    harms = [id for id in _by_frequency(ctx) if ctx.library.risks[id].group == "possible"]
    return gains[:1], harms[:1]


def figures_panel(ctx: Context) -> list[Node]:
    """The figures out of 100, and what a star means where any figure of this form has one: one may stand on
    the first side alone, when its picture has moved to the booklet."""
    gains, harms = _planned_ids(ctx)
    ids = [*_gain_ids(ctx), *_may_not_ids(ctx), *_cost_ids(ctx), *gains, *harms]
    ids += [id for _, group in figure_groups(ctx) for id in group if id not in ctx.moved(FORM)]
    ids += [match.id for match in serious_harms(ctx)]
    return [*short_figures.figures_panel(ctx), *starred(ctx, ids)]
