"""The table of the short sheet: when one may do what again, a row for each thing, a column for each time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from consentpack.assemble.context import Context, cell
from consentpack.assemble.sheet import in_one_line
from consentpack.assemble.sheet_choice import Point, chosen
from consentpack.library.labels import ALWAYS, NOTES
from consentpack.library.sheet_marks import settings_of
from consentpack.model import MINUTES
from consentpack.tree import Cell, Node, Paragraph, Run, Runs, Table

MOST_TIMES = 4
"""Columns of times that leave room for words beside them, in 16 pt and in French too."""
_SHARE = 16
"""Hundredths of the width that a time takes."""
YES, NOT_YET = "\u2713", "\u2013"
_SIGNS = ("\u00b9", "\u00b2", "\u00b3", "\u2074", "\u2075", "\u2076", "\u2077", "\u2078", "\u2079")
"""What leads from a row to its note."""


@dataclass(frozen=True)
class Wait:
    """One row: what one wants to do, and how long it waits."""

    point: Point
    minutes: int
    span: str

    @property
    def note(self) -> str:
        """The name of the note that says what else must be so; '' for none."""
        name = self.point.item.sheet or ""
        return "" if name == ALWAYS else name


def timeline(ctx: Context) -> list[Node]:
    """A sign for yes from the first column on that is late enough; below, what else must be so.

    A row whose own time has no column says it, so that nothing here differs from the long text.
    """
    waits = waits_of(ctx)
    if not waits:
        return []
    times = columns_of([wait.minutes for wait in waits])
    spans = {wait.minutes: wait.span for wait in reversed(waits)}
    notes = noted(ctx, waits)
    signs = dict(zip(notes, _SIGNS, strict=False))
    rows = tuple(_row(ctx, wait, times, signs) for wait in waits)
    head = ctx.say("{yes} you can; {no} not yet", yes=YES, no=NOT_YET)
    widths = (100 - _SHARE * len(times), *(_SHARE for _ in times))
    summary = ctx.say("Things people want to do after treatment, and when they can.")
    table = Table((head, *(spans[time] for time in times)), rows, widths, summary, grid=True)
    told = [_note(sign, notes[name]) for name, sign in signs.items()]
    return [table, *([in_one_line(" ", told)] if told else [])]


def waits_of(ctx: Context) -> list[Wait]:
    """The rows in order of time."""
    return sorted((_wait(ctx, point) for point in chosen(ctx)["rows"]), key=lambda wait: wait.minutes)


def _wait(ctx: Context, point: Point) -> Wait:
    """The longest of the times that a text prints, as the plan and the clinic have it."""
    longer = {wait.setting: wait.longest for wait in ctx.matches.waits}
    settings = [ctx.library.settings[longer.get(name, name)] for name in settings_of(point.item)]
    asked = [(ctx.clinic.care.get(s.name, s.value), s.unit) for s in settings]
    value, unit = max(asked, key=lambda each: each[0] * MINUTES[each[1]])
    return Wait(point, value * MINUTES[unit], ctx.words.span(value, unit))


def columns_of(times: Sequence[int]) -> list[int]:
    """The times that get a column. Of too many the one goes that the fewest rows wait for, and of those the
    latest; the very last stays, so that each row comes to a yes."""
    rows = Counter(times)
    while len(rows) > MOST_TIMES:
        *others, _ = sorted(rows)
        del rows[min(others, key=lambda time: (rows[time], -time))]
    return sorted(rows)


def _row(ctx: Context, wait: Wait, times: Sequence[int], signs: dict[str, str]) -> tuple[Cell, ...]:
    ctx.uses(wait.point.module)
    said = ctx.paragraph(wait.point.item, wait.point.module)
    own = [] if wait.minutes in times else [Run(f" ({wait.span})")]
    note = [Run(f"\u00a0{signs[wait.note]}")] if wait.note in signs else []
    label = Paragraph((Run(said.runs[0].text), *own, *note), said.source, scored=False)
    marks = (_mark(time >= wait.minutes) for time in times)
    return (cell(label, head=True), *marks)


def _mark(can: bool) -> Cell:
    made = Paragraph((Run(YES if can else NOT_YET, strong=can),), scored=False)
    return Cell((made,), shaded=can)


def noted(ctx: Context, waits: Iterable[Wait]) -> dict[str, Paragraph]:
    """The notes that some rows need, in the order of the rows: name -> what it says."""
    told: dict[str, Paragraph] = {}
    names = dict.fromkeys(wait.note for wait in waits if wait.note)
    for topic in ctx.library.aftercare.values():
        for block in topic.sections.get(NOTES, ()):
            for item in block.items:
                if item.sheet in names and item.sheet not in told:
                    ctx.uses(topic)
                    told[item.sheet] = ctx.paragraph(item, topic)
    return {name: told[name] for name in names if name in told}


def _note(sign: str, note: Paragraph) -> Paragraph:
    runs: Runs = (Run(f"{sign} "), *note.runs)
    return Paragraph(runs, note.source)
