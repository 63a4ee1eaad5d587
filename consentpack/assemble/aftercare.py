"""The parts of the aftercare sheet, and whom to ring."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from consentpack.assemble.context import Context, cell
from consentpack.model import Warning
from consentpack.tree import (
    Body,
    Cell,
    Facts,
    Field,
    Fields,
    Items,
    Node,
    Paragraph,
    Pictograph,
    Run,
    Table,
    paragraphs,
    text_of,
)


def contacts(ctx: Context) -> list[Node]:
    clinic, say = ctx.clinic, ctx.say
    pairs = (
        (say("In an emergency"), say("Ambulance: {number}", number=clinic.emergency_number)),
        (say("In opening hours"), say("{phone} ({hours})", phone=clinic.phone, hours=ctx.hours)),
        (say("At night and at weekends"), clinic.phone_out_of_hours),
        (say("Where we are"), ", ".join(clinic.address)),
        (say("Tell us this reference"), ctx.plan.reference),
    )
    return [Facts(pairs)]


def emergency_signs(ctx: Context) -> list[Node]:
    """The emergency signs as a table, so that each sign stands beside what else to do about it.

    The number stands once above all of them: printed in every row, it is read in none.
    """
    warnings = _of_tier(ctx, "ambulance")
    rows = tuple(
        (
            cell(Paragraph(ctx.title(w, strong=True)), *ctx.lines(w, "Signs"), head=True),
            cell(*ctx.lines(w, "What to do")),
        )
        for w in warnings
    )
    number = ctx.clinic.emergency_number
    columns = (ctx.say("Ring {number} now if you see this", number=number), ctx.say("Do this too"))
    summary = ctx.say("Emergency signs, and what to do at once.")
    return [Table(columns, rows, _shares(rows), summary, urgent=True)] if rows else []


_LINE, _EDGE = 105, 6
"""Letters in a line as wide as the page, and what the point and the edges of a cell take of it: as measured
in a page as it is printed. What matters is how the two columns compare."""


def _shares(rows: Sequence[tuple[Cell, ...]]) -> tuple[int, int]:
    """The widths, in hundredths, that make the table shortest: all of it has to stand on page one."""
    return min(
        ((share, 100 - share) for share in range(80, 54, -1)),  # of two that are alike, more for the signs
        key=lambda shares: sum(
            max(_lines(each, share) for each, share in zip(row, shares, strict=True)) for row in rows
        ),
    )


def _lines(cell: Cell, share: int) -> int:
    """How many lines a cell takes, about."""
    held = _LINE * share / 100 - _EDGE
    contents = (content for content in cell.content if not isinstance(content, Pictograph))
    return sum(ceil(len(text_of(p.runs)) / held) for content in contents for p in paragraphs(content))


def at_once_signs(ctx: Context) -> list[Node]:
    """Signs for which the clinic is rung at any hour: what helps is in the clinic, and time counts."""
    return list(
        _signs(ctx, "at-once", ctx.say("Ring us now, by day or night: {numbers}.", numbers=_ours(ctx)))
    )


def same_day_signs(ctx: Context) -> list[Node]:
    return list(_signs(ctx, "same-day", ctx.say("Ring us today: {numbers}.", numbers=_ours(ctx))))


def tell_us_signs(ctx: Context) -> list[Node]:
    return list(_signs(ctx, "at-visit", ""))


def _ours(ctx: Context) -> str:
    """Both numbers of the clinic as one phrase."""
    clinic = ctx.clinic
    return ctx.say(
        "{phone}, or {night} when we are closed", phone=clinic.phone, night=clinic.phone_out_of_hours
    )


def _of_tier(ctx: Context, tier: str) -> list[Warning]:
    found = (ctx.library.warnings[m.id] for m in ctx.matches.warnings)
    return [warning for warning in found if warning.tier == tier]


def _signs(ctx: Context, tier: str, call: str) -> list[Body]:
    """Whom to ring, once; then each warning of the tier: its name, its signs, and what else to do."""
    found: list[Body] = []
    for warning in _of_tier(ctx, tier):
        found.append(ctx.heading(warning))
        found += ctx.section(warning, "Signs")
        found.append(Paragraph((Run(ctx.say("What to do:"), strong=True),), scored=False))
        found += ctx.section(warning, "What to do")
    lead = [Paragraph((Run(call, strong=True),))] if call and found else []
    return [*lead, *found]


def done_summary(ctx: Context) -> list[Node]:
    plan, say = ctx.plan, ctx.say
    ids = plan.done.techniques if plan.done else plan.planned
    titles = [ctx.title_text(ctx.library.techniques[id]) for id in ids]
    if plan.done:
        what, day = say("What we did"), ctx.words.day(plan.done.day)
    else:
        what = say("What we plan")
        day = ctx.words.day(plan.treatment_date) if plan.treatment_date else say("to be agreed")
    pairs = [
        (what, ctx.words.series(titles)),
        (say("Where"), ctx.own_words("site")),
        (say("Day"), day),
        (say("Who"), f"{plan.clinician}, {ctx.own_words('clinician_role')}"),
    ]
    if ctx.patients_language:
        pairs.append((say("Interpreter"), ctx.patients_language))
    return [Facts(tuple(pairs))]


def what_was_used(ctx: Context) -> list[Node]:
    """Products by name and lot, for whoever treats the patient next (GMC cosmetic 2016)."""
    lines = (
        Field(ctx.say("What was used: name, maker, size, lot"), tag="products"),
        Field(ctx.say("Who is with you tonight"), tag="helper"),
    )
    return [Fields(ctx.say("Your clinician fills this in"), lines, tag="what-was-used")]


def care_expect(ctx: Context) -> list[Node]:
    return _topic_lists(ctx, "What to expect")


def care_tonight(ctx: Context) -> list[Node]:
    return _period(ctx, "Tonight")


def care_tomorrow(ctx: Context) -> list[Node]:
    return _period(ctx, "Tomorrow")


def care_first_week(ctx: Context) -> list[Node]:
    return _period(ctx, "First week")


def care_later(ctx: Context) -> list[Node]:
    return _period(ctx, "Later")


def _period(ctx: Context, period: str) -> list[Node]:
    """What to do and not to do, by topic: a worried reader looks for a topic, not for a list."""
    found: list[Node] = []
    for match in ctx.matches.aftercare:
        topic = ctx.library.aftercare[match.id]
        lists = [*ctx.section(topic, f"{period}: do"), *ctx.section(topic, f"{period}: avoid")]
        items = [item for body in lists if isinstance(body, Items) for item in body.items]
        if items:
            found += [ctx.heading(topic), Items(tuple(items))]
    return found


def _topic_lists(ctx: Context, label: str) -> list[Node]:
    """One list of what every topic says under a label, in the topics' order."""
    items: list[Paragraph] = []
    for match in ctx.matches.aftercare:
        for body in ctx.section(ctx.library.aftercare[match.id], label):
            items += body.items if isinstance(body, Items) else []
    return [Items(tuple(items))] if items else []


