"""Translations as commands see them: the shipped catalogues, or the clinic's own laid over them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from consentpack.clinic import load_clinic
from consentpack.errors import Problem
from consentpack.files import write_file
from consentpack.pipeline.place import library_of
from consentpack.translate import checking, po
from consentpack.translate.place import Texts, clinics_texts, shipped_texts
from consentpack.translate.po import tag_of

TEMPLATE = "messages.pot"


def texts(clinic: Path | None, *, folder: Path | None = None) -> Texts:
    """The texts of a clinic folder, or those that come with the program when `clinic` is None.

    `folder` is where their catalogues lie, where it is not the usual place.
    """
    found = _texts(clinic)
    return replace(found, folder=folder) if folder else found


def _texts(clinic: Path | None) -> Texts:
    ours = library_of(None)
    if clinic is None:
        return shipped_texts(ours)
    library = library_of(clinic)
    settings = load_clinic(clinic, library)
    return clinics_texts(library, settings, clinic, ours)


def extract(place: Texts) -> Path:
    """Write the template that PO editors begin a language from."""
    path = place.folder / TEMPLATE
    path.parent.mkdir(parents=True, exist_ok=True)
    write_file(path, po.written(po.template(place.messages)))
    return path


def update(place: Texts, tags: Iterable[str], *, made_up: bool = False) -> list[po.Stand]:
    """Bring languages up to date with the texts; all there are, without tags. A new tag is begun.

    `made_up` begins a language that nobody speaks, to try layout with. Raises OutputError when it would
    write over a translation.
    """
    locales = place.locales(tags)
    if made_up:
        return [po.make_up(place.path(locale), place.messages, locale) for locale in locales]
    return [po.update(place.path(locale), place.messages, locale) for locale in locales]


def status(place: Texts, tags: Iterable[str] = ()) -> list[po.Stand]:
    """How far each language has come."""
    locales = place.locales(tags)
    return [po.stand_of(place.catalogue(locale), place.messages, tag_of(locale)) for locale in locales]


def check(place: Texts, tags: Iterable[str] = ()) -> list[Problem]:
    """What differs between originals and translations."""
    clinical = [term.clinical for term in place.library.terms]
    return [
        problem
        for locale in place.locales(tags)
        for problem in checking.check_catalogue(
            place.catalogue(locale), place.path(locale), place.language(locale), clinical
        )
    ]
