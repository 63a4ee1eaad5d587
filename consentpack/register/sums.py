"""The sums over treatments, and the counts they make."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from consentpack.model import Counts, Curve
from consentpack.register.bits import Bits, Numbers, number, places, unpacked
from consentpack.register.read_together import Together


@dataclass(frozen=True)
class Left:
    """Some treatments that left the watch on one day, for one reason."""

    day: int
    """Days after the treatment."""
    why: int
    """As in `Curve.of`."""
    due: bool
    """Whether their watching time is over."""
    number: int


SEEN = 1


class Sums:
    """What is summed up for some outcomes, each sum once, and the Counts they make.

    What depends on the watching time alone is not summed again for every outcome that has it. An
    outcome the register has never heard of has no column: it was never recorded.
    """

    def __init__(self, told: Together, columns: Mapping[str, str], watch_days: Mapping[str, int]):
        self._told, self._watched, self._watch_days = told, told.watched, watch_days
        self.recorded = [outcome for outcome in watch_days if outcome in columns]
        self.by_day = [outcome for outcome in self.recorded if told.dated(outcome)]
        self._days = sorted(set(watch_days.values()))

    def of(self, chosen: Bits) -> list[int]:
        """The sums over some treatments."""
        watched, found = self._watched, [number(chosen)]
        for days in self._days:
            found += [number(chosen & watched.due(days)), watched.sum_possible(chosen, days)]
        for outcome in self.recorded:
            found += self._of(outcome, chosen)
        return found

    def _of(self, outcome: str, chosen: Bits) -> list[int]:
        """Events and watched of treatments that were watched to the end, those of all, and days looked."""
        told, watched, days = self._told, self._watched, self._watch_days[outcome]
        known, recorded = told.known(outcome) & chosen, told.recorded(outcome) & chosen
        seen, (cell, there) = told.seen(outcome), told.cell(outcome)
        looked = watched.sum_possible(cell & chosen, days) + watched.sum_least(there & ~cell & chosen, days)
        return [number(known & seen), number(known), number(recorded & seen), number(recorded), looked]

    def grouped(self, chosen: Bits, keys: Sequence[Numbers]) -> Iterator[tuple[list[int], list[int]]]:
        """The sums of each group of treatments that are alike in some columns, with what is in those."""
        at = places(chosen)
        alike, groups = together([key[at] for key in keys])
        if not len(at):
            return
        columns = [per_group(groups)]
        for days in self._days:
            columns.append(per_group(groups, unpacked(self._watched.due(days))[at]))
            columns.append(per_group(groups, self._watched.possible(days)[at]))
        for outcome in self.recorded:
            columns += self._grouped(outcome, groups, at)
        for key, row in zip(alike, zip(*(column.tolist() for column in columns), strict=True), strict=True):
            yield key, list(row)

    def _grouped(self, outcome: str, groups: Numbers, at: Numbers) -> list[Numbers]:
        """As `_of`, of each group."""
        import numpy as np  # noqa: PLC0415 - takes a while to import

        told, watched, days = self._told, self._watched, self._watch_days[outcome]
        cell, there = told.cell(outcome)
        bits = (told.seen(outcome), told.recorded(outcome), told.known(outcome), cell, there)
        seen, recorded, known, yes, written = (unpacked(each)[at] for each in bits)
        least = np.where(written, watched.least(days)[at], 0)
        looked = np.where(yes, watched.possible(days)[at], least)
        sums = (known & seen, known, recorded & seen, recorded, looked)
        return [per_group(groups, each) for each in sums]

    def every(self, found: Sequence[int], outcomes: Iterable[str]) -> dict[str, Counts]:
        """The counts of some outcomes from one row of sums."""
        return {outcome: self.counts(outcome, found) for outcome in outcomes}

    def counts(self, outcome: str, found: Sequence[int]) -> Counts:
        """The counts of one outcome from the sums that were asked."""
        at = 1 + 2 * self._days.index(self._watch_days[outcome])
        due, possible = found[at : at + 2]
        if outcome not in self.recorded:
            return Counts(0, 0, due, 0, 0, possible, blank=found[0])
        at = self._first_sum(outcome)
        events, watched, seen, known, looked = found[at : at + _SUMS]
        outside, blank = (seen - events, known - watched), found[0] - known
        return Counts(events, watched, due, watched, looked, possible, *outside, blank)

    def dated(self, outcome: str, found: Sequence[int], left: Iterable[Left]) -> Counts:
        """The counts of one outcome by the days on which it was first noticed.

        `left` are the treatments of `Together.left_early`; of all others it is known that they were watched
        to the end without it.
        """
        plain, days = self.counts(outcome, found), self._watch_days[outcome]
        rows = [*left, Left(days, 0, True, plain.watched - plain.events)]
        events = sum(each.number for each in rows if each.why == SEEN and each.due)
        decided = sum(each.number for each in rows if each.due and (each.why or each.day == days))
        known = plain.watched + plain.outside
        return replace(
            plain,
            events=events,
            watched=decided,
            due_watched=decided,
            outside_events=sum(each.number for each in rows if each.why == SEEN) - events,
            outside=known - decided,
            curve=Curve.of((each.day, each.why, each.number) for each in rows if each.number),
        )

    def _first_sum(self, outcome: str) -> int:
        return 1 + 2 * len(self._days) + _SUMS * self.recorded.index(outcome)


_SUMS = 5


def per_group(groups: Numbers, weights: Numbers | None = None) -> Numbers:
    """How many there are in each group, or the sum of some whole numbers: exact below 2^53."""
    import numpy as np  # noqa: PLC0415

    return np.bincount(groups, weights).astype(np.int64)


def together(keys: Sequence[Numbers]) -> tuple[list[list[int]], Numbers]:
    """What each group has that is alike in all columns, and of each treatment the place of its group."""
    import numpy as np  # noqa: PLC0415

    low = [int(key.min(initial=0)) for key in keys]
    sizes = [int(key.max(initial=0)) - least + 1 for key, least in zip(keys, low, strict=True)]
    code = np.zeros(len(keys[0]), np.int64)
    for key, least, size in zip(keys, low, sizes, strict=True):
        code = code * size + (key - least)
    codes, groups = np.unique(code, return_inverse=True)
    found = []
    for size, least in zip(reversed(sizes), reversed(low), strict=True):
        found.append((codes % size + least).tolist())
        codes = codes // size
    return [list(each) for each in zip(*reversed(found), strict=True)], groups
