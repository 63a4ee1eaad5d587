"""Which numbers of a page are telephone numbers: those that the tree names, and no count of the audit."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

_SHORT = 4
"""Digits of an emergency number, at most. As many people may have been treated."""
_DIGITS = re.compile(r"\d")


@dataclass(frozen=True)
class Ringing:
    """Finds the numbers of a document in its words."""

    numbers: tuple[str, ...] = ()

    @cached_property
    def _all(self) -> re.Pattern[str]:
        longest_first = sorted(filter(None, self.numbers), key=len, reverse=True)
        any_of = "|".join(map(re.escape, longest_first)) or "(?!)"
        # a longer number, or one with a fraction, only has it inside
        return re.compile(rf"(?<![\dA-Za-z+.,-])(?:{any_of})(?![\dA-Za-z]|[.,]\d)")

    def told(self, words: str) -> bool:
        """Whether no other number stands in the words: then a short one cannot be of people."""
        return not _DIGITS.search(self._all.sub("", words))

    def parts(self, words: str, *, short: bool) -> Iterator[tuple[str, str]]:
        """The words in pieces, each with the address that rings it, '' for none. `short` ones on demand."""
        done = 0
        for match in self._all.finditer(words):
            number = re.sub(r"[^\d+]", "", match[0])
            if short or len(number) > _SHORT:
                yield words[done : match.start()], ""
                yield match[0], f"tel:{number}"
                done = match.end()
        yield words[done:], ""
