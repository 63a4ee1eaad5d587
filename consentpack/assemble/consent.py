"""The parts of the consent document that depend on the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from consentpack.assemble.context import Context, cell
from consentpack.assemble.figures import figure_cell, pictographs
from consentpack.assemble.layers import (
    BOOKLET,
    HOW_SURE,
    NUMBING,
    STEPS,
    in_full_line,
    in_short,
    piece,
    stands_in_full,
)
from consentpack.assemble.short_figures import figure_in_short, how_to_read, starred
from consentpack.model import Match, Technique
from consentpack.tree import (
    Body,
    Cell,
    Facts,
    Items,
    Node,
    Paragraph,
    Run,
    Source,
    Table,
)


def plan_summary(ctx: Context) -> list[Node]:
    treating = [ctx.title_text(t) for t in ctx.techniques(ctx.matches.techniques)]
    say = ctx.say
    pairs = (
        treated(ctx),
        (say("What we plan"), ctx.words.series(treating)),
        *how_and_when(ctx),
        (say("Visit after it"), ctx.own_words("follow_up") or say("to be agreed")),
        (say("Our reference"), ctx.plan.reference),
    )
    return [Facts(pairs)]


def treated(ctx: Context) -> tuple[str, str]:
    """What is treated, and where, as a labelled fact."""
    both = {"condition": ctx.own_words("condition"), "site": ctx.own_words("site")}
    return ctx.say("What we treat"), ctx.say("{condition}, {site}", **both)


def how_and_when(ctx: Context) -> tuple[tuple[str, str], ...]:
    """How the area is numbed, how often and when it is done, and by whom, as labelled facts."""
    plan, say = ctx.plan, ctx.say
    numbing = [ctx.title_text(t) for t in ctx.techniques(ctx.matches.anaesthetics)]
    day = ctx.words.day(plan.treatment_date) if plan.treatment_date else say("to be agreed")
    return (
        (say("How we numb the area"), ctx.words.series(numbing) or say("No numbing medicine is planned")),
        (say("Number of visits"), ctx.words.number(plan.sessions)),
        (say("Day of treatment"), day),
        (say("Who will do it"), f"{plan.clinician}, {ctx.own_words('clinician_role')}"),
    )


def reason(ctx: Context) -> list[Node]:
    """The clinician's own words from the plan, and what is planned in plain words."""
    first, *others = (ctx.phrase_of(t) for t in ctx.techniques(ctx.matches.techniques))
    return [
        Paragraph((Run(ctx.own_words("reason")),), Source(ctx.plan.file)),
        ctx.para("We plan to use {what}.", what=first),
        *(ctx.para("We also plan to use {what}.", what=what) for what in others),
    ]


def anaesthetics(ctx: Context) -> list[Node]:
    """Each way of numbing: what it is, its steps unless they moved, and how it feels."""
    moved = piece(STEPS, NUMBING) in ctx.moved(BOOKLET)
    labels = ("What it is", ON_THE_DAY, "How it feels")
    return technique_sections(ctx, ctx.matches.anaesthetics, labels, steps=not moved)


def anaesthetics_in_full(ctx: Context) -> list[Node]:
    """The steps of numbing, where the booklet had no room for them."""
    moved = piece(STEPS, NUMBING) in ctx.moved(BOOKLET)
    return technique_sections(ctx, ctx.matches.anaesthetics, (ON_THE_DAY,)) if moved else []


ON_THE_DAY = "What happens on the day"


def technique_sections(
    ctx: Context, matches: Iterable[Match], labels: tuple[str, ...], *, steps: bool = True
) -> list[Node]:
    """Sections of techniques under their titles; what was said once is not said again.

    Without the steps of the day, where these stand is a point of its own in their place: prose without a
    break is hard to read.
    """
    found: list[Node] = []
    said: set[str] = set()
    for technique in ctx.techniques(matches):
        found.append(ctx.heading(technique))
        for label in labels:
            left = label == ON_THE_DAY and not steps
            found += [Items((in_full_line(ctx),))] if left else fresh(ctx.section(technique, label), said)
    return found


def fresh(bodies: Iterable[Body], said: set[str]) -> list[Body]:
    """Paragraphs and bullets that have not been said yet. Steps of a numbered list always stay."""
    found: list[Body] = []
    for body in bodies:
        if (isinstance(body, Paragraph) and _new(body, said)) or (isinstance(body, Items) and body.numbered):
            found.append(body)
        elif isinstance(body, Items):
            items = tuple(item for item in body.items if _new(item, said))
            found += [Items(items)] if items else []
    return found


def _new(paragraph: Paragraph, said: set[str]) -> bool:
    words = "".join(run.text for run in paragraph.runs)
    if words in said:
        return False
    said.add(words)
    return True


def how_sure(ctx: Context) -> list[Node]:
    """How much is known of each planned technique; of what moved, where it stands."""
    told = told_of(ctx)
    moved = _how_sure(ctx, told, moved=True)
    return [*_how_sure(ctx, told, moved=False), *(stands_in_full(ctx) if moved else ())]


def how_sure_in_full(ctx: Context) -> list[Node]:
    """How much is known of those techniques for which the booklet had no room."""
    return _how_sure(ctx, (*told_of(ctx), *ctx.techniques(ctx.matches.established)), moved=True)


