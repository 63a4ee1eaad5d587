"""The hyphenation patterns that textstat counts unknown words by, read when a word needs them.

pyphen works out all of its eleven thousand English patterns before the first word, which costs a cold
start more than the scoring of a whole form. A text needs some hundred of them. What a pattern says is
pyphen's own; a test compares every pattern, and the points of every word of the dictionary.
"""

from __future__ import annotations

from typing import Any

import pyphen

LANGUAGE = "en_US"
_OTHER_SPELLINGS = "/"
"""Marks a pattern that spells a word anew where it is broken; pyphen has a way of its own for these."""
_BY_NUMBER = "^^"
"""Begins a letter that is written as its number."""
_NO_DIGITS = str.maketrans("", "", "0123456789")


class Patterns(dict[str, str]):
    """Letters -> the pattern as it is written, '.ach4' under '.ach'; `get` gives what it means."""

    def get(self, letters: str, default: Any = None) -> Any:
        """(offset, values) as pyphen keeps them, or `default` where no pattern has these letters."""
        written = super().get(letters)
        return default if written is None else meaning(written)


def meaning(written: str) -> tuple[int, tuple[int, ...]] | None:
    """Where the numbers of a pattern begin and what they are, without zeros at the ends; None for none."""
    values = [int(digit or "0") for digit, _ in pyphen.parse(written)]
    places = [place for place, value in enumerate(values) if value]
    return (places[0], tuple(values[places[0] : places[-1] + 1])) if places else None


def patterns_of(text: str) -> Patterns | None:
    """The patterns of a dictionary's text after its first line; None where they are not all plain."""
    if _OTHER_SPELLINGS in text or _BY_NUMBER in text:
        return None
    rows = [row for row in text.split("\n") if row and not row.startswith(pyphen.ignored)]
    return Patterns(zip("\n".join(rows).translate(_NO_DIGITS).split("\n"), rows, strict=True))


def hand_over() -> None:
    """Let pyphen find the English patterns where it looks for those it has read already."""
    path = pyphen.LANGUAGES.get(LANGUAGE)
    if path is None or path in pyphen.hdcache:
        return
    first, _, rest = path.read_text(encoding="utf-8").partition("\n")
    patterns = patterns_of(rest) if first.strip().lower() == "utf-8" else None
    if not patterns:
        return  # another edition of the dictionary: pyphen reads it by itself
    made = pyphen.HyphDict.__new__(pyphen.HyphDict)
    made.patterns, made.cache, made.maxlen = patterns, {}, max(map(len, patterns), default=0)
    pyphen.hdcache[path] = made
