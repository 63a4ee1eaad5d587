"""The parts of the short aftercare sheet: one sheet of paper, front and back, for every plan.

It prints sentences of the long text that are marked for it, and signs in few words. What it does not print
stands in the long text, which it names. What goes when there is too much is decided by the English words,
so that every language has the same sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from consentpack.assemble.context import Context, cell
from consentpack.library.schema import ALWAYS, IN_SHORT, PERIODS
from consentpack.model import Module, Warning
from consentpack.signs import Signs, signs_of
from consentpack.tree import (
    Body,
    Cell,
    Facts,
    Field,
    Fields,
    Inline,
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
MOST_WORDS = {"expect": 45, "tonight": 85, "do": 42, "avoid": 36, "same-day": 70}
"""Words of English that a part may have, so that the sheet keeps to its two sides in every language. Over it
the last point in the order of the topics goes first. What is marked 'always' stays, and so does each sign
of a serious harm."""
_PLACEHOLDER = re.compile(r"\{\{.*?\}\}")


@dataclass(frozen=True)
class Point:
    """One marked sentence of a module."""

    item: Inline
    module: Module

    @property
    def words(self) -> int:
        return words_in(self.item.text)


def words_in(text: str) -> int:
    """Words of an English text; a time that is filled in is two."""
    return len(_PLACEHOLDER.sub("2 days", text).split())


def points(ctx: Context, labels: Sequence[str]) -> list[Point]:
    """The marked sentences of the plan's topics under some labels, in the order of the topics."""
    topics = [ctx.library.aftercare[match.id] for match in ctx.matches.aftercare]
    return [
        point for topic in topics for label in labels for point in _marked(topic, label)
    ]  # fmt: skip


def _marked(module: Module, label: str) -> Iterator[Point]:
    for block in module.sections.get(label, ()):
        yield from (Point(item, module) for item in block.items if item.sheet is not None)


def within(found: Sequence[Point], most: int) -> list[Point]:
    """The points that may stay: the last one goes first, and what is marked 'always' never."""
    kept = list(found)
    for point in reversed(found):
        if sum(each.words for each in kept) <= most:
            break
        if point.item.sheet != ALWAYS:
            kept.remove(point)
    return kept


def _items(ctx: Context, found: Sequence[Point]) -> list[Items]:
    return [Items(tuple(_said(ctx, point) for point in found))] if found else []


def _said(ctx: Context, point: Point) -> Paragraph:
    ctx.uses(point.module)
    return ctx.paragraph(point.item, point.module)


# --- signs -------------------------------------------------------------------------------------------


def emergency_in_short(ctx: Context) -> list[Node]:
    """Under the one number, large, a row for each kind of thing one sees."""
    found = rows_of_signs(_of_tier(ctx, "ambulance"))
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
    """The first by name, then the signs of each; below, what to do beside ringing.

    Each keeps a line of its own, whose source says that it is there.
    """
    first, *others = row
    signs = [_sign(ctx, first), *(_sign(ctx, other, named=not other.sections.get(IN_SHORT)) for other in others)]
    steps = [_said(ctx, point) for warning in row for point in _marked(warning, "What to do")]
    return cell(*signs, *steps)


def _sign(ctx: Context, warning: Warning, *, named: bool = True) -> Paragraph:
    """One warning in a line or two: its name, and what one sees."""
    lines = [p for body in ctx.section(warning, IN_SHORT) for p in _paragraphs_of(body)]
    runs: Runs = ctx.title(warning, strong=True) if named else ()
    runs = (*runs, Run(_signs(ctx).colon)) if named and lines else runs
    for number, line in enumerate(lines):
        runs = (*runs, *([Run(_signs(ctx).gap)] if number else []), *line.runs)
    return Paragraph(runs, Source(warning.file, warning.title_line, warning.id))


def _paragraphs_of(body: Body) -> Iterator[Paragraph]:
    if isinstance(body, Items):
        yield from body.items
    elif isinstance(body, Paragraph):
        yield body


def _signs(ctx: Context) -> Signs:
    return signs_of(ctx.catalogue.language)


def _of_tier(ctx: Context, tier: str) -> list[Warning]:
    found = (ctx.library.warnings[match.id] for match in ctx.matches.warnings)
    return [warning for warning in found if warning.tier == tier]


def at_once_in_short(ctx: Context) -> list[Node]:
    """Signs for the clinic's own line, with what to do: there are few, and each counts."""
    found: list[Node] = []
    for warning in _of_tier(ctx, "at-once"):
        found += [_sign(ctx, warning), *_items(ctx, list(_marked(warning, "What to do")))]
    return found


