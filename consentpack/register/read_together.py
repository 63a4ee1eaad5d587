"""When outcomes that patients read together count as seen and as watched, as conditions in SQL.

Only names of columns and whole numbers are put into them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence


class Together:
    """The conditions of each outcome of a comparison.

    A treatment in which a kind of something was seen is one in which that was seen, whatever its own cell
    says; one in which the whole was looked for and not seen had none of its kinds. Where the whole was
    seen and nothing is written of the kind, the kind is not known: blank never counts as no. So of two
    figures the part's events are among the whole's, and the treatments it leaves out all had the whole:
    the part's share cannot be the larger one.
    """

    def __init__(
        self,
        columns: Mapping[str, str],
        watch_days: Mapping[str, int],
        joint: Sequence[str] = (),
        parts: Sequence[tuple[str, str]] = (),
    ):
        self._columns, self._days = columns, watch_days
        self._joint = list(joint)
        self._parts = [pair for pair in parts if set(pair) <= set(columns)]

    def seen(self, outcome: str) -> str:
        """That the outcome, or a part of it, was seen; '' where it is read with nothing else."""
        return self._seen(outcome) if self._joint or self._parts else ""

    def known(self, outcome: str) -> str:
        """That it is known whether it was seen, and for all outcomes it is joined with."""
        if not self._joint and not self._parts:
            return ""
        joined = self._joint if outcome in self._joint else ()
        return " AND ".join(f"({self._known(each)})" for each in dict.fromkeys((outcome, *joined)))

    def _seen(self, outcome: str) -> str:
        kinds = [part for part, whole in self._parts if whole == outcome]
        return "(" + " OR ".join([self._is(outcome, ">= 1"), *map(self._seen, kinds)]) + ")"

    def _known(self, outcome: str) -> str:
        days = self._days[outcome]
        looked_for = f"{self._is(outcome, '= 0')} AND coalesce(watched_days, -1) >= {days:d}"
        own = f"{self._seen(outcome)} OR ({looked_for})"
        whole = next((whole for part, whole in self._parts if part == outcome), None)
        if whole is None:
            return own
        return f"({self._known(whole)}) AND ({own} OR NOT {self._seen(whole)})"

    def _is(self, outcome: str, what: str) -> str:
        """A condition on a cell; a blank one meets none, also when it is turned round."""
        if outcome not in self._columns:
            return "1 = 0"  # nobody ever wrote it down
        return f"coalesce({self._columns[outcome]}, -1) {what}"
