"""How many sides of paper a Word file of ours takes, without a program that draws it.

Read from the very file that is printed, so that nothing about its look has to be said a second time. How
far that is from real pages is measured in docs/why/length.md.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element, fromstring

from consentpack.length.fonts import font_of
from consentpack.length.lines import lines_of
from consentpack.length.pages import Piece, Sides, put
from consentpack.length.styles import VAL, Style, Styles, TableStyle, W, number, read_styles, set_paragraph

_R = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
_ALONE = 2
"""Lines of a paragraph that a page break leaves together at the least (widow and orphan control)."""


def sides_of(word_file: bytes) -> Sides:
    """The sides that a Word file of ours takes: rather one too many than one too few.

    A last side without room for another line counts as two, because programs differ by less than a line.
    """
    parts = _Parts(word_file)
    body = parts.part("word/document.xml").find(f"{W}body")
    section = None if body is None else body.find(f"{W}sectPr")
    if body is None or section is None:
        raise ValueError("this is no Word file of ours: it has no body, or no page")
    page = _Page(section, parts)
    pieces = list(_Reader(parts.styles).blocks(body, page.width))
    normal = parts.styles.normal
    line = normal.line if normal.exact else normal.size * font_of(normal.font).line * normal.line
    return put(pieces, first=page.room(first=True), others=page.room(first=False), spare=line)


def pages_of_bookmarks(word_file: bytes) -> Mapping[str, int]:
    """Each bookmark of the body of a Word file of ours -> the page it is on, from 1."""
    return sides_of(word_file).marks


class _Parts:
    """The parts of a Word file."""

    def __init__(self, word_file: bytes) -> None:
        self._file = zipfile.ZipFile(io.BytesIO(word_file))
        names = self._file.namelist()
        numbering = self.part("word/numbering.xml") if "word/numbering.xml" in names else None
        self.styles = read_styles(self.part("word/styles.xml"), numbering)
        relations = self.part("word/_rels/document.xml.rels")
        self.targets = {each.get("Id", ""): f"word/{each.get('Target')}" for each in relations}

    def part(self, name: str) -> Element:
        return fromstring(self._file.read(name))


class _Page:
    """A page: how wide its text is, and how high between header and footer."""

    def __init__(self, section: Element, parts: _Parts) -> None:
        size, margins = section.find(f"{W}pgSz"), section.find(f"{W}pgMar")
        self._height = number(size, "h") or 0.0
        sides = sum(number(margins, side) or 0.0 for side in ("left", "right"))
        self.width = (number(size, "w") or 0.0) - sides
        self._section, self._margins, self._parts = section, margins, parts

    def room(self, *, first: bool) -> float:
        """Height of the text on the first page, or on another."""
        kind = "first" if first and self._section.find(f"{W}titlePg") is not None else "default"
        above, below = self._edge("top", "header", kind), self._edge("bottom", "footer", kind)
        return self._height - above - below

    def _edge(self, side: str, running: str, kind: str) -> float:
        """From the edge of the paper to the text: the margin, or more where header or footer need it."""
        margin, distance = (number(self._margins, name) or 0.0 for name in (side, running))
        for reference in self._section.iter(f"{W}{running}Reference"):
            if reference.get(f"{W}type") == kind:
                part = self._parts.part(self._parts.targets[reference.get(f"{_R}id", "")])
                pieces = _Reader(self._parts.styles).blocks(part, self.width)
                return max(margin, distance + sum(p.before + p.height + p.after for p in pieces))
        return margin


@dataclass(frozen=True)
class _Reader:
    """Reads paragraphs and tables as pieces."""

    styles: Styles

    def blocks(self, holder: Iterable[Element], width: float) -> Iterator[Piece]:
        """What a body, a cell or a header holds, in order."""
        for element in holder:
            tag = element.tag.removeprefix(W)
            if tag == "p":
                yield from self.paragraph(element, width)
            elif tag == "tbl":
                yield from self.table(element)
            elif tag == "sdt":
                content = element.find(f"{W}sdtContent")
                yield from self.blocks(content if content is not None else (), width)

    def paragraph(self, element: Element, width: float) -> Iterator[Piece]:
        """A paragraph as pieces: lines that may part, or all of it."""
        properties = element.find(f"{W}pPr")
        style = set_paragraph(self._named(properties), properties, self.styles.indents)
        lines = lines_of(element, style, self.styles, width)
        page_break = any(each.get(f"{W}type") == "page" for each in element.iter(f"{W}br"))
        groups = [lines] if style.keep_lines or len(lines) <= 2 * _ALONE - 1 else _parted(lines)
        last = len(groups) - 1
        marks = tuple(each.get(f"{W}name", "") for each in element.iter(f"{W}bookmarkStart"))
        for index, group in enumerate(groups):
            yield Piece(
                sum(group) + (0.0 if index else style.border),
                before=0.0 if index else style.before,
                after=style.after if index == last else 0.0,
                keep_next=style.keep_next and index == last,
                new_page=not index and (style.new_page or page_break),
                marks=marks if not index else (),
            )

    def _named(self, properties: Element | None) -> Style:
        named = None if properties is None else properties.find(f"{W}pStyle")
        id = "" if named is None else named.get(VAL, "")
        return self.styles.paragraphs.get(id, self.styles.normal)

    def table(self, table: Element) -> Iterator[Piece]:
        """A table as its rows. Its head stays with the row below, and is repeated on every page."""
        named = table.find(f"{W}tblPr/{W}tblStyle")
        look = self.styles.tables.get("" if named is None else named.get(VAL, ""), TableStyle())
        head, rows = 0.0, table.findall(f"{W}tr")
        for index, row in enumerate(rows):
            edges = (0 if index else look.frame) + (look.frame if index == len(rows) - 1 else look.border)
            pieces = list(self.row(row, look, edges))
            repeated = row.find(f"{W}trPr/{W}tblHeader") is not None
            if repeated:
                head += sum(piece.height for piece in pieces)
                pieces[-1] = replace(pieces[-1], keep_next=index < len(rows) - 1)
                yield from pieces
            else:
                yield from (replace(piece, head=head) for piece in pieces)

    def row(self, row: Element, look: TableStyle, edges: float) -> Iterator[Piece]:
        """A row as one piece, or, where it may be split, as those of its highest cell."""
        cells = [list(self.cell(cell, look)) for cell in row.findall(f"{W}tc")]
        highest = max(cells, key=_height, default=[])
        around = look.top + look.bottom + edges
        least = number(row.find(f"{W}trPr/{W}trHeight"), "val") or 0.0
        if row.find(f"{W}trPr/{W}cantSplit") is not None or len(highest) < 2:
            yield Piece(max(least, _height(highest) + around))
            return
        for index, piece in enumerate(highest):
            edge = around / 2 if index in (0, len(highest) - 1) else 0.0
            yield Piece(piece.before + piece.height + piece.after + edge)

    def cell(self, cell: Element, look: TableStyle) -> Iterator[Piece]:
        width = number(cell.find(f"{W}tcPr/{W}tcW"), "w") or 0.0
        return self.blocks(cell, width - look.sides)


def _height(pieces: Iterable[Piece]) -> float:
    return sum(piece.before + piece.height + piece.after for piece in pieces)


def _parted(lines: list[float]) -> list[list[float]]:
    """Lines as a page break may part them: two at least stay together at either end."""
    return [lines[:_ALONE], *([line] for line in lines[_ALONE:-_ALONE]), lines[-_ALONE:]]
