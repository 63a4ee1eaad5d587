"""Translation catalogues: one block's or phrase's translation, and how it stands.

English is the language the content is written in. Any other language comes from PO files, ours
and the clinic's; nothing untranslated passes without being noticed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from gettext import c2py
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from string import Formatter
from typing import Literal

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog
from babel.messages.pofile import PoFileError, read_po
from babel.numbers import format_decimal

from consentpack.direction import script_of
from consentpack.errors import Problem, TranslationError, unread
from consentpack.limits import LONGEST_PHRASE, MARK, MOST_MARKS

SOURCE_LANGUAGE = "en"

Status = Literal["source", "translated", "needs review", "missing"]


LACKING: tuple[Status, ...] = ("missing", "needs review")
"""How a text stands that may not be printed for a patient."""


@dataclass(frozen=True)
class Translated:
    """The words to print, and whether they may be printed for a patient."""

    text: str
    status: Status


Listener = Callable[[str, Status], None]
"""Is told an English text and how its translation stands."""


def _nobody(_text: str, _status: Status) -> None:
    return


@dataclass(frozen=True)
class Made:
    """Who made a translation, as the comment at the head of its file says."""

    by: str = ""
    """'' for a machine."""

    @property
    def by_machine(self) -> bool:
        return not self.by


@dataclass(frozen=True)
class Catalogue:
    """The words of one language. Looking something up changes nothing: how it stands comes with it."""

    language: str
    """A language tag such as 'en-GB'."""
    locale: Locale
    catalogs: tuple[Catalog, ...] = ()
    """Nearest first: the clinic's own before the shipped one."""
    files: tuple[Path, ...] = ()
    """Where they were read from."""
    digests: tuple[str, ...] = ()
    """SHA-256 of each of the files, as it was read."""
    listener: Listener = field(default=_nobody, repr=False, compare=False)
    """Is told each text that is asked for, with how it stands."""

    @property
    def is_source(self) -> bool:
        return self.locale.language == SOURCE_LANGUAGE

    @property
    def rtl(self) -> bool:
        return self.locale.text_direction == "rtl"

    @property
    def made(self) -> Made | None:
        """Who made the translation; None for the language the content is written in."""
        found = [made_of(catalog) for catalog in self.catalogs]
        return max(found, key=lambda made: made.by_machine, default=None)

    def heard_by(self, listener: Listener) -> Catalogue:
        """The same words, with somebody who is told what is asked for: what a document lacks."""
        return replace(self, listener=listener)

    def block(self, text: str) -> Translated:
        """The translation of one block of content."""
        found = self._block(text)
        self.listener(text, found.status)
        return found

    def _block(self, text: str) -> Translated:
        if self.is_source:
            return Translated(text, "source")
        for catalog in self.catalogs:
            message = catalog.get(text)
            if message and message.string:
                return Translated(str(message.string), "needs review" if message.fuzzy else "translated")
        return Translated(text, "missing")

    def outside_modules(self) -> list[tuple[str, str]]:
        """What is translated and stands in no module: phrases of the program, the list of words, studies."""
        found: dict[str, str] = {}
        for catalog in reversed(self.catalogs):
            for message in catalog:
                if message.id and not any(str(file).endswith(".md") for file, _ in message.locations):
                    found[str(message.id)] = str(message.string)
        return sorted(found.items())

    def phrase(self, message: str, **values: object) -> str:
        """A phrase of the program in this language, with its named values."""
        found = self._block(message)
        if found.status == "needs review" and not _fits(found.text, message):
            found = Translated(message, "missing")
        self.listener(message, found.status)
        return self._filled(found.text, message, values)

    def phrases(self, one: str, many: str, number: int, **values: object) -> str:
        """A phrase that depends on a number, by the plural rule of this language."""
        values = {"number": format_decimal(number, locale=self.locale), **values}
        found = self.plural(one, many, number)
        if found.status in ("source", "missing"):
            return found.text.format(**values)
        return self._filled(found.text, one, values)

    def plural(self, one: str, many: str, number: int) -> Translated:
        """The form of a phrase that goes with a number, its values not yet filled in."""
        found = self._plural(one, many, number)
        self.listener(one, found.status)
        return found

    def _plural(self, one: str, many: str, number: int) -> Translated:
        if self.is_source:
            return Translated(one if number == 1 else many, "source")
        for catalog in self.catalogs:
            message = catalog.get(one)
            forms = message.string if message and message.pluralizable else ()
            if message and forms and all(forms):
                form = str(forms[_plural_form(catalog, number)])
                if message.fuzzy and not _fits(form, many):
                    continue
                return Translated(form, "needs review" if message.fuzzy else "translated")
        return Translated(many, "missing")

    def _filled(self, text: str, message: str, values: Mapping[str, object]) -> str:
        """A phrase with its values. A translation that names a value there is not is an error."""
        try:
            return _printed(text, values, original=message)
        except (KeyError, IndexError, ValueError) as error:
            what = f"the translation of “{message[:60]}” cannot be filled ({error})."
            known = ", ".join(f"{{{name}}}" for name in values) or "none"
            raise TranslationError(Problem(self.language, what, f"Its values are: {known}.")) from None


