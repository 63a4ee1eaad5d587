"""Counts out of the register. Nothing else leaves it, but for the clinic's own lists."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from sqlalchemy import (
    Boolean,
    ColumnElement,
    Connection,
    RowMapping,
    Select,
    Table,
    func,
    literal_column,
    select,
    union_all,
)

from consentpack.model import Counts
from consentpack.register.read_together import Together
from consentpack.register.schema import (
    COMBINATIONS,
    FieldColumns,
    field_columns,
    outcome_columns,
    treatments,
)
from consentpack.register.sums import Left, Sums, column
from consentpack.register.timing import timing_of


@dataclass(frozen=True)
class Comparison:
    """Which treatments are compared with the planned one."""

    techniques: frozenset[str]
    """The treatment used all of these …"""
    scope: frozenset[str]
    """… and none of the other techniques in this set. Techniques outside it do not matter."""
    sites: tuple[str, ...] = ()
    """Only at these sites; anywhere when empty."""
    strata: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Of each stratum only these values."""
    joint: tuple[str, ...] = ()
    """Only treatments in which each of these was seen, or looked for long enough, count as watched."""
    parts: tuple[tuple[str, str], ...] = ()
    """(part, whole) of outcomes: a part that was seen counts as its whole; a whole that was looked for and
    not seen, as none of its parts."""


@dataclass(frozen=True)
class Window:
    """The period of treatments counted, both days included."""

    first: date
    last: date


@dataclass(frozen=True)
class Tally:
    """The counts of one comparison."""

    treatments: int
    first: date | None
    """Day of the first treatment counted; None when there is none."""
    last: date | None
    counts: Mapping[str, Counts]
    """Outcome id -> its counts, for every outcome asked for."""
    without: tuple[str, ...] = ()
    """Strata of the comparison that the register holds no value of at all: it was made without them."""
    dated: Mapping[str, Counts] = field(default_factory=dict)
    """Outcomes of which every one that was seen has the day it was first noticed -> counts by that day."""
    timed: bool = True
    """Whether the register keeps last-seen days; else the counts say nothing of time."""


def tally(
    connection: Connection, comparison: Comparison, window: Window, watch_days: Mapping[str, int]
) -> Tally:
    """The counts of each outcome among comparable treatments of a period.

    `watch_days` maps outcome id -> days one must look to be able to say that it did not happen.

    Only treatments whose watching time is over by the last day of the period, and that were watched to its
    end, count, with the outcome and without it alike: an event that jumps the queue makes a harm look more
    frequent than it is, and a gain too. What was seen in others is counted beside it. Where the day is known
    on which each was first noticed, `dated` has the counts by that.
    """
    columns, more = outcome_columns(connection), field_columns(connection)
    table = treatments(columns, more)
    comparison, without = _answerable(connection, table, more, comparison)
    period = (window.first.toordinal(), window.last.toordinal())
    timing = timing_of(connection, columns, more.days, period, watch_days)
    known = {name: f"{table.c[column].name}" for name, column in columns.items() if name in watch_days}
    told = Together(known, watch_days, timing, comparison.joint, comparison.parts)
    sums = Sums(known, watch_days, timing, told)
    chosen = _chosen(connection, table, more, comparison, window)
    query = select(func.min(table.c.day), func.max(table.c.day), *sums.asked)
    found = connection.execute(query.where(*chosen)).one()
    counts = {outcome: sums.counts(outcome, found[2:]) for outcome in watch_days}
    asked = [table.c[name] for name in ("day", "watched_days", *known.values(), *more.days.values())]
    left = _left(connection, told, sums.by_day, select(*asked).where(*chosen))
    dated = {id: sums.dated(id, found[2:], left[id]) for id in sums.by_day}
    return Tally(int(found[2]), _day(found[0]), _day(found[1]), counts, without, dated, timing.watched)


