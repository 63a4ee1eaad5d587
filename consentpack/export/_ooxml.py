"""WordprocessingML as strings: the primitives python-docx lacks, or builds one slow element at a
time. Children stand in the order of the schema (ECMA-376 part 1); Word is strict about it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any
from xml.sax.saxutils import escape, quoteattr

W = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
W14 = "http://schemas.microsoft.com/office/word/2010/wordml"
R = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
WP = "http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing"
A = "http://schemas.openxmlformats.org/drawingml/2006/main"
PIC = "http://schemas.openxmlformats.org/drawingml/2006/picture"
NAMESPACES = f'xmlns:w="{W}" xmlns:w14="{W14}" xmlns:r="{R}"'
PICTURES = f'xmlns:wp="{WP}" xmlns:a="{A}" xmlns:pic="{PIC}"'

_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
"""Characters XML cannot hold; one of them in a clinic's settings must not break a patient's file."""


def clean(text: str) -> str:
    """Text that XML can hold: forbidden characters become the replacement character."""
    return _FORBIDDEN.sub("\ufffd", text)


def w(name: str) -> str:
    """A name of WordprocessingML as lxml has it."""
    return f"{{{W}}}{name}"


_LINES = re.compile("[\t\r\n\x85\u2028\u2029]+")
_DIRECTION = re.compile("[\u202a-\u202e\u2066-\u2069]")
_OVERRIDES = "\u202d\u202e"
_CLOSER = {"\u202a": "\u202c", "\u202b": "\u202c", **dict.fromkeys("\u2066\u2067\u2068", "\u2069")}


def level(text: str) -> str:
    """Text whose marks of direction end where it ends, so that it cannot turn what follows.

    Overrides go: they would show a telephone number backwards (UAX #9, 2.2; W3C advises against them).
    """
    if not _DIRECTION.search(text):
        return text
    found, awaited = [], []
    for sign in text:
        if sign in _CLOSER:
            awaited.append(_CLOSER[sign])
        elif sign in _OVERRIDES:
            continue
        elif sign in _CLOSER.values():
            if not awaited or awaited[-1] != sign:
                continue
            awaited.pop()
        found.append(sign)
    return "".join((*found, *reversed(awaited)))


_UNUSUAL = re.compile(f"{_FORBIDDEN.pattern}|{_LINES.pattern}|{_DIRECTION.pattern}|[&<>]")


def plain(text: str) -> str:
    """A value as one line that XML can hold. Tabs and line ends inside it become spaces."""
    return level(_LINES.sub(" ", clean(text)))


def shown(text: str) -> str:
    """A value as XML text. Most values hold nothing to be changed: one look at them is enough."""
    return escape(plain(text)) if _UNUSUAL.search(text) else text


def text_run(text: str, *, strong: bool = False) -> str:
    """A run of words."""
    bold = "<w:rPr><w:b/><w:bCs/></w:rPr>" if strong else ""
    return f'<w:r>{bold}<w:t xml:space="preserve">{shown(text)}</w:t></w:r>'


def enlarged(runs: str) -> str:
    """Bold runs in the size of what is looked for in a hurry. A style comes first in their properties."""
    return runs.replace("<w:rPr>", '<w:rPr><w:rStyle w:val="Big"/>')


def attribute(text: str, most: int = 0) -> str:
    """A value as an attribute with its quotes, cut where Word allows no more than `most` characters."""
    words = plain(text)
    return quoteattr(words[:most] if most else words)


def tab() -> str:
    return "<w:r><w:tab/></w:r>"


def line_break() -> str:
    return "<w:r><w:br/></w:r>"


def picture(relationship: str, width: int, height: int, alt: str) -> str:
    """A picture in line with the text; width and height in English Metric Units."""
    size = f'cx="{width}" cy="{height}"'
    return (
        f'<w:r><w:drawing {PICTURES}><wp:inline distT="0" distB="0" distL="0" distR="0"><wp:extent {size}/>'
        f'<wp:docPr id="1" name="Logo" descr={attribute(alt)}/><a:graphic><a:graphicData uri="{PIC}">'
        '<pic:pic><pic:nvPicPr><pic:cNvPr id="1" name="Logo"/><pic:cNvPicPr/></pic:nvPicPr>'
        f'<pic:blipFill><a:blip r:embed="{relationship}"/><a:stretch><a:fillRect/></a:stretch></pic:blipFill>'
        f'<pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext {size}/></a:xfrm><a:prstGeom prst="rect">'
        "<a:avLst/></a:prstGeom></pic:spPr></pic:pic></a:graphicData></a:graphic></wp:inline></w:drawing></w:r>"
    )


def hyperlink(runs: str, relationship: str) -> str:
    return f'<w:hyperlink r:id="{relationship}" w:history="1">{runs}</w:hyperlink>'


def inner_link(runs: str, bookmark: str) -> str:
    """Words that lead to a bookmark of the same document."""
    return f'<w:hyperlink w:anchor="{bookmark}" w:history="1">{runs}</w:hyperlink>'


def bookmarked(runs: str, bookmark: str, id: int) -> str:
    """Words that can be led to."""
    return f'<w:bookmarkStart w:id="{id}" w:name="{bookmark}"/>{runs}<w:bookmarkEnd w:id="{id}"/>'


def page_of(bookmark: str, shown: str) -> str:
    """The number of the page that a bookmark is on (ECMA-376, 17.16.5.44), as a program last counted it."""
    return field(f"PAGEREF {bookmark} \\h", shown)


def paragraph(
    runs: str,
    style: str = "",
    *,
    keep_next: bool = False,
    number: int = 0,
    apart: bool = False,
    roomy: bool = False,
    rtl: bool = False,
    new_side: bool = False,
    tabs: Iterable[int] = (),
) -> str:
    """A paragraph in a style.

    `number` is a numbering instance of its own, for a fresh count; `apart` keeps it off a table above it;
    `roomy` sets its lines 1.15 apart whatever its style; `rtl` begins its lines at the right; `new_side`
    begins a page; `tabs` are ends of lines to write on, in place of the style's.
    """
    properties = f'<w:pStyle w:val="{style}"/>' if style else ""
    if keep_next:
        properties += "<w:keepNext/>"
    if new_side:
        properties += "<w:pageBreakBefore/>"
    if number:
        properties += f'<w:numPr><w:ilvl w:val="0"/><w:numId w:val="{number}"/></w:numPr>'
    if stops := _stops(tuple(tabs)):
        properties += f"<w:tabs>{stops}</w:tabs>"
    if rtl:
        properties += "<w:bidi/>"
    if apart or roomy:
        above, lines = ' w:before="160"' * apart, ' w:line="276" w:lineRule="auto"' * roomy
        properties += f"<w:spacing{above}{lines}/>"
    return f"<w:p>{f'<w:pPr>{properties}</w:pPr>' if properties else ''}{runs}</w:p>"


def with_run(made: str, run: str) -> str:
    """A paragraph with one more run at its end."""
    return f"{made.removesuffix('</w:p>')}{run}</w:p>"


def _stops(ends: tuple[int, ...]) -> str:
    """Ends of lines to write on. After each but the last a label begins, so that end is a left stop."""
    sides = ["left"] * (len(ends) - 1) + ["right"]
    both = zip(sides, ends, strict=True) if ends else ()
    return "".join(f'<w:tab w:val="{side}" w:leader="underscore" w:pos="{end}"/>' for side, end in both)


def field(code: str, shown: str = "1") -> str:
    """A field such as PAGE, with what is shown until Word updates it."""
    return (
        '<w:r><w:fldChar w:fldCharType="begin"/></w:r>'
        f'<w:r><w:instrText xml:space="preserve"> {code} </w:instrText></w:r>'
        '<w:r><w:fldChar w:fldCharType="separate"/></w:r>'
        f"<w:r><w:t>{shown}</w:t></w:r>"
        '<w:r><w:fldChar w:fldCharType="end"/></w:r>'
    )


LONGEST_NAME = 64
"""Characters of a content control's title and tag in Word."""


def _control(id: int, tag: str, title: str, kind: str, content: str) -> str:
    """A content control: what a click, a tab key or a screen reader finds in a form."""
    names = f"<w:alias w:val={attribute(title, LONGEST_NAME)}/><w:tag w:val={attribute(tag, LONGEST_NAME)}/>"
    properties = f'{names}<w:id w:val="{id}"/>{kind}'
    return f"<w:sdt><w:sdtPr>{properties}</w:sdtPr><w:sdtContent>{content}</w:sdtContent></w:sdt>"


_TICK_FONT = "Segoe UI Symbol"
"""Has the ticked box; MS Gothic, which draws the empty one, has only the crossed."""


def tick_box(id: int, tag: str, label: str, *, round_: bool = False) -> str:
    """An empty tick box: a content control on screen, a square on paper; a circle for one of several.

    Ticked it shows a tick. Word's own cross is read as a no.
    """
    ticked, empty = ("25C9", "25CB") if round_ else ("2611", "2610")
    kind = (
        '<w14:checkbox><w14:checked w14:val="0"/>'
        f'<w14:checkedState w14:val="{ticked}" w14:font="{_TICK_FONT}"/>'
        f'<w14:uncheckedState w14:val="{empty}" w14:font="MS Gothic"/></w14:checkbox>'
    )
    box = f'<w:r><w:rPr><w:rStyle w:val="TickBox"/></w:rPr><w:t>{chr(int(empty, 16))}</w:t></w:r>'
    return _control(id, tag or f"choice-{id}", label, kind, box)


_RULE = '<w:r><w:rPr><w:rStyle w:val="PlaceholderText"/></w:rPr><w:tab/></w:r>'
"""What stands in an empty control: the line to write on, drawn by the tab of the style `Field`. Words
such as "click here" would be printed, in the way of the pen."""


def text_box(id: int, tag: str, title: str) -> str:
    """A line to write on by pen, or to type on."""
    return _control(id, tag, title, "<w:showingPlcHdr/><w:text/>", _RULE)


def date_box(id: int, tag: str, title: str, language: str) -> str:
    """A line for a date, or a calendar to choose from. The month is shown in words: 3/4 is two days."""
    kind = (
        '<w:showingPlcHdr/><w:date><w:dateFormat w:val="d MMMM yyyy"/>'
        f'<w:lid w:val={attribute(language)}/><w:storeMappedDataAs w:val="dateTime"/>'
        '<w:calendar w:val="gregorian"/></w:date>'
    )
    return _control(id, tag, title, kind, _RULE)


SHADE = "E6ECEF"
"""The tint of a cell that the eye follows, as light as the head of a table."""


def cell(content: str, width: int, *, shaded: bool = False) -> str:
    """A table cell; `width` in twentieths of a point."""
    tint = f'<w:shd w:val="clear" w:color="auto" w:fill="{SHADE}"/>' if shaded else ""
    return f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/>{tint}</w:tcPr>{content}</w:tc>'


def row(cells: Iterable[str], *, header: bool = False, splits: bool = False) -> str:
    """A row that is never split over a page; a header row is repeated on each page.

    `splits` is for a row that no page can hold: kept whole, its end would not be printed.
    """
    whole = "" if splits else "<w:cantSplit/>"
    repeat = "<w:tblHeader/>" if header else ""
    properties = f"<w:trPr>{whole}{repeat}</w:trPr>" if whole or repeat else ""
    return f"<w:tr>{properties}{''.join(cells)}</w:tr>"


def table(rows: Iterable[str], widths: Iterable[int], *, style: str, summary: str, rtl: bool = False) -> str:
    """A table with one header row; `summary` is read to people who cannot see it. With `rtl` its first
    column stands at the right."""
    mirrored = "<w:bidiVisual/>" if rtl else ""
    widths = list(widths)
    grid = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
    caption = attribute(summary)
    return (
        f'<w:tbl><w:tblPr><w:tblStyle w:val="{style}"/>{mirrored}<w:tblW w:w="{sum(widths)}" w:type="dxa"/>'
        '<w:tblLayout w:type="fixed"/>'
        '<w:tblLook w:val="0020" w:firstRow="1" w:lastRow="0" w:firstColumn="0" w:lastColumn="0"'
        ' w:noHBand="1" w:noVBand="1"/>'
        f"<w:tblCaption w:val={caption}/></w:tblPr><w:tblGrid>{grid}</w:tblGrid>"
        f"{''.join(rows)}</w:tbl>"
    )


_AFTER_BIDI = ("rtlGutter", "docGrid", "printerSettings", "sectPrChange")


def mirror_section(section: Any) -> None:
    """Turn a section's pages round, for a document from right to left. `section` is its w:sectPr."""
    bidi = section.makeelement(w("bidi"))
    later = next((child for child in section if child.tag in map(w, _AFTER_BIDI)), None)
    if later is None:
        section.append(bidi)
    else:
        later.addprevious(bidi)
