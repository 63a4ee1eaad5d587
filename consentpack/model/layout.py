"""What a program can see of a document's layout and use, and what it leaves to a person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Seen = Literal["seen", "not seen", "nothing to see"]


@dataclass(frozen=True)
class LayoutItem:
    """One item that published instruments ask for, as one document has it."""

    id: str
    says: str
    items: str
    """The items of the instruments, such as 'CDC A8'."""
    status: Seen
    why: str
    """What was found, or what lacks, with its place."""


@dataclass(frozen=True)
class Layout:
    """All items of one document. This is no score of an instrument: a person judges the rest."""

    items: tuple[LayoutItem, ...]
    for_a_person: tuple[tuple[str, str], ...]
    """What to ask, in words, and the items of the instruments."""

    @property
    def asked(self) -> int:
        """Items for which there was something to see."""
        return sum(item.status != "nothing to see" for item in self.items)

    @property
    def seen(self) -> int:
        return sum(item.status == "seen" for item in self.items)
