"""What makes a pack one that was given, and what was told before it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Given:
    """One pack as it is given to a patient. A pack without it is a working copy."""

    version: int
    """Which of the packs given for one reference: 1, 2, …"""
    day: date
    """The day it was given."""
    code: str
    """The pack's code, with its hyphen: 'K7QF2-M9XAB'. That of a document has its number after it."""

    def code_of(self, number: int) -> str:
        """The code of a document by its place in the pack, which counts from 1."""
        return f"{self.code}-{number}"


@dataclass(frozen=True)
class ToldBefore:
    """What an older version told that has changed since, for whoever has it at home."""

    version: int
    day: date
    """The day it was given."""
    figures: tuple[tuple[str, str], ...]
    """Outcome -> its figure as it was told, in the patient's language; '' for one that was not told of."""
