"""A clinic folder, opened."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from consentpack import shipped
from consentpack.clinic import find_clinic, load_clinic
from consentpack.library import Library, load_library
from consentpack.model import Clinic


@dataclass(frozen=True)
class Workplace:
    """A clinic folder that has been read and checked."""

    folder: Path
    clinic: Clinic
    library: Library


def open_workplace(start: Path) -> Workplace:
    """The clinic folder at or above `start`, with its library."""
    folder = find_clinic(start)
    library = load_library(shipped.content(), folder / "content")
    return Workplace(folder, load_clinic(folder, library.settings), library)


def open_library(start: Path | None) -> Library:
    """The library of a clinic folder, or the shipped one alone when `start` is None."""
    own = find_clinic(start) / "content" if start else None
    return load_library(shipped.content(), own)
