"""The grade a text would have if its defined clinical terms were said in plain words.

Some terms cannot be avoided: the patient will meet them again. This says what they cost. The number
stands beside the grade and never in its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

from consentpack.model import Term


def with_plain_terms(text: str, terms: Iterable[Term]) -> str:
    """Text with every glossary term (singular or plural) replaced by its plain form."""
    pattern, plain = _pattern(tuple(terms))
    if pattern is None:
        return text
    return pattern.sub(lambda found: _like(found.group(), plain[_key(found.group(1))]), text)


def _like(written: str, plain: str) -> str:
    return plain[:1].upper() + plain[1:] if written[:1].isupper() else plain


def _key(word: str) -> str:
    return " ".join(word.lower().split())


@lru_cache(8)
def _pattern(terms: tuple[Term, ...]) -> tuple[re.Pattern[str] | None, dict[str, str]]:
    plain = {_key(term.clinical): term.plain for term in terms}
    if not plain:
        return None, {}
    longest_first = sorted(plain, key=len, reverse=True)
    words = "|".join(re.escape(word).replace(r"\ ", r"\s+") for word in longest_first)
    return re.compile(rf"\b({words})s?\b", re.IGNORECASE), plain
