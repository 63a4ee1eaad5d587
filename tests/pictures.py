"""Documents without their pictures, or with a panel's as Word has them, for tests that compare words."""

from __future__ import annotations

from dataclasses import replace

from consentpack.tree import (
    Box,
    Cell,
    Document,
    Heading,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Run,
    Table,
    text_of,
)


def without_pictures(document: Document) -> Document:
    """The same document with every pictograph taken out."""
    sections = tuple(replace(s, nodes=tuple(map(_bare, s.nodes))) for s in document.sections)
    return replace(document, sections=sections, lead=tuple(map(_bare, document.lead)))


def _bare(node: Node) -> Node:
    if isinstance(node, Box):
        return replace(node, body=tuple(map(_bare, node.body)))
    if isinstance(node, Table):
        return replace(node, rows=tuple(tuple(map(_bare_cell, row)) for row in node.rows))
    if isinstance(node, Panel):
        groups = tuple((title, tuple(map(_bare_cell, cells))) for title, cells in node.groups)
        return replace(node, groups=groups)
    return node


def _bare_cell(cell: Cell) -> Cell:
    return replace(cell, content=tuple(c for c in cell.content if not isinstance(c, Pictograph)))


def panels_as_tables(document: Document, *, across: int) -> Document:
    """The same document with the pictures of a panel in tables under their titles, names as heads of columns:
    at most so many side by side, and then the title again."""
    sections = tuple(
        replace(s, nodes=tuple(made for node in s.nodes for made in _apart(node, across)))
        for s in document.sections
    )
    return replace(document, sections=sections)


def _apart(node: Node, across: int) -> list[Node]:
    if not isinstance(node, Panel):
        return [node]
    found: list[Node] = []
    for title, cells in node.groups:
        for first in range(0, len(cells), across):
            some = cells[first : first + across]
            found += [Heading((Run(title),), 3), _table(some)]
    return found


def _table(cells: tuple[Cell, ...]) -> Table:
    names = [cell.content[0] for cell in cells]
    assert all(isinstance(name, Paragraph) for name in names)
    row = tuple(Cell(cell.content[1:]) for cell in cells)
    widths = (100 - (len(cells) - 1), *(1 for _ in cells[1:]))
    return Table(tuple(text_of(name.runs) for name in names), (row,), widths, "s")
