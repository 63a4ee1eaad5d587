"""Signs between words by language, where they are not those of English.

CLDR has the signs of lists and numbers, not of sentences. French: narrow no-break space before tall
signs (Imprimerie nationale, Lexique des règles typographiques; from memory). Chinese: full-width signs
and no space (GB/T 15834-2011; from memory). Arabic: its own comma and semicolon (Unicode, Arabic block).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache


@dataclass(frozen=True)
class Signs:
    """How a language joins sentences, names and labels."""

    stop: str = "."
    gap: str = " "
    """Between two sentences."""
    semicolon: str = "; "
    colon: str = ": "
    """Between a label and what it labels."""


_SIGNS: Mapping[str, Signs] = {
    "ar": Signs(semicolon="؛ "),
    "fr": Signs(semicolon="\u202f; ", colon="\u00a0: "),
    "zh": Signs(stop="。", gap="", semicolon="；", colon="："),
}
_USUAL = Signs()


@lru_cache(256)
def root(tag: str) -> str:
    """The language itself: 'en-GB', 'en_GB' and 'EN' are 'en'."""
    return tag.replace("_", "-").split("-")[0].lower()


def signs_of(language: str) -> Signs:
    """The signs of a language tag such as 'fr' or 'zh-Hans'; those of English where it has no others."""
    return _SIGNS.get(root(language), _USUAL)
