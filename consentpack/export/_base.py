"""The empty Word package every document starts from: python-docx's own, with our styles, without
the parts that are dead weight."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

from docx import Document
from docx.document import Document as WordDocument
from docx.opc.constants import RELATIONSHIP_TYPE
from docx.opc.packuri import PackURI
from docx.opc.part import Part
from docx.shared import Mm, Twips

from consentpack.export._ooxml import w
from consentpack.export.look import PAPERS, Look, font_table, numbering_xml, styles_xml
from consentpack.model import Logo

_HERE = Path(__file__).parent
_EMPTY = b""
_DEAD = ("stylesWithEffects", "customXml", "thumbnail")


CODE_PART = "word/media/code.png"
"""Where the square of a document's own code goes; an empty document holds nothing there."""


@dataclass(frozen=True)
class OnPageOne:
    """How the header of page one refers to its pictures; '' for one that it has not."""

    logo: str = ""
    code: str = ""


def new_document(look: Look) -> tuple[WordDocument, OnPageOne]:
    """An empty document with styles, page, header and footer, and its pictures on page one."""
    document = Document()
    _drop_dead_parts(document)
    document.part._styles_part._element = styles_xml(_text("styles.xml"), look)
    document.part.numbering_part._element = numbering_xml(_text("numbering.xml"), look)
    document.part.part_related_by(RELATIONSHIP_TYPE.FONT_TABLE)._blob = font_table(look)
    _as_of_word_2013(document)
    body = document.element.body
    for child in list(body)[:-1]:
        body.remove(child)
    _page(document, look)
    pictures = OnPageOne(
        _logo_of(document, look.brand.logo) if look.brand.logo else "",
        _on_page_one(document, f"/{CODE_PART}", "png", _EMPTY) if look.coded else "",
    )
    stream = io.BytesIO()
    document.save(stream)
    # read again, so that nothing of the template is left behind in a part that is no longer reached
    return Document(io.BytesIO(stream.getvalue())), pictures


def _as_of_word_2013(document: WordDocument) -> None:
    """The template calls itself a file of Word 2010. Word would then say "Compatibility Mode", and set
    the words of a table, not its edge, at the margin."""
    for setting in document.settings.element.iter(w("compatSetting")):
        if setting.get(w("name")) == "compatibilityMode":
            setting.set(w("val"), "15")


def _text(name: str) -> str:
    return (_HERE / name).read_text(encoding="utf-8")


def _page(document: WordDocument, look: Look) -> None:
    """Paper, margins, and a header and footer that are empty as yet."""
    section = document.sections[0]
    section.page_width, section.page_height = (Twips(side) for side in PAPERS[look.brand.paper])
    section.left_margin = section.right_margin = Twips(look.margin)
    section.top_margin, section.bottom_margin = Mm(look.edges.above), Mm(look.edges.below)
    section.header_distance = section.footer_distance = Mm(look.edges.running)
    section.different_first_page_header_footer = look.has_first_header
    parts = [section.header, section.footer]
    if look.has_first_header:
        parts += [section.first_page_header, section.first_page_footer]
    for part in parts:
        part.is_linked_to_previous = False


def _logo_of(document: WordDocument, logo: Logo) -> str:
    """Put the logo into the package. python-docx's own way knows too few kinds of JPEG."""
    kind = "png" if logo.data.startswith(b"\x89PNG") else "jpeg"
    return _on_page_one(document, f"/word/media/image1.{kind}", kind, logo.data)


def _on_page_one(document: WordDocument, name: str, kind: str, data: bytes) -> str:
    header = document.sections[0].first_page_header.part
    picture = Part(PackURI(name), f"image/{kind}", data, header.package)
    return header.relate_to(picture, RELATIONSHIP_TYPE.IMAGE)


def _drop_dead_parts(document: WordDocument) -> None:
    """Parts of python-docx's template that nothing uses; one of them contradicts the styles."""
    for source in (document.part, document.part.package):
        for id, relation in list(source.rels.items()):
            if relation.reltype.rsplit("/", 1)[1] in _DEAD:
                del source.rels[id]
