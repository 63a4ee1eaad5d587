"""One broken Word file for each rule, and what must not be taken for a fault.

The rules and their sources are in `consentpack/accessibility/`; each finding names its source.
"""

from __future__ import annotations

import dataclasses
import zipfile

import pytest
import word_breaks as make
from docx.enum.text import WD_ALIGN_PARAGRAPH, WD_BREAK, WD_COLOR_INDEX
from docx.shared import Pt
from word_breaks import Break
from word_files import Form, clean, text_in, xml

from consentpack.accessibility import RULES, Finding, check_file
from consentpack.accessibility.colours import Theme, contrast
from consentpack.errors import ReadError


def found(form: Form, folder, **options) -> tuple[Finding, ...]:
    return check_file(form.saved(folder), **options)


def broken(change: Break, folder) -> tuple[Finding, ...]:
    form = clean()
    change(form)
    return found(form, folder)


def rules(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.rule for finding in findings}


# --- one fault each ------------------------------------------------------------------------------

BREAKS: dict[str, dict[str, Break]] = {
    "language": {"none": make.without_language, "no tag": make.language_of("x-none")},
    "title": {
        "none": make.title(""),
        "a file name": make.title("consent_v3 FINAL.docx"),
        "Word's own": make.title("Document1"),
    },
    "title-shown": {"other words": make.title("Privacy notice")},
    "locked": {"for forms": lambda f: f.setting('<w:documentProtection w:edit="forms" w:enforcement="1"/>')},
    "edit-marks": {
        "inserted": lambda f: f.text._p.append(xml('<w:ins w:id="1"><w:r><w:t>New.</w:t></w:r></w:ins>')),
        "deleted": lambda f: f.text._p.append(
            xml('<w:del w:id="1"><w:r><w:delText>Old.</w:delText></w:r></w:del>')
        ),
        "made bold": lambda f: f.set("rPr", '<w:rPrChange w:id="1" w:author="A"><w:rPr/></w:rPrChange>'),
        "a comment": make.comment,
    },
    "unique-ids": {
        "controls": make.control_id_twice,
        "controls round paragraphs": make.control_round_a_paragraph,
        "drawings": make.drawing_id_twice,
    },
    "split-words": {"by itself": lambda f: f.setting("<w:autoHyphenation/>")},
    "margins-only": {"a phone number": make.phone_in_the_margin_alone},
    "heading-order": {
        "first is level 2": make.first_heading_level_two,
        "1 to 3": make.level_skipped,
        "1 to 4, by its outline level": make.level_skipped_by_outline,
    },
    "has-headings": {"none": make.no_headings},
    "made-up-heading": {
        "bold": make.line("What we do", bold=True),
        "capitals": make.line("THE RISKS"),
        "capitals by its look": make.line("The risks", all_caps=True),
    },
    "typed-list": {
        "one bullet": make.lines("• You may bruise."),
        "two dashes": make.lines("- You may bruise.", "- You may bleed."),
        "numbers": make.lines("1. Wash your face.", "2. Come to us."),
        "in one paragraph": make.lines("- You may bruise.\n- You may bleed."),
        "a sign in a cell, its words in the next": lambda f: setattr(f.cell(1, 0), "text", "•"),
        "a tick before words in a cell": lambda f: setattr(f.cell(1, 0), "text", "✓ Wash your face."),
    },
    "blank-paragraph": {
        "nothing": make.lines(""),
        "spaces": make.lines("  "),
        "between words": make.lines("One.\n\nTwo."),
        "in a cell": lambda f: f.cell(1, 0).add_paragraph("").insert_paragraph_before(""),
    },
    "typed-space": {"spaces": make.lines("Name:     A. Quill"), "tabs": make.lines("Name:\t\tA. Quill")},
    "drawn-line": {"underscores": make.lines("Name: ______"), "dots": make.lines("Name: ..........")},
    "header-row": {"none": make.header_row_unmarked, "two": make.second_header_row},
    "layout-table": {"one row": make.one_row},
    "rows-split": {"one may": make.rows_may_split},
    "merged-cells": {
        "across": make.merged(down=False),
        "down": make.merged(down=True),
        "one fewer": make.a_cell_less,
    },
    "nested-table": {"in a cell": make.table_in_a_table},
    "blank-row": {"row": make.blank_row, "column": make.blank_column},
    "alternative-text": {
        "none": make.alt(" "),
        "a file name": make.alt("scan004.PNG"),
        "a number": make.alt("Picture 1"),
        "an old drawing": make.old_drawing,
    },
    "floating": {
        "a picture": make.floats,
        "an old drawing": make.old_drawing_floats,
        "a table": make.table_floats,
    },
    "text-box": {"in the text": make.text_box},
    "link-text": {
        "here": lambda f: text_in(f.link, "here"),
        "click here": lambda f: text_in(f.link, "Click here."),
        "an address": lambda f: text_in(f.link, "https://example.org/scars"),
        "a field": make.field_link("read more"),
        "nothing": lambda f: text_in(f.link, " "),
    },
    "same-links": {"two pages": make.same_words_other_page},
    "field-title": {"a control": make.control_without_title, "a field of old": make.typed_field},
    "contrast": {
        "4.48 on white": make.colour("777777"),
        "large, 2.99 and less": make.colour("999999", 18),
        "14 points but not bold": make.colour("949494", 14),
        "on a shaded paragraph": make.grey_on('<w:shd w:val="clear" w:fill="E6ECEF"/>'),
        "on a pattern": make.grey_on('<w:shd w:val="pct75" w:color="000000" w:fill="FFFFFF"/>', "000000"),
        "on a mark": lambda f: (
            setattr(f.run.font, "highlight_color", WD_COLOR_INDEX.BLUE),
            make.colour("000000")(f),
        ),
        "what asks for words in a control": make.waiting_control('<w:rPr><w:color w:val="A6A6A6"/></w:rPr>'),
        "by the theme": make.theme_colour,
        "by each second row of a table's style": make.style_of_a_table_shades_each_second_row,
        "by a table's style": make.style_of_a_table_colours_its_head,
    },
    "text-size": {
        "11.5 points": lambda f: setattr(f.run.font, "size", Pt(11.5)),
        "in the header": make.small_header,
        "Arabic": make.small_arabic_alone,
        "by its style": lambda f: setattr(f.word.styles["List Bullet"].font, "size", Pt(10)),
    },
    "capitals": {
        "typed": make.lines("Do not DRIVE A CAR HOME today."),
        "by its look": make.line("You must not drive at all today.", all_caps=True),
    },
    "underline": {
        "by its look": lambda f: setattr(f.run, "underline", True),
        "after a link": lambda f: (
            make.field_link("Our page on bruises")(f),
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
        "private use": make.lines("\uf0fc We told you."),
        "lost": make.lines("It is 5 \ufffdC."),
        "a symbol": lambda f: f.run._r.append(xml('<w:sym w:font="Wingdings" w:char="F0FC"/>')),
        "a symbol font": lambda f: setattr(f.run.font, "name", "Wingdings"),
    },
    "foreign-words": {
        "Arabic as Hebrew": make.foreign(
            "كدمة", '<w:szCs w:val="24"/>', "<w:rtl/>", '<w:lang w:bidi="he-IL"/>'
        ),
        "Greek as English": make.foreign(" μώλωπας"),
        "Chinese as nothing": make.foreign(" 瘀伤", '<w:lang w:eastAsia="en-GB"/>'),
        "English as Russian": make.foreign(" bruise", '<w:lang w:val="ru-RU"/>'),
    },
    "direction": {
        "the paragraph": make.arabic_paragraph,
        "the words": make.foreign(" كدمة", '<w:lang w:bidi="ar-SA"/>'),
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


FINE: dict[str, Break] = {
    "a picture marked as decoration": make.decorative,
    "a bold word in a table": lambda f: setattr(f.cell(1, 0).paragraphs[0].runs[0], "bold", True),
    "headings with numbers": make.numbered_headings,
    "tick boxes": make.tick_boxes,
    "a table of contents": make.contents_without_title,
    "the make.line above footnotes": make.footnotes_with_a_separator,
    "a control that waits for words": make.waiting_control(""),
    "a horizontal line": lambda f: f.run._r.append(
        xml('<w:pict><v:rect xmlns:o="urn:schemas-microsoft-com:office:office" o:hr="t"/></w:pict>')
    ),
    "4.54 on white": make.colour("767676"),
    "large, 3.03": make.colour("949494", 18),
    "14 points bold, 3.03": make.colour("949494", 14, bold=True),
    "white words on a dark ground": make.grey_on('<w:shd w:val="clear" w:fill="8B1A1A"/>', "FFFFFF"),
    "automatic colour": lambda f: f.set("rPr", '<w:color w:val="auto"/>'),
    "protection that is not enforced": lambda f: f.setting(
        '<w:documentProtection w:edit="forms" w:enforcement="0"/>'
    ),
    "another plain font": lambda f: setattr(f.run.font, "name", "MS Reference Sans Serif"),
    "ticks as answers, and their key": lambda f: (
        setattr(f.cell(0, 0), "text", "✓ you can; – not yet"),
        setattr(f.cell(1, 1), "text", "✓"),
    ),
    "marks of items in a row": make.lines("Held are G1, G10, AC3, AC14 and U2."),
    "three words in capitals": make.lines("Ask the NHS UK GMC first."),
    "hidden words": lambda f: setattr(f.text.add_run("OLD OLD OLD OLD ____").font, "hidden", True),
    "a bold sentence": make.line("Ring us at once if you bleed.", bold=True),
    "a bold word in a sentence": lambda f: setattr(f.text.add_run("Ring us."), "bold", True),
    "one make.line with a dash": make.lines("- so we say"),
    "a date": make.lines("5. May is the day."),
    "a page break": lambda f: (
        f.word.paragraphs[2].insert_paragraph_before().add_run().add_break(WD_BREAK.PAGE)
    ),
    "one tab": make.lines("Name:\tA. Quill"),
    "bold off by its own mark": lambda f: f.set("rPr", '<w:u w:val="none"/>'),
    "one Greek letter": make.foreign(" β"),
    "Arabic with all its marks": make.marked_rtl,
    "Chinese with its mark": make.foreign(" 瘀伤", '<w:lang w:eastAsia="zh-CN"/>'),
    "a link with good words as a field": make.field_link("Our page on bruises"),
    "an e-mail address as a link": lambda f: text_in(f.link, "care@example.org"),
    "a make.title longer than the heading": make.title("About your scar treatment – HS-1"),
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
    (finding,) = broken(make.lines(""), tmp_path)
    assert finding.where == "after paragraph 2"


def test_words_in_a_table_are_named_by_row_and_cell(tmp_path):
    (finding,) = broken(lambda f: setattr(f.cell(1, 1).paragraphs[0].runs[0], "italic", True), tmp_path)
    assert finding.where == "table 1, row 2, cell 2 “27 of 100”"


@pytest.mark.parametrize(
    ("change", "row"),
    [(make.style_of_a_table_colours_its_head, 1), (make.style_of_a_table_shades_each_second_row, 3)],
)
def test_what_a_tables_style_says_of_some_rows_is_said_of_these_alone(change, row, tmp_path):
    """The bands begin under the head, so the third row is the second of them."""
    places = {finding.where.split(", cell")[0] for finding in broken(change, tmp_path)}
    assert places == {f"table 1, row {row}"}


def test_words_in_a_footnote_are_checked_too(tmp_path):
    form = clean()
    make.footnotes_with_a_separator(form)
    assert "footnote, paragraph 1 “In 2026.”" in {f.where for f in found(form, tmp_path, large_print=True)}


def test_paragraphs_are_counted_outside_tables_alone(tmp_path):
    (finding,) = broken(lambda f: setattr(f.word.paragraphs[-1].runs[0], "italic", True), tmp_path)
    assert finding.where == "paragraph 9 “Ring us on 020 7946 0101.”"


def test_words_in_the_header_are_named_so(tmp_path):
    (finding,) = broken(make.small_header, tmp_path)
    assert finding.where == "header, paragraph 1 “Ring 020 7946 0101”"
    assert finding.what == "its text has 9 points; 12 is the least."


def test_a_finding_says_what_to_do_and_who_asks_for_it(tmp_path):
    (finding,) = broken(make.alt(""), tmp_path)
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