def _fits(older: str, message: str) -> bool:
    """Whether the translation of an older text names only values that the text of today has."""
    try:
        return {name for _, name, _, _ in Formatter().parse(older) if name is not None} <= {
            name for _, name, _, _ in Formatter().parse(message) if name is not None
        }
    except ValueError:
        return False


def _printed(text: str, values: Mapping[str, object], *, original: str) -> str:
    """A text with its values. Raises KeyError, IndexError, ValueError.

    A translation may name values and write them as the original does, and no more: `{phone.__class__}`
    would print the insides of the program, `{phone:999999999}` fill the memory.
    """
    for _, name, how, kind in Formatter().parse(text):
        if name is not None and name not in values:
            raise KeyError(name)
        if (how or kind) and _field(name, how, kind) not in original:
            raise ValueError(f"'{_field(name, how, kind)}' asks for more than the value")
    return text.format(**values)


def _field(name: str | None, how: str | None, kind: str | None) -> str:
    return "{" + str(name) + (f":{how}" if how else "") + (f"!{kind}" if kind else "") + "}"


_BY = "Translated by:"
MACHINE = "a machine"


def made_of(catalog: Catalog) -> Made:
    """Who made a catalogue, from the line 'Translated by: …' of its header comment."""
    lines = [line.strip(" #") for line in catalog.header_comment.splitlines()]
    by = [line.removeprefix(_BY).strip() for line in lines if line.startswith(_BY)]
    human = [name for name in by if name and not name.startswith(MACHINE)]
    return Made(", ".join(human))


def N_(message: str) -> str:
    """A phrase that is looked up later, by `phrase`: marked here so that it is extracted."""
    return message


def _plural_form(catalog: Catalog, number: int) -> int:
    return int(_rule(catalog.plural_expr)(number))


@lru_cache(maxsize=64)
def _rule(expression: str) -> Callable[[int], int]:
    """A plural rule as it can be asked. Reading one takes longer than all else about a phrase."""
    found: Callable[[int], int] = c2py(expression)
    return found


def name_in_both(tag: str) -> str:
    """A language in its own words and in English: 'polski (Polish)'. Raises TranslationError."""
    full = parse_tag(tag, where=tag)
    locale = Locale(full.language, script=full.script)  # the country says nothing to a reader
    own, english = locale.get_display_name(), locale.get_display_name(SOURCE_LANGUAGE)
    return str(own) if own == english else f"{own} ({english})"


def parse_tag(tag: str, *, where: str) -> Locale:
    """The locale of a language tag. Raises TranslationError when it is no known tag."""
    try:
        return Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError):
        what = f"'{tag}' is not a language tag."
        fix = "Tags look like 'en-GB', 'es' or 'ar'."
        raise TranslationError(Problem(where, what, fix)) from None


