"""Lines from right to left: what is drawn, letter by letter, as LibreOffice puts it on paper.

The samples are those that are drawn in the wrong order where nothing is done about it (seen in
LibreOffice 7.4): inside Arabic, "020 7946 0000" came out as "0000 7946 020", "1-3" as "3-1", "0.5 mg" as
"mg 0.5". A patient who rings the wrong number or takes a range the wrong way round is harmed by it.
"""

from __future__ import annotations

import io
import subprocess
from datetime import date
from pathlib import Path

import pytest
from docx import Document as WordDocument
from docx.oxml.ns import qn
from openxml_audit import OpenXmlValidator

from consentpack.export._script import Script, lang_attributes, unmarked
from consentpack.export.docx import export_docx
from consentpack.tree import Cell, Choice, Document, Facts, Items, Paragraph, Pictograph, Run, Section, Table

KEPT = (
    "020 7946 0101",
    "+44 20 7946 0101",
    "1-3",
    "3–5",
    "0.5 mg",
    "38.5 °C",
    "50%",
    "5/100",
    "1,000",
    "HS-P-101",
    "EX1 1EX",
    "999",
)
ARABIC = "اتصل"
LABELS = {
    "page": "صفحة {page} من {pages}",
    "reference": "المرجع",
    "version": "1",
    "draft": "مسودة",
    "subject": "x",
}


def in_arabic(*nodes, **more) -> Document:
    usual = {
        "kind": "consent", "title": "علاجك", "language": "ar", "audience": "patient", "clinic_name": "Hazel",
        "reference": "HS-P-1", "issued": "20 نوفمبر 2026", "rtl": True, "labels": LABELS,
    }  # fmt: skip
    return Document(sections=(Section("part", "جزء", nodes),), **(usual | more))


def written(document: Document):
    return WordDocument(io.BytesIO(export_docx(document, day=date(2026, 11, 20))))


def visible(text: str) -> str:
    return "".join(c for c in text if c.isprintable() and not c.isspace())


def _rows(office: str, document: Document, folder: Path) -> list[str]:
    """The letters of each line of a document as drawn, from left to right, from the top."""
    from pdfminer.high_level import extract_pages
    from pdfminer.layout import LTChar

    (folder / "ar.docx").write_bytes(export_docx(document, day=date(2026, 11, 20)))
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [office, profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder)]
    subprocess.run([*command, str(folder / "ar.docx")], check=True, capture_output=True, timeout=120)

    def letters(element):
        if isinstance(element, LTChar):
            yield element
        elif hasattr(element, "__iter__"):
            for child in element:
                yield from letters(child)

    found = []
    for page in extract_pages(folder / "ar.pdf"):
        rows: dict[int, list[tuple[float, str]]] = {}
        for letter in letters(page):
            rows.setdefault(round(letter.y0), []).append((letter.x0, letter.get_text()))
        found += ["".join(text for _, text in sorted(row)) for _, row in sorted(rows.items(), reverse=True)]
    return found


@pytest.fixture(scope="module")
def drawn(office, tmp_path_factory):
    """Each sample in a line of its own between Arabic words -> its letters from left to right."""
    lines = [Paragraph((Run(f"{ARABIC} {kept} {ARABIC}"),)) for kept in KEPT]
    return [visible(row) for row in _rows(office, in_arabic(*lines), tmp_path_factory.mktemp("drawn"))]


@pytest.mark.office
@pytest.mark.parametrize("kept", KEPT)
def test_numbers_and_latin_words_are_drawn_in_their_own_order(drawn, kept):
    assert any(visible(kept) in line for line in drawn), drawn


@pytest.mark.office
def test_a_telephone_number_at_the_end_of_a_line_is_whole(office, tmp_path):
    """Moved letter by letter towards the end of the line: with the usual no-break space LibreOffice drew
    "020 7946 01" on one line and "01" on the next."""
    lines = [f"{'كلمة ' * 14}{'ا' * more} 020 7946 0101 في اليوم" for more in range(24)]
    document = in_arabic(*(Paragraph((Run(line),)) for line in lines))
    rows = [visible(row) for row in _rows(office, document, tmp_path)]
    assert sum("02079460101" in row for row in rows) == len(lines), rows


@pytest.mark.office
def test_the_drawing_would_show_a_number_that_is_turned(drawn):
    """So that the test above can fail: no line shows a sample from its other end."""
    turned = ["01017946020", "3-1", "mg0.5", "°C38.5", "%50"]
    assert not [t for t in turned for line in drawn if visible(t) in line]


