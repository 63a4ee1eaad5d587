"""What a register says of time: whether it keeps last-seen days, which outcomes are told by their days."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from sqlalchemy import Connection, text

from consentpack.register.schema import RETREATED

FEW = 30
"""With so many last-seen days a register is one that keeps them, and a missing one is a patient lost."""
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
