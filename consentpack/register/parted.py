"""Counts of the groups that treatments fall into: by techniques, operator, site and strata, in one pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from consentpack.register.queries import Window, combinations
from consentpack.register.schema import field_columns, outcome_columns, treatments
from consentpack.register.sums import Sums
from consentpack.register.timing import timing_of
from consentpack.register.whole import NOT_RECORDED


@dataclass(frozen=True)
class Part:
    """The treatments that are alike in all that they were parted by."""

    techniques: frozenset[str]
    """All that were used together."""
    operator: str
    """'' where it was not asked for."""
    site: str
    strata: tuple[str, ...]
    """The value of each stratum that was asked for, in that order."""
    counts: Mapping[str, tuple[int, int]]
    """Outcome -> events and watched treatments; only what somebody has ever written down."""


def tally_parted(
    connection: Connection,
    window: Window,
    watch_days: Mapping[str, int],
    *,
    strata: Sequence[str] = (),
    operators: bool = False,
    techniques: Iterable[str] | None = None,
) -> Iterator[Part]:
    """Events and watched treatments of each outcome, of every group of treatments in a period.

    With `techniques` only treatments that used one of them. What counts as seen and as watched is as in
    `tally`, each outcome by itself. A stratum that nobody recorded is one group.
    """
    columns, more = outcome_columns(connection), field_columns(connection)
    table = treatments(columns, more)
    known_outcomes = {name: column for name, column in columns.items() if name in watch_days}
    period = (window.first.toordinal(), window.last.toordinal())
    sums = Sums(known_outcomes, watch_days, timing_of(connection, columns, more.days, period))
    used = combinations(connection)
    if techniques is not None:
        used = {id: these for id, these in used.items() if not these.isdisjoint(techniques)}
    known = [id for id in strata if id in more.strata]
    keys = [table.c.combination_id, table.c.site, *(table.c[more.strata[id]] for id in known)]
    if operators:
        keys.append(table.c.operator)
    inside = table.c.day.between(*period)
    query = select(*keys, *sums.asked).where(inside, table.c.combination_id.in_(used)).group_by(*keys)
    for id, *row in connection.execute(query):
        site, *values = (value or NOT_RECORDED for value in row[: len(keys) - 1])
        named = dict(zip(known, values, strict=False))
        counts = sums.every(row[len(keys) - 1 :], sums.recorded)
        yield Part(
            used[id],
            values[-1] if operators else "",
            site,
            tuple(named.get(stratum, NOT_RECORDED) for stratum in strata),
            {outcome: (each.events, each.watched) for outcome, each in counts.items()},
        )