def medicines(ctx: Context) -> list[Node]:
    """Lines for the clinic to fill in: doses are never printed by a program."""
    fields = (
        Field(ctx.say("Medicine"), tag="medicine"),
        Field(ctx.say("What it is for"), tag="for"),
        Field(ctx.say("How much and how often"), tag="dose"),
        Field(ctx.say("Until when"), tag="until"),
        Field(ctx.say("What it may do that you do not want"), tag="side-effects"),
        Field(ctx.say("What to stop or start again, and when"), tag="stop-start"),
    )
    return [Fields(ctx.say("Your clinician fills this in"), fields, tag="medicines")]


def follow_up(ctx: Context) -> list[Node]:
    found: list[Node] = []
    if ctx.plan.follow_up:
        found.append(Facts(((ctx.say("Your next visit"), ctx.own_words("follow_up")),)))
    fields = [
        Field(ctx.say("Date"), "date"),
        Field(ctx.say("Time"), "time"),
        Field(ctx.say("Where"), tag="where"),
        Field(ctx.say("With whom"), tag="with"),
    ]
    if ctx.matches.tissue:
        fields.append(Field(ctx.say("When and how you hear the result of the test"), tag="results"))
    asked = Field(ctx.say("What I want to ask"), tag="questions")
    title = ctx.say("Your appointment")
    return [*found, Fields(title, tuple(fields), tag="appointment"), Fields("", (asked,))]
