"""What all documents of one look and language share, packed once; and the gaps that each one fills.

python-docx makes the empty package. Copying it and writing it out anew for each document took longer
than writing the document's own words (docs/why/fast-word-files.md).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from functools import lru_cache

from docx.document import Document as WordDocument
from docx.oxml import parse_xml

from consentpack.export import _ooxml as x
from consentpack.export._base import OnPageOne, new_document
from consentpack.export._package import Packed, archive, packed, parts_of
from consentpack.export._script import set_script
from consentpack.export.look import Look

BODY, RELATIONS = "word/document.xml", "word/_rels/document.xml.rels"
NUMBERING, PROPERTIES = "word/numbering.xml", "docProps/core.xml"
_TYPES = "[Content_Types].xml"
_PNG = b'<Default Extension="png" ContentType="image/png"/>'
_GAP = "\ue000"
"""Stands where a document's own XML will: a sign of the private use area, which none of these parts has."""
_MARK = _GAP.encode()
_KEPT = 16
"""Frames that are kept: a process makes packs for one clinic, in two sizes of print and its languages."""


@dataclass(frozen=True)
class Gap:
    """A part before and after what a document puts there."""

    before: bytes
    after: bytes

    def filled(self, own: str) -> bytes:
        """The whole part. It is parsed to see that it can be: a file with wrong XML in it opens nowhere."""
        made = b"".join((self.before, own.encode(), self.after))
        parse_xml(made)
        return made


@dataclass(frozen=True)
class Running:
    """The names of headers and footers; '' where page one has none of its own."""

    header: str
    footer: str
    first_header: str
    first_footer: str


@dataclass(frozen=True)
class Frame:
    """A package with gaps."""

    same: Mapping[str, Packed]
    """Parts that every document shares. None of them holds a word about a patient."""
    gaps: Mapping[str, Gap]
    running: Running
    on_page_one: OnPageOne
    relations: frozenset[str]
    """Ids of the body's relationships that are taken."""
    pictures: int
    """How many there are: logo and code, or none."""
    counts: int
    """Numbering instances of the styles."""

    def archive(self, own: Mapping[str, str], pictures: Mapping[str, bytes]) -> bytes:
        """A file of what is shared, what a document puts into the gaps (by part) and its pictures."""
        filled = {name: self.gaps[name].filled(text) for name, text in own.items()}
        made = {name: packed(name, content) for name, content in (filled | dict(pictures)).items()}
        return archive({**self.same, **made})


@lru_cache(maxsize=_KEPT)
def frame_of(look: Look, language: str, rtl: bool) -> Frame:
    """The frame of all documents in one look, language and direction."""
    word, on_page_one = new_document(look)
    set_script(word.styles.element, language, close=look.close or look.sheet)
    if rtl:
        x.mirror_section(word.element.body[-1])
    counts = len(word.part.numbering_part.element.findall(x.w("num")))
    running = _opened(word, look)
    parts = parts_of(word)
    parts[RELATIONS] = parts[RELATIONS].replace(b"</Relationships>", _MARK + b"</Relationships>")
    if _PNG not in parts[_TYPES]:  # whether or not a picture comes, so that this part is always the same
        parts[_TYPES] = parts[_TYPES].replace(b"<Default", _PNG + b"<Default", 1)
    open = {BODY, RELATIONS, NUMBERING, PROPERTIES, *filter(None, astuple(running))}
    return Frame(
        same={name: packed(name, content) for name, content in parts.items() if name not in open},
        gaps={name: Gap(*parts[name].split(_MARK)) for name in open},
        running=running,
        on_page_one=on_page_one,
        relations=frozenset(word.part.rels),
        pictures=len(word.part.package.image_parts),
        counts=counts,
    )


def _opened(word: WordDocument, look: Look) -> Running:
    """Put the gap into every part that a document fills, and say which parts run along its pages."""
    word.element.body.text = word.part.numbering_part.element[-1].tail = _GAP
    section = word.sections[0]
    parts = [section.header, section.footer]
    if look.has_first_header:
        parts += [section.first_page_header, section.first_page_footer]
    for element in (word.core_properties._element, *(part._element for part in parts)):
        for child in list(element):
            element.remove(child)
        element.text = _GAP
    names = [part.part.partname.removeprefix("/") for part in parts]
    return Running(*names, *[""] * (4 - len(names)))
