"""One broken Word file for each rule, and what must not be taken for a fault.

The rules and their sources are in `consentpack/accessibility/`; each finding names its source.
"""

from __future__ import annotations

import copy
import dataclasses
import zipfile
from collections.abc import Callable

import pytest
from docx.enum.text import WD_ALIGN_PARAGRAPH, WD_BREAK, WD_COLOR_INDEX
from docx.oxml.ns import nsdecls, qn
from docx.shared import Pt, RGBColor
from readings import add_part
from word_files import CONTROL, LONG, Form, add_link, clean, text_in, xml

from consentpack.accessibility import RULES, Finding, check_file
from consentpack.accessibility.colours import Theme, contrast
from consentpack.errors import ReadError

Break = Callable[[Form], object]


def found(form: Form, folder, **options) -> tuple[Finding, ...]:
    return check_file(form.saved(folder), **options)


def broken(change: Break, folder) -> tuple[Finding, ...]:
    form = clean()
    change(form)
    return found(form, folder)


def rules(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.rule for finding in findings}


# --- each way to break a file ---------------------------------------------------------------------


def without_language(form: Form) -> None:
    for language in form.word.styles.element.findall(f".//{qn('w:lang')}"):
        language.getparent().remove(language)


def language_of(tag: str) -> Break:
    def change(form: Form) -> None:
        form.word.styles.element.find(f".//{qn('w:lang')}").set(qn("w:val"), tag)

    return change


def title(words: str) -> Break:
    return lambda form: setattr(form.word.core_properties, "title", words)


def first_heading_level_two(form: Form) -> None:
    form.word.paragraphs[0].style = form.word.styles["Heading 2"]


def level_skipped(form: Form) -> None:
    form.word.paragraphs[2].style = form.word.styles["Heading 3"]


def level_skipped_by_outline(form: Form) -> None:
    form.set("pPr", '<w:outlineLvl w:val="3"/>')


def no_headings(form: Form) -> None:
    for paragraph in form.word.paragraphs:
        if paragraph.style.name.startswith("Heading"):
            paragraph.style = (
                form.word.styles["Title"] if paragraph.text != "Risks" else form.word.styles["Normal"]
            )
    form.word.styles["Title"].paragraph_format.space_after = Pt(6)
    form.text.add_run(LONG * 5)


def line(words: str, **font: object) -> Break:
    """A line of its own before the second heading."""

    def change(form: Form) -> None:
        run = form.word.paragraphs[2].insert_paragraph_before().add_run(words)
        for name, value in font.items():
            setattr(run.font, name, value)

    return change


def lines(*words: str) -> Break:
    def change(form: Form) -> None:
        for each in words:
            form.word.paragraphs[2].insert_paragraph_before(each)

    return change


def header_row_unmarked(form: Form) -> None:
    form.table.rows[0]._tr.trPr.remove(form.table.rows[0]._tr.trPr.find(qn("w:tblHeader")))


def second_header_row(form: Form) -> None:
    form.table.rows[1]._tr.trPr.append(xml("<w:tblHeader/>"))


def one_row(form: Form) -> None:
    for row in form.table.rows[1:]:
        form.table._tbl.remove(row._tr)


def rows_may_split(form: Form) -> None:
    form.table.rows[1]._tr.trPr.remove(form.table.rows[1]._tr.trPr.find(qn("w:cantSplit")))


def merged(down: bool) -> Break:
    return lambda form: form.cell(1, 0).merge(form.cell(2, 0) if down else form.cell(1, 1))


def a_cell_less(form: Form) -> None:
    form.table.rows[1]._tr.remove(form.table.rows[1]._tr.tc_lst[1])


def table_in_a_table(form: Form) -> None:
    form.cell(1, 1).add_table(rows=1, cols=1).cell(0, 0).text = "Within"


def blank_row(form: Form) -> None:
    form.cell(1, 0).text = form.cell(1, 1).text = ""


def blank_column(form: Form) -> None:
    form.cell(0, 1).text = form.cell(1, 1).text = ""


def alt(words: str) -> Break:
    return lambda form: form.picture._inline.docPr.set("descr", words)


def old_drawing(form: Form) -> None:
    form.run._r.append(xml('<w:pict><v:rect style="width:9pt;height:9pt"/></w:pict>'))


