"""What the formulas count: sentences, words, syllables, letters. Counts of parts add up to the whole."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields
from functools import lru_cache

from consentpack.readability.prepare import split, words_of
from consentpack.readability.syllables import Syllables
from consentpack.readability.vowels import nuclei

POLYSYLLABLE = 3
"""A word of three or more syllables: SMOG (McLaughlin 1969) and Fog (Gunning 1952)."""
LONG_LETTERS = 7
"""A word of more than six letters: LIX (Björnsson 1968) and the Vienna formulas."""
_ENDINGS = ("es", "ed", "ing")
"""A word that reaches three syllables only by these is no complex word (Gunning 1952)."""
_INFLECTED = re.compile(r"(?:'s|s'|s|es|ed|d|ing|er|est|ly)$")


@dataclass(frozen=True)
class Counts:
    """Counts of some text. `+` and `-` work part by part, so that sections pool exactly."""

    sentences: int = 0
    words: int = 0
    syllables: int = 0
    textstat_syllables: int = 0
    """The same words by textstat's own count; equal to `syllables` where no lexicon applies."""
    polysyllables: int = 0
    """Words of three or more syllables, every time they occur (SMOG)."""
    four_syllables: int = 0
    """Words of four or more, which is what counts as hard in Polish."""
    one_syllable: int = 0
    complex_words: int = 0
    """Fog's complex words: three or more syllables, less names and endings."""
    unlisted: int = 0
    """Words that are neither on the Dale-Chall list nor a regular form of a word there."""
    long_words: int = 0
    letters: int = 0
    characters: int = 0
    """Letters and digits."""

    def __add__(self, other: Counts) -> Counts:
        return Counts(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))

    def __sub__(self, other: Counts) -> Counts:
        return Counts(*(getattr(self, f.name) - getattr(other, f.name) for f in fields(self)))


def count(prepared: str, syllables: Syllables, language: str = "en") -> Counts:
    """Count prepared text in a language (its root, such as 'en')."""
    return total(sentence_counts(each, syllables, language) for each in split(prepared))


def total(parts: Iterable[Counts]) -> Counts:
    """The sum of counts."""
    sums = [0] * len(fields(Counts))
    for part in parts:
        for place, name in enumerate(_NAMES):
            sums[place] += getattr(part, name)
    return Counts(*sums)


_NAMES = tuple(f.name for f in fields(Counts))


def sentence_counts(sentence: str, syllables: Syllables, language: str = "en") -> Counts:
    """Count one sentence of prepared text."""
    words = words_of(sentence)
    if not words:
        return Counts()
    said = [syllables.of(word) for word in words] if language == "en" else None
    own = [each.corrected for each in said] if said else [nuclei(word, language) for word in words]
    theirs = [each.textstat for each in said] if said else own
    poly = [n >= POLYSYLLABLE for n in own]
    return Counts(
        sentences=1,
        words=len(words),
        syllables=sum(own),
        textstat_syllables=sum(theirs),
        polysyllables=sum(poly) + _numbers_read_long(words, own),
        four_syllables=sum(n > POLYSYLLABLE for n in own),
        one_syllable=sum(n == 1 for n in own),
        complex_words=sum(
            hard and not _spared(word, n, place, syllables)
            for place, (word, n, hard) in enumerate(zip(words, own, poly, strict=True))
        ),
        unlisted=sum(not familiar(word.lower()) for word in words) if language == "en" else 0,
        long_words=sum(len(word) >= LONG_LETTERS and word.isalpha() for word in words),
        letters=sum(sum(map(str.isalpha, word)) for word in words),
        characters=sum(sum(map(str.isalnum, word)) for word in words),
    )


def _spared(word: str, n: int, place: int, syllables: Syllables) -> bool:
    """Whether Fog leaves a word out: a name, or long only by its ending."""
    if place and word[:1].isupper():
        return True
    ending = next((end for end in _ENDINGS if word.endswith(end)), "")
    return bool(ending) and n == POLYSYLLABLE and syllables.of(word[: -len(ending)]).corrected < POLYSYLLABLE


def _numbers_read_long(words: list[str], own: list[int]) -> int:
    """Figures that have three or more syllables when read aloud (SMOG counts them so)."""
    figures = (word for word, n in zip(words, own, strict=True) if n < POLYSYLLABLE and word.isdecimal())
    return sum(spoken_number(word) >= POLYSYLLABLE for word in figures)


_SMALL = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)
"""Syllables of zero to nineteen: eleven has three, seventeen three."""
_TENS = (0, 1, 2, 2, 2, 2, 2, 3, 2, 2)


@lru_cache(2000)
def spoken_number(digits: str) -> int:
    """Syllables of a whole number read aloud in English ('120': one hundred and twenty, 7)."""
    if len(digits) > 6:
        return sum(_SMALL[int(d)] for d in digits)
    number = int(digits)
    if number < 20:
        return _SMALL[number]
    if number < 100:
        return _TENS[number // 10] + (_SMALL[number % 10] if number % 10 else 0)
    if number < 1000:
        rest = 1 + spoken_number(str(number % 100)) if number % 100 else 0
        return _SMALL[number // 100] + 2 + rest
    rest = spoken_number(str(number % 1000)) if number % 1000 else 0
    return spoken_number(str(number // 1000)) + 2 + rest


@lru_cache(20_000)
def familiar(low: str) -> bool:
    """Whether a word is on the Dale-Chall list that textstat brings, or a regular form of one there.

    Dale and Chall (1948) count plurals, possessives and the endings -ed, -ing, -er, -est, -ly of
    listed words as familiar, and so do we; textstat does not. Figures are familiar.
    """
    if low[:1].isdigit():
        return True
    known = _dale_chall()
    if low in known:
        return True
    stem = _INFLECTED.sub("", low)
    if stem == low or len(stem) < 2:
        return False
    doubled = stem[:-1] if stem[-1] == stem[-2] else ""
    soft = f"{stem[:-1]}y" if stem.endswith("i") else ""
    return any(form in known for form in (stem, f"{stem}e", doubled, soft) if form)


@lru_cache(1)
def _dale_chall() -> frozenset[str]:
    from textstat.backend.utils import get_lang_easy_words  # noqa: PLC0415

    return frozenset(get_lang_easy_words("en"))