def load(tag: str, folders: Iterable[Path], *, where: str) -> Catalogue:
    """The catalogue of a language from the folders, nearest first.

    Raises TranslationError when the tag is unknown, there is no catalogue, or one cannot be read.
    """
    locale = parse_tag(tag, where=where)
    if locale.language == SOURCE_LANGUAGE:
        return Catalogue(tag, locale)
    folders = list(folders)
    paths = [path for folder in folders for path in po_files(folder, locale)]
    if not paths:
        there = sorted({*available(folders), SOURCE_LANGUAGE})
        what = f"there is no translation for '{tag}' yet."
        raise TranslationError(Problem(where, what, f"Languages to be had: {', '.join(there)}."))
    read = [_bytes_of(path) for path in paths]
    catalogs = tuple(_parsed(data, path, locale) for data, path in zip(read, paths, strict=True))
    return Catalogue(tag, locale, catalogs, tuple(paths), tuple(sha256(data).hexdigest() for data in read))


def available(folders: Iterable[Path]) -> list[str]:
    """Tags of the languages that the folders hold a catalogue for."""
    children = (child for folder in folders if folder.is_dir() for child in folder.iterdir())
    return sorted({c.name.replace("_", "-") for c in children if (c / "LC_MESSAGES").is_dir()})


def po_files(folder: Path, locale: Locale) -> list[Path]:
    # a region says which script: zh-CN is written as zh-Hans is, and must not be served zh-Hant
    scripted = f"{locale.language}_{script_of(str(locale).replace('_', '-'))}"
    names = dict.fromkeys((str(locale), scripted, locale.language))
    names |= dict.fromkeys(name.replace("_", "-") for name in names)
    return [path for name in names for path in sorted((folder / name).glob("LC_MESSAGES/*.po"))]


def read_catalogue(path: Path, locale: Locale) -> Catalog:
    """One PO file. Raises TranslationError when it cannot be read."""
    return _parsed(_bytes_of(path), path, locale)


def _bytes_of(path: Path) -> bytes:
    """What a PO file holds. Raises TranslationError when it cannot be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise TranslationError(unread(str(path), error)) from None


def _parsed(data: bytes, path: Path, locale: Locale) -> Catalog:
    try:
        catalog = read_po(BytesIO(data), locale=locale, abort_invalid=True)
    except (PoFileError, UnicodeDecodeError) as error:
        line = getattr(error, "lineno", None)
        where = f"{path}, line {line + 1}" if line is not None else str(path)
        raise TranslationError(Problem(where, f"the file cannot be read ({error}).", _SAVE)) from None
    except OSError as error:
        raise TranslationError(unread(str(path), error)) from None
    except Exception:  # a head that names a charset, a date or a number that is none, as Babel meets it
        what = "the head of the file names a charset, date or number that cannot be read."
        raise TranslationError(Problem(str(path), what, _SAVE)) from None
    if wrong := _wrong_plural(catalog) or _too_long(catalog):
        raise TranslationError(Problem(str(path), wrong, _SAVE))
    return catalog


_SAVE = "Open it in a PO editor and save it again."
_TRIED = (*range(201), 1_000, 1_000_000)
"""Numbers that a rule of plural forms is tried with: the rules of all languages repeat within them."""


def _wrong_plural(catalog: Catalog) -> str:
    """What is wrong with the rule of plural forms; '' for nothing. It is a formula that somebody typed."""
    try:
        choose = c2py(catalog.plural_expr)
        if all(0 <= int(choose(number)) < catalog.num_plurals for number in _TRIED):
            return ""
        return "'Plural-Forms' in its head chooses a form that there is not."
    except (ValueError, ArithmeticError, RecursionError, TypeError, SyntaxError, MemoryError):
        return "'Plural-Forms' in its head is not a rule that can be counted with."


def _too_long(catalog: Catalog) -> str:
    for message in catalog:
        forms = message.string if isinstance(message.string, tuple | list) else (message.string,)
        for form in filter(None, forms):
            if len(form) > LONGEST_PHRASE or len(MARK.findall(form)) > MOST_MARKS:
                return f"“{form[:40]}…” is too long, or holds too many signs such as * and _."
    return ""