def floats(form: Form) -> None:
    inline = form.picture._inline
    inline.tag = qn("wp:anchor")


def old_drawing_floats(form: Form) -> None:
    form.run._r.append(xml('<w:pict><v:rect alt="A needle" style="position: absolute;width:9pt"/></w:pict>'))


def table_floats(form: Form) -> None:
    form.table._tbl.tblPr.append(xml('<w:tblpPr w:tblpX="9"/>'))


def text_box(form: Form) -> None:
    """White words on a ground that is not known; and a control, which must not be counted twice."""
    words = '<w:r><w:rPr><w:color w:val="FFFFFF"/></w:rPr><w:t>Do not drive.</w:t></w:r>'
    control = CONTROL.replace('w:val="7"', 'w:val="8"')
    box = f"<w:txbxContent><w:p>{words}{control}</w:p></w:txbxContent>"
    form.run._r.append(
        xml(f'<w:pict><v:shape style="position:absolute"><v:textbox>{box}</v:textbox></v:shape></w:pict>')
    )


def typed_field(form: Form) -> None:
    form.run._r.addprevious(
        xml(
            '<w:r><w:fldChar w:fldCharType="begin"><w:ffData><w:name w:val="t"/></w:ffData></w:fldChar></w:r>'
        )
    )


def waiting_control(look: str) -> Break:
    """A paragraph of nothing but a control that shows what to type (w:showingPlcHdr)."""

    def change(form: Form) -> None:
        made = CONTROL.replace('<w:id w:val="7"/>', '<w:id w:val="8"/><w:showingPlcHdr/>')
        made = made.replace("<w:t>Name", f"{look}<w:t>Type your name")
        form.word.paragraphs[2].insert_paragraph_before()._p.append(xml(made))

    return change


def control_without_title(form: Form) -> None:
    properties = form.control.find(f".//{qn('w:sdtPr')}")
    properties.remove(properties.find(qn("w:alias")))


def control_id_twice(form: Form) -> None:
    form.control.append(xml(CONTROL))


def control_round_a_paragraph(form: Form) -> None:
    for _ in range(2):
        inner = "<w:sdtContent><w:p><w:r><w:t>We lift it.</w:t></w:r></w:p></w:sdtContent>"
        properties = '<w:sdtPr><w:alias w:val="Why"/><w:id w:val="8"/></w:sdtPr>'
        form.text._p.addnext(xml(f"<w:sdt>{properties}{inner}</w:sdt>"))


def drawing_id_twice(form: Form) -> None:
    drawing = copy.deepcopy(form.picture._inline.getparent())
    form.word.add_paragraph().add_run()._r.append(drawing)


def style_of_a_table_colours_its_head(form: Form) -> None:
    """w:tblStylePr firstRow (17.7.6.6): white on a pale ground, in the style alone."""
    style = form.word.styles["Table Grid"].element
    style.append(
        xml(
            '<w:tblStylePr w:type="firstRow"><w:rPr><w:color w:val="FFFFFF"/></w:rPr>'
            '<w:tcPr><w:shd w:val="clear" w:fill="AAAAAA"/></w:tcPr></w:tblStylePr>'
        )
    )


def style_of_a_table_shades_each_second_row(form: Form) -> None:
    """w:band2Horz, where w:tblLook asks for bands. Automatic letters are not judged, so they are black."""
    form.table._tbl.tblPr.find(qn("w:tblLook")).set(qn("w:noHBand"), "0")
    form.word.styles["Table Grid"].element.append(
        xml(
            '<w:tblStylePr w:type="band2Horz"><w:rPr><w:color w:val="000000"/></w:rPr>'
            '<w:tcPr><w:shd w:val="clear" w:fill="333333"/></w:tcPr></w:tblStylePr>'
        )
    )


def numbered_headings(form: Form) -> None:
    form.word.paragraphs[2].text = "1. Risks"
    form.word.paragraphs[3].insert_paragraph_before("2. Bruises", "Heading 3")


def tick_boxes(form: Form) -> None:
    for id in (8, 9):
        made = CONTROL.replace('w:val="7"', f'w:val="{id}"').replace("<w:t>Name", "<w:t>☐ I agree")
        form.word.paragraphs[2].insert_paragraph_before()._p.append(xml(made))


