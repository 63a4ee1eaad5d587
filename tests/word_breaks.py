"""Ways to break an accessible Word file in one place, or to add what must not be taken for a fault."""

from __future__ import annotations

import copy
from collections.abc import Callable

from docx.oxml.ns import nsdecls, qn
from docx.shared import Pt, RGBColor
from readings import add_part
from word_files import CONTROL, LONG, Form, add_link, xml

Break = Callable[[Form], object]


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


def decorative(form: Form) -> None:
    properties = form.picture._inline.docPr
    del properties.attrib["descr"]
    inner = '<a:ext uri="{C183D7F6-B498-43B3-948B-1728B52AA6E4}"><adec:decorative val="1"/></a:ext>'
    properties.append(xml(f"<a:extLst>{inner}</a:extLst>"))


def marked_rtl(form: Form) -> None:
    arabic_paragraph(form)
    form.word.paragraphs[2]._p.get_or_add_pPr().append(xml("<w:bidi/>"))
