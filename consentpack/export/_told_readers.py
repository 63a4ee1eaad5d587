"""What a PDF tells a screen reader about itself, where LibreOffice 7.4 tells it wrongly.

Two entries, each replaced by one of the same length: nothing else in the file moves, and a PDF that does not
have them in just this form, from another program or a newer one, is left as it is.
"""

from __future__ import annotations

import io
import re
import zipfile

from consentpack.export._script import WORDS_TAGS

_TABS = re.compile(rb"(?<=\n/Tabs)\(S\)(?=\r?\n/StructParents \d)")
"""That the tab key follows the order of reading: written as words, which no reader knows. PDF/UA asks for a
name (ISO 14289-1, 7.18.3)."""
_LANGUAGE = re.compile(rb"(?<=\n/Lang)\(([A-Za-z0-9-]+)\)(?=\r?\n/MarkInfo)")
"""The language of the whole: LibreOffice takes that of the Latin letters, and an Arabic paper was English.
Its Arabic words are marked each; its title, its bookmarks and the words in place of its pictures were not,
and were read aloud by an English voice (7.2)."""
_SAID = re.compile(rb"<dc:language>([A-Za-z0-9-]+)</dc:language>")
_PROPERTIES = "docProps/core.xml"


def mended(pdf: bytes, word_file: bytes) -> bytes:
    """A PDF with both entries as they should be. `word_file` is what it was drawn from."""
    language = _language_of(word_file)
    found = _LANGUAGE.search(pdf)
    if found and language and _main(found[1]) != _main(language):
        pdf = _LANGUAGE.sub(_fitting(language, len(found[0])), pdf, count=1)
    return _TABS.sub(b"/S ", pdf)


def _language_of(word_file: bytes) -> bytes:
    """The language a Word file says it is in; empty where it says none."""
    try:
        with zipfile.ZipFile(io.BytesIO(word_file)) as file:
            said = _SAID.search(file.read(_PROPERTIES))
    except (zipfile.BadZipFile, KeyError):
        return b""
    return WORDS_TAGS.get(tag := said[1].decode("ascii"), tag).encode("ascii") if said else b""


def _main(tag: bytes) -> bytes:
    return tag.split(b"-")[0].lower()


def _fitting(tag: bytes, room: int) -> bytes:
    """A tag in brackets, as long as the room there is; without its region where that is too long."""
    whole = b"(%b)" % tag
    return (whole if len(whole) <= room else b"(%b)" % _main(tag)).ljust(room)
