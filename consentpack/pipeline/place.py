"""A clinic folder, opened."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

from consentpack import shipped
from consentpack.clinic import find_clinic, load_clinic
from consentpack.errors import PlanError, Problem
from consentpack.library import Library, load_library
from consentpack.locks import locked
from consentpack.manifest import MANIFEST
from consentpack.model import Clinic, Term
from consentpack.readability import Scorer
from consentpack.recovery import left_behind, recover


@dataclass(frozen=True)
class Workplace:
    """A clinic folder that has been read and checked."""

    folder: Path
    clinic: Clinic
    library: Library

    @cached_property
    def scorer(self) -> Scorer:
        """The scorer with the library's lexicon and glossary; it remembers words, not texts."""
        return scorer_of(self.library)


def open_workplace(start: Path) -> Workplace:
    """The clinic folder at or above `start`, with its library."""
    folder = find_clinic(start)
    _put_right(folder)
    library = load_library(shipped.content(), folder / "content")
    return Workplace(folder, load_clinic(folder, library.settings, library.targets, library.rules), library)


def _put_right(folder: Path) -> None:
    """What a killed run left is put right before anybody looks, so that no scan is thought lost."""
    places = (folder, folder / "packs", *(path for path in (folder / "content").glob("*/")))
    if any(left_behind(place) for place in places):
        with locked(folder):
            for place in places:
                for message in recover(place, mark=MANIFEST):
                    print(f"… {message}", file=sys.stderr)


def open_library(start: Path | None) -> Library:
    """The library of a clinic folder, or the shipped one alone when `start` is None."""
    own = find_clinic(start) / "content" if start else None
    return load_library(shipped.content(), own)


def scorer_of(library: Library) -> Scorer:
    """One scorer per lexicon and glossary, however often a library is opened."""
    lexicon = tuple(sorted((word, spoken.syllables) for word, spoken in library.syllables.items()))
    return _scorer(lexicon, library.terms)


@lru_cache(2)
def _scorer(lexicon: tuple[tuple[str, int], ...], terms: tuple[Term, ...]) -> Scorer:
    return Scorer(dict(lexicon), terms)


def plan_files(place: Workplace) -> list[Path]:
    """All plans of the clinic folder. Raises PlanError when there is none."""
    found = sorted((place.folder / "plans").glob("*.toml"))
    if not found:
        raise PlanError(Problem("plans/", "there is no plan here.", "Name a plan file."))
    return found
