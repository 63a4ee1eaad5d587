"""The Word files, opened again by python-docx and taken apart."""

from __future__ import annotations

import io
import itertools
import re
import zipfile
from datetime import date

import docx_integrity
import pytest
from docx import Document as WordDocument
from docx.oxml.ns import qn
from openxml_audit import OpenXmlValidator
from pictures import panels_as_tables
from readings import said

from consentpack.export.docx import ACROSS, export_docx
from consentpack.export.text import export_text
from consentpack.tree import Document, Paragraph, Run, Section, Table

KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")
PLANS = ("p-101", "p-102", "p-103", "p-104")
every_document = pytest.mark.parametrize(("plan", "kind"), [(plan, kind) for plan in PLANS for kind in KINDS])


def opened(packs, plan: str, kind: str):
    return WordDocument(io.BytesIO(packs[plan].files[f"{kind}.docx"]))


def tree_of(packs, plan: str, kind: str) -> Document:
    return next(d for d in packs[plan].documents if d.kind == kind)


def words(text: str) -> str:
    """Text with everything but letters and digits taken out, so that layout does not matter."""
    return re.sub(r"[\W_]+", "", text)


@every_document
def test_the_file_says_exactly_what_the_tree_says(packs, plan, kind):
    """Words in their order, and those of a picture at its place."""
    in_file = said(opened(packs, plan, kind).element.body)
    in_tree = export_text(panels_as_tables(tree_of(packs, plan, kind), across=ACROSS))
    without_numbers = re.sub(r"^\d+\. ", "", in_tree, flags=re.M).replace("/ 1. ", "/ ")
    assert words(in_file) == words(without_numbers)


@every_document
def test_headings_are_real_begin_at_one_and_skip_no_level(packs, plan, kind):
    styles = [p.style.name for p in opened(packs, plan, kind).paragraphs]
    levels = [int(name[-1]) for name in styles if name.lower().startswith("heading")]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


@every_document
def test_every_table_has_a_header_row_that_repeats_and_rows_that_never_split(packs, plan, kind):
    for table in opened(packs, plan, kind).tables:
        first, *others = table._tbl.tr_lst
        assert first.trPr.find(qn("w:tblHeader")) is not None
        assert all(row.trPr.find(qn("w:cantSplit")) is not None for row in (first, *others))
        assert all(row.trPr.find(qn("w:tblHeader")) is None for row in others)
        assert table._tbl.tblPr.find(qn("w:tblCaption")).get(qn("w:val"))


@every_document
def test_lists_are_real_lists(packs, plan, kind):
    for paragraph in opened(packs, plan, kind).paragraphs:
        assert not re.match(r"\s*(•|-|\*|\d+\.)\s", paragraph.text), paragraph.text


@every_document
def test_no_paragraph_is_empty(packs, plan, kind):
    """Space comes from styles (US federal checklists for accessible Word files)."""
    document = opened(packs, plan, kind)
    assert all(paragraph.text.strip() for paragraph in document.paragraphs)


@every_document
def test_language_title_and_author_are_set(packs, plan, kind):
    document = opened(packs, plan, kind)
    language = next(document.styles.element.iter(qn("w:lang")))
    properties = document.core_properties
    assert language.get(qn("w:val")) == "en-GB"
    assert properties.title == f"{tree_of(packs, plan, kind).title} – {packs[plan].plan.reference}"
    assert properties.author == "Hazel Street Scar Clinic (invented)"


@every_document
def test_every_page_says_draft_invented_and_which_page_of_how_many(packs, plan, kind):
    section = opened(packs, plan, kind).sections[0]
    header = "\n".join(p.text for p in section.header.paragraphs)
    fields = [node.text.strip() for node in section.footer._element.iter(qn("w:instrText"))]
    assert "DRAFT – not approved for patients" in header
    assert "Invented clinic" in header
    assert fields == ["PAGE", "NUMPAGES"]
    assert packs[plan].plan.reference in section.footer.paragraphs[0].text


@every_document
def test_content_control_ids_are_unique(packs, plan, kind):
    body = opened(packs, plan, kind).element.body
    ids = [node.get(qn("w:val")) for sdt in body.iter(qn("w:sdtPr")) for node in sdt.iter(qn("w:id"))]
    assert len(ids) == len(set(ids))


@every_document
def test_no_text_is_smaller_than_12_points(packs, plan, kind):
    """Body text of at least 12 pt, footers too (UKAAF G003 2019)."""
    document = opened(packs, plan, kind)
    sizes = [int(s.get(qn("w:val"))) for s in document.styles.element.iter(qn("w:sz"))]
    assert sizes and min(sizes) >= 24


@every_document
def test_validators_find_nothing(packs, plan, kind, tmp_path):
    """openxml-audit (schema and semantics of ECMA-376) and docx-integrity (references), from PyPI."""
    path = tmp_path / f"{kind}.docx"
    path.write_bytes(packs[plan].files[f"{kind}.docx"])
    assert OpenXmlValidator().validate(str(path)).errors == []
    assert docx_integrity.check(str(path)) == []


def test_a_numbered_list_begins_at_one_again(packs):
    document = opened(packs, "p-101", "more")
    numbers = [
        p._p.pPr.numPr.numId.val
        for p in document.paragraphs
        if p.style.name == "List Number" and p._p.pPr.numPr is not None
    ]
    assert len(set(numbers)) == 2  # the treatment's steps, and the anaesthetic's
    numbering = document.part.numbering_part.element
    for number in set(numbers):
        found = next(n for n in numbering.findall(qn("w:num")) if n.numId == number)
        assert found.find(qn("w:lvlOverride")) is not None


def simple(*nodes, **more) -> Document:
    section = Section("part", "Part", tuple(nodes))
    labels = {"page": "Page", "of": "of", "reference": "Ref", "version": "1", "subject": "s", "draft": "D"}
    values = {"clinic_name": "Clinic", "reference": "R-1", "issued": "today"} | more
    return Document("booklet", "Title", "en-GB", "patient", sections=(section,), labels=labels, **values)


def test_what_xml_cannot_hold_is_replaced_and_nothing_else_is_lost():
    nasty = "A & B < C > \"D\" 'E' \x00\x0b\ud800 𝄞 {{ x }} </w:t>"
    document = simple(Paragraph((Run(nasty),)), clinic_name="Cl\x01inic & <b>")
    word = WordDocument(io.BytesIO(export_docx(document, day=date(2026, 1, 1))))
    assert word.paragraphs[-1].text == nasty.translate({0: "\ufffd", 0x0B: "\ufffd", 0xD800: "\ufffd"})
    assert word.core_properties.author == "Cl\ufffdinic & <b>"


def test_a_link_is_a_real_link():
    runs = (Run("See "), Run("the page", href="https://example.org/x?a=1&b=2"))
    word = WordDocument(io.BytesIO(export_docx(simple(Paragraph(runs)), day=date(2026, 1, 1))))
    assert word.paragraphs[-1].hyperlinks[0].address == "https://example.org/x?a=1&b=2"


def test_two_tables_in_a_row_are_refused():
    table = Table(("A",), (), (100,), "s")
    with pytest.raises(ValueError, match="two tables in a row"):
        export_docx(simple(table, table), day=date(2026, 1, 1))


def test_an_approved_document_carries_no_draft_mark():
    content = export_docx(simple(Paragraph((Run("x"),))), day=date(2026, 1, 1))
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        headers = [archive.read(name) for name in archive.namelist() if "header" in name]
    assert headers and not any(b"DraftMark" in header for header in headers)
