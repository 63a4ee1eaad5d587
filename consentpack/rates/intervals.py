"""Intervals for a proportion."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from statistics import NormalDist

from consentpack.model import Interval

CONFIDENCE = 0.95
Z = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2)
_CLOSE, _EXACT = 1e-12, 1e-15
"""When a step, and a term, changes no more that matters: relative."""
_HALVES = 50
_MOST_STEPS, _MOST_TERMS = 100, 100_000
"""Never reached for counts that a register holds; so that no count can hang a command."""


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
    return score_interval(events / n, n)


def score_interval(p: float, n: float) -> Interval:
    """Wilson's interval of a share, known as well as from n treatments: n need not be whole (Rothman 1978, J
    Chronic Dis 31:557)."""
    z2 = Z * Z
    middle = p + z2 / (2 * n)
    half = Z * math.sqrt(p * (1 - p) / n + z2 / (4 * n * n))
    scale = 1 + z2 / n
    # the formula gives exactly 0 or 1 at the ends; floating point need not
    low = 0.0 if p == 0 else (middle - half) / scale
    high = 1.0 if p == 1 else (middle + half) / scale
    return Interval(low, high)


@lru_cache(maxsize=65536)
def exact(events: int, n: int) -> Interval:
    """The 95% Clopper-Pearson interval of events / n.

    Clopper and Pearson 1934; method 5 of Newcombe 1998. Raises ValueError as `wilson` does.
    """
    near, tail = wilson(events, n), (1 - CONFIDENCE) / 2
    low = 0.0 if events == 0 else _beta_quantile(events, n - events + 1, tail, near.low)
    high = 1.0 if events == n else _beta_quantile(events + 1, n - events, 1 - tail, near.high)
    return Interval(low, high)


def mid_p(events: int, n: int) -> Interval:
    """The 95% mid-P interval of events / n: exact, but half of the chance of what was seen on each side.

    Lancaster 1961; method 6 of Newcombe 1998, narrower than Clopper and Pearson's and right on average.
    Raises ValueError as `wilson` does.
    """
    check_counts(events, n)
    tail = (1 - CONFIDENCE) / 2
    low = 0.0 if events == 0 else _where(lambda p: tail - _mid_tail(n - events, n, 1 - p))
    high = 1.0 if events == n else _where(lambda p: _mid_tail(events, n, p) - tail)
    return Interval(low, high)


def _mid_tail(events: int, n: int, p: float) -> float:
    """The chance of fewer events, and half that of so many."""
    from scipy.special import bdtr  # noqa: PLC0415 - too heavy for a pack; only the sheet asks for this

    fewer = float(bdtr(events - 1, n, p)) if events else 0.0
    return (fewer + float(bdtr(events, n, p))) / 2


def _where(over: Callable[[float], float]) -> float:
    """Where a function that falls from above 0 to below crosses it, between 0 and 1."""
    low, high = 0.0, 1.0
    for _ in range(_HALVES):
        middle = (low + high) / 2
        low, high = (middle, high) if over(middle) > 0 else (low, middle)
    return (low + high) / 2


def _beta_quantile(a: int, b: int, wanted: float, start: float) -> float:
    """Where the beta distribution of a and b reaches a share of itself: Newton's steps from `start`, and
    halves of what is left where a step would leave it.

    scipy has it, but loading scipy and numpy takes a sixth of the time of a whole pack. A test holds the
    two against each other.
    """
    scale = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b)
    low, high, x = 0.0, 1.0, start
    for _ in range(_MOST_STEPS):
        weight = math.exp(scale + a * math.log(x) + b * math.log1p(-x))
        over = _beta_share(a, b, x, weight) - wanted
        low, high = (x, high) if over < 0 else (low, x)
        following = x - over * x * (1 - x) / weight if weight else low
        if not low < following < high:
            following = (low + high) / 2
        if abs(following - x) <= _CLOSE * x:
            break
        x = following
    return following


def _beta_share(a: int, b: int, x: float, weight: float) -> float:
    """The beta distribution function; `weight` is x**a * (1 - x)**b / B(a, b)."""
    if x * (a + b + 2) < a + 1:
        return weight * _fraction(a, b, x) / a
    return 1 - weight * _fraction(b, a, 1 - x) / b


def _fraction(a: int, b: int, x: float) -> float:
    """The continued fraction of DLMF 8.17.22, by Lentz's method as modified by Thompson and Barnett."""
    d = 1 / (1 - (a + b) * x / (a + 1))
    c, found = 1.0, d
    for m in range(1, _MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        for term in (even, odd):
            d, c = 1 / (1 + term * d), 1 + term / c
            found *= c * d
        if abs(c * d - 1) < _EXACT:
            break
    return found