def _left(
    connection: Connection, told: Together, outcomes: Sequence[str], rows: Select[tuple[int, ...]]
) -> dict[str, list[Left]]:
    """For each outcome the treatments that were not watched to the end, and those in which it was seen, by
    the day on which they left the watch.

    One more pass, for outcomes with days alone: what is asked of all of them is read once.
    """
    found: dict[str, list[Left]] = {outcome: [] for outcome in outcomes}
    chosen, parts = rows.cte("chosen"), []
    for number, outcome in enumerate(outcomes):
        day, why, due = map(column, told.left(outcome))
        early = literal_column(told.left_early(outcome), Boolean)
        part = select(column(f"{number:d}"), day, why, due, func.count()).select_from(chosen)
        parts.append(part.where(early, day >= 0).group_by(day, why, due))
    for row in connection.execute(union_all(*parts)) if parts else ():
        found[outcomes[row[0]]].append(Left(int(row[1]), int(row[2]), bool(row[3]), int(row[4])))
    return found


def _answerable(
    connection: Connection, table: Table, more: FieldColumns, comparison: Comparison
) -> tuple[Comparison, tuple[str, ...]]:
    """A comparison by the strata that are recorded here, and those that are recorded for nobody.

    Asking for the value of something nobody wrote down would find no treatment, and the record would
    say that none was watched.
    """
    kept, without = [], []
    for stratum, values in comparison.strata:
        column = more.strata.get(stratum)
        there = (
            column
            and connection.execute(select(table.c.id).where(table.c[column].is_not(None)).limit(1)).first()
        )
        if there:
            kept.append((stratum, values))
        else:
            without.append(stratum)
    return replace(comparison, strata=tuple(kept)), tuple(without)


def _day(ordinal: int | None) -> date | None:
    return date.fromordinal(ordinal) if ordinal else None


def _chosen(
    connection: Connection, table: Table, more: FieldColumns, comparison: Comparison, window: Window
) -> list[ColumnElement[bool]]:
    """The conditions that choose the treatments of a comparison."""
    wanted = [id for id, used in combinations(connection).items() if fits(used, comparison)]
    chosen: list[ColumnElement[bool]] = [
        table.c.combination_id.in_(wanted),
        table.c.day.between(window.first.toordinal(), window.last.toordinal()),
    ]
    if comparison.sites:
        chosen.append(table.c.site.in_(comparison.sites))
    for stratum, values in comparison.strata:
        chosen.append(table.c[more.strata[stratum]].in_(values))
    return chosen


def combinations(connection: Connection) -> dict[int, frozenset[str]]:
    """The combinations of techniques in the register, by id."""
    rows = connection.execute(select(COMBINATIONS.c.id, COMBINATIONS.c.techniques))
    return {row.id: frozenset(row.techniques.split("+")) for row in rows}


def fits(used: frozenset[str], comparison: Comparison) -> bool:
    return used & (comparison.scope | comparison.techniques) == comparison.techniques


@dataclass(frozen=True)
class Due:
    """A treatment whose watching time has passed with nothing recorded."""

    case: str
    session: int
    day: date
    outcomes: tuple[str, ...]


def due(
    connection: Connection, watch_days: Mapping[str, int], today: date, outcomes_of: OutcomesOf
) -> list[Due]:
    """Treatments for which an outcome should have been looked for by now and was not recorded.

    `outcomes_of` gives the outcomes that a combination of techniques can have.
    """
    columns = outcome_columns(connection)
    table = treatments(columns)
    found = []
    for id, used in combinations(connection).items():
        wanted = [name for name in outcomes_of(used) if name in watch_days]
        query = select(table).where(table.c.combination_id == id)
        for row in connection.execute(query).mappings():
            late = tuple(
                name
                for name in wanted
                if row["day"] + watch_days[name] <= today.toordinal()
                and not _looked_for(row, columns.get(name, ""), watch_days[name])
            )
            if late:
                day = date.fromordinal(row["day"])
                found.append(Due(row["case_ref"], row["session"], day, late))
    return sorted(found, key=lambda each: (each.day, each.case, each.session))


def _looked_for(row: RowMapping, column: str, days: int) -> bool:
    grade = row[column] if column else None
    looked = row["watched_days"]
    return grade is not None and (grade >= 1 or (looked is not None and looked >= days))


OutcomesOf = Callable[[frozenset[str]], Iterable[str]]
