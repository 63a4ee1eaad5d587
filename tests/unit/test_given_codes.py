"""Whether a paper was given, and by what it is found again: in Word files, PDFs and pages."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from datetime import date

import docx_integrity
import pytest
import squares
from docx import Document as WordDocument
from docx.oxml.ns import qn
from hypothesis import given, settings
from hypothesis import strategies as st
from openxml_audit import OpenXmlValidator
from PIL import Image

from consentpack import shipped
from consentpack.accessibility import check_file
from consentpack.catalogues import available, load
from consentpack.errors import OutputError
from consentpack.export import pdf
from consentpack.export._code import QUIET, UNPRINTABLE_MM, Symbol
from consentpack.export._drawn import page_without_code
from consentpack.export._frame import frame_of
from consentpack.export._running import _fits
from consentpack.export.docx import export_docx
from consentpack.export.html import export_html
from consentpack.export.look import MM, Look
from consentpack.length import sides_of
from consentpack.model import Brand, Given
from consentpack.pipeline.prepare import Wanted, prepare
from consentpack.tree import Document, Paragraph, Run, Section
from consentpack.wording import Words

DAY = date(2026, 11, 25)
GIVEN = Given(2, DAY, "K7QF2-M9XAB")
CODE = "K7QF2-M9XAB-1"
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base32: figures and capitals without I, L, O and U (his page; from memory)."""
LABELS = {
    "page": "Page {page} of {pages}",
    "reference": "Reference",
    "version": "Version 2",
    "given": "Given on 25 November 2026",
    "code": f"Code to scan: {CODE}",
    "subject": "For you",
    "draft": "DRAFT",
}
LETTERHEAD = Brand(letterhead=("1 Example Street", "Example Town"))
LOOKS = {
    "plain": Look(),
    "letterhead": Look(LETTERHEAD),
    "letter paper": Look(Brand(paper="Letter")),
    "large": Look(LETTERHEAD, large=True),
}
PAPERS = {"usual": {}, "close": {"close": True}, "sheet": {"one_sheet": True}}
every_look = pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
every_paper = pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)


def paper_of(*, code: str = CODE, **more) -> Document:
    """A document of some sides, given or (without a code) a working copy."""
    words = tuple(Paragraph((Run("We lift the scar with a thin needle. " * 20),)) for _ in range(12))
    usual = {
        "kind": "form", "title": "Title", "language": "en-GB", "audience": "patient", "clinic_name": "Clinic",
        "reference": "HS-P-101", "issued": "20 November 2026", "labels": LABELS, "code": code,
    }  # fmt: skip
    labels = LABELS if code else LABELS | {"version": "Working copy, not given out"}
    usual |= {"sections": (Section("part", "Part", words),), "labels": labels}
    return Document(**(usual | more))


def working(document: Document) -> Document:
    return replace(document, code="", labels=document.labels | {"version": "Working copy, not given out"})