def contents_without_title(form: Form) -> None:
    """A table of contents is a control to Word, and nothing to fill in."""
    inner = "<w:sdtContent><w:p><w:r><w:t>Risks, page 1</w:t></w:r></w:p></w:sdtContent>"
    form.text._p.addnext(xml(f'<w:sdt><w:sdtPr><w:id w:val="8"/><w:docPartObj/></w:sdtPr>{inner}</w:sdt>'))


def footnotes_with_a_separator(form: Form) -> None:
    """Word keeps the line above the notes as a note of its own, and it is blank."""
    notes = (
        f'<w:footnotes {nsdecls("w")}><w:footnote w:type="separator" w:id="-1"><w:p/><w:p/></w:footnote>'
        '<w:footnote w:id="1"><w:p><w:r><w:t>In 2026.</w:t></w:r></w:p></w:footnote></w:footnotes>'
    )
    add_part(form.word, "footnotes", notes)


def grey_on(mark: str, colour: str = "767676") -> Break:
    def change(form: Form) -> None:
        form.run.font.color.rgb = RGBColor.from_string(colour)
        form.set("pPr", mark)

    return change


def colour(code: str, size: float = 12, bold: bool = False) -> Break:
    def change(form: Form) -> None:
        form.run.font.color.rgb = RGBColor.from_string(code)
        form.run.font.size, form.run.font.bold = Pt(size), bold

    return change


def theme_colour(form: Form) -> None:
    """The theme goes before w:val (17.3.2.6), and python-docx writes black there."""
    form.set("rPr", '<w:color w:val="000000" w:themeColor="accent1" w:themeTint="66"/>')


def small_header(form: Form) -> None:
    form.word.sections[0].header.paragraphs[0].runs[0].font.size = Pt(9)


def small_arabic_alone(form: Form) -> None:
    """RT3: Arabic takes its size from w:szCs."""
    run = form.text.add_run("كدمة")
    run.font.size = Pt(14)
    run._r.rPr.append(xml('<w:szCs w:val="20"/>'))
    run._r.rPr.append(xml("<w:rtl/>"))


def foreign(words: str, *marks: str) -> Break:
    def change(form: Form) -> None:
        properties = form.text.add_run(words)._r.get_or_add_rPr()
        properties.extend(xml(mark) for mark in marks)

    return change


def arabic_paragraph(form: Form) -> None:
    run = form.word.paragraphs[2].insert_paragraph_before().add_run("قد تظهر كدمة")
    properties = run._r.get_or_add_rPr()
    properties.extend((xml('<w:szCs w:val="24"/>'), xml("<w:rtl/>"), xml('<w:lang w:bidi="ar-SA"/>')))


def comment(form: Form) -> None:
    form.word.add_comment(form.run, "Is this right?")


def phone_in_the_margin_alone(form: Form) -> None:
    form.word.paragraphs[-1].text = "Ring us."


def same_words_other_page(form: Form) -> None:
    add_link(form.word.paragraphs[-1], "our page on scars", "https://example.org/other")


def field_link(words: str) -> Break:
    """A link as a field: its code and its words stand in runs of their own (17.16.5.25)."""

    def change(form: Form) -> None:
        for inner in (
            '<w:fldChar w:fldCharType="begin"/>',
            '<w:instrText> HYPERLINK "https://example.org/x" </w:instrText>',
            '<w:fldChar w:fldCharType="separate"/>',
            f"<w:t>{words}</w:t>",
            '<w:fldChar w:fldCharType="end"/>',
        ):
            form.text._p.append(xml(f"<w:r>{inner}</w:r>"))

    return change


