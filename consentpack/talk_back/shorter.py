"""Fewer words about the same plan, step by step, for a paper that must be one side: it lies on the desk in
the talk, and what stands on its back is not asked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from consentpack.talk_back.question import FEWEST, Question

_IN_SHORT: Mapping[str, int] = {"what": 1, "choice": 2}
"""Kinds of question whose answer may be said in short -> paragraphs that stay: what is done first; a choice
and what speaks for it. The place says where the rest stands."""
_MAY_LEAVE = ("harm", "gain")
"""Kinds that leave where there is no room, the first to go first. Of the harms the serious one stays, and so
does what nobody knows from elsewhere: what to do tonight, and whom to ring."""


def shorter(asked: Sequence[Question]) -> Iterator[tuple[Question, ...]]:
    """The questions; then with answers in short; then without those that may leave. The order is kept."""
    yield (found := tuple(asked))
    short = tuple(_in_short(each) for each in found)
    if short != found:
        yield short
    for kind in _MAY_LEAVE:
        fewer = tuple(each for each in short if each.kind != kind)
        if fewer != short and len(fewer) >= FEWEST:
            yield (short := fewer)


def _in_short(asked: Question) -> Question:
    return replace(asked, answer=asked.answer[: _IN_SHORT.get(asked.kind, len(asked.answer))])


def like(asked: Sequence[Question], chosen: Sequence[Question]) -> tuple[Question, ...]:
    """The questions of another language that are those of `chosen`, with as much of each answer."""
    there = {each.kind: each for each in asked}
    return tuple(
        replace(there[each.kind], answer=there[each.kind].answer[: len(each.answer)])
        for each in chosen
        if each.kind in there
    )