def test_every_paragraph_table_and_section_of_an_arabic_file_runs_from_right_to_left():
    cells = (
        Cell((Paragraph((Run("علاج"),)),), head=True),
        Cell((Paragraph((Run("5"),)), Pictograph(3, 100, "ثلاثة"))),
    )
    nodes = (
        Paragraph((Run("نص"),)),
        Items((Paragraph((Run("نقطة"),)),)),
        Choice((Run("نعم"),)),
        Facts((("اسم", "020 7946 0101"),)),
        Table(("أ", "ب"), (cells,), (50, 50), "جدول"),
    )
    word = written(in_arabic(*nodes, draft=("x",)))
    body = word.element.body
    paragraphs = [*body.iter(qn("w:p")), *(p._element for p in word.sections[0].header.paragraphs)]
    assert len(paragraphs) > 8
    assert all(p.find(qn("w:pPr")).find(qn("w:bidi")) is not None for p in paragraphs)
    assert all(t.find(qn("w:tblPr")).find(qn("w:bidiVisual")) is not None for t in body.iter(qn("w:tbl")))
    assert word.sections[0]._sectPr.find(qn("w:bidi")) is not None


def test_runs_of_arabic_are_marked_and_numbers_between_them_are_not():
    body = written(in_arabic(Paragraph((Run(f"{ARABIC} 999 الآن", strong=True),)))).element.body
    runs = {unmarked(t.text).strip(): t.getparent() for t in body.iter(qn("w:t"))}
    marked = {said: runs[said].rPr.find(qn("w:rtl")) is not None for said in (ARABIC, "999", "الآن")}
    assert marked == {ARABIC: True, "999": False, "الآن": True}
    assert runs[ARABIC].rPr.find(qn("w:bCs")) is not None, "bold Arabic needs w:bCs"


def test_an_arabic_file_passes_the_schema(tmp_path):
    path = tmp_path / "ar.docx"
    lines = [Paragraph((Run(f"{ARABIC} {kept}"),)) for kept in KEPT]
    path.write_bytes(export_docx(in_arabic(*lines, draft=("x",)), day=date(2026, 11, 20)))
    assert OpenXmlValidator().validate(str(path)).errors == []


def test_what_is_kept_in_order_is_the_same_text_when_it_is_read_back():
    text = f"{ARABIC} 020 7946 0101 {ARABIC}"
    body = written(in_arabic(Paragraph((Run(text),)))).element.body
    assert text in unmarked("".join(body.itertext()))


@pytest.mark.parametrize(
    ("language", "attributes"),
    [
        ("pl", {"val": "pl"}),
        ("ar", {"val": "en-GB", "bidi": "ar"}),
        ("zh-Hans", {"val": "en-GB", "eastAsia": "zh-CN"}),
        ("zh-TW", {"val": "en-GB", "eastAsia": "zh-TW"}),
        ("he", {"val": "en-GB", "bidi": "he"}),
    ],
)
def test_word_is_told_the_language_in_the_attribute_of_its_script(language, attributes):
    """ECMA-376 part 1, 17.3.2.20: w:lang has one attribute for each kind of script."""
    assert lang_attributes(language) == attributes


def test_plain_english_stays_one_plain_run():
    """The fast way: most documents never need another."""
    made = Script("en-GB").words("12 in every 100 – naïve café")
    assert made.count("<w:r>") == 1 and "rtl" not in made and "lang" not in made


def test_arabic_and_chinese_names_in_an_english_file_say_which_language_they_are():
    made = Script("en-GB").words("العربية (Arabic), 简体中文 (Chinese)")
    assert 'w:bidi="ar"' in made and 'w:eastAsia="zh-CN"' in made and "<w:rtl/>" in made


def test_words_of_a_named_language_are_marked_with_it():
    made = Script("en-GB").words("Zadzwoń do nas", language="pl")
    assert '<w:lang w:val="pl"/>' in made


def test_a_pictograph_is_filled_from_the_right_where_reading_begins_there():
    from consentpack.export.pictograph import drawing

    left = [(m.column, m.row) for m in drawing(Pictograph(3, 100, "")).marks if m.filled]
    right = [(m.column, m.row) for m in drawing(Pictograph(3, 100, "", mirrored=True)).marks if m.filled]
    assert left == [(0, 9), (1, 9), (2, 9)]
    assert right == [(9, 9), (8, 9), (7, 9)]


@pytest.mark.office
def test_version_and_day_at_the_foot_are_not_one_number(office, tmp_path):
    """As one piece from left to right, "version 1 · 20 November" was read as version 20 of the 1st."""
    labels = LABELS | {"version": "الإصدار 1"}
    rows = [
        visible(row) for row in _rows(office, in_arabic(Paragraph((Run(ARABIC),)), labels=labels), tmp_path)
    ]
    (foot,) = [row for row in rows if "HS-P-1" in row]
    assert "20·1" in foot and "1·20" not in foot, foot  # from left to right: the day left of the version


def test_stops_and_letters_of_arabic_come_from_one_font():
    """With Arial, which LibreOffice replaces by a font without Arabic, the stop was drawn inside the word."""
    word = written(in_arabic(Paragraph((Run("لا."),))))
    fonts = {f.get(qn("w:cs")) for f in word.styles.element.iter(qn("w:rFonts"))}
    assert fonts == {"DejaVu Sans"}
    table = next(part for part in word.part.package.iter_parts() if part.partname == "/word/fontTable.xml")
    assert b'w:name="DejaVu Sans"><w:altName w:val="Arial, ' in table.blob
