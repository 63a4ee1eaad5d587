"""The paragraphs of a Word file's XML, as a reader of the page sees them.

Walked by hand, because python-docx leaves out content controls, inserted text, text boxes and notes,
and a word that is missing here is a word nobody scores. Deleted and hidden text is passed over.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_PASSED = frozenset((
    "pPr", "rPr", "tblPr", "tblGrid", "trPr", "tcPr", "sdtPr", "sectPr", "del", "moveFrom", "instrText",
    "delText", "delInstrText", "fldChar", "rt", "docPr",
))  # fmt: skip
_SIGNS = {
    "tab": "\t", "ptab": "\t", "br": "\n", "cr": "\n", "noBreakHyphen": "-", "sym": "•",
    "softHyphen": "",
}  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One paragraph of the page."""

    text: str
    """Lines forced apart are parted by a line end."""
    place: str
    """'paragraph 7', as counted on the page: empty ones do not count."""
    heading: bool = False
    listed: str = ""
    """'bullet' or 'number' for an automatic list."""
    stands_out: bool = False
    """All bold or in capitals."""
    in_row: bool = False
    """In a table beside other cells."""
    label: bool = False
    """In the row at the head of a table."""
    unread: bool = False
    """A list of contents or of sources."""


@dataclass(frozen=True)
class Style:
    """What a style says of its paragraphs, with what it takes from the one it is based on."""

    name: str = ""
    heading: bool = False
    bold: bool = False
    capitals: bool = False
    numbering: tuple[str, str] = ("", "0")


@dataclass
class Look:
    """The styles and lists of one file."""

    styles: dict[str, Any] = field(default_factory=dict)
    """Id -> element."""
    formats: dict[tuple[str, str], str] = field(default_factory=dict)
    """Number and level of a list -> 'bullet' or another format."""
    default: str = ""

    def style(self, id: str, depth: int = 0) -> Style:
        """A style by its id. `depth` ends styles that are based on each other in a ring."""
        element = self.styles.get(id)
        if element is None or depth > 20:
            return Style()
        base = self.style(_value(element.find(f"{W}basedOn")), depth + 1)
        name = _value(element.find(f"{W}name")).lower()
        properties = element.find(f"{W}pPr")
        run = element.find(f"{W}rPr")
        return Style(
            name or base.name,
            is_heading_name(name) or _outlined(properties, base.heading),
            _switched(run, "b", base.bold),
            _switched(run, "caps", base.capitals),
            _numbering(properties, base.numbering),
        )


def is_heading_name(name: str) -> bool:
    """Word keeps the English names of its own styles in every language."""
    return name.startswith("heading ") or name in ("title", "subtitle", "heading")


def _value(element: Any, name: str = "val") -> str:
    return "" if element is None else str(element.get(f"{W}{name}", ""))


def _switched(properties: Any, name: str, before: bool = False) -> bool:
    """Whether a property such as bold is on; what is not said is as before."""
    found = properties.find(f"{W}{name}") if properties is not None else None
    return before if found is None else _value(found) not in ("0", "false", "off", "none")


def _outlined(properties: Any, before: bool) -> bool:
    level = _value(properties.find(f"{W}outlineLvl")) if properties is not None else ""
    return before if not level else level.isdecimal() and int(level) < 9


def _numbering(properties: Any, before: tuple[str, str]) -> tuple[str, str]:
    found = properties.find(f"{W}numPr") if properties is not None else None
    if found is None:
        return before
    level = _value(found.find(f"{W}ilvl")) or before[1]
    id = found.find(f"{W}numId")
    return (before[0] if id is None else _value(id)), level