def same_day_in_short(ctx: Context) -> list[Node]:
    """A line for each sign; of too many the last go first, and a serious harm's never."""
    kept = _of_tier(ctx, "same-day")
    serious = {sign for risk in ctx.library.risks.values() if risk.group == "serious" for sign in risk.signs}
    for warning in reversed(list(kept)):
        if sum(map(_length, kept)) > MOST_WORDS["same-day"] and warning.id not in serious:
            kept.remove(warning)
    return [Items(tuple(_sign(ctx, warning) for warning in kept))] if kept else []


def _length(warning: Warning) -> int:
    """Words of a sign's line, in English."""
    lines = [item.text for block in warning.sections.get(IN_SHORT, ()) for item in block.items]
    return sum(map(words_in, (warning.title, *lines)))


def tell_us_in_short(ctx: Context) -> list[Node]:
    """What can wait for the visit, by name; and of each what cannot wait."""
    lines: list[Paragraph] = []
    for warning in _of_tier(ctx, "at-visit"):
        lines += [_sign(ctx, warning), *(_said(ctx, point) for point in _marked(warning, "What to do"))]
    return [Items(tuple(lines))] if lines else []


# --- care ---------------------------------------------------------------------------------------------

_TONIGHT, *_AFTER = PERIODS


def expect_in_short(ctx: Context) -> list[Node]:
    return list(_items(ctx, within(points(ctx, ("What to expect",)), MOST_WORDS["expect"])))


def tonight_in_short(ctx: Context) -> list[Node]:
    found = points(ctx, (f"{_TONIGHT}: do", f"{_TONIGHT}: avoid"))
    return list(_items(ctx, within(found, MOST_WORDS["tonight"])))


def do_and_do_not(ctx: Context) -> list[Node]:
    """What to do and not to do once the first night is over, side by side."""
    both = {
        kind: within(points(ctx, [f"{period}: {kind}" for period in _AFTER]), MOST_WORDS[kind])
        for kind in ("do", "avoid")
    }
    if not any(both.values()):
        return []
    row = tuple(cell(*_items(ctx, found)) for found in both.values())
    columns = (ctx.say("Do"), ctx.say("Do not"))
    summary = ctx.say("What to do in the days after, and what not to do.")
    return [Table(columns, (row,), (50, 50), summary)]


# --- numbers, visit, treatment ------------------------------------------------------------------------


def numbers(ctx: Context) -> list[Node]:
    """The clinic's numbers, large, each with when it is the one to ring."""
    clinic, say = ctx.clinic, ctx.say
    return [
        _number(ctx, say("In opening hours"), clinic.phone, f" ({ctx.hours})"),
        _number(ctx, say("At night and at weekends"), clinic.phone_out_of_hours),
        _number(ctx, say("Tell us this reference"), ctx.plan.reference),
    ]


def _number(ctx: Context, label: str, number: str, more: str = "") -> Paragraph:
    runs = (Run(f"{label}{_signs(ctx).colon}"), Run(number, strong=True, big=True), Run(more))
    return Paragraph(tuple(run for run in runs if run.text), scored=False)


def visit_in_short(ctx: Context) -> list[Node]:
    said = ctx.plan.follow_up and Facts(((ctx.say("Your next visit"), ctx.own_words("follow_up")),))
    lines = (
        Field(ctx.say("Date"), "date"),
        Field(ctx.say("With whom"), tag="with"),
        Field(ctx.say("What I want to ask"), tag="questions"),
    )
    return [*([said] if said else []), Fields("", lines, tag="appointment")]


def treatment_in_short(ctx: Context) -> list[Node]:
    """What was done or is planned, and where; a line for what was used and one for pain."""
    done, plan = ctx.plan.done, ctx.plan
    ids = done.techniques if done else plan.planned
    titles = ctx.words.series([ctx.title_text(ctx.library.techniques[id]) for id in ids])
    facts = [(ctx.say("What we did") if done else ctx.say("What we plan"), titles)]
    facts.append((ctx.say("Where"), ctx.own_words("site")))
    if done:
        facts.append((ctx.say("Day"), ctx.words.day(done.day)))
    lines = (
        Field(ctx.say("What was used: name, maker, size, lot"), tag="products"),
        Field(ctx.say("Medicine"), tag="medicine"),
    )
    return [Facts(tuple(facts)), Fields("", lines, tag="what-was-used")]
