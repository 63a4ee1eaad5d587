"""What the formulas count: sentences, words, syllables, letters. Counts of parts add up to the whole."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields
from functools import lru_cache
from operator import attrgetter

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


_NAMES = tuple(f.name for f in fields(Counts))


def count(prepared: str, syllables: Syllables, language: str = "en") -> Counts:
    """Count prepared text in a language (its root, such as 'en')."""
    return total(sentence_counts(each, syllables, language) for each in split(prepared))


def total(parts: Iterable[Counts]) -> Counts:
    """The sum of counts."""
    rows = [_values(part) for part in parts]
    return Counts(*map(sum, zip(*rows, strict=True))) if rows else Counts()


_values = attrgetter(*_NAMES)


def sentence_counts(sentence: str, syllables: Syllables, language: str = "en") -> Counts:
    """Count one sentence of prepared text."""
    return words_counts(words_of(sentence), syllables, language)


def words_counts(words: list[str], syllables: Syllables, language: str = "en") -> Counts:
    """The same of a sentence's words."""
    if not words:
        return Counts()
    facts = [_facts(word, syllables, language) for word in words]
    sums = list(map(sum, zip(*facts, strict=True)))
    if sums[_COMPLEX]:
        # a name is no complex word of Fog's; a capital inside a sentence is what shows a name
        inside = zip(words[1:], facts[1:], strict=True)
        sums[_COMPLEX] -= sum(fact[_COMPLEX] for word, fact in inside if word[0].isupper())
    return Counts(1, len(words), *sums)


_FACTS = _NAMES[2:]  # what stands behind sentences and words
_COMPLEX = _FACTS.index("complex_words")


@lru_cache(8192)
def _facts(word: str, syllables: Syllables, language: str) -> tuple[int, ...]:
    """What one word adds to the counts, in the order of _FACTS. Single words only are remembered."""
    english = language == "en"
    said = syllables.of(word) if english else None
    own = said.corrected if said else nuclei(word, language)
    read_long = word.isdecimal() and spoken_number(word) >= POLYSYLLABLE
    return (
        own,
        said.textstat if said else own,
        int(own >= POLYSYLLABLE or read_long),
        int(own > POLYSYLLABLE),
        int(own == 1),
        int(own >= POLYSYLLABLE and not _long_by_ending(word, own, syllables)),
        int(english and not familiar(word.lower())),
        int(len(word) >= LONG_LETTERS and word.isalpha()),
        sum(map(str.isalpha, word)),
        sum(map(str.isalnum, word)),
    )


def _long_by_ending(word: str, n: int, syllables: Syllables) -> bool:
    """Whether a word has three syllables only by -es, -ed or -ing, which Fog leaves out."""
    ending = next((end for end in _ENDINGS if word.endswith(end)), "")
    return bool(ending) and n == POLYSYLLABLE and syllables.of(word[: -len(ending)]).corrected < POLYSYLLABLE


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


@lru_cache(8192)
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
    return any(form in known for form in regular_of(low))


def regular_of(low: str) -> tuple[str, ...]:
    """What a word may be a regular form of: 'numbed' of 'numb', 'numbe'. None where it has no such ending."""
    stem = _INFLECTED.sub("", low)
    if stem == low or len(stem) < 2:
        return ()
    doubled = stem[:-1] if stem[-1] == stem[-2] else ""
    soft = f"{stem[:-1]}y" if stem.endswith("i") else ""
    return tuple(form for form in (stem, f"{stem}e", doubled, soft) if form)


@lru_cache(1)
def _dale_chall() -> frozenset[str]:
    from textstat.backend.utils import get_lang_easy_words  # noqa: PLC0415

    return frozenset(get_lang_easy_words("en"))
