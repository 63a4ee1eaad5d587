"""PO files: made, brought up to date and counted, through Babel, so that any PO editor can be used."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as BabelMessage
from babel.messages.pofile import write_po
from rapidfuzz import fuzz, process

from consentpack import __version__
from consentpack.catalogues import MACHINE, read_catalogue
from consentpack.direction import is_rtl
from consentpack.errors import OutputError, Problem
from consentpack.files import write_file
from consentpack.translate import pseudo
from consentpack.translate.messages import Message
from consentpack.translate.plurals import plural_forms

PROJECT = "consentpack"
_HEAD = """# {language} translation of consentpack.
# The next line is read: put your name there if you translated this. A machine's words are
# not for patients before two people have read and approved them (ISO 17100; 45 CFR
# 92.201(c)(3)): `consentpack library approve --language`.
# Translated by: {machine}
#"""


@dataclass(frozen=True)
class Stand:
    """How far one language has come."""

    language: str
    messages: int
    translated: int
    fuzzy: int
    """Changed in the original since: not printed for patients without a draft mark."""
    missing: list[str] = field(default_factory=list)
    obsolete: int = 0
    """Translations of texts that are no longer in the library; kept, for they may come back."""

    @property
    def percent(self) -> float:
        """Never 100 while one text is missing, however many there are."""
        return 100.0 if self.translated == self.messages else min(99.9, 100 * self.translated / self.messages)


def template(messages: Iterable[Message], locale: Locale | None = None) -> Catalog:
    """A catalogue of messages without translations."""
    never = datetime(2000, 1, 1, tzinfo=UTC)  # the same bytes from the same texts
    made = Catalog(
        locale=locale,
        project=PROJECT,
        version=__version__,
        msgid_bugs_address="",
        creation_date=never,
        revision_date=never,
        last_translator="",
        language_team="",
        charset="utf-8",
        fuzzy=False,
    )
    made.header_comment = f"# Texts of {PROJECT} to be translated."
    for message in messages:
        made.add(
            (message.id, message.plural) if message.plural else message.id,
            locations=message.places,
            auto_comments=message.comments,
        )
    return made


def written(catalog: Catalog) -> str:
    """A catalogue as the text of a PO file."""
    stream = io.BytesIO()
    write_po(stream, catalog, width=98, include_previous=True)
    return _PREVIOUS.sub(_on_lines_of_their_own, stream.getvalue().decode())


_PREVIOUS = re.compile(r"(?m)(?:^#\| .*\n)+")
_PREVIOUS_TEXT = re.compile(r'(msgid(?:_plural)?) ((?:"(?:\\.|[^"\\])*"\s*)+)')
_JOINT = re.compile(r'(?<!\\)((?:\\\\)*)"\s+"')


def _on_lines_of_their_own(found: re.Match[str]) -> str:
    """What a text was before, each on one line. Babel wraps it like a comment, in the middle of its quotes,
    and other readers of PO files stop there."""
    flat = " ".join(row.removeprefix("#| ") for row in found.group().splitlines())
    return "".join(
        f"#| {keyword} {_JOINT.sub(lambda j: j.group(1), text.strip())}\n"
        for keyword, text in _PREVIOUS_TEXT.findall(flat)
    )


def update(path: Path, messages: Iterable[Message], locale: Locale) -> Stand:
    """Bring one PO file up to date with the texts, or begin it. Raises TranslationError, OutputError.

    A text that was edited keeps its old translation, marked fuzzy, for the translator to mend; all the
    others keep theirs as it is.
    """
    messages = list(messages)
    if path.is_file():
        catalog = read_catalogue(path, locale)
        catalog.update(
            template(messages, locale),
            no_fuzzy_matching=True,
            update_header_comment=False,
            update_creation_date=False,
        )
        _carry_over(catalog)
    else:
        catalog = template(messages, locale)
        language = locale.get_display_name("en")
        catalog.header_comment = _HEAD.format(language=language, machine=MACHINE)
    return _kept(path, catalog, messages, locale)


