"""What stays in a paper of limited length, and what moves to the one behind it.

The rules, in full: a serious harm never moves; a figure of the clinic's own that is worse than the
published one never moves; of all others the last in order moves first, and no more move than must.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Priced:
    """One thing a paper may say, with what it costs."""

    id: str
    words: int
    serious: bool = False
    """A serious harm, however rare."""
    worse_than_published: bool = False
    """A figure of the clinic's own that is worse than the one in print: hidden, it would deceive."""
    order: int = 0
    """Its place: what patients should read first has the lowest. Equal ones stand as they were given."""

    @property
    def may_move(self) -> bool:
        return not (self.serious or self.worse_than_published)


@dataclass(frozen=True)
class Chosen:
    """What stays and what moves, both in reading order."""

    stays: tuple[Priced, ...]
    moves: tuple[Priced, ...]
    over: int
    """Words above the budget that stay all the same, because nothing more may move; else 0."""


def choose(items: Iterable[Priced], *, budget: int) -> Chosen:
    """What stays within a budget of words. The budget may be below zero: then all that may move moves.

    Raises ValueError for two items of one id, or one of fewer than no words: both are slips of the caller.
    """
    ordered = sorted(items, key=lambda each: each.order)
    _check(ordered)
    left, moved = sum(each.words for each in ordered), set[str]()
    for item in reversed(ordered):
        if left > budget and item.may_move:
            moved.add(item.id)
            left -= item.words
    return Chosen(
        stays=tuple(each for each in ordered if each.id not in moved),
        moves=tuple(each for each in ordered if each.id in moved),
        over=max(0, left - budget),
    )


def _check(items: list[Priced]) -> None:
    if len({each.id for each in items}) < len(items):
        raise ValueError(f"two items of one id among {[each.id for each in items]}")
    if wrong := [each.id for each in items if each.words < 0]:
        raise ValueError(f"fewer than no words: {wrong}")
