"""How the Word files look: the clinic's brand, large print, and what can be filled in on a screen."""

from __future__ import annotations

import io
import re
import time
import zipfile
from collections import Counter
from dataclasses import replace
from datetime import date

import docx_integrity
import pytest
from docx import Document as WordDocument
from docx.oxml.ns import qn
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openxml_audit import OpenXmlValidator
from pictures import panels_as_tables, without_pictures
from readings import said

from consentpack import pipeline
from consentpack.brand.colours import contrast
from consentpack.brand.pictures import size_of
from consentpack.export import _ooxml
from consentpack.export.docx import ACROSS_LARGE, export_docx
from consentpack.export.look import Look
from consentpack.export.text import export_text
from consentpack.model import Brand, Logo, TextStyle
from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Paragraph,
    Run,
    Section,
    Table,
    bodies,
    contents,
)

DAY = date(2026, 11, 25)
PLANS = ("p-101", "p-102", "p-103", "p-104")
KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")
every_document = pytest.mark.parametrize(("plan", "kind"), [(plan, kind) for plan in PLANS for kind in KINDS])
W14 = "{http://schemas.microsoft.com/office/word/2010/wordml}"


def tree_of(packs, plan: str, kind: str) -> Document:
    return next(d for d in packs[plan].documents if d.kind == kind)


@pytest.fixture(scope="module")
def large(packs, place):
    """(plan, kind) -> the document in large print, in the demo's brand."""
    look = Look(place.clinic.brand, large=True)
    return {
        (plan, document.kind): export_docx(document, day=DAY, look=look)
        for plan, pack in packs.items()
        for document in pack.documents
    }


def opened(content: bytes):
    return WordDocument(io.BytesIO(content))


