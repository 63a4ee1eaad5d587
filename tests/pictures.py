"""Documents without their pictures, for tests that compare words or the writing of words."""

from __future__ import annotations

from dataclasses import replace

from consentpack.tree import Box, Cell, Document, Node, Pictograph, Table


def without_pictures(document: Document) -> Document:
    """The same document with every pictograph taken out."""
    sections = tuple(replace(s, nodes=tuple(map(_bare, s.nodes))) for s in document.sections)
    return replace(document, sections=sections, lead=tuple(map(_bare, document.lead)))


def _bare(node: Node) -> Node:
    if isinstance(node, Box):
        return replace(node, body=tuple(map(_bare, node.body)))
    if isinstance(node, Table):
        return replace(node, rows=tuple(tuple(map(_bare_cell, row)) for row in node.rows))
    return node


def _bare_cell(cell: Cell) -> Cell:
    return replace(cell, content=tuple(c for c in cell.content if not isinstance(c, Pictograph)))
