"""Counts of the groups that treatments fall into: by techniques, operator, site and strata, in one pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from consentpack.register.queries import Window, combinations, inside
from consentpack.register.schema import field_columns
from consentpack.register.whole import NOT_RECORDED, sums_of, word


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
    rows, sums = sums_of(connection, window, watch_days)
    used, more = combinations(connection), field_columns(connection)
    chosen = inside(rows, window)
    if techniques is not None:
        wanted = frozenset(techniques)
        chosen = chosen & rows.is_one_of("combination_id", [id for id, u in used.items() if u & wanted])
    columns = {"site": "site", **({"operator": "operator"} if operators else {})}
    columns |= {id: more.strata[id] for id in strata if id in more.strata}
    words = {id: rows.words(column) for id, column in columns.items()}
    keys = (rows.numbers("combination_id"), *(codes for _, codes in words.values()))
    for (id, *places), found in sums.grouped(chosen, keys):
        each = zip(words.items(), places, strict=True)
        named = {of: word(known, place) for (of, (known, _)), place in each}
        counts = sums.every(found, sums.recorded)
        yield Part(
            used[id],
            named.get("operator", ""),
            named["site"],
            tuple(named.get(stratum, NOT_RECORDED) for stratum in strata),
            {outcome: (each.events, each.watched) for outcome, each in counts.items()},
        )
