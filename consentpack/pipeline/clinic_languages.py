"""The languages of a clinic: its own words laid over the program's, read once for each state of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path

from consentpack.catalogues import Catalogue, available, load, name_in_both
from consentpack.pipeline.place import Workplace


def language_of(place: Workplace, tag: str) -> Catalogue:
    """A language as the clinic has it, its own words first; read anew when a file of any has changed.

    Raises TranslationError where there is no such language, or its files cannot be read.
    """
    folders = _folders(place)
    files = sorted(path for folder in folders for path in folder.glob("*/LC_MESSAGES/*.po"))
    stats = ((str(path), path.stat()) for path in files)
    return _loaded(tag, folders, tuple((name, stat.st_mtime_ns, stat.st_size) for name, stat in stats))


def other_languages(place: Workplace) -> Iterator[Catalogue]:
    """Every language there is a translation for. Raises TranslationError."""
    for tag in available(_folders(place)):
        yield language_of(place, tag)


def languages_of(place: Workplace) -> dict[str, str]:
    """Each language there is, the clinic's own first -> its name, in its own words and in English."""
    tags = dict.fromkeys((place.clinic.language, *available(_folders(place))))
    return {tag: name_in_both(tag) for tag in tags}


def _folders(place: Workplace) -> tuple[Path, ...]:
    return place.locales


@lru_cache(maxsize=16)
def _loaded(tag: str, folders: tuple[Path, ...], _seen: Iterable[object]) -> Catalogue:
    return load(tag, folders, where=tag)
