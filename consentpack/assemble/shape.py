"""The shape of a document without its words: what a translation must have in common with its original."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Section,
    Table,
)

ABOUT_ITSELF = "about-this-document"
"""The part that says who made this very document: a translation has more to say there."""


def common_sections(document: Document) -> tuple[Section, ...]:
    """The sections that a document and its translation have in common."""
    return tuple(section for section in document.sections if ABOUT_ITSELF not in section.parts)


def shape_of(document: Document) -> list[str]:
    """One line for each section, block, row, list point, tick box and line to fill in, in order."""
    found = ["lead", *_lines(document.lead)]
    for section in common_sections(document):
        found += [f"section {section.id}", *_lines(section.nodes)]
    return found


def _lines(nodes: tuple[Node, ...]) -> Iterator[str]:
    for node in nodes:
        yield from _line(node)


def _line(node: Node) -> Iterator[str]:
    match node:
        case Heading():
            yield f"heading {node.level}"
        case Paragraph():
            yield "paragraph"
        case Items():
            yield f"{'numbered' if node.numbered else 'bulleted'} list of {len(node.items)}"
        case Choice():
            yield f"tick box {node.tag}"
        case Fields():
            yield f"lines {node.tag}: {', '.join(f'{line.kind} {line.tag}' for line in node.lines)}"
        case Facts():
            yield f"facts of {len(node.pairs)}"
        case Box():
            yield "box"
            yield from _lines(node.body)
        case Panel():
            yield f"panel of {len(node.groups)} groups"
            for _, cells in node.groups:
                yield "row: " + "; ".join(_cell(cell) for cell in cells)
        case Table():
            yield from _table(node)
        case _:
            assert_never(node)


def _table(table: Table) -> Iterator[str]:
    yield f"table of {len(table.columns)} columns and {len(table.rows)} rows"
    for row in table.rows:
        yield "row: " + "; ".join(_cell(cell) for cell in row)


def _cell(cell: Cell) -> str:
    return ", ".join(
        f"{each.marked} of {each.total} marks" if isinstance(each, Pictograph) else next(_line(each))
        for each in cell.content
    )


def first_difference(own: Document, other: Document) -> str:
    """Where two documents part, in words; '' when they have one shape."""
    mine, theirs = shape_of(own), shape_of(other)
    section = "the beginning"
    for here, there in zip(mine, theirs, strict=False):
        if here.startswith("section "):
            section = f"section “{here.removeprefix('section ')}”"
        if here != there:
            return f"in {section} it has a {here}, the original a {there}"
    return f"after {section} one of the two goes on" if len(mine) != len(theirs) else ""
