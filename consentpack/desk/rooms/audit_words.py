"""The words of a sheet as questions of a form: each with what it may mean, the likeliest first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from consentpack import pipeline

if TYPE_CHECKING:
    from consentpack.pipeline.dropping import Question

_ANSWERS = {
    "yes": "yes, it was seen",
    "no": "no: looked for, and not seen",
    "not recorded": "not recorded",
    "moderate": "yes, moderate",
    "severe": "yes, severe",
}
_SHOWN = 60
"""Questions on one page: nobody answers more at once, and a column of free text has one in each row."""
_AT_ONCE = 3
"""Techniques that one word may stand for."""


@dataclass(frozen=True)
class Asked:
    """One word with what it may mean."""

    word: str
    said: str
    """How often, where, and how it is read."""
    unread: bool
    choices: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    """Groups of (what is kept, what is shown)."""
    chosen: tuple[str, ...]
    """For each list to choose from what is chosen in it; '' for nothing."""
    as_is: str
    """What the choice is called that leaves all as it is."""


@dataclass(frozen=True)
class Answers:
    asked: tuple[Asked, ...]
    cells: tuple[Asked, ...]
    """Whole cells that hold a word which is asked about: said of the word, they need no answer."""
    more: int
    """Questions that are not shown."""


def answers_for(
    where: pipeline.Workplace, questions: Iterable[Question], chosen: pipeline.Choices
) -> Answers:
    """The questions of a sheet, after those that were answered."""
    titles = {id: each.title for id, each in where.library.techniques.items()}
    outcomes = pipeline.outcome_meanings(where)
    said = [_answered(word, meant, titles, outcomes) for word, meant in chosen.words.items()]
    left = list({each.word: each for each in questions if each.word not in chosen.words}.values())
    parts = {each.word for each in left if each.is_part}
    cells = [each for each in left if not each.is_part and _parts_of(each) & parts]
    first = [_asked(each, titles, outcomes) for each in left if each not in cells]
    inside = tuple(_asked(each, titles, outcomes) for each in cells[:_SHOWN])
    return Answers((*first[:_SHOWN], *said), inside, max(0, len(first) - _SHOWN))


def _parts_of(each: Question) -> set[str]:
    return set(re.findall(r"[^\W_]+", each.word.casefold())) if each.kind == "technique" else set()


def _asked(each: Question, titles: dict[str, str], outcomes: dict[str, str]) -> Asked:
    times = "once" if each.times == 1 else f"{each.times} times"
    known = {"answer": _ANSWERS, "technique": titles, "outcome": outcomes}[each.kind]
    unread = not each.read_as
    where = (
        f"is a word in cells of {each.column}, {times}"
        if each.is_part
        else f"stands in {each.column} {times}"
    )
    said = f"{where}: " + ("nobody has said what it means" if unread else f"{each.read_as}?")
    lists = 1 if each.kind == "answer" else _AT_ONCE
    as_is = "leave its rows set aside" if unread else f"yes: {each.read_as}"
    return Asked(each.word, said, unread, tuple(_groups(known, each.may_mean)), ("",) * lists, as_is)


def _groups(
    known: dict[str, str], likely: Iterable[str]
) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
    first = tuple((id, known[id]) for id in likely if id in known)
    rest = tuple((id, title) for id, title in known.items() if (id, title) not in first)
    if first and rest:
        yield "May be", first
    yield "All" if first and rest else "It means", rest or first


def _answered(word: str, meant: str, titles: dict[str, str], outcomes: dict[str, str]) -> Asked:
    ids = tuple(id.strip() for id in meant.split(";"))
    known = _ANSWERS if ids[0] in _ANSWERS else titles if ids[0] in titles else outcomes
    lists = 1 if known is _ANSWERS else max(_AT_ONCE, len(ids))
    chosen = (*ids, *("",) * (lists - len(ids)))
    return Asked(
        word, "you have said what it means", False, tuple(_groups(known, ())), chosen, "as it is found"
    )
