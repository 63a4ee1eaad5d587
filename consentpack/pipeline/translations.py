"""Translations as commands see them: the shipped catalogues, or the clinic's own laid over them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from consentpack import shipped
from consentpack.clinic import load_clinic
from consentpack.errors import Problem, TranslationError, did_you_mean
from consentpack.files import write_file
from consentpack.pipeline.place import library_of, shipped_library
from consentpack.translate import checking, po
from consentpack.translate.place import Texts, clinics_texts, fields_texts, shipped_texts
from consentpack.translate.po import tag_of

TEMPLATE = "messages.pot"


def texts(clinic: Path | None, *, field: str = "", folder: Path | None = None) -> Texts:
    """The texts of a clinic folder, or those that come with the program when `clinic` is None.

    `field`: those of a shipped field by its name. `folder`: where their catalogues lie, if elsewhere.
    """
    found = _texts_of_field(field) if field else _texts(clinic)
    return replace(found, folder=folder) if folder else found


def _texts(clinic: Path | None) -> Texts:
    if clinic is None:
        return shipped_texts(library_of(None))
    library = library_of(clinic)
    settings = load_clinic(clinic, library)
    return clinics_texts(library, settings, clinic, shipped_library(library.shipped_field))


def _texts_of_field(field: str) -> Texts:
    if field not in shipped.fields():
        fix = did_you_mean(field, shipped.fields()) or f"There are: {', '.join(shipped.fields())}."
        raise TranslationError(Problem("--field", f"there is no field '{field}'.", fix))
    return fields_texts(shipped_library(field), field)


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
