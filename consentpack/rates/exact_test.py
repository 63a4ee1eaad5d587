"""Exact tests of one proportion against another."""

from __future__ import annotations

import math

from consentpack.rates.intervals import check_counts

LEVEL = 0.05
"""Level of the tests, one-sided where one direction is asked for."""


def _chances(events_a: int, n_a: int, events_b: int, n_b: int) -> tuple[list[float], int]:
    """Chance of each possible number of events in the first group, given the total; and the first
    such number. The hypergeometric distribution of Fisher's exact test."""
    check_counts(events_a, n_a)
    check_counts(events_b, n_b)
    total, everybody = events_a + events_b, n_a + n_b
    first, last = max(0, total - n_b), min(n_a, total)
    fixed = sum(map(_log_factorial, (n_a, n_b, total, everybody - total))) - _log_factorial(everybody)
    cells = ((k, n_a - k, total - k, n_b - total + k) for k in range(first, last + 1))
    return [math.exp(fixed - sum(map(_log_factorial, four))) for four in cells], first


def _log_factorial(n: int) -> float:
    return math.lgamma(n + 1)  # scipy would have the same, and take a sixth of a whole pack to load


def greater(events_a: int, n_a: int, events_b: int, n_b: int) -> float:
    """One-sided P value that the first proportion is above the second (Fisher 1935).

    Both are taken as samples: a published figure has its own uncertainty. Raises ValueError unless
    0 <= events <= n and n >= 1 in both.
    """
    chances, first = _chances(events_a, n_a, events_b, n_b)
    return min(1.0, sum(chances[events_a - first :]))


def differ(events_a: int, n_a: int, events_b: int, n_b: int) -> float:
    """Two-sided P value that the proportions differ: all tables no likelier than the one seen."""
    chances, first = _chances(events_a, n_a, events_b, n_b)
    seen = chances[events_a - first]
    # the same chance reached on two ways of rounding must count as the same
    return min(1.0, sum(p for p in chances if p <= seen * (1 + 1e-7)))
