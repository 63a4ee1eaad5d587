"""The empty Word package every document starts from: python-docx's own, with our styles, without
the parts that are dead weight. Made once per process."""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path

from docx import Document
from docx.document import Document as WordDocument
from docx.opc.constants import RELATIONSHIP_TYPE
from docx.oxml import parse_xml
from docx.shared import Mm

_HERE = Path(__file__).parent
_DEAD = ("stylesWithEffects", "customXml", "thumbnail")

PAGE_WIDTH, PAGE_HEIGHT, MARGIN = Mm(210), Mm(297), Mm(18)
TEXT_WIDTH = 9865
"""Width of the text on the page, in twentieths of a point (A4 less two margins of 18 mm)."""


@lru_cache(maxsize=1)
def _bytes() -> bytes:
    document = Document()
    _drop_dead_parts(document)
    document.part._styles_part._element = _part_xml("styles.xml")
    document.part.numbering_part._element = _part_xml("numbering.xml")
    body = document.element.body
    for child in list(body)[:-1]:
        body.remove(child)
    section = document.sections[0]
    section.page_width, section.page_height = PAGE_WIDTH, PAGE_HEIGHT
    section.left_margin = section.right_margin = MARGIN
    section.top_margin, section.bottom_margin = Mm(22), Mm(18)
    section.header_distance = section.footer_distance = Mm(9)
    for part in (section.header, section.footer):
        part.is_linked_to_previous = False
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def _part_xml(name: str):  # type: ignore[no-untyped-def] # python-docx's elements are untyped
    return parse_xml((_HERE / name).read_bytes())


def _drop_dead_parts(document: WordDocument) -> None:
    """Parts of python-docx's template that nothing uses; one of them contradicts the styles."""
    for source in (document.part, document.part.package):
        for id, relation in list(source.rels.items()):
            if relation.reltype.rsplit("/", 1)[1] in _DEAD:
                del source.rels[id]


def new_document() -> WordDocument:
    """An empty document with our styles, page, header and footer."""
    return Document(io.BytesIO(_bytes()))


HYPERLINK = RELATIONSHIP_TYPE.HYPERLINK
