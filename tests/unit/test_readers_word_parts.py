"""Word files with tables, tracked changes, text boxes, content controls and notes.

What python-docx cannot make is put in as the XML that Word writes (ECMA-376, Part 1; the element is
named beside).
"""

from __future__ import annotations

import docx
import pytest
from docx.oxml import parse_xml
from readings import (
    NAMES,
    add_part,
    headings,
    places,
    put,
    put_properties,
    read,
    told,
    untold,
)

from consentpack.readability.scoring import left_out


@pytest.fixture
def form():
    return docx.Document()


# --- tables ---------------------------------------------------------------------------------


def test_a_merged_cell_is_read_once_across_and_down(form, tmp_path):
    table = form.add_table(rows=3, cols=2)
    table.cell(0, 0).merge(table.cell(0, 1)).text = "This lies across."
    table.cell(1, 0).merge(table.cell(2, 0)).text = "This goes down."
    table.cell(1, 1).text, table.cell(2, 1).text = "First.", "Second."
    document = read(form, tmp_path)
    assert told(document) == ["This lies across.", "This goes down.", "First.", "Second."]


def test_what_is_left_in_a_cell_under_a_merged_one_is_not_on_the_page(form, tmp_path):
    """Word shows the first cell of w:vMerge alone (17.4.84)."""
    table = form.add_table(rows=2, cols=2)
    for cell, text in zip(table._cells, ("Seen.", "First.", "Not seen.", "Second."), strict=True):
        cell.text = text
    for row, value in enumerate(('w:val="restart"', "")):
        properties = table.cell(row, 0)._tc.get_or_add_tcPr()
        properties.append(parse_xml(f"<w:vMerge {NAMES} {value}/>"))
    assert told(read(form, tmp_path)) == ["Seen.", "First.", "Second."]


def test_the_head_row_of_a_table_is_not_scored_and_begins_no_section(form, tmp_path):
    table = form.add_table(rows=2, cols=2)
    for cell, text in zip(table.rows[0].cells, ("Risk", "How often"), strict=True):
        cell.paragraphs[0].add_run(text).bold = True
    table.cell(1, 0).text, table.cell(1, 1).text = "Skin Loss", "It is rare."
    document = read(form, tmp_path)
    assert told(document) == ["Skin Loss", "It is rare."]
    assert headings(document) == {} and left_out(document) == {"headings": 2}


def test_a_row_marked_to_be_repeated_is_a_head_row(form, tmp_path):
    """w:tblHeader (17.4.78)."""
    table = form.add_table(rows=2, cols=2)
    for cell, text in zip(table._cells, ("Risk", "How often", "Bruise", "Half of us."), strict=True):
        cell.text = text
    table.rows[0]._tr.get_or_add_trPr().append(parse_xml(f"<w:tblHeader {NAMES}/>"))
    assert told(read(form, tmp_path)) == ["Bruise", "Half of us."]


def test_a_page_set_in_a_table_of_one_column_reads_as_a_page(form, tmp_path):
    cell = form.add_table(rows=1, cols=1).cell(0, 0)
    cell.paragraphs[0].add_run("Risks").bold = True
    cell.add_paragraph("You may bruise.")
    inner = cell.add_table(rows=1, cols=1)
    inner.cell(0, 0).text = "This is in a table in a table."
    document = read(form, tmp_path)
    assert list(headings(document)) == ["Risks"]
    assert told(document) == ["You may bruise.", "This is in a table in a table."]
    assert places(document)["This is in a table in a table."].endswith("paragraph 3 (table 1, row 1)")


# --- what python-docx does not see -----------------------------------------------------------


def test_inserted_text_counts_and_deleted_text_does_not(form, tmp_path):
    """w:ins (17.13.5.18) and w:del (17.13.5.14)."""
    paragraph = form.add_paragraph("You may ")
    put(
        paragraph,
        '<w:del NS w:id="1" w:author="a"><w:r><w:delText>ecchymose</w:delText><w:sym/></w:r></w:del>',
    )
    put(paragraph, '<w:ins NS w:id="2" w:author="a"><w:r><w:t>bruise.</w:t></w:r></w:ins>')
    assert told(read(form, tmp_path)) == ["You may bruise."]


def test_moved_text_counts_where_it_went_and_not_where_it_was(form, tmp_path):
    """w:moveFrom (17.13.5.22) and w:moveTo (17.13.5.25)."""
    first, second = form.add_paragraph("One. "), form.add_paragraph("Two. ")
    put(first, '<w:moveFrom NS w:id="1" w:author="a"><w:r><w:t>Moved.</w:t></w:r></w:moveFrom>')
    put(second, '<w:moveTo NS w:id="2" w:author="a"><w:r><w:t>Moved.</w:t></w:r></w:moveTo>')
    assert told(read(form, tmp_path)) == ["One.", "Two. Moved."]


def test_paragraphs_whose_parting_was_deleted_are_one(form, tmp_path):
    """w:del in the properties of the paragraph's mark (17.13.5.15)."""
    put_properties(form.add_paragraph("We clean "), '<w:rPr NS><w:del w:id="1" w:author="a"/></w:rPr>')
    form.add_paragraph("your skin.")
    assert places(read(form, tmp_path)) == {"We clean your skin.": "form.docx, paragraph 1"}