def parts(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        return {name: file.read(name) for name in file.namelist()}


def opened(content: bytes):
    return WordDocument(io.BytesIO(content))


# --- numbers --------------------------------------------------------------------------------------


def prepared(place, **how):
    plan = place.folder / "plans" / "p-101.toml"
    return prepare(place, plan, Wanted(DAY, **how))


def test_documents_are_numbered_by_their_place_in_the_pack(place):
    found = prepared(place, given=GIVEN)
    assert list(found.codes) == [each.id for each in found.documents]
    assert list(found.codes.values()) == [f"K7QF2-M9XAB-{n}" for n in range(1, len(found.codes) + 1)]
    assert found.codes["form"] == CODE


def test_a_document_has_one_number_whatever_is_written_beside_it(place):
    alone = prepared(place, given=GIVEN, only=frozenset({"record"}))
    large = prepared(place, given=GIVEN, formats=frozenset({"large-print"}), both_languages=True)
    assert alone.codes == large.codes == prepared(place, given=GIVEN, language="ar").codes


def test_a_working_pack_has_no_code(place):
    assert prepared(place).codes == {}


# --- the foot of every page -----------------------------------------------------------------------


def feet(content: bytes) -> list[str]:
    """The words of each footer, its lines apart."""
    section = opened(content).sections[0]
    found = [section.footer]
    found += [section.first_page_footer] if section.different_first_page_header_footer else []
    return ["\n".join(p.text for p in foot.paragraphs) for foot in found]


@every_look
@every_paper
def test_every_page_of_a_word_file_says_that_it_was_given_and_its_code(look, paper):
    for foot in feet(export_docx(paper_of(**paper), day=DAY, look=look)):
        said = foot.replace("\n", " · ").split("\t")[0]
        assert said == f"HS-P-101 · Version 2 · Given on 25 November 2026 · {CODE}"


@every_look
@every_paper
def test_every_page_of_a_working_copy_says_that_it_is_one_and_no_code(look, paper):
    content = export_docx(paper_of(code="", **paper), day=DAY, look=look)
    for foot in feet(content):
        said = foot.replace("\n", " · ").split("\t")[0]
        assert said == "Reference HS-P-101 · Working copy, not given out · 20 November 2026"
    assert squares.in_word(content) == []
    assert b"K7QF2" not in b"".join(parts(content).values())
    assert b"identifier" not in parts(content)["docProps/core.xml"]


def test_a_code_is_not_broken_where_the_foot_takes_two_lines():
    """At its hyphen LibreOffice and Word end a line; half a code at the end of one is copied as the whole."""
    short, long = (
        feet(export_docx(paper_of(reference=reference), day=DAY))[0]
        for reference in ("HS-P-101", "SCAR-CLINIC-2026-000101")
    )
    assert "\n" not in short
    first, second = long.split("\n")
    assert first.endswith("Given on 25 November 2026") and second.startswith(f"{CODE}\t")


@pytest.mark.parametrize("language", ["en-GB", *available([shipped.locales()])])
def test_in_each_language_the_foot_has_room_on_one_line(language):
    """Two lines would take a line of words from every side, and papers would run over their limits. In the
    form and on the sheets; in booklets the margin below holds two lines, but for less than a millimetre."""
    say = load(language, (shipped.locales(),), where="a test").phrase
    day = Words(load(language, (shipped.locales(),), where="a test")).day(DAY)
    page = say("Page {page} of {pages}", page="{page}", pages="{pages}")
    given = ("HS-P-101", say("Version {version}", version=2), say("Given on {day}", day=day), CODE, page)
    copy = (f"{say('Reference')} HS-P-101", say("Working copy, not given out"), day, page)
    for parts_of_foot in (given, copy):
        assert _fits(" · ".join(parts_of_foot), Look(close=True)), " · ".join(parts_of_foot)


# --- the square on page one -----------------------------------------------------------------------


@given(st.text(CROCKFORD, min_size=10, max_size=10), st.integers(1, 99))
@settings(max_examples=40)
def test_a_camera_reads_the_very_code(letters, number):
    """Another program reads it: the picture for Word, and the page's drawing module by module."""
    code = f"{letters[:5]}-{letters[5:]}-{number}"
    image = Image.open(io.BytesIO(Symbol(code).png(3))).convert("L")
    assert squares.texts_in(image) == [code]
    assert squares.in_page(Symbol(code).svg("A code")) == [code]


@every_paper
def test_its_white_edge_ends_where_lines_end_and_its_dark_part_where_printers_reach(paper):
    look = Look(close="close" in paper, sheet="one_sheet" in paper)
    symbol, margin = Symbol(CODE), look.margin / MM
    dots = symbol.dots_in(margin)
    module = symbol.size_mm(dots) / symbol.side
    assert margin - (symbol.side - QUIET) * module >= UNPRINTABLE_MM
    assert 0.38 <= module <= 0.47 and symbol.side == symbol.modules + 8
    width, height = Image.open(io.BytesIO(symbol.png(dots))).size
    assert width == height == symbol.side * dots


@every_look
@every_paper
@pytest.mark.parametrize("rtl", [False, True])
def test_page_one_carries_the_square_once_with_its_words_and_it_takes_no_room(look, paper, rtl, tmp_path):
    document = paper_of(rtl=rtl, **paper)
    content = export_docx(document, day=DAY, look=look)
    assert squares.in_word(content) == [CODE]
    section = opened(content).sections[0]
    (anchor,) = section.first_page_header._element.iter(qn("wp:anchor"))
    assert anchor.find(qn("wp:docPr")).get("descr") == f"Code to scan: {CODE}"
    (where,) = (each for each in anchor if each.tag == qn("wp:positionH"))
    assert where.get("relativeFrom") == ("leftMargin" if rtl else "rightMargin")
    others = (section.header, section.footer, section.first_page_footer)
    assert not any(list(each._element.iter(qn("w:drawing"))) for each in others)
    assert not list(opened(content).element.body.iter(qn("w:drawing")))
    assert sides_of(content) == sides_of(export_docx(working(document), day=DAY, look=look))


@every_look
@pytest.mark.parametrize("titled", [False, True], ids=["usual", "sheet"])
def test_the_head_of_page_one_says_what_it_says_in_a_working_copy(look, titled):
    document = paper_of(one_sheet=titled)
    heads = []
    for each in (document, working(document)):
        section = opened(export_docx(each, day=DAY, look=look)).sections[0]
        first = section.different_first_page_header_footer
        head = section.first_page_header if first else section.header
        heads.append([(p.style.name, p.text) for p in head.paragraphs])
    assert heads[0] == heads[1]


@every_look
def test_validators_and_the_rules_of_accessible_files_find_nothing(look, tmp_path):
    path = tmp_path / "a.docx"
    path.write_bytes(export_docx(paper_of(draft=("d",)), day=DAY, look=look))
    assert OpenXmlValidator().validate(str(path)).errors == []
    assert docx_integrity.check(str(path)) == []
    assert check_file(path) == ()


def test_a_square_without_words_is_found_by_the_rules(tmp_path):
    """That it floats is no fault in a header; that it says nothing is."""
    document = paper_of()
    path = tmp_path / "a.docx"
    path.write_bytes(export_docx(replace(document, labels=document.labels | {"code": ""}), day=DAY))
    assert [each.rule for each in check_file(path)] == ["alternative-text"]


def test_the_file_is_found_by_its_code_too():
    content = export_docx(paper_of(), day=DAY)
    assert opened(content).core_properties.identifier == CODE


def test_a_file_holds_the_square_of_its_own_code_alone():
    """What files share is packed once: the square of one patient must not get into the papers of another."""
    first, second = (export_docx(paper_of(code=f"K7QF2-M9XAB-{n}"), day=DAY) for n in (1, 2))
    assert squares.in_word(first) == [CODE] and squares.in_word(second) == ["K7QF2-M9XAB-2"]
    assert export_docx(paper_of(), day=DAY) == first
    frame = frame_of(Look(coded=True), "en-GB", False)
    shared = b"".join(part.content for part in frame.same.values())
    assert Symbol(CODE).png(11) not in shared


# --- pages ----------------------------------------------------------------------------------------


def test_a_page_says_its_code_in_words_and_as_a_square_with_a_name():
    page = export_html(paper_of()).decode()
    foot = re.search("<footer>(.*)</footer>", page, re.S)
    assert foot
    assert foot[1].startswith("<p>HS-P-101 · Version 2 · Given on 25 November 2026</p>")
    assert f'<p class="found">{CODE}</p>' in foot[1]
    assert f"<title>Code to scan: {CODE}</title>" in foot[1] and 'role="img"' in foot[1]
    assert squares.in_page(page) == [CODE]
    assert f'<meta name="dcterms.identifier" content="{CODE}">' in page


def test_a_page_of_a_working_copy_has_neither():
    page = export_html(paper_of(code="")).decode()
    assert "Working copy, not given out" in page
    assert "K7QF2" not in page and squares.in_page(page) == [] and "dcterms.identifier" not in page


def test_on_a_page_from_right_to_left_a_code_of_figures_keeps_its_order():
    """By the rules for bidirectional text a group of figures before a hyphen would go to the other end."""
    page = export_html(paper_of(code="27382-91450-1", rtl=True, language="ar")).decode()
    assert '<p class="found"><bdi dir="ltr">27382-91450-1</bdi></p>' in page
    assert r"\00200e27382\00002d91450\00002d1\00200e" in page  # the foot of each printed page


# --- PDFs -----------------------------------------------------------------------------------------


def test_a_page_that_lost_its_code_is_named():
    whole, lost = f"words\r\n{CODE}\tPage 1 of 2", "words Page 2 of 2"
    document = paper_of(sections=())
    assert page_without_code(document, [whole, f"K7QF2-\x02M9XAB-\r\n1 {whole}"]) == 0
    assert page_without_code(document, [whole, lost]) == 2
    assert page_without_code(working(document), [lost]) == 0


def test_no_pdf_is_written_where_a_page_lost_its_code(monkeypatch):
    monkeypatch.setattr(pdf, "pages_of", lambda _: [f"Title {CODE}", "Title"])
    with pytest.raises(OutputError, match=f"left the code {CODE} out on page 2"):
        pdf.refuse_losses({"form.pdf": paper_of(sections=())}, {"form.pdf": b"%PDF-"})
