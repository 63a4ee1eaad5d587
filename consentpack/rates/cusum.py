"""Watching one outcome over time: a cumulative sum of log likelihood ratios.

Steiner, Cook, Farewell and Treasure 2000 (Biostatistics 1:441): each treatment adds to the sum when the
outcome was seen and takes a little off when it was not, the more the likelier it was in this treatment to
begin with (risk adjustment); the sum never falls below zero and signals when it crosses a limit. The
limit is set by the average run length: how many treatments pass, on average, before a signal when
nothing has changed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Numbers = NDArray[Any]

Risks = tuple[tuple[float, float], ...]
"""Shares of the treatments, which add up to 1, and the chance of the outcome in each."""

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
    number: int
    """Which treatment of the series it was, from 1."""


@dataclass(frozen=True)
class Chart:
    """The sum over time."""

    limit: float
    path: tuple[tuple[date, float], ...]
    """Each day with treatments, and the highest the sum stood on it."""
    signals: tuple[Signal, ...]


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
    """Average number of treatments until a signal, when the true rate is `rate` (the baseline)."""
    p, found = baseline if rate is None else rate, weights(baseline, odds_ratio)
    return _length([(found.seen, p), (found.not_seen, 1 - p)], limit)


def run_length_of(risks: Risks, odds_ratio: float, limit: float) -> float:
    """Average number of treatments until a signal when nothing has changed, where they differ in risk."""
    steps = []
    for share, p in risks:
        found = weights(p, odds_ratio)
        steps += [(found.seen, share * p), (found.not_seen, share * (1 - p))]
    return _length(steps, limit)


def _length(steps: Sequence[tuple[float, float]], limit: float) -> float:
    """Average run length where each treatment moves the sum by one of some steps, each with its chance.

    By a Markov chain over a grid of the sum (Brook and Evans 1972, Biometrika 59:539). No step reaches
    far, so its equations are banded; solved as a full matrix they took over ten times as long.
    """
    import numpy as np  # noqa: PLC0415 - takes a while to import
    from scipy.linalg import solve_banded  # noqa: PLC0415

    moves = [(weight * _STATES / limit, chance) for weight, chance in steps]
    up = min(_STATES - 1, math.ceil(max(move for move, _ in moves)) + 1)
    down = min(_STATES - 1, math.ceil(-min(move for move, _ in moves)) + 1)
    states = np.arange(_STATES)
    bands = np.zeros((up + down + 1, _STATES))
    bands[up] = 1
    for move, chance in moves:
        position = np.maximum(0.0, states + move)
        below = np.floor(position).astype(int)
        share = position - below
        for to, part in ((below, 1 - share), (below + 1, share)):
            inside = to < _STATES
            from_, to = states[inside], to[inside]
            bands[up + from_ - to, to] -= chance * part[inside]
    return float(solve_banded((down, up), bands, np.ones(_STATES))[0])


def limit_for(baseline: float, odds_ratio: float, length: int) -> float:
    """The limit at which the average run length without a change is `length` treatments."""
    return limit_of(((1.0, baseline),), odds_ratio, length)


@lru_cache(maxsize=1024)
def limit_of(risks: Risks, odds_ratio: float, length: int) -> float:
    """The same where treatments differ in risk."""
    low, high = 0.01, 1.0
    while run_length_of(risks, odds_ratio, high) < length:
        low, high = high, high * 2
    while high - low > 0.005:
        middle = (low + high) / 2
        short = run_length_of(risks, odds_ratio, middle) < length
        low, high = (middle, high) if short else (low, middle)
    return high


def chart(days: Numbers, seen: Numbers, risks: Numbers, *, odds_ratio: float, limit: float) -> Chart:
    """The sum over a series of treatments, in their order.

    `days` are ordinals, `seen` says whether the outcome was seen, `risks` is the chance of it in each
    treatment at the baseline, between 0 and 1. After a signal the sum begins again at zero, so that a
    lasting change signals again.
    """
    import numpy as np  # noqa: PLC0415

    steps = np.where(seen, math.log(odds_ratio), 0.0) - np.log1p((odds_ratio - 1) * risks)
    sums, crossed = _follow(steps, limit)
    if not len(sums):
        return Chart(limit, (), ())
    first = np.flatnonzero(np.diff(days, prepend=days[0] - 1))
    highest = np.maximum.reduceat(sums, first)
    path = tuple(zip(map(date.fromordinal, days[first].tolist()), highest.tolist(), strict=True))
    return Chart(limit, path, tuple(_signals(days, seen, risks, sums, crossed)))


def _follow(steps: Numbers, limit: float) -> tuple[Numbers, list[int]]:
    """The sum after each step, and where it crossed the limit and began again at zero."""
    import numpy as np  # noqa: PLC0415

    sums, crossed = np.empty(len(steps)), []
    at, before, width = 0, 0.0, _SHORTEST
    while at < len(steps):
        plain = before + np.cumsum(steps[at : at + width])
        part = plain - np.minimum(0.0, np.minimum.accumulate(plain))
        over = np.flatnonzero(part >= limit)[:1]
        if over.size:
            part = part[: int(over[0]) + 1]
            crossed.append(at + int(over[0]))
        sums[at : at + len(part)] = part
        at, before = at + len(part), 0.0 if over.size else float(part[-1])
        width = _SHORTEST if over.size else min(2 * width, _LONGEST)
    return sums, crossed


_SHORTEST, _LONGEST = 512, 1 << 16
"""Steps that are summed at once: few where signals come often, or each would sum up all that follows it."""


def _signals(
    days: Numbers, seen: Numbers, risks: Numbers, sums: Numbers, crossed: Sequence[int]
) -> list[Signal]:
    import numpy as np  # noqa: PLC0415

    before = np.concatenate(([0.0], sums[:-1]))
    before[[at + 1 for at in crossed if at + 1 < len(sums)]] = 0.0
    starts = np.flatnonzero(before == 0)
    found = []
    for at in crossed:
        since = int(starts[np.searchsorted(starts, at, side="right") - 1])
        found.append(
            Signal(
                date.fromordinal(int(days[at])),
                date.fromordinal(int(days[since])),
                int(np.count_nonzero(seen[since : at + 1])),
                at + 1 - since,
                float(np.sum(risks[since : at + 1])),
                at + 1,
            )
        )
    return found
