"""Panels of pictures as a Word file holds them: for each group a heading and a table, names as its heads."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from consentpack.tree import Box, Document, Heading, Node, Panel, Run, Table, paragraphs, text_of


def as_in_word(document: Document) -> Document:
    """The same document with its panels as tables."""
    sections = tuple(replace(s, nodes=tuple(_nodes(s.nodes))) for s in document.sections)
    return replace(document, sections=sections, lead=tuple(_nodes(document.lead)))


def _nodes(nodes: Iterable[Node]) -> Iterator[Node]:
    for node in nodes:
        if isinstance(node, Panel):
            for title, cells in node.groups:
                yield Heading((Run(title),), 3)
                names = tuple(text_of(p.runs) for cell in cells for p in paragraphs(cell.content[0]))
                rest = tuple(replace(cell, content=cell.content[1:]) for cell in cells)
                share = 100 // len(cells)
                widths = (100 - share * (len(cells) - 1), *(share for _ in cells[1:]))
                yield Table(names, (rest,), widths, "")
        elif isinstance(node, Box):
            yield replace(node, body=tuple(_nodes(node.body)))
        else:
            yield node
