"""When outcomes were seen: how many on which day, and what is said of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from consentpack.model.interval import Interval

Over = Literal["watching time", "at least", "up to", "some time"]
"""Over what time a figure was counted: each treatment for its watching time, and no event after it; at least
for it, where nobody wrote down when it was seen; up to it, by an estimator for unequal follow-up; or nobody
knows."""


@dataclass(frozen=True)
class Curve:
    """How many treatments left the watch on each day after treatment, and why. Day 0 is the day itself."""

    steps: tuple[tuple[int, int, int, int], ...] = ()
    """(day, in which it was seen first, treated again, not watched further), by day; no day twice."""

    def __add__(self, other: Curve) -> Curve:
        """The curve of two groups of treatments that share none."""
        sums: dict[int, Counter[int]] = {}
        for day, *numbers in (*self.steps, *other.steps):
            sums.setdefault(day, Counter()).update(dict(enumerate(numbers)))
        return Curve(tuple((day, n[0], n[1], n[2]) for day, n in sorted(sums.items())))

    @classmethod
    def of(cls, rows: Iterable[tuple[int, int, int]]) -> Curve:
        """From (day, why, number of treatments); why is 1 seen, 2 treated again, 0 not watched further."""
        found: dict[int, list[int]] = {}
        for day, why, number in rows:
            found.setdefault(day, [0, 0, 0])[(2, 0, 1)[why]] += number
        return cls(tuple((day, n[0], n[1], n[2]) for day, n in sorted(found.items())))


@dataclass(frozen=True)
class Estimate:
    """The share in which something is seen by the end of the watching time, from unequal follow-up."""

    share: Fraction
    """Kaplan and Meier's estimate; Aalen and Johansen's where some were treated again."""
    events: int
    n: int
    """Treatments that were watched at all."""
    interval: Interval
    effective: float
    """How many treatments, all watched to the end, would tell as much (Rothman 1978)."""
    to_the_end: int
    """Treatments watched for the whole time without it."""
    again: int
    """Treatments of the same place again, before it was seen and before the end."""

    @property
    def tested(self) -> tuple[int, int]:
        """As whole numbers for a test: events and treatments that would tell as much."""
        n = max(1, int(self.effective))
        return min(n, round(float(self.share) * n)), n
