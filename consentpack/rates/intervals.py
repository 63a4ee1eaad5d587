"""Intervals for a proportion."""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

from consentpack.model import Interval

CONFIDENCE = 0.95
Z = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2)


def check_counts(events: int, n: int) -> None:
    """Raises ValueError unless 0 <= events <= n and n >= 1."""
    if n < 1 or not 0 <= events <= n:
        raise ValueError(f"{events} of {n} is no proportion")


def wilson(events: int, n: int) -> Interval:
    """The 95% score interval of events / n, without continuity correction.

    Wilson 1927; method 3 of Newcombe 1998 (Stat Med 17:857). Recommended for small n by Brown, Cai
    and DasGupta 2001 (Stat Sci 16:101). Raises ValueError unless 0 <= events <= n and n >= 1.
    """
    check_counts(events, n)
    p, z2 = events / n, Z * Z
    middle = p + z2 / (2 * n)
    half = Z * math.sqrt(p * (1 - p) / n + z2 / (4 * n * n))
    scale = 1 + z2 / n
    # the formula gives exactly 0 or 1 at the ends; floating point need not
    low = 0.0 if events == 0 else (middle - half) / scale
    high = 1.0 if events == n else (middle + half) / scale
    return Interval(low, high)


@lru_cache(maxsize=65536)
def exact(events: int, n: int) -> Interval:
    """The 95% Clopper-Pearson interval of events / n.

    Clopper and Pearson 1934; method 5 of Newcombe 1998. Raises ValueError as `wilson` does.
    """
    from scipy.special import betaincinv  # noqa: PLC0415 - a quarter of a second to import

    check_counts(events, n)
    tail = (1 - CONFIDENCE) / 2
    low = 0.0 if events == 0 else float(betaincinv(events, n - events + 1, tail))
    high = 1.0 if events == n else float(betaincinv(events + 1, n - events, 1 - tail))
    return Interval(low, high)
