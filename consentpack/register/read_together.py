"""When outcomes that patients read together count as seen and as known, as conditions in SQL.

Only names of columns and whole numbers are put into them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from consentpack.register.timing import Timing, first_of


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
        columns: Mapping[str, str],
        watch_days: Mapping[str, int],
        timing: Timing,
        joint: Sequence[str] = (),
        parts: Sequence[tuple[str, str]] = (),
    ):
        self._columns, self._days, self._timing = columns, watch_days, timing
        self._joint = list(joint)
        self._parts = [pair for pair in parts if set(pair) <= set(columns)]

    def seen(self, outcome: str) -> str:
        """That the outcome, or a part of it, was seen at any time."""
        kinds = [part for part, whole in self._parts if whole == outcome]
        if not kinds:
            return self._is(outcome, ">= 1")
        return "(" + " OR ".join([self._is(outcome, ">= 1"), *map(self.seen, kinds)]) + ")"

    def recorded(self, outcome: str) -> str:
        """That something is written down of it, and of all outcomes it is joined with."""
        return " AND ".join(self._recorded(each) for each in self._joined(outcome))

    def known(self, outcome: str) -> str:
        """That it is known whether it was seen when the watching time was over, and for all it is joined
        with."""
        each = self._joined(outcome)
        return " AND ".join(f"{self._recorded(id)} AND {self._timing.over(self._longest(id))}" for id in each)

    def dated(self, outcome: str) -> bool:
        """Whether it, and all it is told as a part or whole of, can be told by their days."""
        family = self._family(outcome)
        return not self._joint and family <= set(self._timing.noticed) and self._alike(family)

    def left(self, outcome: str) -> tuple[str, str, str]:
        """When a treatment left the watch, why, and whether its watching time is over."""
        return self._timing.left(self._first(outcome), self._days[outcome])

    def left_early(self, outcome: str) -> str:
        """That something is written down, and it was not watched to the end without being seen: most were,
        and to sort those by day would take long."""
        whole = f"{self.known(outcome)} AND NOT ({self.seen(outcome)})"
        return f"({self.recorded(outcome)} AND NOT ({whole}))"

    def _joined(self, outcome: str) -> list[str]:
        joined = self._joint if outcome in self._joint else ()
        return list(dict.fromkeys((outcome, *joined)))

    def _recorded(self, outcome: str) -> str:
        whole = next((whole for part, whole in self._parts if part == outcome), None)
        own = f"{self._is(outcome, '>= 0')}"
        if any(outcome == each for _, each in self._parts):
            own = f"({own} OR {self.seen(outcome)})"
        if whole is None:
            return own
        return f"({self._recorded(whole)} AND ({own} OR NOT {self.seen(whole)}))"

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

    def _first(self, outcome: str) -> str:
        return first_of(self._cells(outcome))

    def _cells(self, outcome: str) -> list[tuple[str, str]]:
        kinds = [part for part, whole in self._parts if whole == outcome]
        own = (self._columns[outcome], self._timing.noticed[outcome])
        return [own, *(cell for kind in kinds for cell in self._cells(kind))]

    def _is(self, outcome: str, what: str) -> str:
        """A condition on a cell; a blank one meets none, also when it is turned round."""
        if outcome not in self._columns:
            return "1 = 0"  # nobody ever wrote it down
        if not self._parts:
            return f"{self._columns[outcome]} {what}"  # nothing is turned round
        return f"coalesce({self._columns[outcome]}, -1) {what}"
