"""When outcomes that patients read together count as seen and as known, for all treatments at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from operator import and_, or_

from consentpack.register.bits import Bits, Numbers, unpacked
from consentpack.register.timing import Timing
from consentpack.register.watched import NEVER, Watched


class Together:
    """The conditions of each outcome of a comparison.

    A treatment in which a kind of something was seen is one in which that was seen, whatever its own cell
    says; one in which the whole was looked for and not seen had none of its kinds. Where the whole was
    seen and nothing is written of the kind, the kind is not known: blank never counts as no. So of two
    figures the part's events are among the whole's, and the treatments it leaves out all had the whole:
    the part's share cannot be the larger one. All are watched for the longest of their watching times.
    """

    def __init__(
        self,
        watched: Watched,
        columns: Mapping[str, str],
        watch_days: Mapping[str, int],
        timing: Timing,
        joint: Sequence[str] = (),
        parts: Sequence[tuple[str, str]] = (),
    ):
        self.watched = watched
        self._columns, self._days, self._timing = columns, watch_days, timing
        self._joint = list(joint)
        self._parts = [pair for pair in parts if set(pair) <= set(columns)]

    def cell(self, outcome: str) -> tuple[Bits, Bits]:
        """Where its own cell says that it was seen, and where it is not blank."""
        if outcome not in self._columns:
            return (self.watched.rolled.none(),) * 2  # nobody ever wrote it down
        return self.watched.rolled.outcome(self._columns[outcome])

    def seen(self, outcome: str) -> Bits:
        """That the outcome, or a part of it, was seen at any time."""
        kinds = [part for part, whole in self._parts if whole == outcome]
        return reduce(or_, map(self.seen, kinds), self.cell(outcome)[0])

    def recorded(self, outcome: str) -> Bits:
        """That something is written down of it, and of all outcomes it is joined with."""
        return reduce(and_, map(self._recorded, self._joined(outcome)))

    def known(self, outcome: str) -> Bits:
        """That it is known whether it was seen when the watching time was over, and for all it is joined
        with."""
        over = (self.watched.over(self._longest(id)) for id in self._joined(outcome))
        return reduce(and_, over, self.recorded(outcome))

    def dated(self, outcome: str) -> bool:
        """Whether it, and all it is told as a part or whole of, can be told by their days."""
        family = self._family(outcome)
        return not self._joint and family <= set(self._timing.noticed) and self._alike(family)

    def left(self, outcome: str, at: Numbers) -> tuple[Numbers, Numbers, Numbers]:
        """When each of some treatments left the watch, why, and whether its watching time is over."""
        return self.watched.left(self._first(outcome, at), self._days[outcome], at)

    def left_early(self, outcome: str) -> Bits:
        """That something is written down, and it was not watched to the end without being seen: most were,
        and to sort those by day would take long."""
        return self.recorded(outcome) & ~(self.known(outcome) & ~self.seen(outcome))

    def _joined(self, outcome: str) -> list[str]:
        joined = self._joint if outcome in self._joint else ()
        return list(dict.fromkeys((outcome, *joined)))

    def _recorded(self, outcome: str) -> Bits:
        whole = next((whole for part, whole in self._parts if part == outcome), None)
        own = self.cell(outcome)[1]
        if any(outcome == each for _, each in self._parts):
            own = own | self.seen(outcome)
        return own if whole is None else self._recorded(whole) & (own | ~self.seen(whole))

    def _family(self, outcome: str) -> set[str]:
        """The outcome with all that it is a part of or that are parts of it."""
        family, size = {outcome}, 0
        while size != len(family):
            size = len(family)
            family |= {id for pair in self._parts if family & set(pair) for id in pair}
        return family

    def _longest(self, outcome: str) -> int:
        return max(self._days[id] for id in self._family(outcome))

    def _alike(self, family: set[str]) -> bool:
        return len({self._days[id] for id in family}) == 1

    def _first(self, outcome: str, at: Numbers) -> Numbers:
        """Days until it, or a part of it, was first noticed in some treatments; NEVER where it was not."""
        import numpy as np  # noqa: PLC0415 - takes a while to import

        days = self.watched.rolled.numbers(self._timing.noticed[outcome])[at]
        own = np.where(unpacked(self.cell(outcome)[0])[at], days, NEVER)
        kinds = (self._first(part, at) for part, whole in self._parts if whole == outcome)
        return reduce(np.minimum, kinds, own)