ALIKE = 60
"""How like an old text a new one must be to take over its translation, out of 100 (as in Babel)."""


def _carry_over(catalog: Catalog) -> None:
    """Give new texts the translation of the text they most likely were before, marked fuzzy.

    Only texts that are gone lend theirs: what is still in use is no older form of another text. Babel's own
    search compares with all, in Python, which took a quarter of an hour after a large revision.
    """
    for plural in (False, True):
        gone = [
            old for old in catalog.obsolete.values() if is_whole(old.string) and _is_plural(old) is plural
        ]
        words = [_id(old.id).lower() for old in gone]
        new = [m for m in catalog if m.id and not is_whole(m.string) and _is_plural(m) is plural]
        for message in new if gone else ():
            best = process.extractOne(_id(message.id).lower(), words, scorer=fuzz.ratio, score_cutoff=ALIKE)
            if best:
                _take_over(message, gone[best[2]])
                catalog.obsolete.pop(_id(gone[best[2]].id), None)
    for key in [key for key, old in catalog.obsolete.items() if not is_whole(old.string)]:
        del catalog.obsolete[key]  # nothing of a translator's is in it


def _is_plural(message: BabelMessage) -> bool:
    return isinstance(message.id, tuple | list)


def _take_over(message: BabelMessage, old: BabelMessage) -> None:
    message.string = old.string
    message.previous_id = list(old.id) if _is_plural(old) else [str(old.id)]
    message.user_comments = list(old.user_comments)
    message.flags |= {*old.flags, "fuzzy"}


def make_up(path: Path, messages: Iterable[Message], locale: Locale) -> Stand:
    """Begin a language that nobody speaks. Raises OutputError when a translation is there already."""
    if path.exists():
        what = "there is a translation already; a made-up one would take its place."
        raise OutputError(Problem(str(path), what, "Name a language you have none for."))
    messages = list(messages)
    catalog = template(messages, locale)
    catalog.header_comment = "# A made-up language, to try layout with. Nobody can read it.\n#"
    set_plurals(catalog, locale)  # before: a text has as many forms as the language
    pseudo.fill(catalog, mirrored=is_rtl(tag_of(locale)))
    return _kept(path, catalog, messages, locale)


def _kept(path: Path, catalog: Catalog, messages: list[Message], locale: Locale) -> Stand:
    """Write a catalogue, and say how far it has come."""
    set_plurals(catalog, locale)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_file(path, written(catalog))
    return stand_of(catalog, messages, tag_of(locale))


def tag_of(locale: Locale) -> str:
    """'zh_Hans' -> 'zh-Hans'."""
    return str(locale).replace("_", "-")


def set_plurals(catalog: Catalog, locale: Locale) -> None:
    """Give a catalogue its plural rule; Babel has a place for it and no way to set it."""
    catalog.__dict__["_num_plurals"], catalog.__dict__["_plural_expr"] = plural_forms(locale)


def stand_of(catalog: Catalog, messages: Iterable[Message], language: str) -> Stand:
    """How a catalogue stands to the texts there are now, whatever it says of itself."""
    messages, fuzzy, missing, done = list(messages), 0, [], 0
    for message in messages:
        found = catalog.get(message.id)
        if found is None or not is_whole(found.string):
            missing.append(message.id)
        elif found.fuzzy:
            fuzzy += 1
        else:
            done += 1
    known = {message.id for message in messages}
    left = sum(bool(_id(m.id)) and _id(m.id) not in known for m in catalog) + len(catalog.obsolete)
    return Stand(language, len(messages), done, fuzzy, missing, left)


def _id(id: object) -> str:
    return str(id[0]) if isinstance(id, tuple | list) else str(id)


def is_whole(string: object) -> bool:
    """Whether there is a translation, in each of its plural forms."""
    return all(string) if isinstance(string, tuple | list) and string else bool(string)
