"""How a pack stands to one item of a published checklist."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Status = Literal["holds", "fails", "does not apply", "a person must judge"]
STATUSES: tuple[Status, ...] = ("holds", "fails", "does not apply", "a person must judge")


@dataclass(frozen=True)
class ItemResult:
    """One item of one list, judged for one pack."""

    checklist: str
    """Id of the list, such as 'gmc-consent'."""
    title: str
    """The list's name in words."""
    item: str
    says: str
    source: str
    status: Status
    why: str
    """What was found, or what lacks and where."""
    held_by: str = ""
    """The document that alone holds it, or that only the set does; '' where no document has to, and where
    nobody asked."""