BREAKS: dict[str, dict[str, Break]] = {
    "language": {"none": without_language, "no tag": language_of("x-none")},
    "title": {
        "none": title(""),
        "a file name": title("consent_v3 FINAL.docx"),
        "Word's own": title("Document1"),
    },
    "title-shown": {"other words": title("Privacy notice")},
    "locked": {"for forms": lambda f: f.setting('<w:documentProtection w:edit="forms" w:enforcement="1"/>')},
    "edit-marks": {
        "inserted": lambda f: f.text._p.append(xml('<w:ins w:id="1"><w:r><w:t>New.</w:t></w:r></w:ins>')),
        "deleted": lambda f: f.text._p.append(
            xml('<w:del w:id="1"><w:r><w:delText>Old.</w:delText></w:r></w:del>')
        ),
        "made bold": lambda f: f.set("rPr", '<w:rPrChange w:id="1" w:author="A"><w:rPr/></w:rPrChange>'),
        "a comment": comment,
    },
    "unique-ids": {
        "controls": control_id_twice,
        "controls round paragraphs": control_round_a_paragraph,
        "drawings": drawing_id_twice,
    },
    "split-words": {"by itself": lambda f: f.setting("<w:autoHyphenation/>")},
    "margins-only": {"a phone number": phone_in_the_margin_alone},
    "heading-order": {
        "first is level 2": first_heading_level_two,
        "1 to 3": level_skipped,
        "1 to 4, by its outline level": level_skipped_by_outline,
    },
    "has-headings": {"none": no_headings},
    "made-up-heading": {
        "bold": line("What we do", bold=True),
        "capitals": line("THE RISKS"),
        "capitals by its look": line("The risks", all_caps=True),
    },
    "typed-list": {
        "one bullet": lines("• You may bruise."),
        "two dashes": lines("- You may bruise.", "- You may bleed."),
        "numbers": lines("1. Wash your face.", "2. Come to us."),
        "in one paragraph": lines("- You may bruise.\n- You may bleed."),
    },
    "blank-paragraph": {
        "nothing": lines(""),
        "spaces": lines("  "),
        "between words": lines("One.\n\nTwo."),
        "in a cell": lambda f: f.cell(1, 0).add_paragraph("").insert_paragraph_before(""),
    },
    "typed-space": {"spaces": lines("Name:     A. Quill"), "tabs": lines("Name:\t\tA. Quill")},
    "drawn-line": {"underscores": lines("Name: ______"), "dots": lines("Name: ..........")},
    "header-row": {"none": header_row_unmarked, "two": second_header_row},
    "layout-table": {"one row": one_row},
    "rows-split": {"one may": rows_may_split},
    "merged-cells": {"across": merged(down=False), "down": merged(down=True), "one fewer": a_cell_less},
    "nested-table": {"in a cell": table_in_a_table},
    "blank-row": {"row": blank_row, "column": blank_column},
    "alternative-text": {
        "none": alt(" "),
        "a file name": alt("scan004.PNG"),
        "a number": alt("Picture 1"),
        "an old drawing": old_drawing,
    },
    "floating": {"a picture": floats, "an old drawing": old_drawing_floats, "a table": table_floats},
    "text-box": {"in the text": text_box},
    "link-text": {
        "here": lambda f: text_in(f.link, "here"),
        "click here": lambda f: text_in(f.link, "Click here."),
        "an address": lambda f: text_in(f.link, "https://example.org/scars"),
        "a field": field_link("read more"),
        "nothing": lambda f: text_in(f.link, " "),
    },
    "same-links": {"two pages": same_words_other_page},
    "field-title": {"a control": control_without_title, "a field of old": typed_field},
    "contrast": {
        "4.48 on white": colour("777777"),
        "large, 2.99 and less": colour("999999", 18),
        "14 points but not bold": colour("949494", 14),
        "on a shaded paragraph": grey_on('<w:shd w:val="clear" w:fill="E6ECEF"/>'),
        "on a pattern": grey_on('<w:shd w:val="pct75" w:color="000000" w:fill="FFFFFF"/>', "000000"),
        "on a mark": lambda f: (
            setattr(f.run.font, "highlight_color", WD_COLOR_INDEX.BLUE),
            colour("000000")(f),
        ),
        "what asks for words in a control": waiting_control('<w:rPr><w:color w:val="A6A6A6"/></w:rPr>'),
        "by the theme": theme_colour,
        "by each second row of a table's style": style_of_a_table_shades_each_second_row,
        "by a table's style": style_of_a_table_colours_its_head,
    },
    "text-size": {
        "11.5 points": lambda f: setattr(f.run.font, "size", Pt(11.5)),
        "in the header": small_header,
        "Arabic": small_arabic_alone,
        "by its style": lambda f: setattr(f.word.styles["List Bullet"].font, "size", Pt(10)),
    },
    "capitals": {
        "typed": lines("Do not DRIVE A CAR HOME today."),
        "by its look": line("You must not drive at all today.", all_caps=True),
    },
    "underline": {
        "by its look": lambda f: setattr(f.run, "underline", True),
        "after a link": lambda f: (
            field_link("Our page on bruises")(f),
            setattr(f.text.add_run(" Do not drive."), "underline", True),
        ),
    },
    "italics": {"by its look": lambda f: setattr(f.run, "italic", True)},
    "plain-letters": {
        "by its name": lambda f: setattr(f.run.font, "name", "Times New Roman"),
        "by the theme": lambda f: f.set("rPr", '<w:rFonts w:asciiTheme="minorHAnsi"/>'),
    },
    "justified": {"both edges": lambda f: setattr(f.text, "alignment", WD_ALIGN_PARAGRAPH.JUSTIFY)},
    "line-spacing": {
        "single": lambda f: setattr(f.text.paragraph_format, "line_spacing", 1.0),
        "cut off": lambda f: setattr(f.word.paragraphs[2].paragraph_format, "line_spacing", Pt(13)),
    },
    "readable-signs": {
        "private use": lines("\uf0fc We told you."),
        "lost": lines("It is 5 \ufffdC."),
        "a symbol": lambda f: f.run._r.append(xml('<w:sym w:font="Wingdings" w:char="F0FC"/>')),
        "a symbol font": lambda f: setattr(f.run.font, "name", "Wingdings"),
    },
    "foreign-words": {
        "Arabic as Hebrew": foreign("كدمة", '<w:szCs w:val="24"/>', "<w:rtl/>", '<w:lang w:bidi="he-IL"/>'),
        "Greek as English": foreign(" μώλωπας"),
        "Chinese as nothing": foreign(" 瘀伤", '<w:lang w:eastAsia="en-GB"/>'),
        "English as Russian": foreign(" bruise", '<w:lang w:val="ru-RU"/>'),
    },
    "direction": {
        "the paragraph": arabic_paragraph,
        "the words": foreign(" كدمة", '<w:lang w:bidi="ar-SA"/>'),
    },
}
EVERY_BREAK = [(rule, change) for rule, ways in BREAKS.items() for change in ways.values()]
NAMES = [f"{rule}: {way}" for rule, ways in BREAKS.items() for way in ways]


