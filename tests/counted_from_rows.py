"""The counts of a comparison read from the rows by the database: a way that knows nothing of the roll-up.

So the program itself counted before it kept one. Only names of columns and whole numbers are put into SQL.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from sqlalchemy import (
    Boolean,
    ColumnElement,
    Connection,
    Integer,
    Select,
    Table,
    func,
    literal_column,
    select,
    union_all,
)  # fmt: skip

from consentpack.model import Counts, Curve
from consentpack.register import Comparison, Tally, Window
from consentpack.register.queries import combinations, fits
from consentpack.register.schema import FieldColumns, field_columns, outcome_columns, treatments
from consentpack.register.timing import timing_of

_NEVER = 10**6  # days, later than any


@dataclass(frozen=True)
class Timing:
    """What a register says of time within one period of treatments."""

    today: int
    """The last day of the period."""
    watched: bool = True
    """Whether it keeps last-seen days. Without them nobody knows over what time anything was seen."""
    retreated: str = ""
    """The column of days until a place was treated again; '' when nobody wrote one down."""
    noticed: Mapping[str, str] = field(default_factory=dict)
    """Outcome -> the column of days until it was first noticed, where every one that was seen has one."""

    def over(self, days: int) -> str:
        """That the watching time is over, and was watched to its end."""
        due = f"day <= {self.today - days:d}"
        if not self.watched:
            return due
        again = f" AND coalesce({self.retreated}, {days:d}) >= {days:d}" if self.retreated else ""
        return f"({due} AND coalesce(watched_days, -1) >= {days:d}{again})"

    def seen_by(self, first: str, days: int) -> str:
        """That it was first noticed, after `first` days, by the end of the watching time and of the period,
        and before the place was treated again."""
        again = f" AND {first} <= coalesce({self.retreated}, {_NEVER})" if self.retreated else ""
        return f"({first} <= {days:d} AND {first} <= {self.today:d} - day{again})"

    def left(self, first: str, days: int) -> tuple[str, str, str]:
        """The day on which a treatment left the watch, and why, as in `Curve.of`; and whether its watching
        time is over."""
        seen, end = self.seen_by(first, days), least(f"{days:d}", f"({self.today:d} - day)")
        watched = f"(CASE WHEN {first} < {_NEVER} THEN {days:d} ELSE coalesce(watched_days, -1) END)"
        left, due = least(watched, end), f"(CASE WHEN day <= {self.today - days:d} THEN 1 ELSE 0 END)"
        if not self.retreated:
            why = f"(CASE WHEN {seen} THEN 1 ELSE 0 END)"
            return f"(CASE WHEN {seen} THEN {first} ELSE {left} END)", why, due
        again = f"coalesce({self.retreated}, {_NEVER}) < {end}"
        return (
            f"(CASE WHEN {seen} THEN {first} WHEN {again} THEN {self.retreated} ELSE {left} END)",
            f"(CASE WHEN {seen} THEN 1 WHEN {again} THEN 2 ELSE 0 END)",
            due,
        )


def least(one: str, other: str) -> str:
    """The smaller of two numbers; SQLite and PostgreSQL have no name for it in common."""
    return f"(CASE WHEN {one} < {other} THEN {one} ELSE {other} END)"


def first_of(days: Iterable[tuple[str, str]]) -> str:
    """Days until the first of some outcomes was noticed, from (its column, that of its day); many when none
    was."""
    found = [f"(CASE WHEN {grade} >= 1 THEN {day} ELSE {_NEVER} END)" for grade, day in days]
    first = found[0]
    for each in found[1:]:
        first = least(first, each)
    return first


class Together:
    """The conditions of each outcome of a comparison.

    A treatment in which a kind of something was seen is one in which that was seen, whatever its own cell
    says; one in which the whole was looked for and not seen had none of its kinds. Where the whole was
    seen and nothing is written of the kind, the kind is not known: blank never counts as no. So of two
    figures the part's events are among the whole's, and the treatments it leaves out all had the whole:
    the part's share cannot be the larger one. All are watched for the longest of their watching times.
    """

    def __init__(
        self,
        columns: Mapping[str, str],
        watch_days: Mapping[str, int],
        timing: Timing,
        joint: Sequence[str] = (),
        parts: Sequence[tuple[str, str]] = (),
    ):
        self._columns, self._days, self._timing = columns, watch_days, timing
        self._joint = list(joint)
        self._parts = [pair for pair in parts if set(pair) <= set(columns)]

    def seen(self, outcome: str) -> str:
        """That the outcome, or a part of it, was seen at any time."""
        kinds = [part for part, whole in self._parts if whole == outcome]
        if not kinds:
            return self._is(outcome, ">= 1")
        return "(" + " OR ".join([self._is(outcome, ">= 1"), *map(self.seen, kinds)]) + ")"

    def recorded(self, outcome: str) -> str:
        """That something is written down of it, and of all outcomes it is joined with."""
        return " AND ".join(self._recorded(each) for each in self._joined(outcome))

    def known(self, outcome: str) -> str:
        """That it is known whether it was seen when the watching time was over, and for all it is joined
        with."""
        each = self._joined(outcome)
        return " AND ".join(f"{self._recorded(id)} AND {self._timing.over(self._longest(id))}" for id in each)

    def dated(self, outcome: str) -> bool:
        """Whether it, and all it is told as a part or whole of, can be told by their days."""
        family = self._family(outcome)
        return not self._joint and family <= set(self._timing.noticed) and self._alike(family)

    def left(self, outcome: str) -> tuple[str, str, str]:
        """When a treatment left the watch, why, and whether its watching time is over."""
        return self._timing.left(self._first(outcome), self._days[outcome])

    def left_early(self, outcome: str) -> str:
        """That something is written down, and it was not watched to the end without being seen: most were,
        and to sort those by day would take long."""
        whole = f"{self.known(outcome)} AND NOT ({self.seen(outcome)})"
        return f"({self.recorded(outcome)} AND NOT ({whole}))"

    def _joined(self, outcome: str) -> list[str]:
        joined = self._joint if outcome in self._joint else ()
        return list(dict.fromkeys((outcome, *joined)))

    def _recorded(self, outcome: str) -> str:
        whole = next((whole for part, whole in self._parts if part == outcome), None)
        own = f"{self._is(outcome, '>= 0')}"
        if any(outcome == each for _, each in self._parts):
            own = f"({own} OR {self.seen(outcome)})"
        if whole is None:
            return own
        return f"({self._recorded(whole)} AND ({own} OR NOT {self.seen(whole)}))"

    def _family(self, outcome: str) -> set[str]:
        """The outcome with all that it is a part of or that are parts of it."""
        family, size = {outcome}, 0
        while size != len(family):
            size = len(family)
            family |= {id for pair in self._parts if family & set(pair) for id in pair}
        return family

    def _longest(self, outcome: str) -> int:
        return max(self._days[id] for id in self._family(outcome))

    def _alike(self, family: set[str]) -> bool:
        return len({self._days[id] for id in family}) == 1

    def _first(self, outcome: str) -> str:
        return first_of(self._cells(outcome))

    def _cells(self, outcome: str) -> list[tuple[str, str]]:
        kinds = [part for part, whole in self._parts if whole == outcome]
        own = (self._columns[outcome], self._timing.noticed[outcome])
        return [own, *(cell for kind in kinds for cell in self._cells(kind))]

    def _is(self, outcome: str, what: str) -> str:
        """A condition on a cell; a blank one meets none, also when it is turned round."""
        if outcome not in self._columns:
            return "1 = 0"  # nobody ever wrote it down
        if not self._parts:
            return f"{self._columns[outcome]} {what}"  # nothing is turned round
        return f"coalesce({self._columns[outcome]}, -1) {what}"


@dataclass(frozen=True)
class Left:
    """Some treatments that left the watch on one day, for one reason."""

    day: int
    """Days after the treatment."""
    why: int
    """As in `Curve.of`."""
    due: bool
    """Whether their watching time is over."""
    number: int


SEEN = 1


class Sums:
    """What is summed up for some outcomes, each sum once, and the Counts they make.

    What depends on the watching time alone is not summed again for every outcome that has it. An
    outcome the register has never heard of has no column: it was never recorded.
    """

    def __init__(
        self,
        columns: Mapping[str, str],
        watch_days: Mapping[str, int],
        timing: Timing,
        told: Together | None = None,
    ):
        told = told or Together(columns, watch_days, timing)
        self._watch_days = watch_days
        self.recorded = [outcome for outcome in watch_days if outcome in columns]
        self.by_day = [outcome for outcome in self.recorded if told.dated(outcome)]
        self._days = sorted(set(watch_days.values()))
        self.asked: list[ColumnElement[int]] = [func.count()]
        for days in self._days:
            self.asked += [
                column(f"count(*) FILTER (WHERE day <= {timing.today - days:d})"),
                column(f"sum({_possible(days, timing.today)})"),
            ]
        for outcome in self.recorded:
            self.asked += _sums(told, outcome, _looked(columns[outcome], watch_days[outcome], timing.today))

    def every(self, found: Sequence[int], outcomes: Iterable[str]) -> dict[str, Counts]:
        """The counts of some outcomes from one row of sums."""
        return {outcome: self.counts(outcome, found) for outcome in outcomes}

    def counts(self, outcome: str, found: Sequence[int | None]) -> Counts:
        """The counts of one outcome from the sums that were asked."""
        at = 1 + 2 * self._days.index(self._watch_days[outcome])
        due, possible = _whole(found[at : at + 2])
        if outcome not in self.recorded:
            return Counts(0, 0, due, 0, 0, possible, blank=int(found[0] or 0))
        at = self._first_sum(outcome)
        events, watched, seen, known, looked = _whole(found[at : at + _SUMS])
        outside, blank = (seen - events, known - watched), int(found[0] or 0) - known
        return Counts(events, watched, due, watched, looked, possible, *outside, blank)

    def dated(self, outcome: str, found: Sequence[int | None], left: Iterable[Left]) -> Counts:
        """The counts of one outcome by the days on which it was first noticed.

        `left` are the treatments of `Together.left_early`; of all others it is known that they were watched
        to the end without it.
        """
        plain, days = self.counts(outcome, found), self._watch_days[outcome]
        rows = [*left, Left(days, 0, True, plain.watched - plain.events)]
        events = sum(each.number for each in rows if each.why == SEEN and each.due)
        decided = sum(each.number for each in rows if each.due and (each.why or each.day == days))
        known = plain.watched + plain.outside
        return replace(
            plain,
            events=events,
            watched=decided,
            due_watched=decided,
            outside_events=sum(each.number for each in rows if each.why == SEEN) - events,
            outside=known - decided,
            curve=Curve.of((each.day, each.why, each.number) for each in rows if each.number),
        )

    def _first_sum(self, outcome: str) -> int:
        return 1 + 2 * len(self._days) + _SUMS * self.recorded.index(outcome)


_SUMS = 5


def _whole(found: Sequence[int | None]) -> list[int]:
    return [int(value or 0) for value in found]


def _sums(told: Together, outcome: str, looked: str) -> list[ColumnElement[int]]:
    """Events and watched of treatments that were watched to the end, those of all, and days looked."""
    seen, known = told.seen(outcome), told.known(outcome)
    recorded = told.recorded(outcome)
    return [
        column(f"count(*) FILTER (WHERE {seen} AND {known})"),
        column(f"count(*) FILTER (WHERE {known})"),
        column(f"count(*) FILTER (WHERE {seen} AND {recorded})"),
        column(f"count(*) FILTER (WHERE {recorded})"),
        column(looked),
    ]


def _looked(grade: str, days: int, today: int) -> str:
    """The days of watching time that were watched."""
    possible = _possible(days, today)
    least = (
        f"CASE WHEN coalesce(watched_days, 0) < {possible} THEN coalesce(watched_days, 0) ELSE {possible} END"
    )
    return f"sum(CASE WHEN {grade} >= 1 THEN {possible} WHEN {grade} = 0 THEN {least} ELSE 0 END)"


def _possible(days: int, today: int) -> str:
    """The days a treatment could have been watched by now, no more than the watching time."""
    return f"(CASE WHEN {today:d} - day < {days:d} THEN {today:d} - day ELSE {days:d} END)"


def column(sql: str) -> ColumnElement[int]:
    """A sum in SQL that SQLite and PostgreSQL share; only numbers and names of columns are put into it.

    Put together from SQLAlchemy's parts, the sums of one pack took a tenth of a second to be made and
    compiled. A filter takes a third less time than a sum of ones and noughts.
    """
    return literal_column(sql, Integer)


def tally_of_rows(
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
    comparison, without = answerable(connection, table, more, comparison)
    period = (window.first.toordinal(), window.last.toordinal())
    told_by = timing_of(connection, columns, more.days, period, watch_days)
    timing = Timing(told_by.today, told_by.watched, told_by.retreated, told_by.noticed)
    known = {name: f"{table.c[column].name}" for name, column in columns.items() if name in watch_days}
    told = Together(known, watch_days, timing, comparison.joint, comparison.parts)
    sums = Sums(known, watch_days, timing, told)
    chosen = chosen_of(connection, table, more, comparison, window)
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


def answerable(
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


def chosen_of(
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