def test_a_deleted_row_is_not_read(form, tmp_path):
    table = form.add_table(rows=2, cols=1)
    table.cell(0, 0).text, table.cell(1, 0).text = "It stays.", "It went."
    table.rows[1]._tr.get_or_add_trPr().append(parse_xml(f'<w:del {NAMES} w:id="1" w:author="a"/>'))
    assert told(read(form, tmp_path)) == ["It stays."]


def test_hidden_text_is_not_read(form, tmp_path):
    paragraph = form.add_paragraph("You see this. ")
    paragraph.add_run("Not this.").font.hidden = True
    assert told(read(form, tmp_path)) == ["You see this."]


def test_content_controls_are_read_round_a_paragraph_in_one_and_round_a_row(form, tmp_path):
    """w:sdt (17.5.2): blocks, runs and rows can stand inside one."""
    put(form, "<w:sdt NS><w:sdtContent><w:p><w:r><w:t>A block.</w:t></w:r></w:p></w:sdtContent></w:sdt>")
    put(form.add_paragraph("We use "),
        "<w:sdt NS><w:sdtContent><w:r><w:t>a needle.</w:t></w:r></w:sdtContent></w:sdt>")  # fmt: skip
    put(form, "<w:tbl NS><w:sdt><w:sdtContent><w:tr><w:tc><w:p><w:r><w:t>A row.</w:t></w:r></w:p></w:tc>"
        "</w:tr></w:sdtContent></w:sdt></w:tbl>")  # fmt: skip
    assert told(read(form, tmp_path)) == ["A block.", "We use a needle.", "A row."]


def test_the_prompt_of_an_empty_content_control_is_not_read(form, tmp_path):
    """w:showingPlcHdr (17.5.2.39)."""
    put(form.add_paragraph("We treat "), "<w:sdt NS><w:sdtPr><w:showingPlcHdr/></w:sdtPr><w:sdtContent>"
        "<w:r><w:t>Click or tap here to enter text.</w:t></w:r></w:sdtContent></w:sdt>")  # fmt: skip
    assert told(read(form, tmp_path)) == ["We treat"]


BOX = "<w:txbxContent><w:p><w:r><w:t>Ring us if it bleeds.</w:t></w:r></w:p></w:txbxContent>"


def test_a_text_box_is_read_once_though_word_writes_it_twice(form, tmp_path):
    """mc:AlternateContent holds it for new programs and, as VML, for old ones."""
    paragraph = form.add_paragraph("We clean your skin.")
    put(paragraph, "<w:r NS><mc:AlternateContent><mc:Choice Requires='wps'><w:drawing><wps:wsp><wps:txbx>"
        f"{BOX}</wps:txbx></wps:wsp></w:drawing></mc:Choice><mc:Fallback><w:pict><v:textbox>{BOX}"
        "</v:textbox></w:pict></mc:Fallback></mc:AlternateContent></w:r>")  # fmt: skip
    form.add_paragraph("Then we stop.")
    assert places(read(form, tmp_path)) == {
        "We clean your skin.": "form.docx, paragraph 1",
        "Ring us if it bleeds.": "form.docx, text box 1",
        "Then we stop.": "form.docx, paragraph 2",
    }


def test_a_text_box_of_an_old_word_is_read(form, tmp_path):
    put(form.add_paragraph(), f"<w:r NS><w:pict><v:textbox>{BOX}</v:textbox></w:pict></w:r>")
    assert told(read(form, tmp_path)) == ["Ring us if it bleeds."]


def test_the_words_of_a_link_and_of_a_field_count_and_its_code_does_not(form, tmp_path):
    """w:hyperlink (17.16.22), w:fldSimple (17.16.19), w:instrText (17.16.23)."""
    paragraph = form.add_paragraph("Read ")
    put(paragraph, "<w:hyperlink NS w:anchor='x'><w:r><w:t>our page</w:t></w:r></w:hyperlink>")
    put(paragraph, "<w:r NS><w:instrText>HYPERLINK nowhere</w:instrText></w:r>")
    put(paragraph, "<w:fldSimple NS w:instr='DATE'><w:r><w:t> today.</w:t></w:r></w:fldSimple>")
    assert told(read(form, tmp_path)) == ["Read our page today."]


def test_footnotes_are_scored_and_have_the_number_of_their_mark(form, tmp_path):
    """w:footnoteReference (17.11.14); Word's own ids begin at 1 and need not be in order."""
    for id in ("5", "2"):
        put(form.add_paragraph("It may bleed."), f"<w:r NS><w:footnoteReference w:id='{id}'/></w:r>")
    note = "<w:footnote w:id='{}'><w:p><w:r><w:t>{}</w:t></w:r></w:p></w:footnote>"
    xml = f"<w:footnotes {NAMES}><w:footnote w:type='separator' w:id='0'><w:p/></w:footnote>"
    xml += note.format(2, "It stops on its own.") + note.format(5, "Press on it.") + "</w:footnotes>"
    add_part(form, "footnotes", xml)
    found = places(read(form, tmp_path))
    assert found["Press on it."] == "form.docx, footnote 1"
    assert found["It stops on its own."] == "form.docx, footnote 2"


def test_headers_and_footers_are_kept_and_not_scored(form, tmp_path):
    form.add_paragraph("We clean your skin.")
    form.sections[0].header.paragraphs[0].text = "This form must be read to the end."
    form.sections[0].footer.paragraphs[0].text = "Page 1 of 2"
    document = read(form, tmp_path)
    assert told(document) == ["We clean your skin."]
    assert untold(document) == ["This form must be read to the end.", "Page 1 of 2"]
    assert left_out(document) == {"names, contacts and references": 2}
