"""The parts of the short aftercare sheet: one sheet of paper, front and back, for every plan.

It prints sentences of the long text that are marked for it, and signs in few words. What it does not print
stands in the long text, which it names (`sheet_choice` says what that is).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from consentpack.assemble.context import Context, cell
from consentpack.assemble.sheet_choice import Point, chosen, length_of, marked, of_tier, treatments_of
from consentpack.library.labels import IN_SHORT
from consentpack.model import Warning
from consentpack.signs import Signs, signs_of
from consentpack.talk_back import AT_NIGHT
from consentpack.tree import (
    Body,
    Cell,
    Facts,
    Field,
    Fields,
    Items,
    Node,
    Paragraph,
    Run,
    Runs,
    Source,
    Table,
)

MOST_ROWS = 6
"""Rows of the emergency signs: what is seen at one glance (common practice, no source)."""
MOST_SAME_DAY = 64
"""English words of the signs to ring about the same day."""


def _items(ctx: Context, found: Sequence[Point]) -> list[Items]:
    return [Items(tuple(_said(ctx, point) for point in found))] if found else []


def _said(ctx: Context, point: Point) -> Paragraph:
    ctx.uses(point.module)
    return ctx.paragraph(point.item, point.module)


# --- signs -------------------------------------------------------------------------------------------


def emergency_in_short(ctx: Context) -> list[Node]:
    """Under the one number, large, a row for each kind of thing one sees."""
    found = rows_of_signs(of_tier(ctx, "ambulance"))
    rows = [(_sign_row(ctx, row),) for row in found]
    if not rows:
        return []
    last = ctx.para("Do not drive. Do not be alone. Then ring us.", strong=True)
    columns = (ctx.say("Ring {number} now if you see this", number=ctx.clinic.emergency_number),)
    summary = ctx.say("Emergency signs, and what to do at once.")
    return [Table(columns, (*rows, (cell(last),)), (100,), summary, urgent=True, big_head=True)]


def rows_of_signs(warnings: Sequence[Warning]) -> list[list[Warning]]:
    """The warnings of each row: one that names another stands beside it. Of too many rows the last two
    become one, and again: no sign is left out."""
    ids = {warning.id for warning in warnings}
    rows: dict[str, list[Warning]] = {}
    for warning in warnings:
        rows.setdefault(warning.beside if warning.beside in ids else warning.id, []).append(warning)
    found = list(rows.values())
    while len(found) > MOST_ROWS:
        *found, before, last = found
        found.append([*before, *last])
    return found


def _sign_row(ctx: Context, row: Sequence[Warning]) -> Cell:
    """The signs of each in a line of its own, whose source says that it is there; below, what to do."""
    signs = [_sign(ctx, warning) for warning in row]
    steps = [_said(ctx, point) for warning in row for point in marked(warning, "What to do")]
    return cell(*signs, *steps)


def _sign(ctx: Context, warning: Warning) -> Paragraph:
    """One warning in a line or two: what one sees; its name where that says it."""
    lines = [p.runs for body in ctx.section(warning, IN_SHORT) for p in _paragraphs_of(body)]
    gap = (Run(_signs(ctx).gap),)
    runs: Runs = lines[0] if lines else ctx.title(warning, strong=True)
    for line in lines[1:]:
        runs = (*runs, *gap, *line)
    return Paragraph(runs, Source(warning.file, warning.title_line, warning.id))


def _paragraphs_of(body: Body) -> Iterator[Paragraph]:
    if isinstance(body, Items):
        yield from body.items
    elif isinstance(body, Paragraph):
        yield body


def _signs(ctx: Context) -> Signs:
    return signs_of(ctx.catalogue.language)


def at_once_in_short(ctx: Context) -> list[Node]:
    """Signs for the clinic's own line, with what to do: there are few, and each counts."""
    found: list[Node] = []
    for warning in of_tier(ctx, "at-once"):
        found += [_sign(ctx, warning), *_items(ctx, list(marked(warning, "What to do")))]
    return found


