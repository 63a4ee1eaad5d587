"""The parts of the consent document that depend on the plan."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.assemble.context import Context, cell
from consentpack.assemble.figures import figure_cell, pictographs
from consentpack.assemble.group_titles import group_titles
from consentpack.assemble.signs_named import signs_of
from consentpack.catalogues import N_
from consentpack.match import GROUPS
from consentpack.model import Match
from consentpack.tree import (
    Body,
    Cell,
    Facts,
    Heading,
    Items,
    Node,
    Paragraph,
    Run,
    Source,
    Table,
)
from consentpack.wording import in_sentence


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
    return technique_sections(
        ctx, ctx.matches.anaesthetics, ("What it is", "What happens on the day", "How it feels")
    )


def technique_sections(ctx: Context, matches: Iterable[Match], labels: tuple[str, ...]) -> list[Node]:
    """Sections of techniques under their titles; what was said once is not said again."""
    found: list[Node] = []
    said: set[str] = set()
    for technique in ctx.techniques(matches):
        found.append(ctx.heading(technique))
        for label in labels:
            found += fresh(ctx.section(technique, label), said)
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
    said: set[str] = set()
    found: list[Node] = []
    matches = (*ctx.matches.techniques, *ctx.matches.anaesthetics)
    told = {match.id for match in ctx.matches.newer}  # their part of the form has said it
    for technique in ctx.techniques(matches):
        if technique.id not in told:
            found.append(ctx.heading(technique))
            found += fresh(ctx.section(technique, "How sure we are"), said)
    return found


def benefits(ctx: Context) -> list[Node]:
    said: set[str] = set()
    found: list[Node] = []
    for technique in ctx.techniques(ctx.matches.techniques):
        found += fresh(ctx.section(technique, "What it may gain"), said)
    rows = tuple(_benefit_row(ctx, match.id) for match in ctx.matches.benefits)
    if rows:
        columns = (ctx.say("What you may gain"), ctx.say("For how many"))
        found.append(Table(columns, rows, (52, 48), ctx.say("What you may gain, with figures.")))
    return found


def _benefit_row(ctx: Context, id: str) -> tuple[Cell, Cell]:
    benefit = ctx.library.benefits[id]
    notice = ctx.lines(benefit, "What you may notice")
    lasts = ctx.lines(benefit, "How long it lasts")
    return cell(Paragraph(ctx.title(benefit, strong=True)), *notice, *lasts, head=True), (
        figure_cell(ctx, id)
    )


def figures_explained(ctx: Context) -> list[Node]:
    own = [each for a in ctx.rates.values() if (each := a.rate or a.seen) and each.first and each.last]
    found: list[Node] = [
        ctx.para(
            "We give each figure as a number in every 100. Think of 100 people or 100 treatments. "
            "If it says 4, it was seen in about 4 of them and not seen in about 96."
        ),
        ctx.para(
            "No one can know the true number. So we also say how low or how high it may be. We "
            "cannot tell what will happen to you."
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
    if own:
        first = min(rate.first for rate in own if rate.first)
        last = max(rate.last for rate in own if rate.last)
        found.append(
            ctx.para(
                "Where it says “here”, we counted in our own clinic. These treatments were done "
                "from {first} to {last}.",
                first=ctx.words.day(first),
                last=ctx.words.day(last),
            )
        )
    return found


def risk_table(ctx: Context) -> list[Node]:
    titles = group_titles(ctx)
    found: list[Node] = []
    for group in GROUPS:
        matches = [m for m in ctx.matches.risks if ctx.library.risks[m.id].group == group]
        matches = [m for m in matches if not _told_elsewhere(ctx, m)]
        if matches:
            found.append(Heading((Run(titles[group]),), 3))
            if group == "serious":
                found.append(
                    ctx.para("We list each serious harm we know of, even when it is seen in very few people.")
                )
            found.append(_risks(ctx, matches, titles[group]))
    return found


def _told_elsewhere(ctx: Context, match: Match) -> bool:
    """Whether patients read of it in another row: they cannot tell the two apart, the audit can."""
    return ctx.library.risks[match.id].told_with in {each.id for each in ctx.matches.risks}


def _told_here(ctx: Context, match: Match) -> list[Match]:
    """The outcomes that are told in a risk's row beside its own."""
    return [each for each in ctx.matches.risks if ctx.library.risks[each.id].told_with == match.id]


def _risks(ctx: Context, matches: list[Match], title: str) -> Table:
    columns = (ctx.say("What it is, and what is done about it"), ctx.say("How many"))
    rows = tuple(_risk_row(ctx, match) for match in matches)
    return Table(columns, rows, (57, 43), title)


def _risk_row(ctx: Context, match: Match) -> tuple[Cell, Cell]:
    risk = ctx.library.risks[match.id]
    what = [
        Paragraph(ctx.title(risk, strong=True)),
        *ctx.lines(risk, "What you may notice"),
        *ctx.lines(risk, "How long it lasts"),
        *ctx.lines(risk, "What is done about it"),
    ]
    raised = [ctx.library.factors[m.id] for m in ctx.matches.factors]
    raised = [factor for factor in raised if match.id in factor.raises]
    if raised:
        names = ctx.words.listed([in_sentence(ctx.title_text(factor)) for factor in raised])
        what.append(ctx.para("This may be more likely for you, because of: {factors}.", factors=names))
    if match.only_if_needed:
        technique = ctx.library.techniques[match.techniques[0]]
        name = ctx.title_text(technique)
        said = N_("This is only a risk if we need this on the day: {technique}.")
        what.append(ctx.para(said, technique=in_sentence(name)))
    what += signs_of(ctx, risk)
    return cell(*what, head=True), figure_cell(ctx, *(each.id for each in (match, *_told_here(ctx, match))))


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
