"""How a row of a file and a treatment of the register become one.

The file is the clinic's record of what the file brought; what somebody entered by hand, or out of a
patient's diary, is not the file's to take away. A harm that was typed in after a telephone call must
not vanish because the spreadsheet still says no.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from consentpack.register.provenance import Held, Kind, Source
from consentpack.register.rows import Treatment


@dataclass(frozen=True)
class Differs:
    """One outcome that was entered by hand and is something else in the file."""

    row: int | None
    case: str
    session: int
    outcome: str
    held: int
    """What the register held: 0 for not seen, 1 and above for seen or its grade."""
    in_file: int
    kind: Kind
    """What had brought it: hand or diary."""


@dataclass
class Merging:
    """What a file speaks of, whether it goes before what was entered by hand, and what came of it."""

    outcomes: frozenset[str] = frozenset()
    """Outcomes that the file has a column or a list for. Of others it says nothing, not even blank."""
    fields: frozenset[str] = frozenset()
    overwrite_by_hand: bool = False
    differs: list[Differs] = field(default_factory=list)
    blanked: int = 0
    """Outcomes that an earlier file had brought and that are blank now."""
    unread: set[str] = field(default_factory=set)
    """Outcomes that are kept although the file has no column for them any more."""

    def merged(self, before: Held, row: Treatment, number: int | None, source: Source) -> Held:
        """The treatment as it should be, by what was there and what the file's row says."""
        held = before.treatment
        outcomes, sources = dict(held.outcomes), dict(before.sources)
        for name in self.outcomes | row.outcomes.keys():
            new = row.outcomes.get(name)
            if new == outcomes.get(name) or not self._may(before, name, new, number):
                continue
            if new is None:
                self.blanked += 1
                del outcomes[name]
                sources.pop(name, None)
            else:
                outcomes[name], sources[name] = new, source
        self.unread |= outcomes.keys() - self.outcomes - row.outcomes.keys()
        after = replace(
            row, outcomes=outcomes, watched_days=self._watched(before, row), **self._fields(before, row)
        )
        return replace(before, treatment=after, sources=sources, source_row=number)

    def _may(self, before: Held, name: str, new: int | None, number: int | None) -> bool:
        """Whether the file may change an outcome; where it differs from an entry by hand, that is noted."""
        old, kind = before.treatment.outcomes.get(name), before.source(name).kind
        if old is None or kind == "file":
            return True
        if new is None:
            return False
        held = before.treatment
        self.differs.append(Differs(number, held.case, held.session, name, old, new, kind))
        return self.overwrite_by_hand

    def _fields(self, before: Held, row: Treatment) -> dict[str, Any]:
        """What else the file changes. A blank takes nothing away from what was entered by hand."""
        by_hand = before.added.kind != "file"
        held = before.treatment

        def kept(name: str, new: object) -> bool:
            return name not in self.fields or (by_hand and new is None)

        def merged(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
            return {**new, **{name: value for name, value in old.items() if kept(name, new.get(name))}}

        operator = held.operator if kept("operator", row.operator) else row.operator
        return {
            "operator": operator,
            "strata": merged(held.strata, row.strata),
            "measurements": merged(held.measurements, row.measurements),
        }

    def _watched(self, before: Held, row: Treatment) -> int | None:
        """Days watched: what the file says, and never less than what was entered by hand."""
        in_file = row.watched_days if "last_seen" in self.fields else before.treatment.watched_days
        known = [days for days in (in_file, before.watched_by_hand) if days is not None]
        return max(known, default=None)
