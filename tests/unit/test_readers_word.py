"""Word files as clinics have them: every word that is printed is read, each with its place.

The files are made here with python-docx; what it cannot make (tracked changes, text boxes, content
controls, notes) is put in as the XML that Word writes (ECMA-376, Part 1; the element is named beside).
"""

from __future__ import annotations

import docx
import pytest
from readings import (
    bold,
    headings,
    lists,
    places,
    put,
    put_properties,
    read,
    told,
)

from consentpack.readability.scoring import left_out


@pytest.fixture
def form():
    return docx.Document()


# --- places ---------------------------------------------------------------------------------


def test_paragraphs_are_counted_as_on_the_page_without_the_empty_ones(form, tmp_path):
    """As Word's own word count does: its number of paragraphs leaves out empty ones (from memory)."""
    for text in ("We look at your skin.", "", "  ", "You can ask us to stop.", "We clean it."):
        form.add_paragraph(text)
    assert places(read(form, tmp_path)) == {
        "We look at your skin.": "form.docx, paragraph 1",
        "You can ask us to stop.": "form.docx, paragraph 2",
        "We clean it.": "form.docx, paragraph 3",
    }


def test_a_cell_is_named_by_its_paragraph_and_by_its_table_and_row(form, tmp_path):
    form.add_paragraph("Before the table.")
    table = form.add_table(rows=2, cols=2)
    table.cell(1, 1).text = "It fades."
    form.add_paragraph("After the table.")
    assert places(read(form, tmp_path)) == {
        "Before the table.": "form.docx, paragraph 1",
        "It fades.": "form.docx, paragraph 2 (table 1, row 2)",
        "After the table.": "form.docx, paragraph 3",
    }


# --- headings -------------------------------------------------------------------------------


def test_a_heading_of_word_begins_a_section_and_is_not_scored(form, tmp_path):
    form.add_heading("Consent", 0)
    form.add_heading("Risks", 2)
    form.add_paragraph("You may bruise.")
    document = read(form, tmp_path)
    assert list(headings(document)) == ["Consent", "Risks"]
    assert document.title == "Consent"
    assert told(document) == ["You may bruise."]
    assert left_out(document) == {"headings": 2}


@pytest.mark.parametrize(
    "text", ["Risks", "1. RISKS", "What are the risks?", "How to keep it dry", "What you must do"]
)
def test_a_heading_made_by_hand_in_bold_begins_a_section(form, tmp_path, text):
    bold(form, text)
    form.add_paragraph("You may bruise.")
    document = read(form, tmp_path)
    assert list(headings(document)) == [text] and told(document) == ["You may bruise."]


def test_a_heading_in_capitals_begins_a_section_typed_or_by_the_font(form, tmp_path):
    form.add_paragraph("RISKS OF TREATMENT")
    form.add_paragraph("You may bruise.")
    form.add_paragraph().add_run("Aftercare at home").font.all_caps = True
    form.add_paragraph("Keep it dry.")
    assert list(headings(read(form, tmp_path))) == ["RISKS OF TREATMENT", "Aftercare at home"]


@pytest.mark.parametrize("text", [
    "Please do not take aspirin before you come",
    "You must not smoke",
    "DO NOT DRIVE HOME",
    "We clean your skin.",
    "Keep your head up on two pillows in the first nights and ring us if it bleeds through",
])  # fmt: skip
def test_a_shouted_sentence_is_no_heading_and_is_scored(form, tmp_path, text):
    """A form must not get easier by setting its hardest sentence in bold."""
    bold(form, text)
    assert told(read(form, tmp_path)) == [text]


def test_a_style_made_from_a_heading_or_with_an_outline_level_is_a_heading(form, tmp_path):
    from docx.enum.style import WD_STYLE_TYPE

    own = form.styles.add_style("Clinic head", WD_STYLE_TYPE.PARAGRAPH)
    own.base_style = form.styles["Heading 1"]
    form.add_paragraph("Benefits", style="Clinic head")
    form.add_paragraph("The scar may lie flatter.")
    levelled = form.add_paragraph("Your choices")
    put_properties(levelled, '<w:outlineLvl NS w:val="1"/>')
    form.add_paragraph("You can wait.")
    assert list(headings(read(form, tmp_path))) == ["Benefits", "Your choices"]