def same_day_in_short(ctx: Context) -> list[Node]:
    """A line for each sign; of too many the last go first, and a serious harm's never."""
    kept = of_tier(ctx, "same-day")
    serious = {sign for risk in ctx.library.risks.values() if risk.group == "serious" for sign in risk.signs}
    for warning in reversed(list(kept)):
        if sum(map(length_of, kept)) > MOST_SAME_DAY and warning.id not in serious:
            kept.remove(warning)
    return [Items(tuple(_sign(ctx, warning) for warning in kept))] if kept else []


def tell_us_in_short(ctx: Context) -> list[Node]:
    """What can wait for the visit, by name in one line; below, what cannot wait."""
    warnings = of_tier(ctx, "at-visit")
    if not warnings:
        return []
    named = in_one_line(_signs(ctx).semicolon, [_sign(ctx, warning) for warning in warnings])
    urgent = [_said(ctx, point) for warning in warnings for point in marked(warning, "What to do")]
    return [named, *urgent]


def in_one_line(between: str, lines: Sequence[Paragraph]) -> Paragraph:
    """Several short lines as one: a sheet has few."""
    first, *others = lines
    runs = first.runs
    for line in others:
        runs = (*runs, Run(between), *line.runs)
    return Paragraph(runs, first.source)


# --- care ---------------------------------------------------------------------------------------------


def expect_in_short(ctx: Context) -> list[Node]:
    return list(_items(ctx, chosen(ctx)["expect"]))


def tonight_in_short(ctx: Context) -> list[Node]:
    return list(_items(ctx, chosen(ctx)["tonight"]))


def do_and_do_not(ctx: Context) -> list[Node]:
    """What to do and not to do once the first night is over, side by side."""
    kept = chosen(ctx)
    both = (kept["do"], kept["avoid"])
    if not all(both):  # half a table would look as if something were lost
        return list(_items(ctx, [*both[0], *both[1]]))
    row = tuple(cell(*_items(ctx, found)) for found in both)
    columns = (ctx.say("Do"), ctx.say("Do not"))
    summary = ctx.say("What to do in the days after, and what not to do.")
    return [Table(columns, (row,), (50, 50), summary)]


# --- numbers, visit, treatment ------------------------------------------------------------------------


def numbers(ctx: Context) -> list[Node]:
    """The clinic's numbers, large, each with when it is the one to ring."""
    at_night = ctx.say("At night and at weekends")
    night = _number(ctx, at_night, ctx.clinic.phone_out_of_hours, big=True)
    return [_by_day(ctx, big=True), replace(night, tag=AT_NIGHT)]


def number_to_ask(ctx: Context) -> list[Node]:
    """The clinic's number in a line: at the head of a page alone, screen readers pass it over."""
    return [_by_day(ctx, big=False)]


def _by_day(ctx: Context, *, big: bool) -> Paragraph:
    return _number(ctx, ctx.say("In opening hours"), ctx.clinic.phone, f" ({ctx.hours})", big=big)


def _number(ctx: Context, label: str, number: str, more: str = "", *, big: bool) -> Paragraph:
    runs = (Run(f"{label}{_signs(ctx).colon}"), Run(number, strong=True, big=big), Run(more))
    return Paragraph(tuple(run for run in runs if run.text), scored=False)


def visit_in_short(ctx: Context) -> list[Node]:
    said = ctx.plan.follow_up and Facts(((ctx.say("Your next visit"), ctx.own_words("follow_up")),))
    lines = (
        Field(ctx.say("Date"), "date"),
        Field(ctx.say("With whom"), tag="with"),
    )
    return [*([said] if said else []), Fields("", lines, tag="visit", in_row=True)]


def treatment_in_short(ctx: Context) -> list[Node]:
    """What was done or is planned, and where: whoever sees the patient at night has to know. A line for what
    was used and one for pain."""
    done = ctx.plan.done
    titles = ctx.words.series(ctx.title_text(technique) for technique in treatments_of(ctx))
    facts = [(ctx.say("What we did") if done else ctx.say("What we plan"), titles)]
    facts.append((ctx.say("Where"), ctx.own_words("site")))
    if done:
        facts.append((ctx.say("Day"), ctx.words.day(done.day)))
    lines = (
        Field(ctx.say("What was used: name, maker, size, lot"), tag="products"),
        Field(ctx.say("Medicine"), tag="medicine"),
    )
    return [Facts(tuple(facts)), Fields("", lines, tag="what-was-used")]
