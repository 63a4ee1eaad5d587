"""Two proportions side by side: difference, ratio, and what may be said of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from consentpack.model import Counts, Interval, Rate, Verdict
from consentpack.rates.exact_test import LEVEL, differ
from consentpack.rates.intervals import Z, check_counts, wilson
from consentpack.rates.reliability import quotable

CLOSE = 0.05
"""A difference whose whole interval lies within 5 in 100 is small enough to say 'agrees'."""


@dataclass(frozen=True)
class Comparing:
    """Two techniques side by side for one outcome."""

    first: str
    second: str
    outcome: str
    first_counts: Counts
    second_counts: Counts
    """Of treatments that used one technique and not the other, so that the two share none."""
    rates: tuple[Rate, Rate] | None = None
    """The two figures with their periods; None when nothing was watched for one of them."""

    @property
    def quotable(self) -> bool:
        """Whether both figures may be quoted: a difference is no better than its parts."""
        return quotable(self.first_counts).ok and quotable(self.second_counts).ok

    @property
    def watched(self) -> bool:
        """Whether anything was watched of both; without it there is nothing to compare."""
        return bool(self.first_counts.watched and self.second_counts.watched)

    def _four(self) -> tuple[int, int, int, int]:
        a, b = self.first_counts, self.second_counts
        return a.events, a.watched, b.events, b.watched

    def difference(self) -> Difference:
        return difference(*self._four())

    def ratio(self) -> tuple[float, Interval] | None:
        return ratio(*self._four())

    def verdict(self) -> Verdict:
        return verdict(*self._four())

    def disagreement(self) -> str:
        return disagreement(*self._four())


@dataclass(frozen=True)
class Difference:
    """First less second, with its 95% interval; both between -1 and 1."""

    value: float
    low: float
    high: float


def difference(events_a: int, n_a: int, events_b: int, n_b: int) -> Difference:
    """Difference of two independent proportions with Newcombe's hybrid score interval.

    Method 10 of Newcombe 1998 (Stat Med 17:873), without continuity correction. Raises ValueError
    unless 0 <= events <= n and n >= 1 in both.
    """
    a, b = wilson(events_a, n_a), wilson(events_b, n_b)
    p_a, p_b = events_a / n_a, events_b / n_b
    value = p_a - p_b
    below = math.hypot(p_a - a.low, b.high - p_b)
    above = math.hypot(a.high - p_a, p_b - b.low)
    # neither end can pass -1 or 1: the way to it is no longer than the two single ways together
    return Difference(value, value - below, value + above)


def ratio(events_a: int, n_a: int, events_b: int, n_b: int) -> tuple[float, Interval] | None:
    """Ratio of two proportions with Katz's log interval (Katz 1978); None when a count is zero.

    For the record only: a ratio makes a difference look larger than it is.
    """
    check_counts(events_a, n_a)
    check_counts(events_b, n_b)
    if not events_a or not events_b:
        return None
    value = (events_a / n_a) / (events_b / n_b)
    spread = Z * math.sqrt(1 / events_a - 1 / n_a + 1 / events_b - 1 / n_b)
    return value, Interval(value * math.exp(-spread), value * math.exp(spread))


def verdict(events_a: int, n_a: int, events_b: int, n_b: int) -> Verdict:
    """What may be said of a first proportion beside a second.

    'higher' or 'lower' when the two-sided exact test is under 5% and neither the interval of the
    difference holds 0 nor that of the ratio 1; 'mixed' when only some of them say so;
    'agrees' when the whole interval of the difference is small; else 'cannot tell', which is not the
    same as 'agrees'. Raises ValueError as `difference` does.
    """
    found = difference(events_a, n_a, events_b, n_b)
    told_apart = set(by_method(events_a, n_a, events_b, n_b).values())
    if told_apart == {True}:
        return "higher" if found.value > 0 else "lower"
    if True in told_apart:
        return "mixed"
    return "agrees" if found.low >= -CLOSE and found.high <= CLOSE else "cannot tell"


def by_method(events_a: int, n_a: int, events_b: int, n_b: int) -> dict[str, bool]:
    """Each method that is printed -> whether it tells two proportions apart at 5%.

    Fisher's two-sided exact test, Newcombe's interval of the difference and Katz's of the ratio, which
    there is not where a count is zero. They are of different kinds, so that near 5% one may see a
    difference that another does not.
    """
    four = events_a, n_a, events_b, n_b
    apart, times = difference(*four), ratio(*four)
    found = {
        "the exact test": differ(*four) < LEVEL,
        "the difference": apart.low > 0 or apart.high < 0,
    }
    if times:
        found["the ratio"] = times[1].low > 1 or times[1].high < 1
    return found


def disagreement(events_a: int, n_a: int, events_b: int, n_b: int) -> str:
    """Which methods tell two proportions apart and which do not, in words; '' where they agree."""
    found = by_method(events_a, n_a, events_b, n_b)
    yes, no = ([name for name, apart in found.items() if apart is wanted] for wanted in (True, False))
    if not yes or not no:
        return ""
    return f"told apart by {' and '.join(yes)}, not by {' and '.join(no)}"
