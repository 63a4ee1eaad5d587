"""Groups side by side, such as operators or sites: exact limits of a funnel. No ranking."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from consentpack.rates.intervals import check_counts

FEWEST = 10
"""A group smaller than this is not placed: two of three says nothing about anybody."""
ALERT, ALARM = 0.95, 0.998
"""Shares of groups expected inside the limits when all are alike (Spiegelhalter 2005)."""


@dataclass(frozen=True)
class Place:
    """Where one group stands."""

    group: str
    events: int
    n: int
    state: Literal["inside", "above 95%", "above 99.8%", "below 95%", "below 99.8%", "too few"]


def limits(target: float, n: int, share: float) -> tuple[float, float]:
    """Limits of a proportion around a target for a group of n, by interpolated exact binomial.

    Spiegelhalter 2005 (Stat Med 24:1185), appendix (rule from memory); never below 0. Raises
    ValueError unless n >= 1.
    """
    check_counts(0, n)
    tail = (1 - share) / 2
    return _limit(target, n, tail), _limit(target, n, 1 - tail)


def _limit(target: float, n: int, p: float) -> float:
    from scipy.special import bdtr, bdtrik  # noqa: PLC0415 - a quarter of a second to import

    r = max(0, int(bdtrik(p, n, target)))
    while bdtr(r, n, target) < p:  # smallest r with P(R <= r) >= p
        r += 1
    while r > 0 and bdtr(r - 1, n, target) >= p:
        r -= 1
    before = float(bdtr(r - 1, n, target)) if r else 0.0
    share = (float(bdtr(r, n, target)) - p) / (float(bdtr(r, n, target)) - before)
    return max(0.0, (r - share) / n)


def place(group: str, events: int, n: int, target: float) -> Place:
    """Where a group stands, by exact tail chances."""
    from scipy.special import bdtr, bdtrc  # noqa: PLC0415

    check_counts(events, n)
    if n < FEWEST:
        return Place(group, events, n, "too few")
    above = float(bdtrc(events - 1, n, target))
    below = float(bdtr(events, n, target))
    for share in (ALARM, ALERT):
        tail = (1 - share) / 2
        name = "99.8%" if share == ALARM else "95%"
        if above < tail:
            return Place(group, events, n, f"above {name}")  # type: ignore[arg-type]
        if below < tail:
            return Place(group, events, n, f"below {name}")  # type: ignore[arg-type]
    return Place(group, events, n, "inside")