def kind(element: Any) -> str:
    """An element's name without its namespace; '' for a comment."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def shown(element: Any) -> Iterator[Any]:
    """What stands on the page inside an element, in order. A text box is given, not entered."""
    for child in element:
        name = kind(child)
        if not name or name in _PASSED or _is_hidden(child, name):
            continue
        if name == "AlternateContent":  # the same text box twice, for new and for old programs
            yield from shown(next((c for c in child if kind(c) == "Choice"), child))
        elif name == "txbxContent":
            yield child
        else:
            yield child
            yield from shown(child)


def _is_hidden(element: Any, name: str) -> bool:
    if name == "r":
        return _switched(element.find(f"{W}rPr"), "vanish")
    if name == "sdt":  # 'Click here to enter text'
        return element.find(f"{W}sdtPr/{W}showingPlcHdr") is not None
    return name == "tr" and element.find(f"{W}trPr/{W}del") is not None


def words(element: Any) -> str:
    """The text of an element as printed."""
    found = []
    for each in shown(element):
        name = kind(each)
        found.append(each.text or "" if name == "t" else _SIGNS.get(name, ""))
    return "".join(found)


def blocks(element: Any) -> Iterator[Any]:
    """The paragraphs and tables (or rows, or cells) right inside an element, content controls opened."""
    for child in element:
        name = kind(child)
        if name in ("p", "tbl", "tr", "tc", "altChunk") and not _is_hidden(child, name):
            yield child
        elif name in ("sdt", "sdtContent", "customXml", "smartTag", "ins", "moveTo") and not _is_hidden(
            child, name
        ):
            yield from blocks(child)


@dataclass
class Page:
    """Walks a document's body and counts as a reader would."""

    look: Look
    notes: list[tuple[str, str]] = field(default_factory=list)
    """Kind ('footnote', 'endnote') and id of each note, in the order of their marks."""
    _number: int = 0
    _tables: int = 0
    _boxes: int = 0
    _carried: str = ""

    def lines(self, holder: Any, place: str = "") -> Iterator[Line]:
        """The paragraphs of a body, a text box or a note. `place` is where a box or note is."""
        for block in blocks(holder):
            if kind(block) == "tbl":
                yield from self._table(block, place)
            elif kind(block) == "p":
                yield from self._paragraph(block, place)

    def _table(self, table: Any, place: str) -> Iterator[Line]:
        outer = "table" in place
        self._tables += not outer
        rows = [row for row in blocks(table) if kind(row) == "tr"]
        for number, row in enumerate(rows, 1):
            cells = [cell for cell in blocks(row) if kind(cell) == "tc" and not _continues(cell)]
            where = place if outer else f"{place} (table {self._tables}, row {number})".strip()
            head = len(rows) > 1 and number == 1 and len(cells) > 1 and self._is_head(row, cells)
            for cell in cells:
                for line in self.lines(cell, where):
                    yield _in_row(line, beside=len(cells) > 1, head=head)

    def _is_head(self, row: Any, cells: list[Any]) -> bool:
        """Whether a first row is marked to be repeated on each page, or every cell of it stands out."""
        if _switched(row.find(f"{W}trPr"), "tblHeader"):
            return True
        inside = [[p for p in blocks(cell) if kind(p) == "p" and words(p).strip()] for cell in cells]
        return all(self._stands_out(p, self._style(p)) for cell in inside for p in cell)

    def _style(self, paragraph: Any) -> Style:
        id = _value(paragraph.find(f"{W}pPr/{W}pStyle"))
        return self.look.style(id or self.look.default)

    def _paragraph(self, paragraph: Any, place: str) -> Iterator[Line]:
        text = self._carried + words(paragraph)
        self._carried = ""
        if paragraph.find(f"{W}pPr/{W}rPr/{W}del") is not None:  # its end was deleted: it runs on
            self._carried = text
            return
        self._note_marks(paragraph)
        if text.strip():
            yield self._line(paragraph, text, self._place(place))
        for box in shown(paragraph):
            if kind(box) == "txbxContent":
                self._boxes += 1
                yield from self.lines(box, f"text box {self._boxes}")

    def _place(self, place: str) -> str:
        """Paragraphs are counted over the body and its tables; boxes and notes by their own number."""
        if place and not place.startswith("(table"):
            return place
        self._number += 1
        return f"paragraph {self._number} {place}".strip()

    def _line(self, paragraph: Any, text: str, place: str) -> Line:
        style = self._style(paragraph)
        properties = paragraph.find(f"{W}pPr")
        number, level = _numbering(properties, style.numbering)
        listed = self.look.formats.get((number, level), "number") if number not in ("", "0") else ""
        return Line(
            text,
            place,
            heading=_outlined(properties, style.heading),
            listed=listed if listed in ("", "bullet") else "number",
            stands_out=self._stands_out(paragraph, style),
            unread=style.name.startswith(("toc ", "table of ")) or style.name == "bibliography",
        )

    def _stands_out(self, paragraph: Any, style: Style) -> bool:
        runs = [run for run in shown(paragraph) if kind(run) == "r" and words(run).strip()]
        return bool(runs) and all(self._is_strong(run, style) for run in runs)

    def _is_strong(self, run: Any, style: Style) -> bool:
        properties = run.find(f"{W}rPr")
        own = self.look.style(_value(properties.find(f"{W}rStyle"))) if properties is not None else Style()
        bold = _switched(properties, "b", own.bold or style.bold)
        capitals = _switched(properties, "caps", own.capitals or style.capitals)
        return bold or capitals or words(run).isupper()

    def _note_marks(self, paragraph: Any) -> None:
        for mark in shown(paragraph):
            if kind(mark) in ("footnoteReference", "endnoteReference"):
                self.notes.append((kind(mark).removesuffix("Reference"), _value(mark, "id")))


def _continues(cell: Any) -> bool:
    """A cell that is merged with the one above or before it; what it holds is not shown."""
    for name in ("vMerge", "hMerge"):
        found = cell.find(f"{W}tcPr/{W}{name}")
        if found is not None and _value(found) in ("", "continue"):
            return True
    return False


def _in_row(line: Line, *, beside: bool, head: bool) -> Line:
    return Line(**{**vars(line), "in_row": line.in_row or beside, "label": line.label or head})