def test_a_clean_file_trips_no_rule(tmp_path):
    assert found(clean(), tmp_path) == ()


@pytest.mark.parametrize(("rule", "change"), EVERY_BREAK, ids=NAMES)
def test_a_file_with_one_fault_trips_its_rule_and_no_other(rule, change, tmp_path):
    assert rules(broken(change, tmp_path)) == {rule}


def test_every_rule_has_a_broken_file():
    assert set(BREAKS) | {"macros"} == set(RULES)


@pytest.mark.parametrize("name", ["word/vbaProject.bin", "word/activeX/activeX1.xml"])
def test_a_file_with_a_program_in_it_is_found(name, tmp_path):
    assert rules(check_file(clean().saved(tmp_path, more={name: b"<x/>"}))) == {"macros"}


# --- what is no fault -----------------------------------------------------------------------------


def decorative(form: Form) -> None:
    properties = form.picture._inline.docPr
    del properties.attrib["descr"]
    inner = '<a:ext uri="{C183D7F6-B498-43B3-948B-1728B52AA6E4}"><adec:decorative val="1"/></a:ext>'
    properties.append(xml(f"<a:extLst>{inner}</a:extLst>"))


def marked_rtl(form: Form) -> None:
    arabic_paragraph(form)
    form.word.paragraphs[2]._p.get_or_add_pPr().append(xml("<w:bidi/>"))


