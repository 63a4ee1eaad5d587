"""WordprocessingML as strings: the primitives python-docx lacks, or builds one slow element at a
time. Children stand in the order of the schema (ECMA-376 part 1); Word is strict about it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

W = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
W14 = "http://schemas.microsoft.com/office/word/2010/wordml"
R = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
NAMESPACES = f'xmlns:w="{W}" xmlns:w14="{W14}" xmlns:r="{R}"'

_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
"""Characters XML cannot hold; one of them in a clinic's settings must not break a patient's file."""


def clean(text: str) -> str:
    """Text that XML can hold: forbidden characters become the replacement character."""
    return _FORBIDDEN.sub("\ufffd", text)


def text_run(text: str, *, strong: bool = False) -> str:
    """A run. Tabs and line ends inside values become spaces."""
    bold = "<w:rPr><w:b/><w:bCs/></w:rPr>" if strong else ""
    words = escape(re.sub(r"[\t\r\n]+", " ", clean(text)))
    return f'<w:r>{bold}<w:t xml:space="preserve">{words}</w:t></w:r>'


def tab() -> str:
    return "<w:r><w:tab/></w:r>"


def hyperlink(runs: str, relationship: str) -> str:
    return f'<w:hyperlink r:id="{relationship}" w:history="1">{runs}</w:hyperlink>'


def paragraph(runs: str, style: str = "", *, keep_next: bool = False, number: int = 0) -> str:
    """A paragraph in a style. `number` is a numbering instance of its own, for a fresh count."""
    properties = f'<w:pStyle w:val="{style}"/>' if style else ""
    if keep_next:
        properties += "<w:keepNext/>"
    if number:
        properties += f'<w:numPr><w:ilvl w:val="0"/><w:numId w:val="{number}"/></w:numPr>'
    return f"<w:p>{f'<w:pPr>{properties}</w:pPr>' if properties else ''}{runs}</w:p>"


def field(code: str, shown: str = "1") -> str:
    """A field such as PAGE, with what is shown until Word updates it."""
    return (
        '<w:r><w:fldChar w:fldCharType="begin"/></w:r>'
        f'<w:r><w:instrText xml:space="preserve"> {code} </w:instrText></w:r>'
        '<w:r><w:fldChar w:fldCharType="separate"/></w:r>'
        f"<w:r><w:t>{shown}</w:t></w:r>"
        '<w:r><w:fldChar w:fldCharType="end"/></w:r>'
    )


def tick_box(id: int, tag: str, label: str) -> str:
    """An empty tick box: a content control on screen, a square on paper."""
    name = quoteattr(clean(tag or f"choice-{id}"))
    title = quoteattr(clean(label)[:60])
    font = '<w:rFonts w:ascii="MS Gothic" w:hAnsi="MS Gothic" w:eastAsia="MS Gothic" w:hint="eastAsia"/>'
    return (
        f'<w:sdt><w:sdtPr><w:alias w:val={title}/><w:tag w:val={name}/><w:id w:val="{id}"/>'
        '<w14:checkbox><w14:checked w14:val="0"/>'
        '<w14:checkedState w14:val="2612" w14:font="MS Gothic"/>'
        '<w14:uncheckedState w14:val="2610" w14:font="MS Gothic"/></w14:checkbox></w:sdtPr>'
        f"<w:sdtContent><w:r><w:rPr>{font}</w:rPr><w:t>\u2610</w:t></w:r></w:sdtContent></w:sdt>"
    )


def cell(content: str, width: int) -> str:
    """A table cell; `width` in twentieths of a point."""
    return f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/></w:tcPr>{content}</w:tc>'


def row(cells: Iterable[str], *, header: bool = False) -> str:
    """A row that is never split over a page; a header row is repeated on each page."""
    repeat = "<w:tblHeader/>" if header else ""
    return f"<w:tr><w:trPr><w:cantSplit/>{repeat}</w:trPr>{''.join(cells)}</w:tr>"


def table(rows: Iterable[str], widths: Iterable[int], *, style: str, summary: str) -> str:
    """A table with one header row; `summary` is read to people who cannot see it."""
    widths = list(widths)
    grid = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
    caption = quoteattr(clean(summary))
    return (
        f'<w:tbl><w:tblPr><w:tblStyle w:val="{style}"/><w:tblW w:w="{sum(widths)}" w:type="dxa"/>'
        '<w:tblLayout w:type="fixed"/>'
        '<w:tblLook w:val="0020" w:firstRow="1" w:lastRow="0" w:firstColumn="0" w:lastColumn="0"'
        ' w:noHBand="1" w:noVBand="1"/>'
        f"<w:tblCaption w:val={caption}/></w:tblPr><w:tblGrid>{grid}</w:tblGrid>"
        f"{''.join(rows)}</w:tbl>"
    )
