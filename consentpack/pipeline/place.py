"""A clinic folder, opened."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

from consentpack import shipped
from consentpack.clinic import field_from, find_clinic, load_clinic, named_field_from, without_from
from consentpack.errors import PlanError, Problem
from consentpack.library import Library, load_library
from consentpack.locks import locked
from consentpack.manifest import MANIFEST
from consentpack.model import Clinic, Term
from consentpack.plans import reference_in, shown
from consentpack.readability import Scorer
from consentpack.recovery import left_behind, recover

BACKUPS = "backups"
"""Where backups are kept in a clinic folder, unless another place is named."""
ENDING = ".zip"
"""Of their names."""


@dataclass(frozen=True)
class Workplace:
    """A clinic folder that has been read and checked."""

    folder: Path
    clinic: Clinic
    library: Library

    def named(self, file: str) -> str:
        """A file of the library by a name that is the same wherever the clinic folder lies."""
        return file.replace(f"{self.folder.name}/content/", "clinic/content/", 1)

    @property
    def locales(self) -> tuple[Path, ...]:
        """Where its catalogues lie, the nearest first: the clinic's own, its field's, ours."""
        return (self.folder / "locales", *shipped.locales_for(self.library.shipped_field))

    @cached_property
    def scorer(self) -> Scorer:
        """The scorer with the library's lexicon and glossary; it remembers words, not texts."""
        return scorer_of(self.library)


def open_workplace(start: Path, *, whole: bool = True) -> Workplace:
    """The clinic folder at or above `start`, with its library; not `whole`: without half-written modules."""
    folder = find_clinic(start)
    put_right(folder)
    library = library_of(folder, whole=whole)
    return Workplace(folder, load_clinic(folder, library), library)


def put_right(folder: Path) -> None:
    """What a killed run left is put right before anybody looks, so that no scan is thought lost."""
    places = (folder, folder / "packs", folder / BACKUPS, *(path for path in (folder / "content").glob("*/")))
    if any(left_behind(place) for place in places):
        with locked(folder):
            for place in places:
                for message in recover(place, mark=MANIFEST):
                    print(f"… {message}", file=sys.stderr)


def open_library(start: Path | None, *, whole: bool = True) -> Library:
    """The library of a clinic folder, or the shipped one alone when `start` is None."""
    return library_of(find_clinic(start) if start else None, whole=whole)


def library_of(folder: Path | None, *, whole: bool = True) -> Library:
    """What a clinic folder works with, as its clinic.toml chooses; what is shipped, when it is None.

    The one place that says which content folders are read.
    """
    if folder is None:
        return shipped_library(whole=whole)
    own, field, off = field_from(folder) == "own", named_field_from(folder), without_from(folder)
    return load_library(
        shipped.content(), folder / "content", whole=whole, own_field=own, field=field, without=off
    )


def shipped_library(field: str = "", *, whole: bool = True) -> Library:
    """What is shipped for a field, by its name; for the usual one without it."""
    return load_library(shipped.content(), field=field, whole=whole)


def scorer_of(library: Library) -> Scorer:
    """One scorer per lexicon and glossary, however often a library is opened."""
    lexicon = tuple(sorted((word, spoken.syllables) for word, spoken in library.syllables.items()))
    return _scorer(lexicon, library.terms)


@lru_cache(2)
def _scorer(lexicon: tuple[tuple[str, int], ...], terms: tuple[Term, ...]) -> Scorer:
    return Scorer(dict(lexicon), terms)


def plan_files(place: Workplace) -> list[Path]:
    """All plans of the clinic folder. Raises PlanError when there is none."""
    found = plans_in(place.folder)
    if not found:
        raise PlanError(Problem("plans/", "there is no plan here.", "Name a plan file."))
    return found


def plans_in(folder: Path) -> list[Path]:
    """Locks and other files whose name begins with a dot are nobody's plan."""
    return sorted(path for path in (folder / "plans").glob("*.toml") if not path.name.startswith("."))


_SHOWN_PLANS = 20


def plan_of(place: Workplace, named: Path) -> Path:
    """The file of a plan that is named by its path, its reference, or its file's name without .toml.

    Raises PlanError, which names the plans there are, when there is none or more than one.
    """
    if named.exists() or named.suffix == ".toml" or len(named.parts) != 1:
        return named
    there = {path: reference_in(path) for path in plans_in(place.folder)}
    found = [path for path, reference in there.items() if str(named) in (reference, path.stem)]
    if len(found) == 1:
        return found[0]
    listed = [f"{shown(path)} ({ref})" if ref else shown(path) for path, ref in (there.items())]
    more = f" and {len(listed) - _SHOWN_PLANS} more" if len(listed) > _SHOWN_PLANS else ""
    fix = f"Plans here: {', '.join(listed[:_SHOWN_PLANS])}{more}." if there else "plans/ holds no plan yet."
    what = (
        "more than one plan has this reference." if found else "there is no plan of this name or reference."
    )
    raise PlanError(Problem(str(named), what, fix))
