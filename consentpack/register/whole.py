"""The counts of a whole register, for a rate sheet: every combination of techniques in one pass."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import add
from typing import Literal

from sqlalchemy import Connection

from consentpack.model import Counts
from consentpack.register.queries import Comparison, Window, combinations, fits, inside
from consentpack.register.read_together import Together
from consentpack.register.rolled import Rolled, rolled
from consentpack.register.schema import field_columns, outcome_columns
from consentpack.register.sums import Sums
from consentpack.register.timing import timing_of
from consentpack.register.watched import Watched

Grouping = Literal["operator", "site"]


@dataclass(frozen=True)
class Whole:
    """The counts of a whole register."""

    each: Mapping[frozenset[str], Mapping[str, Counts]]
    """Combination of techniques -> outcome -> counts."""
    by: Mapping[Grouping, Grouped]
    """The same, parted by operator and by site."""


@dataclass(frozen=True)
class Grouped:
    """Counts for each operator or site, of every combination of techniques."""

    found: Mapping[frozenset[str], Mapping[str, Mapping[str, Counts]]]
    """Combination -> operator or site -> outcome -> counts."""

    def of(self, comparison: Comparison, outcome: str) -> dict[str, tuple[int, int]]:
        """Events and watched treatments of one outcome for each operator or site, in order of name.

        Raises ValueError for a comparison by site or stratum, which these counts do not part.
        """
        if comparison.sites or comparison.strata:
            raise ValueError("these counts are not parted by site and stratum")
        sums: dict[str, tuple[int, int]] = {}
        for used, groups in self.found.items():
            for name, counts in groups.items() if fits(used, comparison) else ():
                if outcome in counts:  # what was never recorded parts nobody
                    events, watched = sums.get(name, (0, 0))
                    sums[name] = events + counts[outcome].events, watched + counts[outcome].watched
        return dict(sorted(sums.items()))


def tally_all(connection: Connection, window: Window, watch_days: Mapping[str, int]) -> Whole:
    """The counts of each outcome for every combination of techniques, in one pass.

    A pass for each figure of a rate sheet would read a large register hundreds of times, and even one
    for each way of parting it would take three times as long.
    """
    rows, sums = sums_of(connection, window, watch_days)
    (operators, operator), (sites, site) = rows.words("operator"), rows.words("site")
    each: _Totals = {}
    parted: dict[Grouping, _Totals] = {"operator": {}, "site": {}}
    keys = (rows.numbers("combination_id"), operator, site)
    for (id, by, at), found in sums.grouped(inside(rows, window), keys):
        names = (each, ""), (parted["operator"], word(operators, by)), (parted["site"], word(sites, at))
        for totals, name in names:
            _add(totals, (id, name), found)
    used = combinations(connection)
    return Whole(
        {used[id]: sums.every(found, watch_days) for (id, _), found in each.items()},
        {grouping: _grouped(totals, sums, used) for grouping, totals in parted.items()},
    )


def sums_of(connection: Connection, window: Window, watch_days: Mapping[str, int]) -> tuple[Rolled, Sums]:
    """The columns of a register, and what is summed up over them for outcomes each by itself."""
    columns, days, rows = outcome_columns(connection), field_columns(connection).days, rolled(connection)
    period = (window.first.toordinal(), window.last.toordinal())
    known = {name: column for name, column in columns.items() if name in watch_days}
    timing = timing_of(connection, columns, days, period)
    return rows, Sums(Together(Watched(rows, timing), known, watch_days, timing), known, watch_days)


def word(words: Sequence[str], place: int) -> str:
    """A word by its place, where one is recorded."""
    return (words[place] if place >= 0 else "") or NOT_RECORDED


NOT_RECORDED = "not recorded"
_Totals = dict[tuple[int, str], list[int]]
"""Combination and operator or site -> the sums of its treatments."""


def _add(totals: _Totals, key: tuple[int, str], found: list[int]) -> None:
    before = totals.get(key)
    totals[key] = list(map(add, before, found)) if before else found


def _grouped(totals: _Totals, sums: Sums, used: Mapping[int, frozenset[str]]) -> Grouped:
    found = defaultdict[frozenset[str], dict[str, Mapping[str, Counts]]](dict)
    for (id, name), row in totals.items():
        found[used[id]][name] = sums.every(row, sums.recorded)
    return Grouped(found)
