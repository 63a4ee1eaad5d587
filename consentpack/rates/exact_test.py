"""Exact tests of one proportion against another."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from consentpack.rates.intervals import check_counts

LEVEL = 0.05
"""Level of the tests, one-sided where one direction is asked for."""


@dataclass(frozen=True)
class _Chances:
    """Chance of each possible number of events in the first group, given the total: the hypergeometric
    distribution of Fisher's exact test.

    Chances fall on both sides of the likeliest number. A tail is summed from its thick end until what
    follows is no longer felt: of a million treatments some hundred terms instead of a hundred thousand.
    """

    n_a: int
    n_b: int
    total: int

    @property
    def first(self) -> int:
        return max(0, self.total - self.n_b)

    @property
    def last(self) -> int:
        return min(self.n_a, self.total)

    @property
    def likeliest(self) -> int:
        return (self.n_a + 1) * (self.total + 1) // (self.n_a + self.n_b + 2)

    def of(self, events: int) -> float:
        everybody = self.n_a + self.n_b
        fixed = (self.n_a, self.n_b, self.total, everybody - self.total)
        cells = (events, self.n_a - events, self.total - events, self.n_b - self.total + events)
        logs = sum(map(_log_factorial, fixed)) - _log_factorial(everybody)
        return math.exp(logs - sum(map(_log_factorial, cells)))

    def above(self, events: int) -> float:
        """Of so many and more, from the likeliest on."""
        return self._tail(events, self.last, 1)

    def below(self, events: int) -> float:
        """Of so many and fewer, up to the likeliest."""
        return self._tail(events, self.first, -1)

    def _tail(self, start: int, end: int, step: int) -> float:
        if (end - start) * step < 0:
            return 0.0
        term = found = self.of(start)
        for k in range(start, end, step):
            term *= self._ratio(k) if step > 0 else 1 / self._ratio(k - 1)
            found += term
            if term < found * _FELT:
                break
        return found

    def _ratio(self, k: int) -> float:
        """The chance of one more than k as a share of that of k."""
        return (self.n_a - k) * (self.total - k) / ((k + 1) * (self.n_b - self.total + k + 1))


_FELT = 1e-18
"""The share of a sum that a number of floating point cannot hold."""


def _chances(events_a: int, n_a: int, events_b: int, n_b: int) -> _Chances:
    check_counts(events_a, n_a)
    check_counts(events_b, n_b)
    return _Chances(n_a, n_b, events_a + events_b)


def _log_factorial(n: int) -> float:
    return math.lgamma(n + 1)  # scipy would have the same, and take a sixth of a whole pack to load


def greater(events_a: int, n_a: int, events_b: int, n_b: int) -> float:
    """One-sided P value that the first proportion is above the second (Fisher 1935).

    Both are taken as samples: a published figure has its own uncertainty. Raises ValueError unless
    0 <= events <= n and n >= 1 in both.
    """
    chances = _chances(events_a, n_a, events_b, n_b)
    if events_a > chances.likeliest:
        return min(1.0, chances.above(events_a))
    return min(1.0, max(0.0, 1 - chances.below(events_a - 1)))


def differ(events_a: int, n_a: int, events_b: int, n_b: int) -> float:
    """Two-sided P value that the proportions differ: all tables no likelier than the one seen."""
    chances = _chances(events_a, n_a, events_b, n_b)
    middle = chances.likeliest
    # the same chance reached on two ways of rounding must count as the same
    seen = chances.of(events_a) * (1 + 1e-7)
    if chances.of(middle) <= seen:
        return 1.0
    fewer = bisect_right(range(chances.first, middle), seen, key=chances.of)
    more = bisect_left(range(middle + 1, chances.last + 1), -seen, key=lambda k: -chances.of(k))
    low, high = chances.first + fewer - 1, middle + 1 + more
    return min(1.0, chances.below(low) + chances.above(high))
