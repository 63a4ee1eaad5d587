"""Pieces of a document put on pages, as a word processor does it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Piece:
    """What no page break comes into, such as a row of a table. All lengths are in points."""

    height: float
    before: float = 0.0
    """Room above it, which is left out at the top of a page."""
    after: float = 0.0
    """Room below it, which may hang over the foot of a page."""
    keep_next: bool = False
    """Whether the next piece must be on its page."""
    head: float = 0.0
    """Height of what is repeated above it where it begins a page: the head of its table."""
    new_page: bool = False


@dataclass(frozen=True)
class Sides:
    """How many sides some pieces take."""

    sides: int
    filled: float
    """The same with the last side counted only as far down as it is filled."""


def put(pieces: Iterable[Piece], *, first: float, others: float) -> Sides:
    """The sides that pieces take, where the first has room for `first` points and the others for `others`."""
    page, left, top = 1, first, True
    for block in _blocks(pieces):
        room = first if page == 1 else others
        if not top and (block[0].new_page or not _fits(block, left)):
            # also a block too high for any page begins a new one: LibreOffice does so
            page, left, top, room = page + 1, others, True, others
        for piece in block:
            if not top and not _fits([piece], left):
                page, left, top, room = page + 1, others, True, others
            # a piece higher than a page goes on over the next ones
            need = piece.height + (piece.head if top and page > 1 else piece.before)
            while top and need > room:
                need -= room
                page, room = page + 1, others
            left, top = (room if top else left) - need - piece.after, False
    room = first if page == 1 else others
    return Sides(page, page - min(1.0, max(0.0, left) / room))


def _blocks(pieces: Iterable[Piece]) -> Iterable[Sequence[Piece]]:
    """Pieces that belong on one page."""
    held: list[Piece] = []
    for piece in pieces:
        held.append(piece)
        if not piece.keep_next:
            yield held
            held = []
    if held:
        yield held


def _height(block: Sequence[Piece]) -> float:
    """From the top of the first piece to the foot of the last, at the top of a page."""
    inside = sum(piece.before for piece in block[1:]) + sum(piece.after for piece in block[:-1])
    return block[0].head + inside + sum(piece.height for piece in block)


def _fits(block: Sequence[Piece], left: float) -> bool:
    return _height(block) - block[0].head + block[0].before <= left + 0.01
