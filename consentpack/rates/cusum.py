"""Watching one outcome over time: a cumulative sum of log likelihood ratios.

Steiner, Cook, Farewell and Treasure 2000 (Biostatistics 1:441), here without risk adjustment: each
treatment adds to the sum when the outcome was seen and takes a little off when it was not; the sum
never falls below zero and signals when it crosses a limit. The limit is set by the average run
length: how many treatments pass, on average, before a signal when nothing has changed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

_STATES = 400
"""Steps into which the sum is divided to find its run length; more changes the length by under 1%."""


@dataclass(frozen=True)
class Weights:
    """What one treatment adds to the sum."""

    seen: float
    not_seen: float


@dataclass(frozen=True)
class Signal:
    """A crossing of the limit."""

    day: date
    since: date
    """Day of the first treatment since the sum was last zero."""
    events: int
    treatments: int
    """Seen and treated between the two days."""
    expected: float
    """How many would have been seen at the baseline."""


def weights(baseline: float, odds_ratio: float) -> Weights:
    """Weights for detecting odds `odds_ratio` times those of a baseline rate (0 < baseline < 1).

    Raises ValueError for a baseline of 0 or 1, at which nothing can be compared, and for an odds
    ratio of 1 or less.
    """
    if not 0 < baseline < 1 or odds_ratio <= 1:
        raise ValueError(f"no watching at a baseline of {baseline} and an odds ratio of {odds_ratio}")
    scale = 1 - baseline + odds_ratio * baseline
    return Weights(math.log(odds_ratio / scale), math.log(1 / scale))


def run_length(baseline: float, odds_ratio: float, limit: float, *, rate: float | None = None) -> float:
    """Average number of treatments until a signal, when the true rate is `rate` (the baseline).

    By a Markov chain over a grid of the sum (Brook and Evans 1972, Biometrika 59:539).
    """
    import numpy as np  # noqa: PLC0415 - takes a while to import

    step, found = limit / _STATES, weights(baseline, odds_ratio)
    p = baseline if rate is None else rate
    states = np.arange(_STATES)
    stays = np.eye(_STATES)
    for weight, chance in ((found.seen, p), (found.not_seen, 1 - p)):
        position = np.maximum(0.0, states + weight / step)
        below = np.floor(position).astype(int)
        share = position - below
        for state, part in ((below, 1 - share), (below + 1, share)):
            inside = state < _STATES
            stays[states[inside], state[inside]] -= chance * part[inside]
    return float(np.linalg.solve(stays, np.ones(_STATES))[0])


@lru_cache(maxsize=256)
def limit_for(baseline: float, odds_ratio: float, length: int) -> float:
    """The limit at which the average run length without a change is `length` treatments."""
    low, high = 0.01, 1.0
    while run_length(baseline, odds_ratio, high) < length:
        low, high = high, high * 2
    while high - low > 0.005:
        middle = (low + high) / 2
        low, high = (middle, high) if run_length(baseline, odds_ratio, middle) < length else (low, middle)
    return high


def signals(
    series: Iterable[tuple[date, bool]], *, baseline: float, odds_ratio: float, length: int
) -> list[Signal]:
    """Crossings in a series of treatments (day, whether the outcome was seen), in order of days.

    After a signal the sum begins again at zero, so that a lasting change signals again.
    """
    found, limit = weights(baseline, odds_ratio), limit_for(baseline, odds_ratio, length)
    total = 0.0
    crossed: list[Signal] = []
    for day, seen in series:
        if total == 0:
            since, events, count = day, 0, 0
        total = max(0.0, total + (found.seen if seen else found.not_seen))
        events, count = events + seen, count + 1
        if total >= limit:
            crossed.append(Signal(day, since, events, count, baseline * count))
            total = 0.0
    return crossed
