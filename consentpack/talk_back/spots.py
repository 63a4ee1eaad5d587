"""Every paragraph of a paper with what stands around it: its heading and, in a table, its column and row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from consentpack.tree import (
    Body,
    Box,
    Cell,
    Document,
    Items,
    Node,
    Panel,
    Paragraph,
    Table,
    paragraphs,
    text_of,
)


@dataclass(frozen=True)
class Spot:
    """One paragraph and where it stands."""

    paragraph: Paragraph
    heading: str
    """Of its section; before the first section that of its frame or column; '' where it has none."""
    column: str = ""
    row: tuple[Cell, ...] = ()
    """The cells of its row in a table."""

    @property
    def said(self) -> str:
        return text_of(self.paragraph.runs)

    def beside(self) -> tuple[Paragraph, ...]:
        """The paragraphs of the other cells of its row."""
        others = (cell for cell in self.row if self.paragraph not in cell.content)
        return tuple(p for cell in others for content in cell.content for p in _of(content))


def spots(document: Document) -> Iterator[Spot]:
    """In reading order."""
    for node in document.lead:
        yield from _spots(node, "")
    for section in document.sections:
        for node in section.nodes:
            yield from _spots(node, section.heading)


def _spots(node: Node, heading: str) -> Iterator[Spot]:
    if isinstance(node, Box):
        for body in node.body:
            yield from _in_body(body, heading or node.title)
    else:
        yield from _in_body(node, heading)


def _in_body(body: Body, heading: str) -> Iterator[Spot]:
    if isinstance(body, Table):
        for row in body.rows:
            for column, cell in zip(body.columns, row, strict=True):
                for content in cell.content:
                    yield from (Spot(p, heading or column, column, row) for p in _of(content))
    elif isinstance(body, Panel):
        for title, cells in body.groups:
            for cell in cells:
                for content in cell.content:
                    yield from (Spot(p, heading, title, (cell,)) for p in _of(content))
    else:
        yield from (Spot(p, heading) for p in paragraphs(body))


def _of(content: object) -> tuple[Paragraph, ...]:
    """The paragraphs of what stands in a cell; a picture has none, nor has a line to tick."""
    if isinstance(content, Items):
        return content.items
    return (content,) if isinstance(content, Paragraph) else ()
