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
from consentpack.register.treatment import Treatment


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
    held_day: int | None = None
    """Days after which it was first noticed, as the register held them."""
    day_in_file: int | None = None


@dataclass
class Merging:
    """What a file speaks of, whether it goes before what was entered by hand, and what came of it."""

    outcomes: frozenset[str] = frozenset()
    """Outcomes that the file has a column or a list for. Of others it says nothing, not even blank."""
    fields: frozenset[str] = frozenset()
    noticed: frozenset[str] = frozenset()
    """Outcomes that the file has a column for the day of."""
    overwrite_by_hand: bool = False
    differs: list[Differs] = field(default_factory=list)
    blanked: int = 0
    """Outcomes that an earlier file had brought and that are blank now."""
    unread: set[str] = field(default_factory=set)
    """Outcomes that are kept although the file has no column for them any more."""

    def merged(self, before: Held, row: Treatment, number: int | None, source: Source) -> Held:
        """The treatment as it should be, by what was there and what the file's row says."""
        held = before.treatment
        outcomes, sources, noticed = dict(held.outcomes), dict(before.sources), dict(held.noticed)
        for name in self.outcomes | self.noticed | row.outcomes.keys():
            new, day = row.outcomes.get(name), self._day(held, row, name)
            if (new, day) == (outcomes.get(name), noticed.get(name)) or self._silent(held, row, name):
                continue
            if not self._may(before, row, name, number):
                continue
            noticed.pop(name, None)
            if new is None:
                self.blanked += 1
                outcomes.pop(name)
                sources.pop(name, None)
            else:
                outcomes[name], sources[name] = new, source
                noticed |= {} if day is None else {name: day}
        self.unread |= outcomes.keys() - self.outcomes - row.outcomes.keys()
        after = replace(row, outcomes=outcomes, noticed=noticed, **self._fields(before, row))
        return replace(before, treatment=after, sources=sources, source_row=number)

    def _silent(self, held: Treatment, row: Treatment, name: str) -> bool:
        """Whether the file says nothing: only a column of days is read, which is blank as it was before."""
        spoken = name in self.outcomes or name in row.outcomes
        return not spoken and name not in held.noticed

    def _day(self, held: Treatment, row: Treatment, name: str) -> int | None:
        """When the file says that an outcome was first noticed; as it was where it has no column for that."""
        if name in self.noticed or not row.outcomes.get(name):
            return row.noticed.get(name)
        return held.noticed.get(name)

    def _may(self, before: Held, row: Treatment, name: str, number: int | None) -> bool:
        """Whether the file may change an outcome; where it differs from an entry by hand, that is noted.

        A day that nobody entered may be added to what was entered by hand; a blank takes none away.
        """
        held, kind = before.treatment, before.source(name).kind
        old, new = held.outcomes.get(name), row.outcomes.get(name)
        if old is None or kind == "file":
            return True
        old_day, new_day = held.noticed.get(name), row.noticed.get(name)
        if new is None or (new == old and new_day is None):
            return False
        if new == old and old_day is None:
            return True
        self.differs.append(Differs(number, held.case, held.session, name, old, new, kind, old_day, new_day))
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
            "watched_days": self._watched(before, row),
            "retreated_days": self._retreated(before, row),
            "strata": merged(held.strata, row.strata),
            "measurements": merged(held.measurements, row.measurements),
        }

    def _watched(self, before: Held, row: Treatment) -> int | None:
        """Days watched: what the file says, and never less than what was entered by hand."""
        in_file = row.watched_days if "last_seen" in self.fields else before.treatment.watched_days
        known = [days for days in (in_file, before.watched_by_hand) if days is not None]
        return max(known, default=None)

    def _retreated(self, before: Held, row: Treatment) -> int | None:
        """Days until the place was treated again. A blank takes no entry by hand away, and of two days the
        first ends watching: a later one in the file must not prolong what was entered by hand."""
        held, by_hand = before.treatment.retreated_days, before.watched_by_hand is not None
        if "retreated" not in self.fields or (by_hand and row.retreated_days is None):
            return held
        if by_hand and held is not None and row.retreated_days is not None:
            return min(held, row.retreated_days)
        return row.retreated_days
