"""Words of a sheet that nobody has said the meaning of, counted, each with what may be meant.

For somebody of the clinic to say it once: nothing here is ever taken as said.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from consentpack.normal import folded, plain
from consentpack.register.answers import answer, is_unknown, own_answers
from consentpack.register.cells import NONE_SEEN, BadCell, is_keepable
from consentpack.register.columns import ColumnMap
from consentpack.register.how_read import Reading, outcome_words, technique_words
from consentpack.register.left_out import kind_of
from consentpack.register.limits import DETAIL_LETTERS
from consentpack.register.repairs import Repairs
from consentpack.register.words import JOINS, Vocabulary

MOST = 200
"""Different words that are told. A column of free text holds a new one in each row."""
_COUNTED = 20_000
"""Different words that are counted at all."""
_SUGGESTED = 4


@dataclass(frozen=True)
class UnknownWord:
    """A cell's text that cannot be read."""

    column: str
    word: str
    times: int
    may_mean: tuple[str, ...]
    """Ids, the likeliest first; none where nothing is like it."""


def unknown_words(
    rows: Iterable[tuple[int, list[str]]], columns: ColumnMap, reading: Reading
) -> tuple[UnknownWord, ...]:
    """Cells of techniques, outcomes and answers that cannot be read; the most frequent first."""
    readers = _readers(columns, reading)
    found: Counter[tuple[int, str]] = Counter()
    for _, cells in rows:
        unknown = [pair for pair in _unknown(cells, readers) if pair in found or len(found) < _COUNTED]
        if unknown and not kind_of(cells, columns.headers):
            found.update(unknown)
    return tuple(
        UnknownWord(columns.headers[at], word, times, readers[at].may_mean(word))
        for (at, word), times in found.most_common(MOST)
    )


_UNSURE = frozenset(("no", "not", "without", "or", "vs", "versus", "except", "?"))
"""Words of a cell whose other words mean nothing by themselves: 'cannula without block'."""


def parts_of(words: Iterable[UnknownWord], column: str, reading: Reading) -> tuple[UnknownWord, ...]:
    """The single words that nobody knows and that stand in several different cells of techniques: said once,
    they explain many cells. The most frequent first."""
    vocabulary = technique_words(reading)
    asked = _Words(vocabulary, reading.techniques, reading.names, is_list=False)
    times, cells = Counter[str](), Counter[str]()
    for each in words:
        unknown = _unknown_parts(each.word, vocabulary) if each.column == column else set()
        cells.update(unknown)
        times.update(dict.fromkeys(unknown, each.times))
    return tuple(
        UnknownWord(column, word, number, asked.may_mean(word))
        for word, number in times.most_common(MOST)
        if cells[word] > 1
    )


def _unknown_parts(cell: str, vocabulary: Vocabulary) -> set[str]:
    parts = {part for part in re.findall(r"[^\W_]+", folded(cell)) if not part.isdecimal()}
    if parts & _UNSURE or "?" in cell:
        return set()
    return {part for part in parts if part not in JOINS and not _is_known(part, vocabulary)}


def _is_known(part: str, vocabulary: Vocabulary) -> bool:
    try:
        vocabulary.ids(part, Repairs())
    except BadCell:
        return False
    return True


def _unknown(cells: list[str], readers: Mapping[int, _Words | _Answers]) -> Iterator[tuple[int, str]]:
    for at, asked in readers.items():
        text = plain(cells[at]) if at < len(cells) else ""
        if text and is_keepable(text) and not asked.knows(text):
            yield at, text[:DETAIL_LETTERS]


@dataclass(frozen=True)
class _Words:
    """A column of techniques, or of what was seen."""

    vocabulary: Vocabulary
    known: frozenset[str]
    names: Mapping[str, tuple[str, ...]]
    is_list: bool

    def knows(self, text: str) -> bool:
        if self.is_list and (is_unknown(text) or text.lower() in NONE_SEEN):
            return True
        try:
            self.vocabulary.ids(text, Repairs())
        except BadCell:
            return False
        return True

    def may_mean(self, word: str) -> tuple[str, ...]:
        """Ids that have a word in common with it."""
        asked = set(_tokens(word))
        scores = {id: len(asked & _tokens(" ".join((id, *self.names.get(id, ()))))) for id in self.known}
        likely = sorted((id for id in scores if scores[id]), key=lambda id: (-scores[id], id))
        return tuple(likely[:_SUGGESTED])


@dataclass(frozen=True)
class _Answers:
    """A column that says yes or no."""

    own: Mapping[str, int | None]

    def knows(self, text: str) -> bool:
        try:
            answer(text, self.own, Repairs())
        except BadCell:
            return False
        return True

    def may_mean(self, word: str) -> tuple[str, ...]:
        return ("yes", "no", "not recorded")


def _readers(columns: ColumnMap, reading: Reading) -> dict[int, _Words | _Answers]:
    found: dict[int, _Words | _Answers] = {}
    techniques, outcomes = columns.position("techniques"), columns.position("outcomes_seen")
    if techniques is not None:
        words = technique_words(reading)
        found[techniques] = _Words(words, reading.techniques, reading.names, is_list=False)
    if outcomes is not None:
        found[outcomes] = _Words(outcome_words(reading), reading.outcomes, reading.names, is_list=True)
    own = own_answers(reading.words)
    return found | {at: _Answers(own) for at in columns.outcomes.values()}


def _tokens(text: str) -> set[str]:
    return {word for word in re.findall(r"[^\W\d_]{3,}", folded(text)) if word not in ("and", "with", "the")}
