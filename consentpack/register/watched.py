"""Over what time treatments were watched, for all treatments of a register at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from consentpack.register.bits import Bits, Numbers, Sliced, packed
from consentpack.register.packing import BLANK
from consentpack.register.rolled import Rolled
from consentpack.register.timing import Timing

NEVER = 10**6  # days, later than any
T = TypeVar("T")


class Watched:
    """What the days of the treatments say at the end of a period. Each condition is made once."""

    def __init__(self, rolled: Rolled, timing: Timing):
        self.rolled, self._timing = rolled, timing
        self._key = (timing.today, timing.watched, timing.retreated)
        self.ago: Numbers = rolled.once("ago", timing.today, lambda: timing.today - rolled.numbers("day"))

    def due(self, days: int) -> Bits:
        """That the watching time is over."""
        return self._once("due", days, lambda: packed(self.ago >= days))

    def over(self, days: int) -> Bits:
        """That the watching time is over, and was watched to its end."""
        return self._once("over", days, lambda: self._over(days))

    def possible(self, days: int) -> Numbers:
        """The days a treatment could have been watched by now, no more than the watching time."""
        return self.ago.clip(0, days)

    def least(self, days: int) -> Numbers:
        """Those of them that were watched, as far as was written down."""
        import numpy as np  # noqa: PLC0415 - takes a while to import

        found: Numbers = np.minimum(self.rolled.numbers("watched_days").clip(0), self.possible(days))
        return found

    def sum_possible(self, bits: Bits, days: int) -> int:
        return self._once("sliced possible", days, lambda: Sliced(self.possible(days))).over(bits)

    def sum_least(self, bits: Bits, days: int) -> int:
        return self._once("sliced least", days, lambda: Sliced(self.least(days))).over(bits)

    def left(self, first: Numbers, days: int, at: Numbers) -> tuple[Numbers, Numbers, Numbers]:
        """The day on which each of some treatments left the watch, and why, as in `Curve.of`; and whether its
        watching time is over. `first` is after how many days it was first noticed."""
        import numpy as np  # noqa: PLC0415

        ago, watched, again = self.ago[at], self.rolled.numbers("watched_days")[at], self._again()[at]
        seen = (first <= days) & (first <= ago) & (first <= again)
        end = np.minimum(days, ago)
        left = np.minimum(np.where(first < NEVER, days, np.where(watched == BLANK, -1, watched)), end)
        done_again = again < end
        day = np.where(seen, first, np.where(done_again, again, left))
        return day, np.where(seen, 1, np.where(done_again, 2, 0)), ago >= days

    def _over(self, days: int) -> Bits:
        due = self.due(days)
        if not self._timing.watched:
            return due
        return due & packed((self.rolled.numbers("watched_days") >= days) & (self._again() >= days))

    def _again(self) -> Numbers:
        """After how many days the place was treated again; NEVER where it was not."""
        import numpy as np  # noqa: PLC0415

        name = self._timing.retreated
        if not name:
            return self.rolled.once("again", "", lambda: np.full(self.rolled.size, NEVER, np.int32))
        days = self.rolled.numbers(name)
        return self.rolled.once("again", name, lambda: np.where(days == BLANK, NEVER, days))

    def _once(self, name: str, days: int, make: Callable[[], T]) -> T:
        return self.rolled.once(name, (self._key, days), make)