def test_a_bold_or_capital_style_stands_out_and_a_run_can_switch_it_off(form, tmp_path):
    form.styles["Intense Quote"].font.bold = form.styles["Quote"].font.all_caps = True
    form.add_paragraph("Side effects", style="Intense Quote")
    form.add_paragraph("Often", style="Quote")
    form.add_paragraph("You may bruise.")
    off = form.add_paragraph(style="Intense Quote")
    off.add_run("A thin line may show").bold = False
    document = read(form, tmp_path)
    assert list(headings(document)) == ["Side effects", "Often"]
    assert told(document) == ["You may bruise.", "A thin line may show"]


# --- lists ----------------------------------------------------------------------------------


def test_automatic_bullets_and_numbers_are_lists(form, tmp_path):
    for text in ("Bruising", "Skin Loss"):
        form.add_paragraph(text, style="List Bullet")
    for text in ("Wash your hands.", "Press for ten minutes."):
        form.add_paragraph(text, style="List Number")
    document = read(form, tmp_path)
    assert lists(document) == [(False, 2), (True, 2)]
    assert told(document)[:2] == ["Bruising", "Skin Loss"]


@pytest.mark.parametrize("mark", [
    "• ", "•", "- ", "– ", "-", "* ", "·\t", "o\t", "§ ", "\uf0b7\t", "➢ ", "☐ ", "▪",
])  # fmt: skip
def test_typed_bullets_are_lists_and_the_mark_is_no_word(form, tmp_path, mark):
    for text in ("no alcohol", "no sport"):
        form.add_paragraph(mark + text)
    document = read(form, tmp_path)
    assert lists(document) == [(False, 2)] and told(document) == ["no alcohol", "no sport"]


@pytest.mark.parametrize("marks", [("1. ", "2. "), ("1)", "2)"), ("(a) ", "(b) "), ("i) ", "ii) ")])
def test_typed_numbers_are_numbered_lists(form, tmp_path, marks):
    for mark in marks:
        form.add_paragraph(f"{mark}Wash it.")
    assert lists(read(form, tmp_path)) == [(True, 2)]


def test_a_number_that_begins_a_sentence_is_no_list(form, tmp_path):
    form.add_paragraph("1.5 ml is put in.")
    form.add_paragraph("10.30 is when we begin.")
    assert lists(read(form, tmp_path)) == []


def test_an_empty_paragraph_between_points_does_not_part_a_list(form, tmp_path):
    for text in ("- one", "", "- two", "- three"):
        form.add_paragraph(text)
    assert lists(read(form, tmp_path)) == [(False, 3)]


def test_a_bold_point_among_points_is_a_point(form, tmp_path):
    for text in ("No alcohol", "No sport"):
        bold(form, text, style="List Bullet")
    assert told(read(form, tmp_path)) == ["No alcohol", "No sport"]


def test_bullets_taken_off_a_list_paragraph_leave_a_paragraph(form, tmp_path):
    """w:numId 0 removes the numbering of the style (17.9.18)."""
    paragraph = form.add_paragraph("This is text.", style="List Bullet")
    put_properties(paragraph, '<w:numPr NS><w:ilvl w:val="0"/><w:numId w:val="0"/></w:numPr>')
    assert lists(read(form, tmp_path)) == []


# --- lines inside a paragraph ---------------------------------------------------------------


def test_a_soft_break_in_mid_sentence_joins_and_one_between_lines_parts(form, tmp_path):
    form.add_paragraph("You will be asked to lie on your back for the\nwhole time.")
    form.add_paragraph("No alcohol\nNo smoking\nNo sport")
    assert told(read(form, tmp_path)) == [
        "You will be asked to lie on your back for the whole time.",
        "No alcohol", "No smoking", "No sport",
    ]  # fmt: skip


def test_bullets_typed_with_soft_breaks_are_points(form, tmp_path):
    form.add_paragraph("After it:\n- keep it dry\n- ring us")
    assert lists(read(form, tmp_path)) == [(False, 2)]


def test_a_tab_parts_words_and_a_soft_hyphen_does_not(form, tmp_path):
    paragraph = form.add_paragraph("It heals\tin one week ")
    put(paragraph, "<w:r NS><w:t>or two, in a well</w:t><w:noBreakHyphen/><w:t>kept wo</w:t>"
        "<w:softHyphen/><w:t>und.</w:t></w:r>")  # fmt: skip
    assert told(read(form, tmp_path)) == ["It heals in one week or two, in a well-kept wound."]
