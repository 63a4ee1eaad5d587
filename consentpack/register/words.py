"""What the words of a cell stand for: the clinic's own words, ids, and the names of the library.

A cell is read only when each of its words is accounted for. One that nobody knows may be a technique of
its own, and a treatment without it would be counted among others than those it belongs to.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from consentpack.errors import did_you_mean
from consentpack.normal import folded, plain
from consentpack.register.cells import BadCell, shortened
from consentpack.register.limits import DETAIL_LETTERS
from consentpack.register.repairs import Repairs

_BETWEEN = re.compile(r"[;+|]")
_OWN_BETWEEN = re.compile(r"[;+|,]")
JOINS = frozenset(("and", "with", "then", "plus", "under", "the", "a", "by", "using"))
"""Words between techniques that say nothing of them. 'without', 'no' and 'not' never are."""
_TOKEN = re.compile(r"[^\s,/&.:()_-]+")
_APART = re.compile(r"[\s,/&.:()_-]+")
_KEPT = 5000
"""Cells whose ids are remembered: an audit writes the same few a hundred thousand times."""
Ids = tuple[str, ...]


def split(text: str) -> list[str]:
    """The words of a list cell."""
    return [word for piece in _BETWEEN.split(text) if (word := plain(piece))]


class Vocabulary:
    """Words for techniques, or for outcomes."""

    def __init__(
        self,
        known: frozenset[str],
        what: str,
        own: Mapping[str, str],
        names: Mapping[str, Iterable[str]],
    ) -> None:
        self._known, self._what = known, what
        self._exact = {word: _meant(ids) for word, ids in own.items()}
        self._own = {folded(word): _meant(ids) for word, ids in own.items()}
        """The clinic's own words, also for several ids at once."""
        self._phrases = dict(_phrases(known, self._own, names))
        self._longest = max((len(words) for words in self._phrases), default=0)
        self._cells: dict[str, tuple[Ids, tuple[tuple[str, Ids], ...]]] = {}

    def ids(self, text: str, repairs: Repairs) -> Ids:
        """The ids a cell names, in its order. Raises BadCell for a word that nobody knows."""
        kept = self._cells.get(text)
        if kept is None:
            kept = self._read(text)
            if len(self._cells) < _KEPT:
                self._cells[text] = kept
        for word, ids in kept[1]:
            repairs.note(word, " + ".join(ids))
        return kept[0]

    def _read(self, text: str) -> tuple[Ids, tuple[tuple[str, Ids], ...]]:
        whole = self._said(plain(text))
        if whole:
            return whole, ()
        found: list[str] = []
        loose: list[tuple[str, Ids]] = []
        for word in split(text):
            ids = self._said(word)
            if not ids:
                ids = self._covered(word)
                loose.append((word, ids))
            found += ids
        return tuple(found), tuple(loose)

    def _said(self, word: str) -> Ids:
        """An id, or the clinic's own word; capitals matter only where two words differ by them."""
        ids = self._exact.get(word) or self._own.get(folded(word)) or (word,)
        return ids if self._known.issuperset(ids) else ()

    def _covered(self, word: str) -> Ids:
        """The ids of the known words that a text is made of. Raises BadCell when it holds another."""
        tokens = _TOKEN.findall(folded(word))
        found: list[str] = []
        at = 0
        while at < len(tokens):
            taken, ids = self._longest_at(tokens, at)
            if not taken and tokens[at] not in JOINS:
                raise self._unknown(word)
            found += ids
            at += taken or 1
        if not found:
            raise self._unknown(word)
        return tuple(dict.fromkeys(found))

    def _longest_at(self, tokens: list[str], at: int) -> tuple[int, Ids]:
        for length in range(min(self._longest, len(tokens) - at), 0, -1):
            ids = self._phrases.get(tuple(tokens[at : at + length]))
            if ids:
                return length, ids
        return 0, ()

    def _unknown(self, word: str) -> BadCell:
        asked = (self._exact.get(word) or self._own.get(folded(word)) or (word,))[0]
        near = _near(asked[:DETAIL_LETTERS], self._known)
        return BadCell(f"names '{shortened(word)}', which is no {self._what}. {near}".strip())


def unknown_ids(meaning: str, known: frozenset[str]) -> Ids:
    """Of what the clinic says that a word means, what is no id."""
    return tuple(id for id in _meant(meaning) if id not in known)


def _meant(ids: str) -> Ids:
    return tuple(id for piece in _OWN_BETWEEN.split(ids) if (id := plain(piece)))


def _phrases(
    known: frozenset[str], own: Mapping[str, Ids], names: Mapping[str, Iterable[str]]
) -> Iterator[tuple[Ids, Ids]]:
    """Words in a row -> ids. The clinic's own go first; a name of two ids stands for neither."""
    said: dict[Ids, set[Ids]] = {}
    for id in known:
        for name in (id, *names.get(id, ())):
            said.setdefault(_tokens(name), set()).add((id,))
    clinic = {_tokens(word): ids for word, ids in own.items() if known.issuperset(ids)}
    for words, meant in said.items():
        if words and len(meant) == 1 and words not in clinic:
            yield words, min(meant)
    yield from (
        (words, ids) for words, ids in clinic.items() if words and not _BETWEEN.search(" ".join(words))
    )


def _tokens(name: str) -> Ids:
    return tuple(word for word in _APART.split(folded(name)) if word)


@lru_cache(maxsize=1000)
def _near(word: str, known: frozenset[str]) -> str:
    """The same slip stands in many rows, and looking for what is near takes a while."""
    return did_you_mean(word, known)
