"""The grade a text would have if its defined clinical terms were said in plain words.

Some terms cannot be avoided: the patient will meet them again. This says what they cost. The number
stands beside the grade and never in its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from consentpack.model import Term

_WORD = re.compile(r"[^\W\d_]+")


class PlainTerms:
    """Replaces every glossary term (singular or plural) by its plain form."""

    def __init__(self, terms: Iterable[Term]) -> None:
        self._plain = {_key(term.clinical): term.plain for term in terms}
        longest_first = sorted(self._plain, key=len, reverse=True)
        words = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in longest_first)
        self._pattern = re.compile(rf"\b({words})s?\b", re.IGNORECASE)
        firsts = {word.split()[0] for word in self._plain}
        self._firsts = firsts | {f"{word}s" for word in firsts}

    def in_(self, text: str) -> str:
        """The text with plain forms; the text itself when it has no such term."""
        if self._firsts.isdisjoint(_WORD.findall(text.lower())):
            return text  # most sentences have none, and the whole pattern is slow to try
        return self._pattern.sub(lambda found: _like(found.group(), self._plain[_key(found.group(1))]), text)


def _like(written: str, plain: str) -> str:
    return plain[:1].upper() + plain[1:] if written[:1].isupper() else plain


def _key(word: str) -> str:
    return " ".join(word.lower().split())
