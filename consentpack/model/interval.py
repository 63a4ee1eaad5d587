"""An interval of a proportion."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Interval:
    """A 95% interval of a proportion, each end between 0 and 1."""

    low: float
    high: float

    @property
    def width(self) -> float:
        return self.high - self.low
