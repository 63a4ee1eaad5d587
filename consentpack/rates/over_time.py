"""The share in which something is seen by the end of its watching time, from unequal follow-up.

Kaplan and Meier's product limit; where the same place was treated again before it was seen, Aalen and
Johansen's estimate, in which that treatment ends the wait and is no event. docs/why/when-not-only-whether.md
says why these, and why this interval.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from consentpack.model import Curve, Estimate
from consentpack.rates.intervals import score_interval


@dataclass(frozen=True)
class _Day:
    """One day on which some left the watch."""

    at_risk: int
    """Watched without it until this day."""
    seen: int
    again: int
    left: int
    before: Fraction
    """Share neither seen nor treated again before this day."""
    share: Fraction
    """Share in which it was seen by the end of this day."""


def estimate(curve: Curve | None) -> Estimate | None:
    """The share by the end of a curve, and how sure it is. None where it has no event, so that counts say as
    much, or where nobody was left to say what became of the others."""
    days = list(_days(curve)) if curve else []
    events = sum(day.seen for day in days)
    if not events or days[-1].share == 1:
        return None
    share, n = days[-1].share, days[0].at_risk
    effective = float(share * (1 - share)) / _variance(days)
    return Estimate(
        share=share,
        events=events,
        n=n,
        interval=score_interval(float(share), effective),
        effective=effective,
        to_the_end=days[-1].left,
        again=sum(day.again for day in days),
    )


def _days(curve: Curve) -> Iterator[_Day]:
    """Each day of a curve, with those at risk. Who stops being watched on a day was watched on that day."""
    at_risk = sum(seen + again + left for _, seen, again, left in curve.steps)
    free, share = Fraction(1), Fraction(0)
    for _, seen, again, left in curve.steps:
        before = free
        share += before * Fraction(seen, at_risk)
        free = before * Fraction(at_risk - seen - again, at_risk)
        yield _Day(at_risk, seen, again, left, before, share)
        at_risk -= seen + again + left


def _variance(days: list[_Day]) -> float:
    """The variance of the share by the delta method (Marubini and Valsecchi 1995); without another treatment
    it is Greenwood's (1926)."""
    end, total = float(days[-1].share), 0.0
    for day in days:
        n, seen, both = day.at_risk, day.seen, day.seen + day.again
        before, further = float(day.before), end - float(day.share)
        if both < n:  # after a day on which all left nothing further is added
            total += further**2 * both / (n * (n - both))
        total += before**2 * seen * (n - seen) / n**3 - 2 * further * before * seen / n**2
    return total
