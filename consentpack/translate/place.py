"""Whose texts are translated, and where their catalogues lie."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog

from consentpack import shipped
from consentpack.catalogues import SOURCE_LANGUAGE, available, parse_tag, po_files, read_catalogue
from consentpack.errors import Problem, TranslationError
from consentpack.library import Library
from consentpack.model import Clinic
from consentpack.translate.languages import FILE, Language, load_language
from consentpack.translate.messages import Message, messages_of, words_of_clinic
from consentpack.translate.po import tag_of


@dataclass(frozen=True)
class Texts:
    """What is translated, and where its catalogues are."""

    library: Library
    messages: tuple[Message, ...]
    folder: Path
    """Holds a folder for each language."""
    file: str
    """The name of each language's PO file."""

    def locales(self, tags: Iterable[str]) -> list[Locale]:
        """The locales of some tags; of every language there is, without tags. Raises TranslationError."""
        return [_locale(tag) for tag in tags or available([self.folder])]

    def path(self, locale: Locale) -> Path:
        """The PO file of a language, there or to be made."""
        there = [path for path in po_files(self.folder, locale) if path.name == self.file]
        return there[0] if there else self.folder / str(locale) / "LC_MESSAGES" / self.file

    def catalogue(self, locale: Locale) -> Catalog:
        """The PO file of a language, read. Raises TranslationError when there is none."""
        path = self.path(locale)
        if not path.is_file():
            fix = f"`consentpack translate update {tag_of(locale)}` begins one."
            raise TranslationError(Problem(str(path), "there is no such catalogue yet.", fix))
        return read_catalogue(path, locale)

    def language(self, locale: Locale) -> Language:
        """What checks know of a language: from a file beside its catalogue, or else from ours."""
        own = self.path(locale).parent.parent
        folder = own if (own / FILE).is_file() else shipped.locales() / str(locale)
        return load_language(tag_of(locale), folder)


def _locale(tag: str) -> Locale:
    locale = parse_tag(tag, where=tag)
    if locale.language == SOURCE_LANGUAGE:
        raise TranslationError(Problem(tag, "English is the language the texts are written in."))
    return locale


def shipped_texts(library: Library) -> Texts:
    """The texts that come with the program."""
    return Texts(library, tuple(messages_of(library)), shipped.locales(), "consentpack.po")


def fields_texts(library: Library, field: str) -> Texts:
    """The texts of a field that is shipped beside the usual one; its catalogues lie with it."""
    folder = shipped.content() / "fields" / field
    own = f"content/fields/{field}/"
    messages = (m for m in messages_of(library) if any(file.startswith(own) for file, _ in m.places))
    return Texts(library, tuple(messages), folder / "locales", f"{field}.po")


def clinics_texts(library: Library, clinic: Clinic, folder: Path, ours: Library) -> Texts:
    """The texts a clinic has added, without those it has left as they come with the program."""
    known = {message.id for message in messages_of(ours)}
    every = (*messages_of(library, shipped=False), *words_of_clinic(clinic))
    own = tuple(message for message in every if message.id not in known)
    return Texts(library, own, folder / "locales", "clinic.po")
