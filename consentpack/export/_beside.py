"""What the Word file must know of a cell or node to lay out what stands beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Fields,
    Items,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Table,
    paragraphs,
    text_of,
)


def words(cell: Cell) -> Iterator[str]:
    """The words of each paragraph of a cell."""
    for content in cell.content:
        if isinstance(content, Pictograph):
            yield content.alt
        else:
            yield from (text_of(each.runs) for each in paragraphs(content))


def bold(cell: Cell) -> Cell:
    """A cell whose first line heads what follows in large print, where no column does."""
    if not cell.content or not isinstance(first := cell.content[0], Paragraph):
        return cell
    runs = tuple(replace(run, strong=True) for run in first.runs)
    return replace(cell, content=(replace(first, runs=runs), *cell.content[1:]))


_SHORT = 240
"""Characters of a paragraph, at most, that introduces something. A longer one is read by itself, and kept
whole with what follows it would leave a page half empty."""


def introduces(node: Node, follower: Node) -> bool:
    """Whether a paragraph would look lost at the foot of a page, away from what follows it."""
    if not isinstance(node, Paragraph):
        return False
    said = text_of(node.runs).rstrip()
    if said.endswith((":", "：")):  # as "What to do:"
        return True
    return len(said) <= _SHORT and isinstance(follower, Table | Panel | Box | Choice | Items | Fields)
