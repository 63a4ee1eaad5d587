"""The treatments behind one figure of the rate sheet, for the clinic's own eyes: in no file.

Whether each counts is asked by the conditions that the figure itself is counted by.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from sqlalchemy import Boolean, Connection, RowMapping, func, literal_column, select

from consentpack.register.queries import Window, combinations
from consentpack.register.read_together import Together
from consentpack.register.schema import RETREATED, field_columns, outcome_columns, treatments
from consentpack.register.timing import timing_of

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
    columns, more = outcome_columns(connection), field_columns(connection)
    table = treatments(columns, more)
    period = (window.first.toordinal(), window.last.toordinal())
    timing = timing_of(connection, columns, more.days, period)
    told = Together({outcome: columns[outcome]} if outcome in columns else {}, {outcome: days}, timing)
    counted, seen = told.known(outcome), told.seen(outcome)
    used = combinations(connection)
    mine = [id for id, techniques in used.items() if technique in techniques]
    among = (table.c.combination_id.in_(mine), table.c.day.between(*period))
    asked = {
        "seen": f"({counted} AND {seen})",
        "counted": f"({counted})",
        "left-out": f"NOT ({_sure(counted)})",
    }
    sums = [func.count().filter(literal_column(sql, Boolean)) for sql in asked.values()]
    totals = connection.execute(select(*sums, func.count()).where(*among)).one()
    query = select(table, literal_column(f"({_sure(counted)})", Boolean).label("counts")).where(*among)
    if part != "all":
        query = query.where(literal_column(asked[part], Boolean))
    query = query.order_by(table.c.day.desc(), table.c.id.desc()).offset(first).limit(most)
    named = {"grade": columns.get(outcome, ""), "noticed": more.days.get(outcome, "")}
    named["again"] = more.days.get(RETREATED, "")
    shown = (_behind(row, used, named, window.last, days) for row in connection.execute(query).mappings())
    return Rows(tuple(shown), dict(zip((*asked, "all"), map(int, totals), strict=True)))  # type: ignore[arg-type]


def _sure(sql: str) -> str:
    """A condition that is false where a cell is blank: what is not known is not counted."""
    return f"CASE WHEN {sql} THEN 1 ELSE 0 END = 1"


def _behind(
    row: RowMapping, used: Mapping[int, frozenset[str]], named: Mapping[str, str], today: date, days: int
) -> Behind:
    found = {what: row[column] if column else None for what, column in named.items()}
    counted = bool(row["counts"])
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