FINE: dict[str, Break] = {
    "a picture marked as decoration": decorative,
    "a bold word in a table": lambda f: setattr(f.cell(1, 0).paragraphs[0].runs[0], "bold", True),
    "headings with numbers": numbered_headings,
    "tick boxes": tick_boxes,
    "a table of contents": contents_without_title,
    "the line above footnotes": footnotes_with_a_separator,
    "a control that waits for words": waiting_control(""),
    "a horizontal line": lambda f: f.run._r.append(
        xml('<w:pict><v:rect xmlns:o="urn:schemas-microsoft-com:office:office" o:hr="t"/></w:pict>')
    ),
    "4.54 on white": colour("767676"),
    "large, 3.03": colour("949494", 18),
    "14 points bold, 3.03": colour("949494", 14, bold=True),
    "white words on a dark ground": grey_on('<w:shd w:val="clear" w:fill="8B1A1A"/>', "FFFFFF"),
    "automatic colour": lambda f: f.set("rPr", '<w:color w:val="auto"/>'),
    "protection that is not enforced": lambda f: f.setting(
        '<w:documentProtection w:edit="forms" w:enforcement="0"/>'
    ),
    "another plain font": lambda f: setattr(f.run.font, "name", "MS Reference Sans Serif"),
    "three words in capitals": lines("Ask the NHS UK GMC first."),
    "hidden words": lambda f: setattr(f.text.add_run("OLD OLD OLD OLD ____").font, "hidden", True),
    "a bold sentence": line("Ring us at once if you bleed.", bold=True),
    "a bold word in a sentence": lambda f: setattr(f.text.add_run("Ring us."), "bold", True),
    "one line with a dash": lines("- so we say"),
    "a date": lines("5. May is the day."),
    "a page break": lambda f: (
        f.word.paragraphs[2].insert_paragraph_before().add_run().add_break(WD_BREAK.PAGE)
    ),
    "one tab": lines("Name:\tA. Quill"),
    "bold off by its own mark": lambda f: f.set("rPr", '<w:u w:val="none"/>'),
    "one Greek letter": foreign(" β"),
    "Arabic with all its marks": marked_rtl,
    "Chinese with its mark": foreign(" 瘀伤", '<w:lang w:eastAsia="zh-CN"/>'),
    "a link with good words as a field": field_link("Our page on bruises"),
    "an e-mail address as a link": lambda f: text_in(f.link, "care@example.org"),
    "a title longer than the heading": title("About your scar treatment – HS-1"),
    "a blank cell": lambda f: setattr(f.cell(1, 1), "text", ""),
    "old and new form of one drawing": lambda f: f.run._r.append(
        xml(
            '<mc:AlternateContent><mc:Choice Requires="wps"><w:drawing><wp:inline>'
            '<wp:docPr id="90" name="n" descr="A needle"/></wp:inline></w:drawing></mc:Choice>'
            '<mc:Fallback><w:pict><v:rect/></w:pict><wp:docPr id="90" name="n"/></mc:Fallback>'
            "</mc:AlternateContent>"
        )
    ),
}


@pytest.mark.parametrize("change", FINE.values(), ids=FINE)
def test_what_is_no_fault_is_not_found(change, tmp_path):
    assert [dataclasses.astuple(f) for f in broken(change, tmp_path)] == []


# --- what a finding says --------------------------------------------------------------------------


def test_a_finding_names_the_place_as_a_person_counts_it(tmp_path):
    (finding,) = broken(lambda f: setattr(f.run, "underline", True), tmp_path)
    assert finding.where == "paragraph 2 “We lift the scar with a thin needle. We lift…”"


def test_blank_paragraphs_are_not_counted_and_named_by_the_one_before(tmp_path):
    (finding,) = broken(lines(""), tmp_path)
    assert finding.where == "after paragraph 2"


def test_words_in_a_table_are_named_by_row_and_cell(tmp_path):
    (finding,) = broken(lambda f: setattr(f.cell(1, 1).paragraphs[0].runs[0], "italic", True), tmp_path)
    assert finding.where == "table 1, row 2, cell 2 “27 of 100”"


@pytest.mark.parametrize(
    ("change", "row"),
    [(style_of_a_table_colours_its_head, 1), (style_of_a_table_shades_each_second_row, 3)],
)
def test_what_a_tables_style_says_of_some_rows_is_said_of_these_alone(change, row, tmp_path):
    """The bands begin under the head, so the third row is the second of them."""
    places = {finding.where.split(", cell")[0] for finding in broken(change, tmp_path)}
    assert places == {f"table 1, row {row}"}


def test_words_in_a_footnote_are_checked_too(tmp_path):
    form = clean()
    footnotes_with_a_separator(form)
    assert "footnote, paragraph 1 “In 2026.”" in {f.where for f in found(form, tmp_path, large_print=True)}


