"""Groups side by side, such as operators or sites: exact limits of a funnel. No ranking."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from consentpack.rates.intervals import check_counts
from consentpack.rates.laws import Binomial, Law, Mix, said_chance, sum_of

FEWEST = 10
"""A group smaller than this is not placed: two of three says nothing about anybody."""
ALERT, ALARM = 0.95, 0.998
"""Shares of groups expected inside the limits when all are alike (Spiegelhalter 2005). At 95% one of
forty groups lies above by chance alone, so that with some dozens of them somebody nearly always does."""


State = Literal["inside", "above 95%", "above 99.8%", "below 95%", "below 99.8%", "too few"]


@dataclass(frozen=True)
class Place:
    """Where one group stands."""

    group: str
    events: int
    n: int
    state: State
    expected: float | None = None
    """How many were to be expected by the risk of its treatments; None where that was not adjusted for."""
    luck_alert: float = 0.0
    luck_alarm: float = 0.0
    """The chance to lie above the limits when it is like all others, at 95% and at 99.8%."""

    def above(self, share: float) -> bool:
        """Whether it lies above the limits of this share."""
        return self.state == "above 99.8%" or (share <= ALERT and self.state == "above 95%")

    def below(self, share: float) -> bool:
        """Whether it lies below them."""
        return self.state == "below 99.8%" or (share <= ALERT and self.state == "below 95%")

    def luck(self, share: float) -> float:
        return self.luck_alert if share <= ALERT else self.luck_alarm


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
    """Where a group stands, by exact tail chances. Raises ValueError as `limits` does."""
    check_counts(events, n)
    return _placed(group, events, n, Binomial(n, target), None)


def place_adjusted(group: str, events: int, mix: Mix) -> Place:
    """The same for a group whose treatments differ in risk: `mix` holds how many had which chance."""
    n = sum(number for number, _ in mix)
    check_counts(events, n)
    law = sum_of(mix)
    return _placed(group, events, n, law, law.mean)


def _placed(group: str, events: int, n: int, law: Law, expected: float | None) -> Place:
    if n < FEWEST:
        return Place(group, events, n, "too few", expected)
    luck = law.chance_past((1 - ALERT) / 2), law.chance_past((1 - ALARM) / 2)
    return Place(group, events, n, _state(law.at_least(events), law.at_most(events)), expected, *luck)


def _state(above: float, below: float) -> State:
    for share, over, under in (
        (ALARM, "above 99.8%", "below 99.8%"),
        (ALERT, "above 95%", "below 95%"),
    ):
        tail = (1 - share) / 2
        if above < tail:
            return over  # type: ignore[return-value]
        if below < tail:
            return under  # type: ignore[return-value]
    return "inside"


@dataclass(frozen=True)
class Luck:
    """What to expect of some groups when all are alike, and only chance sets them apart."""

    groups: int
    """How many were placed."""
    expected: float
    """How many of them lie above the limits on average, whatever the groups have to do with each other."""
    chance: float
    """That one or more of them do, if they have nothing to do with each other; less where they are alike."""

    @property
    def said(self) -> str:
        return said_chance(self.chance)


def luck(places: Iterable[Place], share: float) -> Luck:
    """The chance of a false flag among all groups that were looked at."""
    chances = [place.luck(share) for place in places if place.state != "too few"]
    return Luck(len(chances), sum(chances), any_of(chances))


def any_of(chances: Iterable[float]) -> float:
    """The chance that one or more of some things happen that have nothing to do with each other."""
    return -math.expm1(sum(math.log1p(-chance) for chance in chances))
