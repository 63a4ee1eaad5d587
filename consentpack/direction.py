"""Which parts of a line run against its direction, and must be kept apart so that they are drawn right.

Without that a telephone number in an Arabic line is drawn with its groups in the wrong order, a range with
its ends changed over, and an Arabic name in an English line takes the number after it along (UAX #9).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import lru_cache

from babel import Locale
from babel.core import get_global

_RIGHT_TO_LEFT = {"R": "f", "AL": "f", "AN": "f", "L": "o", "EN": "n"}
_LEFT_TO_RIGHT = {"L": "f", "EN": "f", "ET": "s", "ES": "s", "R": "o", "AL": "o", "AN": "o"}
"""Bidirectional class (UAX #9) -> foreign, own, or a sign that goes with a number beside it."""
_FOREIGN = re.compile("f(?:[^o]*f)?")
_FOREIGN_WITH_SIGNS = re.compile("s*f(?:[^o]*f)?s*")
_RLM = "\u200f"
_OTHER_WAY = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")
"""Letters written from right to left (Unicode blocks Hebrew to Arabic Extended-A, and their presentation
forms)."""


def joined(texts: Iterable[str], *, rtl: bool) -> str:
    """Texts on one line with a point between them.

    From right to left the point is marked as such: else "1 · 20" is one piece from left to right, and
    "version 1 · 20 November" is read as version 20 of the 1st.
    """
    return f" {_RLM}·{_RLM} ".join(texts) if rtl else " · ".join(texts)


@lru_cache(64)
def script_of(language: str) -> str:
    """The script of a language tag by CLDR's likely subtags: 'ar' -> 'Arab', 'zh-TW' -> 'Hant'."""
    locale = Locale.parse(language, sep="-")
    if locale.script:
        return str(locale.script)
    likely = get_global("likely_subtags")
    found = likely.get(str(locale)) or likely.get(locale.language, "")
    return next((part for part in found.split("_") if len(part) == len("Latn")), "Latn")


@lru_cache(64)
def is_rtl(language: str) -> bool:
    """Whether a language (its tag) is written from right to left."""
    return bool(Locale.parse(language, sep="-").text_direction == "rtl")


def has_right_to_left(words: str) -> bool:
    """Whether a letter of a right-to-left script is among them."""
    return not words.isascii() and bool(_OTHER_WAY.search(words))


def parts(words: str, *, rtl: bool) -> Iterator[tuple[str, bool]]:
    """The words in pieces: each with whether it runs against the line. `rtl` is the line's direction."""
    if not rtl and not has_right_to_left(words):
        yield words, False
        return
    kinds = _LEFT_TO_RIGHT if rtl else _RIGHT_TO_LEFT
    pattern = _FOREIGN_WITH_SIGNS if rtl else _FOREIGN
    shape = "".join(kinds.get(unicodedata.bidirectional(letter), "n") for letter in words)
    done = 0
    for match in pattern.finditer(shape):
        start, end = match.span()
        if start > done:
            yield words[done:start], False
        yield words[start:end], True
        done = end
    if done < len(words):
        yield words[done:], False
