"""Document tree to plain text: what is compared, shown with `--show tree`, and read aloud."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Content,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Table,
    text_of,
)


def export_text(document: Document) -> str:
    """A document as plain text, one block a line."""
    return "\n".join(_lines(document)) + "\n"


def _lines(document: Document) -> Iterator[str]:
    yield f"# {document.title}"
    if document.notice:
        yield document.notice
    for node in document.lead:
        yield from _node(node)
    for section in document.sections:
        yield ""
        yield f"## {section.heading}"
        for node in section.nodes:
            yield from _node(node)


def _node(node: Node) -> Iterator[str]:
    match node:
        case Heading():
            yield f"{'#' * node.level} {text_of(node.runs)}"
        case Paragraph():
            yield text_of(node.runs)
        case Items():
            for number, item in enumerate(node.items, 1):
                yield f"{f'{number}.' if node.numbered else '-'} {text_of(item.runs)}"
        case Choice():
            yield f"{'( )' if node.one_of else '[ ]'} {text_of(node.runs)}"
        case Fields():
            yield from filter(None, (node.title, text_of(node.statement)))
            yield from (f"{line.label}: ____" for line in node.lines)
        case Facts():
            yield from (f"{label}: {value}" for label, value in node.pairs)
        case Box():
            yield f"[{node.title}]"
            for body in node.body:
                yield from _node(body)
        case Panel():
            for title, cells in node.groups:
                yield title
                yield from (_cell(cell) for cell in cells)
        case Table():
            yield " | ".join(node.columns)
            for row in node.rows:
                yield " | ".join(_cell(cell) for cell in row)
        case _:
            assert_never(node)


def _cell(cell: Cell) -> str:
    return " / ".join(line for content in cell.content for line in _content(content))


def _content(content: Content) -> Iterator[str]:
    """What stands in a cell; a picture is its words."""
    if isinstance(content, Pictograph):
        yield f"[{content.alt}]"
    else:
        yield from _node(content)