def _how_sure(ctx: Context, techniques: Iterable[Technique], *, moved: bool) -> list[Node]:
    said: set[str] = set()
    found: list[Node] = []
    for technique in techniques:
        if (piece(HOW_SURE, technique.id) in ctx.moved(BOOKLET)) == moved:
            found.append(ctx.heading(technique))
            found += fresh(ctx.section(technique, "How sure we are"), said)
    return found


def told_of(ctx: Context) -> list[Technique]:
    """The techniques of which the booklet says how much is known, but for the newer: their part does."""
    told = {match.id for match in ctx.matches.newer}
    matches = (*ctx.matches.techniques, *ctx.matches.anaesthetics)
    return [each for each in ctx.techniques(matches) if each.id not in told]


def benefits(ctx: Context) -> list[Node]:
    said: set[str] = set()
    found: list[Node] = []
    for technique in ctx.techniques(ctx.matches.techniques):
        found += fresh(ctx.section(technique, "What it may gain"), said)
    found += _gains(ctx, figure_in_short if in_short(ctx) else figure_cell)
    return [*found, *(stands_in_full(ctx) if in_short(ctx) else ())]


def gains_in_full(ctx: Context) -> list[Node]:
    """The gains with their figures at length, where the booklet has these in short."""
    return _gains(ctx, figure_cell) if in_short(ctx) else []


def _gains(ctx: Context, figure: Callable[..., Cell]) -> list[Node]:
    rows = tuple((_gain(ctx, match.id), figure(ctx, match.id)) for match in ctx.matches.benefits)
    if not rows:
        return []
    columns = (ctx.say("What you may gain"), ctx.say("For how many"))
    return [Table(columns, rows, (52, 48), ctx.say("What you may gain, with figures."))]


def _gain(ctx: Context, id: str) -> Cell:
    benefit = ctx.library.benefits[id]
    notice = ctx.lines(benefit, "What you may notice")
    lasts = ctx.lines(benefit, "How long it lasts")
    return cell(Paragraph(ctx.title(benefit, strong=True)), *notice, *lasts, head=True)


def figures_explained(ctx: Context) -> list[Node]:
    """How to read the figures as this booklet has them: in short, or in whole sentences."""
    if not in_short(ctx):
        return _explained(ctx)
    return [_out_of_100(ctx), how_to_read(ctx), *starred(ctx, ctx.rates), *_counted_here(ctx)]


def figures_explained_in_full(ctx: Context) -> list[Node]:
    """How to read figures in whole sentences, where the booklet has them in short."""
    return _explained(ctx) if in_short(ctx) else []


def _explained(ctx: Context) -> list[Node]:
    found: list[Node] = [
        _out_of_100(ctx),
        ctx.para(
            "No one can know the true number. So we also say where it would most likely be if we counted "
            "many more. We cannot tell what will happen to you."
        ),
    ]
    if any(pictographs(ctx, answer.rate) for answer in ctx.rates.values() if answer.rate):
        found.append(
            ctx.para(
                "Some figures have a picture of 100 marks. The filled marks stand for those in whom it was "
                "seen."
            )
        )
    if any(answer.seen for answer in ctx.rates.values()):
        found.append(ctx.para("Where our list is too short for that, we tell you what we counted."))
    return [*found, *_counted_here(ctx)]


def _out_of_100(ctx: Context) -> Paragraph:
    return ctx.para(
        "We give each figure as a number in every 100. Think of 100 people or 100 treatments. "
        "If it says 4, it was seen in about 4 of them and not seen in about 96."
    )


def _counted_here(ctx: Context) -> list[Node]:
    """When the treatments were done that were counted here."""
    own = [each for a in ctx.rates.values() if (each := a.rate or a.seen) and each.first and each.last]
    if not own:
        return []
    first = min(rate.first for rate in own if rate.first)
    last = max(rate.last for rate in own if rate.last)
    return [
        ctx.para(
            "Where it says “here”, we counted in our own clinic. These treatments were done "
            "from {first} to {last}.",
            first=ctx.words.day(first),
            last=ctx.words.day(last),
        )
    ]


def factors(ctx: Context) -> list[Node]:
    found: list[Node] = []
    for match in ctx.matches.factors:
        factor = ctx.library.factors[match.id]
        found.append(ctx.heading(factor))
        found += ctx.section(factor, "What this changes")
        found += ctx.section(factor, "What to do before")
    return found


def before_you_come(ctx: Context) -> list[Node]:
    """What to arrange before the visit, for what treats and for what numbs, each thing once."""
    said: set[str] = set()
    found: list[Node] = []
    matches = (*ctx.matches.anaesthetics, *ctx.matches.techniques, *ctx.matches.may_become_necessary)
    for technique in ctx.techniques({match.id: match for match in matches}.values()):
        found += fresh(ctx.section(technique, "Before you come"), said)
    return found


def not_good_for(ctx: Context) -> list[Node]:
    said: set[str] = set()
    found: list[Node] = []
    for technique in ctx.techniques((*ctx.matches.techniques, *ctx.matches.anaesthetics)):
        found += fresh(ctx.section(technique, "Not good for"), said)
    return found