def test_paragraphs_are_counted_outside_tables_alone(tmp_path):
    (finding,) = broken(lambda f: setattr(f.word.paragraphs[-1].runs[0], "italic", True), tmp_path)
    assert finding.where == "paragraph 9 “Ring us on 020 7946 0101.”"


def test_words_in_the_header_are_named_so(tmp_path):
    (finding,) = broken(small_header, tmp_path)
    assert finding.where == "header, paragraph 1 “Ring 020 7946 0101”"
    assert finding.what == "its text has 9 points; 12 is the least."


def test_a_finding_says_what_to_do_and_who_asks_for_it(tmp_path):
    (finding,) = broken(alt(""), tmp_path)
    assert "Alt Text" in finding.fix
    assert "WCAG 2.1 SC 1.1.1 (EN 301 549 v3.2.1, clause 10.1.1.1)" in finding.source


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_every_rule_names_a_source_or_says_that_there_is_none(rule):
    assert rule.asks.endswith(".")
    known = ("WCAG", "UKAAF", "RNIB", "US federal", "ECMA-376", "common practice, no source")
    assert any(name in rule.source for name in known)


def test_large_print_asks_for_16_points(tmp_path):
    form = clean()
    assert {f.what for f in found(form, tmp_path, large_print=True)} >= {
        "its text has 12 points; 16 is the least."
    }
    for style in form.word.styles:
        if hasattr(style, "font"):
            style.font.size = Pt(16)
    assert found(form, tmp_path, large_print=True) == ()


# --- contrast -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("colour", "expected"),
    [("000000", 21.0), ("595959", 7.0), ("767676", 4.54), ("777777", 4.48), ("949494", 3.03),
     ("C00000", 6.48), ("0563C1", 5.9), ("FFC000", 1.64)],
)  # fmt: skip
def test_contrast_on_white_is_as_wcag_defines_it(colour, expected):
    """Computed from WCAG 2.1's definition outside this program. That #767676 passes and #777777 fails
    is widely published."""
    assert contrast(colour, "FFFFFF") == pytest.approx(expected, abs=0.006)
    assert contrast(colour, "FFFFFF") == contrast("FFFFFF", colour)


@pytest.mark.parametrize(
    ("change", "expected"),
    [('w:themeShade="BF"', "366092"), ('w:themeTint="66"', "B8CCE4"), ("", "4F81BD")],
)
def test_a_theme_colour_is_lightened_and_darkened_as_word_does(change, expected):
    """#366092 and #B8CCE4 are what Word writes beside these in its own theme of 2007 (from memory); its
    arithmetic is coarser by a few steps of 255."""
    theme = Theme(
        xml('<a:clrScheme><a:accent1><a:srgbClr val="4F81BD"/></a:accent1></a:clrScheme>').getparent()
    )
    theme.colours = {"accent1": "4F81BD"}
    got = theme.colour(xml(f'<w:color w:val="000000" w:themeColor="accent1" {change}/>'))
    for at in (0, 2, 4):
        assert abs(int(got[at : at + 2], 16) - int(expected[at : at + 2], 16)) <= 2


# --- files that are none --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("form.pdf", b"%PDF", "only Word files"),
        ("form.docx", b"%PDF-1.7", "this is a PDF"),
        ("form.docx", b"PK\x03\x04 broken", "damaged"),
        ("gone.docx", None, "cannot be read"),
    ],
)
def test_what_is_no_word_file_is_said_in_words(name, data, said, tmp_path):
    if data is not None:
        (tmp_path / name).write_bytes(data)
    with pytest.raises(ReadError, match=said):
        check_file(tmp_path / name)


def test_a_part_that_is_no_xml_is_said_to_be_damaged(tmp_path):
    path = tmp_path / "form.docx"
    with zipfile.ZipFile(clean().saved(tmp_path)) as old:
        held = {n: old.read(n) for n in old.namelist()}
    with zipfile.ZipFile(path, "w") as new:
        for name, data in (held | {"word/document.xml": b"<w:document"}).items():
            new.writestr(name, data)
    with pytest.raises(ReadError, match="damaged"):
        check_file(path)