def parts(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return {name: package.read(name) for name in package.namelist()}


def words(text: str) -> list[str]:
    return re.findall(r"\w+", text.replace("_", " "))


def shown(content: bytes) -> str:
    """Every word of the body, each paragraph apart."""
    body = opened(content).element.body
    parts = ("w:t", "w:br")  # a label stands above its value, in one paragraph
    return "\n".join(said(p, parts) for p in body.iter(qn("w:p")))


def check(content: bytes, path) -> None:
    path.write_bytes(content)
    assert OpenXmlValidator().validate(str(path)).errors == []
    assert docx_integrity.check(str(path)) == []


def simple(*nodes, **more) -> Document:
    labels = {"page": "Page", "of": "of", "reference": "Ref", "version": "1", "subject": "s", "draft": "D"}
    values = {"clinic_name": "Clinic", "reference": "R-1", "issued": "today", "labels": labels} | more
    section = Section("part", "Part", tuple(nodes))
    return Document("booklet", "Title", "en-GB", "patient", sections=(section,), **values)


# --- large print ----------------------------------------------------------------------------------


@every_document
def test_large_print_loses_no_word_and_adds_none_but_the_labels_of_columns(packs, large, plan, kind):
    tree = tree_of(packs, plan, kind)
    laid_out = panels_as_tables(without_pictures(tree), across=ACROSS_LARGE)
    wanted = re.sub(r"^\d+\. ", "", export_text(laid_out), flags=re.M).replace("/ 1. ", "/ ")
    wanted = re.sub(r" / \d+\. ", " / ", wanted)
    there, asked = Counter(words(shown(large[plan, kind]))), Counter(words(wanted))
    assert asked - there == Counter()
    labels: Counter[str] = Counter()
    for section in (*tree.sections, Section("lead", "", tree.lead)):
        for node in section.nodes:
            if isinstance(node, Table) and not node.grid:
                for label in node.columns[1:]:
                    labels.update(
                        {word: n * (len(node.rows) - 1) for word, n in Counter(words(label)).items()}
                    )
    assert there - asked == +labels


@every_document
def test_large_print_says_each_rows_words_in_its_order(packs, large, plan, kind):
    flat = " ".join(words(shown(large[plan, kind])))
    for section in tree_of(packs, plan, kind).sections:
        for table in (node for node in section.nodes if isinstance(node, Table)):
            for row in table.rows:
                first, *others = (" ".join(words("\n".join(texts(cell)))) for cell in row)
                line = [first]
                for label, cell in zip(table.columns[1:], others, strict=True):
                    line += [cell] if table.grid else [" ".join(words(label)), cell]
                assert " ".join(filter(None, line)) in flat


def texts(cell: Cell):
    for content in cell.content:
        if isinstance(content, Items):
            yield from ("".join(run.text for run in item.runs) for item in content.items)
        elif isinstance(content, Paragraph | Choice):
            yield "".join(run.text for run in content.runs)


@every_document
def test_all_large_print_is_at_least_18_points_in_one_column(packs, large, plan, kind):
    """18 pt for all text, page numbers and labels too (UKAAF G003 2019, RNIB), on A4. What must stay on few
    sheets has 16 pt, the least of large print. In columns are short marks and pictures alone."""
    tree, document = tree_of(packs, plan, kind), opened(large[plan, kind])
    sizes = [int(s.get(qn("w:val"))) for s in document.styles.element.iter(qn("w:sz"))]
    assert min(sizes) >= (32 if tree.one_sheet else 36)
    inside = [p for name, p in parts(large[plan, kind]).items() if re.search(r"document|header|footer", name)]
    assert not any(b"<w:sz " in part for part in inside)  # no run has a size of its own
    assert all(
        len(table.columns) == 1 for table in document.tables if table.style.name not in BESIDE_EACH_OTHER
    )
    assert document.sections[0].page_width == 11906 * 635


BESIDE_EACH_OTHER = ("Grid Table", "Panel Table")


@every_document
def test_validators_find_nothing_in_large_print(large, plan, kind, tmp_path):
    check(large[plan, kind], tmp_path / "large.docx")


def test_a_row_that_no_page_can_hold_may_split_or_its_end_would_not_be_printed():
    long, short = (Cell((Paragraph((Run("word " * n),)),)) for n in (2000, 20))
    for look in (Look(), Look(large=True)):
        table = Table(("A", "B"), ((short, short), (short, long)), (50, 50), "s")
        rows = opened(export_docx(simple(table), day=DAY, look=look)).tables[0]._tbl.tr_lst
        whole = [row.trPr is not None and row.trPr.find(qn("w:cantSplit")) is not None for row in rows]
        assert whole == [True, True, False]


def test_build_writes_large_print_only_when_asked_and_an_old_one_never_stays(run, clinic_copy):
    result = run(clinic_copy, "build", "plans/p-101.toml", "--draft", "--large-print")
    folder = clinic_copy / "packs" / "HS-P-101"
    names = {f"{kind}-large-print.docx" for kind in KINDS}
    assert result.exit_code == 0 and names <= {path.name for path in folder.iterdir()}
    assert names <= {line.rsplit("/")[-1] for line in result.stdout.splitlines()}
    (folder / "signed-scan.pdf").write_bytes(b"a clinic's own")
    run(clinic_copy, "build", "plans/p-101.toml", "--draft")
    assert not names & {path.name for path in folder.iterdir()}
    assert (folder / "signed-scan.pdf").exists()


# --- filled in on a screen ------------------------------------------------------------------------


def controls(content: bytes):
    return list(opened(content).element.body.iter(qn("w:sdt")))


@every_document
def test_every_choice_and_every_line_but_a_signature_is_an_empty_named_control(packs, plan, kind):
    tree = tree_of(packs, plan, kind)
    nodes = [body for section in tree.sections for node in section.nodes for body in bodies(node)]
    lines = [line for node in nodes if isinstance(node, Fields) for line in node.lines]
    cells = [content for node in nodes if isinstance(node, Table) for content in contents(node)]
    ticks = [node for node in (*nodes, *cells) if isinstance(node, Choice)]
    found = controls(packs[plan].files[f"{kind}.docx"])
    kinds = Counter(
        next(n.tag for n in sdt.find(qn("w:sdtPr")) if n.tag in KINDS_OF_CONTROL) for sdt in found
    )
    assert kinds[W14 + "checkbox"] == len(ticks)
    signs = Counter("".join(node.text or "" for node in sdt.iter(qn("w:t"))) for sdt in found)
    assert signs[ROUND] == sum(tick.one_of for tick in ticks)  # one of several is round
    assert kinds[qn("w:date")] == sum(line.kind == "date" for line in lines)
    assert kinds[qn("w:text")] == sum(line.kind in ("text", "time") for line in lines)
    assert all(sdt.find(qn("w:sdtPr")).find(qn("w:alias")).get(qn("w:val")).strip() for sdt in found)
    assert len({sdt.find(qn("w:sdtPr")).find(qn("w:id")).get(qn("w:val")) for sdt in found}) == len(found)


SQUARE, ROUND = "\u2610", "\u25cb"
KINDS_OF_CONTROL = (W14 + "checkbox", qn("w:date"), qn("w:text"))


@every_document
def test_nothing_is_filled_in_beforehand(packs, plan, kind):
    for sdt in controls(packs[plan].files[f"{kind}.docx"]):
        words = "".join(node.text or "" for node in sdt.iter(qn("w:t")))
        checkbox = sdt.find(qn("w:sdtPr")).find(W14 + "checkbox")
        if checkbox is not None:
            assert words in (SQUARE, ROUND) and checkbox[0].get(W14 + "val") == "0"
        else:
            assert words == "" and sdt.find(qn("w:sdtPr")).find(qn("w:showingPlcHdr")) is not None
            assert len(list(sdt.iter(qn("w:tab")))) == 1  # the line for a pen


def test_a_control_is_named_by_its_label_and_whose_it_is():
    fields = Fields("Patient", (Field("Name"), Field("Signature", "signature"), Field("Date", "date")))
    names = [
        sdt.find(qn("w:sdtPr")).find(qn("w:alias")).get(qn("w:val"))
        for sdt in controls(export_docx(simple(fields), day=DAY))
    ]
    assert names == ["Patient: Name", "Patient: Date"]


# --- brand ----------------------------------------------------------------------------------------


@every_document
def test_page_one_carries_logo_with_its_words_and_the_address(packs, place, plan, kind):
    section = opened(packs[plan].files[f"{kind}.docx"]).sections[0]
    first, other = section.first_page_header, section.header
    assert section.different_first_page_header_footer
    descriptions = [node.get("descr") for node in first._element.iter(qn("wp:docPr"))]
    assert descriptions == [place.clinic.brand.logo.alt]
    said = "".join(p.text for p in first.paragraphs)
    # nobody rings from the clinic's own papers, and their bodies have no number to ring
    assert ("1 Hazel Street, Example Town, EX1 1EX" in said) is (kind not in ("record", "talk-back"))
    assert not list(other._element.iter(qn("wp:docPr")))


@every_document
def test_first_and_other_pages_say_whose_which_version_and_page(packs, plan, kind):
    section = opened(packs[plan].files[f"{kind}.docx"]).sections[0]
    tree = tree_of(packs, plan, kind)
    for first, header in enumerate((section.header, section.first_page_header)):
        text = "\n".join(p.text for p in header.paragraphs)
        assert tree.clinic_name in text and "DRAFT" in text
        # the head of a sheet's first side leaves the title to the words below it
        assert tree.title in text or (tree.one_sheet and first)
    for footer in (section.footer, section.first_page_footer):
        text = "".join(p.text for p in footer.paragraphs)
        assert all(part in text for part in (tree.reference, tree.labels["version"], tree.issued))
        assert [n.text.strip() for n in footer._element.iter(qn("w:instrText"))] == ["PAGE", "NUMPAGES"]


BRANDS = {
    "none": Brand(),
    "letter, no logo": Brand(paper="Letter", letterhead=("1 Example Street", "020 7946 0101")),
    "fonts and colour": Brand(colour="5A1F3C", fonts=("Lovely Sans", "Arial")),
    "designer": Brand(
        styles=(
            ("Normal", TextStyle("Lovely Sans", 26, "FF0000", True, 0, 120, 300)),
            ("heading 1", TextStyle("", 50, "5A1F3C", False, 10, 20, 240)),
            ("header", TextStyle("Lovely Serif", 24)),
        )
    ),
}


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("brand", BRANDS.values(), ids=BRANDS)
def test_validators_find_nothing_in_any_brand(brand, large, tmp_path):
    fields = Fields("Patient", (Field("Name"), Field("Date", "date")))
    document = simple(
        Heading((Run("H"),), 3), Choice((Run("Yes"),)), fields, Box("B", (Paragraph((Run("x"),)),))
    )
    check(export_docx(document, day=DAY, look=Look(brand, large)), tmp_path / "a.docx")


def test_a_designers_sizes_are_taken_but_what_holds_lines_together_stays():
    styles = opened(export_docx(simple(), day=DAY, look=Look(BRANDS["designer"]))).styles
    heading, normal = styles["heading 1"], styles["Normal"]
    assert (heading.font.size.pt, str(heading.font.color.rgb), heading.font.bold) == (25, "5A1F3C", False)
    assert heading.paragraph_format.keep_with_next and heading.paragraph_format.space_after.pt == 1
    assert (normal.font.name, normal.font.size.pt) == ("Lovely Sans", 13)
    # red letters on the dark head of a table could not be read
    assert normal.font.color.rgb is None and normal.font.bold is None


def test_the_font_table_says_what_may_stand_for_the_font():
    made = parts(export_docx(simple(), day=DAY, look=Look(BRANDS["fonts and colour"])))
    assert b'w:name="Lovely Sans"' in made["word/fontTable.xml"]
    assert b'w:altName w:val="Arial, Liberation Sans"' in made["word/fontTable.xml"]


def test_paper_and_lines_are_as_wide_as_letter_is():
    document = opened(export_docx(simple(), day=DAY, look=Look(BRANDS["letter, no logo"])))
    section = document.sections[0]
    assert (section.page_width.inches, section.page_height.inches) == (8.5, 11)
    width = (section.page_width - section.left_margin - section.right_margin) // 635
    assert {int(tab.get(qn("w:pos"))) for tab in document.styles.element.iter(qn("w:tab"))} >= {width}


@pytest.mark.parametrize("colour", ["", "1F5A3C", "000000", "767676"])
def test_every_word_can_be_read_on_its_ground_in_grey_too(colour):
    """Contrast is worked out from luminance, so what passes here passes in greyscale."""
    styles = opened(export_docx(simple(), day=DAY, look=Look(Brand(colour=colour)))).styles.element
    for style in styles.iter(qn("w:style")):
        for properties in style.iter(qn("w:rPr")):
            found = properties.find(qn("w:color"))
            fill = next((s.get(qn("w:fill")) for s in properties.getparent().iter(qn("w:shd"))), "FFFFFF")
            assert contrast("000000" if found is None else found.get(qn("w:val")), fill) >= 4.5
    for shade in styles.iter(qn("w:shd")):
        head = shade.getparent().getparent().find(qn("w:rPr"))
        assert head is not None or contrast("000000", shade.get(qn("w:fill"))) >= 4.5


# --- the same each time, and safe -----------------------------------------------------------------


def test_the_same_document_gives_the_same_bytes_whatever_was_written_before(packs, place):
    document = tree_of(packs, "p-101", "booklet")
    look = Look(place.clinic.brand, large=True)
    first = export_docx(document, day=DAY, look=look)
    export_docx(tree_of(packs, "p-103", "record"), day=DAY)
    assert export_docx(document, day=DAY, look=replace(look)) == first


WHATEVER = st.text(st.characters(), max_size=80) | st.sampled_from(
    [
        "\x00\x0b\x1f",
        "\ufffe\uffff",
        "</w:t></w:r>",
        "]]>",
        "&amp;",
        '"><x',
        "{{ a }}",
        "\u202e123",
        "\u2067a\u202a",
        "\u2028",
    ]
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(values=st.lists(WHATEVER, min_size=14, max_size=14), large=st.booleans())
def test_no_value_of_a_clinic_can_break_the_file_or_be_lost(values, large):
    v = values
    labels = dict(zip(("page", "of", "reference", "version", "subject", "draft"), v[:6], strict=True))
    said = Paragraph((Run(v[6]), Run(v[7], True, f"https://example.org/{v[7]}")))
    table = Table((v[8], v[9]), ((Cell((said,)), Cell((said,))),), (50, 50), v[10])
    nodes = (
        said,
        Facts(((v[8], v[9]),)),
        Choice((Run(v[6]),), tag=v[7]),
        Fields(v[8], (Field(v[9]), Field(v[6], "date"))),
        table,
    )
    document = simple(*nodes, clinic_name=v[11], reference=v[12], issued=v[13], labels=labels, draft=("d",))
    brand = Brand(letterhead=(v[0], v[1]), logo=Logo(LOGO, *size_of(LOGO), v[2]))
    word = opened(export_docx(document, day=DAY, look=Look(brand, large)))
    body = [node.text or "" for node in word.element.body.iter(qn("w:t"))]
    assert _ooxml.plain(v[6]) in "".join(body)  # another script is a run of its own
    assert len(word.element.body.findall(qn("w:tbl"))) == 1


LOGO = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x64\0\0\0\x64" + b"\0" * 9 + b"IEND\xaeB`\x82"


@pytest.mark.parametrize(
    ("given", "left"),
    [
        ("plain", "plain"),
        ("a\u202eb", "ab"),  # an override would show a number backwards
        ("\u2067a", "\u2067a\u2069"),  # what opens is closed
        ("a\u2069\u202c", "a"),  # what was never opened closes nothing outside
        ("\u202ba\u202c\u200f", "\u202ba\u202c\u200f"),  # paired marks and single ones stay
    ],
)
def test_marks_of_direction_end_where_the_value_ends(given, left):
    """UAX #9: an embedding or isolate that is not closed goes on to the end of the paragraph."""
    assert _ooxml.level(given) == left


def test_an_endless_word_is_kept_whole_in_the_body_and_cut_where_it_would_fill_every_page():
    word = "W" * 50_000
    nodes = (Paragraph((Run(word),)), Choice((Run(word),), tag=word), Fields(word, (Field(word),)))
    start = time.process_time()
    made = opened(export_docx(simple(*nodes, clinic_name=word, reference=word), day=DAY))
    assert time.process_time() - start < 2
    assert [node.text for node in made.element.body.iter(qn("w:t"))].count(word) >= 3
    section = made.sections[0]
    assert max(len(p.text) for part in (section.header, section.footer) for p in part.paragraphs) < 500
    assert len(made.core_properties.author) == len(made.core_properties.title) == 255
    assert all(len(n.get(qn("w:val"))) <= 64 for n in made.element.body.iter(qn("w:alias"), qn("w:tag")))


def test_a_brand_that_is_wrong_stops_the_build_and_says_where(run, clinic_copy):
    settings_file = clinic_copy / "clinic.toml"
    settings_file.write_text(settings_file.read_text().replace("#1F5A3C", "#FFC000"))
    result = run(clinic_copy, "build", "plans/p-101.toml", "--draft")
    assert result.exit_code == 16 and "clinic.toml, line" in result.stderr and "1.64 to 1" in result.stderr


def test_what_the_look_was_read_from_is_in_the_manifest(packs):
    assert b'"brand: logo.png"' in packs["p-101"].files["manifest.json"]


def test_a_workplace_reads_the_demos_brand(place: pipeline.Workplace):
    brand = place.clinic.brand
    assert (brand.colour, brand.paper, brand.logo.width) == ("1F5A3C", "A4", 180)
