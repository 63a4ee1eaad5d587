"""PDFs as a screen reader takes them: what two checkers of PDF/UA asked for, read with a library of its own.

The checkers and what they said stand in docs/why/pdf-for-listeners.md. The numbers are clauses of ISO
14289-1 (PDF/UA-1).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import pytest
from pdfminer.pdfdocument import PDFDocument
from pdfminer.pdfpage import PDFPage
from pdfminer.pdfparser import PDFParser
from pdfminer.pdftypes import PDFStream, resolve1
from pdfminer.psparser import PSLiteral
from pdfminer.utils import decode_text

from consentpack import pipeline
from consentpack.export.pdf import export_pdf

pytestmark = pytest.mark.office
KINDS = frozenset({"form", "booklet", "aftercare", "diary", "check-card", "slips", "record"})
LANGUAGES = ("en-GB", "ar")
"""From left to right and from right to left: LibreOffice took the second for the first."""


@dataclass
class Element:
    """One element of a structure tree."""

    kind: str
    own: dict[str, Any]
    parents: tuple[str, ...]
    inside: list[Element] = field(default_factory=list)
    contents: int = 0
    """Pieces of pages it is about."""

    def all(self) -> Iterator[Element]:
        yield self
        for each in self.inside:
            yield from each.all()


def name(value: Any) -> str:
    value = resolve1(value)
    return value.name if isinstance(value, PSLiteral) else ""


def in_list(value: Any) -> list[Any]:
    value = resolve1(value)
    return value if isinstance(value, list) else [] if value is None else [value]


class Pdf:
    """One PDF, opened by pdfminer."""

    def __init__(self, data: bytes) -> None:
        self.document = PDFDocument(PDFParser(io.BytesIO(data)))
        self.pages = [page.attrs for page in PDFPage.create_pages(self.document)]
        self.catalog = self.document.catalog
        self.meant = {k: name(v) for k, v in resolve1(self.root.get("RoleMap", {})).items()}

    @property
    def root(self) -> dict[str, Any]:
        return resolve1(self.catalog["StructTreeRoot"])

    @property
    def metadata(self) -> str:
        stream = resolve1(self.catalog["Metadata"])
        assert isinstance(stream, PDFStream)
        return stream.get_data().decode("utf-8")

    def elements(self) -> list[Element]:
        return [each for top in in_list(self.root["K"]) for each in self.element(resolve1(top), ()).all()]

    def element(self, own: dict[str, Any], parents: tuple[str, ...]) -> Element:
        kind = name(own.get("S"))
        found = Element(self.meant.get(kind, kind), own, parents)
        for child in map(resolve1, in_list(own.get("K"))):
            if isinstance(child, dict) and "S" in child:
                found.inside.append(self.element(child, (*parents, found.kind)))
            else:
                found.contents += 1
        return found

    def fonts(self) -> Iterator[dict[str, Any]]:
        for page in self.pages:
            for font in (resolve1(resolve1(page["Resources"]).get("Font")) or {}).values():
                yield resolve1(font)


@pytest.fixture(scope="module")
def drawn(office, place):
    """Language and kind -> what LibreOffice drew of one plan, in usual and in large print."""
    plan, files = place.folder / "plans/p-103.toml", {}
    for language in LANGUAGES:
        pack = pipeline.make_pack(
            place, plan, language=language, only=KINDS, large_print=True, today=date(2026, 11, 28)
        )
        names = [each for each in pack.files if each.endswith(".docx")]
        files |= {f"{language}_{each}": pack.files[each] for each in names}
    return {each.removesuffix(".pdf"): Pdf(data) for each, data in export_pdf(files).items()}


def test_each_is_tagged_titled_in_its_language_and_says_that_it_keeps_the_standard(drawn):
    """5, 7.1 and 7.2. Draws 28 documents, for this and all others here."""
    assert len(drawn) == 2 * len(KINDS) * len(LANGUAGES)
    for at, pdf in drawn.items():
        assert resolve1(pdf.catalog["MarkInfo"])["Marked"] is True, at
        assert resolve1(pdf.catalog["ViewerPreferences"])["DisplayDocTitle"] is True, at
        own = "en-GB" if "_record" in at else at.split("_")[0]
        assert decode_text(resolve1(pdf.catalog["Lang"])).strip() == own, at
        assert "<pdfuaid:part>1</pdfuaid:part>" in pdf.metadata, at
        (title,) = re.findall(r"<dc:title>.*?<rdf:li[^>]*>([^<]+)</rdf:li>", pdf.metadata, re.DOTALL)
        assert "HS-P-103" in title, at


def test_the_tab_key_follows_the_order_of_reading_and_each_link_says_where_it_leads(drawn):
    """7.18.3 and 7.18.5. LibreOffice 7.4 writes words where the standard has a name."""
    with_links = {at for at, pdf in drawn.items() if any("Annots" in page for page in pdf.pages)}
    assert {at for at in drawn if "_booklet" in at} <= with_links
    for at in with_links:
        for page in (each for each in drawn[at].pages if "Annots" in each):
            assert name(page.get("Tabs")) == "S", at
            for link in map(resolve1, resolve1(page["Annots"])):
                assert name(link["Subtype"]) == "Link" and decode_text(resolve1(link["Contents"])).strip(), at


def test_each_picture_has_words_in_its_place(drawn):
    """7.3."""
    for at, pdf in drawn.items():
        figures = [each for each in pdf.elements() if each.kind == "Figure"]
        assert figures or not at.endswith("_form"), at
        for each in figures:
            assert decode_text(resolve1(each.own.get("Alt", b""))).strip(), at


def test_tables_have_heads_that_say_which_cells_they_head(drawn):
    """7.5: a cell without its head is a number without its harm."""
    for at, pdf in drawn.items():
        tables = [each for each in pdf.elements() if each.kind == "Table"]
        assert tables or "_slips" in at, at
        for table in tables:
            heads = [each for each in table.all() if each.kind == "TH"]
            assert heads, at
            for head in heads:
                said = [resolve1(each) for each in in_list(head.own.get("A"))]
                scopes = [name(each.get("Scope")) for each in said if isinstance(each, dict)]
                assert "Column" in scopes or "Row" in scopes, at


def test_headings_go_down_step_by_step_and_none_is_empty(drawn):
    """7.4.2: who listens jumps from heading to heading."""
    for at, pdf in drawn.items():
        before, first = 0, True
        for each in pdf.elements():
            if re.fullmatch(r"H\d", each.kind):
                level = int(each.kind[1:])
                assert level == 1 if first else level <= before + 1, at
                assert sum(part.contents for part in each.all()), at
                before, first = level, False
        assert not first, at


def test_every_font_is_in_the_file_and_says_which_letters_it_draws(drawn):
    """7.21.4 and 7.21.7: else a reader hears nothing, or other letters."""
    for at, pdf in drawn.items():
        fonts = list(pdf.fonts())
        assert fonts, at
        for font in fonts:
            assert "ToUnicode" in font, at
            assert {"FontFile", "FontFile2", "FontFile3"} & set(resolve1(font["FontDescriptor"])), at
