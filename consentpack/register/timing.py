"""Over what time treatments were watched, as conditions in SQL.

Only names of columns and whole numbers are put into them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from sqlalchemy import Connection, text

from consentpack.register.schema import RETREATED

FEW = 30
"""With so many last-seen days a register is one that keeps them, and a missing one is a patient lost."""
_NEVER = 10**6  # days, later than any
NO_DAY = f"SELECT count(*) FROM (SELECT 1 FROM treatments WHERE {{where}} LIMIT {FEW + 1}) AS few"


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


def timing_of(
    connection: Connection,
    columns: Mapping[str, str],
    days: Mapping[str, str],
    period: tuple[int, int],
    wanted: Iterable[str] = (),
) -> Timing:
    """What a register says of time. `columns` are those of all outcomes, `days` those of days.

    An outcome is told by its days only where every one that was seen in the period has one: where some
    have none, those would be left out, and the figure would be too good.
    """

    def some(where: str) -> int:
        return int(connection.execute(text(NO_DAY.format(where=where))).scalar_one())

    first, last = period
    undated = f"day BETWEEN {first:d} AND {last:d} AND {{0}} >= 1 AND {{1}} IS NULL"
    watched = _keeps_last_seen(columns, some)
    dated = [id for id in wanted if id in columns and id in days] if watched else []
    noticed = {id: days[id] for id in dated if not some(undated.format(columns[id], days[id]))}
    return Timing(last, watched, days.get(RETREATED, ""), noticed)


def _keeps_last_seen(columns: Mapping[str, str], some: Callable[[str], int]) -> bool:
    """Whether a register keeps last-seen days: it has many, or hardly any that lacks one."""
    with_day = some("watched_days IS NOT NULL")
    if with_day >= FEW or not columns:
        return True
    recorded = " OR ".join(f"{column} IS NOT NULL" for column in columns.values())
    return some(f"watched_days IS NULL AND ({recorded})") <= with_day
