"""The treatments behind one figure of the rate sheet, for the clinic's own eyes: in no file.

Whether each counts is asked as the figure itself is counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from sqlalchemy import Connection, RowMapping, select

from consentpack.register.bits import Bits, number, places
from consentpack.register.queries import Window, combinations, inside
from consentpack.register.read_together import Together
from consentpack.register.rolled import Rolled, rolled
from consentpack.register.schema import RETREATED, field_columns, outcome_columns, treatments
from consentpack.register.timing import timing_of
from consentpack.register.watched import Watched

RowPart = Literal["all", "seen", "counted", "left-out"]
PARTS: tuple[RowPart, ...] = ("seen", "counted", "left-out", "all")
"""Those in which it was seen and that count, all that count, those that do not, and all."""


@dataclass(frozen=True)
class Behind:
    """One treatment, and whether it counts for one outcome."""

    case: str
    session: int
    day: date
    techniques: tuple[str, ...]
    site: str
    grade: int | None
    """None: nothing is written down."""
    watched_days: int | None
    noticed: int | None
    """Days until it was first noticed, where that is known."""
    counted: bool
    why_not: str = ""


@dataclass(frozen=True)
class Rows:
    """Some of the treatments behind a figure."""

    shown: tuple[Behind, ...]
    numbers: Mapping[RowPart, int]
    """How many there are of each part."""


def rows_behind(
    connection: Connection, technique: str, outcome: str, *, window: Window, days: int, part: RowPart = "all",
    first: int = 0, most: int = 100,
) -> Rows:  # fmt: skip
    """The treatments of a technique in a period, the newest first; `days` is the outcome's watching time.

    Those that count are `Counts.watched` of the figure, and those of them in which it was seen its events.
    """
    columns, more, rows = outcome_columns(connection), field_columns(connection), rolled(connection)
    timing = timing_of(connection, columns, more.days, (window.first.toordinal(), window.last.toordinal()))
    known = {outcome: columns[outcome]} if outcome in columns else {}
    told = Together(Watched(rows, timing), known, {outcome: days}, timing)
    used = combinations(connection)
    mine = [id for id, techniques in used.items() if technique in techniques]
    among = rows.is_one_of("combination_id", mine) & inside(rows, window)
    counted = told.known(outcome) & among
    parts: dict[RowPart, Bits] = {
        "seen": counted & told.seen(outcome), "counted": counted, "left-out": among & ~counted, "all": among,
    }  # fmt: skip
    ids = _newest(rows, parts[part])[first : first + most]
    named = {"grade": columns.get(outcome, ""), "noticed": more.days.get(outcome, "")}
    named["again"] = more.days.get(RETREATED, "")
    table, counts = treatments(columns, more), set(rows.numbers("id")[places(counted)].tolist())
    query = select(table).where(table.c.id.in_(ids)).order_by(table.c.day.desc(), table.c.id.desc())
    shown = (
        _behind(row, used, named, window.last, days, counted=row["id"] in counts)
        for row in connection.execute(query).mappings()
    )
    return Rows(tuple(shown), {part: number(bits) for part, bits in parts.items()})


def _newest(rows: Rolled, bits: Bits) -> list[int]:
    """The numbers of some treatments, the newest first, and of one day the last that was written down."""
    import numpy as np  # noqa: PLC0415 - takes a while to import

    at = places(bits)
    ids, days = rows.numbers("id")[at], rows.numbers("day")[at]
    found: list[int] = ids[np.lexsort((ids, days))[::-1]].tolist()
    return found


def _behind(
    row: RowMapping, used: Mapping[int, frozenset[str]], named: Mapping[str, str], today: date, days: int,
    *, counted: bool,
) -> Behind:  # fmt: skip
    found = {what: row[column] if column else None for what, column in named.items()}
    return Behind(
        row["case_ref"],
        row["session"],
        date.fromordinal(row["day"]),
        tuple(sorted(used[row["combination_id"]])),
        row["site"],
        found["grade"],
        row["watched_days"],
        found["noticed"],
        counted,
        "" if counted else _why_not(row, found, today, days),
    )


def _why_not(row: RowMapping, found: Mapping[str, int | None], today: date, days: int) -> str:
    if found["grade"] is None:
        return "nothing is written down"
    if row["day"] + days > today.toordinal():
        return "its watching time is not over"
    if row["watched_days"] is None:
        return "nobody knows when the patient was last seen"
    if row["watched_days"] < days:
        return f"watched for {row['watched_days']} of {days} days"
    return "the place was treated again before the watching time was over"
