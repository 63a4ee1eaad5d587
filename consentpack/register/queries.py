"""Counts out of the register. Nothing else leaves it, but for the clinic's own lists."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from sqlalchemy import Connection, RowMapping, select

from consentpack.model import Counts
from consentpack.register.bits import Bits, packed, places
from consentpack.register.read_together import Together
from consentpack.register.rolled import Rolled, rolled
from consentpack.register.schema import (
    COMBINATIONS,
    FieldColumns,
    field_columns,
    outcome_columns,
    treatments,
)
from consentpack.register.sums import Left, Sums, per_group, together
from consentpack.register.timing import timing_of
from consentpack.register.watched import Watched


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
    columns, more, rows = outcome_columns(connection), field_columns(connection), rolled(connection)
    comparison, without = _answerable(rows, more, comparison)
    period = (window.first.toordinal(), window.last.toordinal())
    timing = timing_of(connection, columns, more.days, period, watch_days)
    known = {name: column for name, column in columns.items() if name in watch_days}
    watched = Watched(rows, timing)
    told = Together(watched, known, watch_days, timing, comparison.joint, comparison.parts)
    sums = Sums(told, known, watch_days)
    chosen = _chosen(connection, rows, more, comparison, window)
    found = sums.of(chosen)
    counts = {outcome: sums.counts(outcome, found) for outcome in watch_days}
    dated = {id: sums.dated(id, found, _left(told, id, chosen)) for id in sums.by_day}
    first, last = _first_and_last(rows, chosen)
    return Tally(found[0], first, last, counts, without, dated, timing.watched)


def _left(told: Together, outcome: str, chosen: Bits) -> list[Left]:
    """The treatments that were not watched to the end, and those in which an outcome was seen, by the day on
    which they left the watch."""
    left = together(told.left(outcome, places(chosen & told.left_early(outcome))))
    numbers = per_group(left[1])
    each = zip(left[0], numbers.tolist(), strict=True)
    return [Left(day, why, bool(due), number) for (day, why, due), number in each if day >= 0]


def _first_and_last(rows: Rolled, chosen: Bits) -> tuple[date | None, date | None]:
    days = rows.numbers("day")[places(chosen)]
    if not len(days):
        return None, None
    return date.fromordinal(int(days.min())), date.fromordinal(int(days.max()))


def _answerable(
    rows: Rolled, more: FieldColumns, comparison: Comparison
) -> tuple[Comparison, tuple[str, ...]]:
    """A comparison by the strata that are recorded here, and those that are recorded for nobody.

    Asking for the value of something nobody wrote down would find no treatment, and the record would
    say that none was watched.
    """
    there = {id for id, column in more.strata.items() if rows.words(column)[0]}
    kept = tuple(each for each in comparison.strata if each[0] in there)
    without = tuple(id for id, _ in comparison.strata if id not in there)
    return replace(comparison, strata=kept), without


def _chosen(
    connection: Connection, rows: Rolled, more: FieldColumns, comparison: Comparison, window: Window
) -> Bits:
    """The treatments of a comparison."""
    wanted = [id for id, used in combinations(connection).items() if fits(used, comparison)]
    chosen = rows.is_one_of("combination_id", wanted) & inside(rows, window)
    if comparison.sites:
        chosen = chosen & rows.is_word("site", comparison.sites)
    for stratum, values in comparison.strata:
        chosen = chosen & rows.is_word(more.strata[stratum], values)
    return chosen


def inside(rows: Rolled, window: Window) -> Bits:
    """The treatments of a period."""
    day, first, last = rows.numbers("day"), window.first.toordinal(), window.last.toordinal()
    return rows.once("inside", window, lambda: packed((day >= first) & (day <= last)))


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
