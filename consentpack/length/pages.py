"""Pieces of a document put on pages, as a word processor does it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field


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
    marks: tuple[str, ...] = ()
    """Bookmarks in it."""


@dataclass(frozen=True)
class Sides:
    """How many sides some pieces take."""

    sides: int
    filled: float
    """The same with the last side counted only as far down as it is filled."""
    marks: Mapping[str, int] = field(default_factory=dict)
    """Bookmark -> the side it is on, from 1."""


def put(pieces: Iterable[Piece], *, first: float, others: float, spare: float = 0.0) -> Sides:
    """The sides that pieces take, where the first has room for `first` points and the others for `others`.

    Where less than `spare` is left at the foot of the last, one more is counted: its end might not fit.
    """
    pages = _Pages(others, left=first)
    for block in _blocks(pieces):
        # also a block too high for any page begins a new one: LibreOffice does so
        if block[0].new_page or not _fits(block, pages.left):
            pages.turn()
        for piece in block:
            pages.add(piece)
    filled = pages.number - min(1.0, max(0.0, pages.left) / (first if pages.number == 1 else others))
    return Sides(pages.number + (pages.left + pages.hanging < spare), filled, pages.marks)


@dataclass
class _Pages:
    """Pages being filled."""

    others: float
    left: float
    """Room on this page; below 0 where the room below a piece hangs over its foot."""
    number: int = 1
    top: bool = True
    """Whether nothing stands on this page yet."""
    hanging: float = 0.0
    """The room below the last piece."""
    marks: dict[str, int] = field(default_factory=dict)

    def turn(self) -> None:
        """Begin a page, where this one holds anything."""
        if not self.top:
            self.number, self.left, self.top = self.number + 1, self.others, True

    def add(self, piece: Piece) -> None:
        if not _fits([piece], self.left):
            self.turn()
        self.marks |= dict.fromkeys(piece.marks, self.number)
        need = piece.height + (piece.before if not self.top or self.number == 1 else piece.head)
        while need > self.left and self.top:  # higher than a page, it goes on over the next ones
            need -= self.left
            self.number, self.left = self.number + 1, self.others
        self.left, self.top, self.hanging = self.left - need - piece.after, False, piece.after


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
