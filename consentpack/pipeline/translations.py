"""Translations as commands see them: the shipped catalogues, or the clinic's own laid over them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from babel import Locale

from consentpack import shipped
from consentpack.catalogues import SOURCE_LANGUAGE, available, parse_tag, po_files, read_catalogue
from consentpack.clinic import load_clinic
from consentpack.errors import Problem, TranslationError
from consentpack.files import write_file
from consentpack.library import Library, load_library
from consentpack.translate import checking, po
from consentpack.translate.languages import load_language
from consentpack.translate.messages import Message, messages_of, words_of_clinic

TEMPLATE = "messages.pot"


@dataclass(frozen=True)
class Translating:
    """What is translated, and where its catalogues are."""

    library: Library
    messages: tuple[Message, ...]
    locales: Path
    file: str
    """The name of each language's PO file."""

    def path(self, locale: Locale) -> Path:
        """The PO file of a language, there or to be made."""
        there = [path for path in po_files(self.locales, locale) if path.name == self.file]
        return there[0] if there else self.locales / str(locale) / "LC_MESSAGES" / self.file

    def locale(self, tag: str) -> Locale:
        locale = parse_tag(tag, where=tag)
        if locale.language == SOURCE_LANGUAGE:
            raise TranslationError(Problem(tag, "English is the language the texts are written in."))
        return locale


def translating(clinic: Path | None) -> Translating:
    """What ships with the program, or what a clinic has added: its own modules and words.

    In both cases the catalogues lie in locales/, of the program or of the clinic folder.
    """
    if clinic is None:
        library = load_library(shipped.content())
        return Translating(library, tuple(messages_of(library)), shipped.locales(), "consentpack.po")
    library = load_library(shipped.content(), clinic / "content")
    settings = load_clinic(clinic, library.settings, library.targets, library.rules)
    ours = {message.id for message in messages_of(load_library(shipped.content()))}
    every = (*messages_of(library, shipped=False), *words_of_clinic(settings))
    own = tuple(message for message in every if message.id not in ours)
    return Translating(library, own, clinic / "locales", "clinic.po")


def extract(place: Translating) -> Path:
    """Write the template that PO editors begin a language from."""
    path = place.locales / TEMPLATE
    path.parent.mkdir(parents=True, exist_ok=True)
    write_file(path, po.written(po.template(place.messages)))
    return path


def update(place: Translating, tags: Iterable[str]) -> list[po.Stand]:
    """Bring languages up to date with the texts; all there are, without tags. A new tag is begun."""
    wanted = [place.locale(tag) for tag in tags or available([place.locales])]
    return [po.update(place.path(locale), place.messages, locale) for locale in wanted]


def status(place: Translating, tags: Iterable[str] = ()) -> list[po.Stand]:
    """How far each language has come."""
    found = []
    for tag in tags or available([place.locales]):
        locale = place.locale(tag)
        catalog = read_catalogue(_there(place, locale, tag), locale)
        found.append(po.stand_of(catalog, place.messages, str(locale).replace("_", "-")))
    return found


def check(place: Translating, tags: Iterable[str] = ()) -> list[Problem]:
    """What differs between originals and translations."""
    clinical = [term.clinical for term in place.library.terms]
    found = []
    for tag in tags or available([place.locales]):
        locale = place.locale(tag)
        path = _there(place, locale, tag)
        language = load_language(tag, path.parent.parent)
        if not (path.parent.parent / "language.toml").is_file():
            language = load_language(tag, shipped.locales() / str(locale))
        found += checking.check_catalogue(read_catalogue(path, locale), path, language, clinical)
    return found


def _there(place: Translating, locale: Locale, tag: str) -> Path:
    path = place.path(locale)
    if not path.is_file():
        fix = f"`consentpack translate update {tag}` begins one."
        raise TranslationError(Problem(str(path), "there is no such catalogue yet.", fix))
    return path
