"""Where the headers of a sheet stand: below a title, in two lines, under groups, in one of several sheets.

A row of headers is known by the clinic's own map, by the fields and outcomes, and by what they are usually
called. A first row that says all that is needed is the headers, whatever else looks like them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import zip_longest

from consentpack.normal import plain
from consentpack.register.cells import GRADES
from consentpack.register.columns import FIELDS, IGNORE, REQUIRED, looks_like_identity
from consentpack.register.propose import NEAR, USUAL, alike, words_of

LOOK = 40
"""Rows from the first one that is filled, among which the headers are looked for."""
_ENOUGH = 2
"""Known headers that a row below the first one must have: one word alone may stand in a title."""
_LONGEST, _SHORTEST = 6, 2
"""Words of a header, and letters of at least one of them, that are compared with other forms."""
_DATA = re.compile(r"[\s\d.,:/%-]*\d[\s\d.,:/%-]*")
Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Headings:
    """What headers may say."""

    declared: Mapping[str, str] = field(default_factory=dict)
    """[audit.columns] of clinic.toml."""
    names: Mapping[str, Iterable[str]] = field(default_factory=dict)
    """Field, stratum, measurement or outcome -> what else it is called."""

    @cached_property
    def _declared(self) -> dict[str, str]:
        return {plain(header): meaning for header, meaning in self.declared.items()}

    @cached_property
    def _usual(self) -> dict[tuple[str, ...], str]:
        names = {name: (name, *USUAL[name]) for name in FIELDS}
        names |= {meaning: (meaning, *also) for meaning, also in self.names.items()}
        said = {tuple(words_of(word)): meaning for meaning, words in names.items() for word in words}
        said.pop((), None)
        return said

    def meaning(self, header: str) -> str | None:
        """What a header seems to hold; None for one that nobody knows."""
        header = plain(header)
        if header in self._declared:
            meaning = self._declared[header]
            return f"{IGNORE}: {header}" if meaning == IGNORE else meaning
        words = tuple(words_of(header))
        return self._usual.get(words) or self._alike(words)

    def is_exact(self, header: str) -> bool:
        """Whether a header is known word by word, and not only like one that is."""
        header = plain(header)
        return header in self._declared or tuple(words_of(header)) in self._usual

    def _alike(self, words: tuple[str, ...]) -> str | None:
        """What another form of the same words is called, as 'bruised' and 'bruising'."""
        if not words or len(words) > _LONGEST or not any(len(word) > _SHORTEST for word in words):
            return None
        if words not in self._seen:
            fits = ((alike(words, others), meaning) for others, meaning in self._usual.items())
            fit, meaning = max(fits, default=(0.0, ""))
            self._seen[words] = meaning if fit >= NEAR else None
        return self._seen[words]

    @cached_property
    def _seen(self) -> dict[tuple[str, ...], str | None]:
        return {}

    def score(self, headers: Iterable[str]) -> int:
        """How many different things a row of headers names."""
        return len({meaning for header in headers if (meaning := self.meaning(header))})

    def is_whole(self, headers: Iterable[str]) -> bool:
        """Whether a row names all that is needed, in words that need no guess."""
        said = {self._declared.get(header, header) for header in map(plain, headers)}
        return said.issuperset(REQUIRED)

    def names_all(self, headers: Iterable[str]) -> bool:
        """Whether a row names all that is needed, in whatever words."""
        return {self.meaning(header) for header in headers}.issuperset(REQUIRED)


@dataclass(frozen=True)
class Found:
    """The headers of a sheet."""

    headers: tuple[str, ...]
    rows: tuple[int, ...]
    """The numbers of their rows, one or two."""
    below: int
    """How many of the rows that were looked at are the headers, or above them."""
    score: int
    whole: bool = False


def find(head: Sequence[Row], headings: Headings) -> Found | None:
    """The headers among the first rows of a sheet; None where all of them are blank."""
    filled = [at for at, (_, cells) in enumerate(head) if _filled(cells)]
    if not filled:
        return None
    first = filled[0]
    if headings.is_whole(head[first][1]):
        return _found(head, (first,), head[first][1], headings, whole=True)
    scores = {at: headings.score(head[at][1]) for at in filled}
    best = max(filled, key=lambda at: (scores[at], -at))
    if scores[best] < _ENOUGH or scores[best] == scores[first]:
        best = first if scores[first] else _by_shape(head, filled)
    return _with_second_line(head, best, headings)


def at_rows(head: Sequence[Row], numbers: tuple[int, ...], headings: Headings) -> Found | None:
    """The headers where somebody says that they stand; None where there is no such row."""
    places = [at for at, (number, _) in enumerate(head) if number in numbers]
    if len(places) < len(numbers) or not any(_filled(head[at][1]) for at in places):
        return None
    headers = head[places[0]][1]
    for at in places[1:]:
        headers = joined(headers, head[at][1], headings)
    return _found(head, tuple(places), headers, headings)


def _found(
    head: Sequence[Row],
    places: tuple[int, ...],
    headers: Iterable[str],
    headings: Headings,
    *,
    whole: bool = False,
) -> Found:
    headers = tuple(headers)
    rows = tuple(head[at][0] for at in places)
    return Found(headers, rows, places[-1] + 1, headings.score(headers), whole)


def _by_shape(head: Sequence[Row], filled: Sequence[int]) -> int:
    """Where no header is known: below a title of one cell, the first row half as wide as the widest."""
    widths = {at: _filled(head[at][1]) for at in filled}
    widest = max(widths.values())
    if widths[filled[0]] > 1 or widest <= _ENOUGH:
        return filled[0]
    return next(at for at in filled if 2 * widths[at] >= widest)


def _with_second_line(head: Sequence[Row], at: int, headings: Headings) -> Found:
    """The headers with the line of groups above them, or with their second line below."""
    number, line = head[at]
    best = _found(head, (at,), line, headings)
    twice = len(set(filter(None, map(plain, line)))) < _filled(line)
    if at and head[at - 1][0] == number - 1 and _is_group_line(head[at - 1][1], line):
        above = _found(head, (at - 1, at), joined(head[at - 1][1], line, headings), headings)
        hidden = any(map(looks_like_identity, above.headers))  # the lower line alone may not show it
        if hidden or above.score > best.score or (twice and above.score == best.score):
            best = above
    if at + 1 < len(head) and head[at + 1][0] == number + 1 and not _is_data(head[at + 1][1]):
        below = _found(head, (at, at + 1), joined(line, head[at + 1][1], headings), headings)
        best = below if below.score > best.score else best
    return best


def _is_group_line(cells: Sequence[str], below: Sequence[str]) -> bool:
    """Whether a line may name groups of columns: a title is one cell above the first column."""
    places = [at for at, cell in enumerate(cells) if cell.strip()]
    begins = next((at for at, cell in enumerate(below) if cell.strip()), 0)
    return not _is_data(cells) and (len(places) > 1 or any(at > begins for at in places))


def _is_data(cells: Iterable[str]) -> bool:
    """Whether a row holds a number, a day or an answer, as no line of headers does."""
    words = [plain(cell).lower() for cell in cells]
    return not any(words) or any(_DATA.fullmatch(word) or word in GRADES for word in words if word)


def joined(upper: Sequence[str], lower: Sequence[str], headings: Headings) -> list[str]:
    """Two lines of headers as one. A merged cell holds its text on its left, so it is spread to the right
    over the columns that have a word below it."""
    below = [plain(cell) for cell in lower]
    found, group = [], ""
    for over, under in zip_longest(map(plain, upper), below, fillvalue=""):
        group = over or (group if under else "")
        found.append(_one(group, under, headings, alone=below.count(under) == 1))
    return found


def _one(over: str, under: str, headings: Headings, *, alone: bool) -> str:
    both = " ".join(filter(None, (over, under)))
    # 'Birth' above 'Date' is no day of treatment: what looks like an identity keeps both its words
    if not over or not under or headings.is_exact(both) or looks_like_identity(both):
        return both
    if alone and headings.is_exact(under):
        return under
    return under if alone and headings.meaning(under) and not headings.meaning(both) else both


def _filled(cells: Iterable[str]) -> int:
    return sum(bool(cell.strip()) for cell in cells)
