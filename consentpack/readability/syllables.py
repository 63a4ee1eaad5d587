"""Syllables of English words as they are said, and textstat's own count beside.

The pronouncing dictionary that textstat uses is American and general: it lacks clinical and British
words, and what stands in for it then (hyphenation points) counts too few. 'paracetamol' comes out as
3 instead of 5, 'haematoma' as 2 instead of 4, which makes a hard text look easy. A checked lexicon
corrects them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from consentpack.readability.pronounced import hand_over, pronounced, syllables_of

_GROUP = re.compile(r"[aeiouyàâäéèêëîïôöùûüœæ]+")
_HIATUS = re.compile(r"i[aou](?!us$|n$|ns$|l$)|eo|ua|io(?!n)|[aeiou]ing$|[^c]ie(?:r|st)$|ea(?=t[eo]|l[iy])")
_SPELT_OUT = re.compile(r"[A-Z][A-Z0-9]{1,5}s?$")
_UNSAID = re.compile(r"(?<![aeol])e$|[aeiou]le$|[^tdaeiou]ed$|[ao]es$|[dklmnprtv]es$")
"""A last e that is not said: 'make', 'moved', 'takes', but not in 'table', 'three' or 'needed'."""
_PLURAL = ("'s", "s'", "s")
_CACHED = 8192
"""Single words remembered; the library has about half as many different ones."""


@dataclass(frozen=True)
class Said:
    """Syllables of one word: as corrected, and as textstat counts them."""

    corrected: int
    textstat: int


class Syllables:
    """A counter of syllables with a lexicon that goes before the dictionary.

    `lexicon` maps words in small letters to their syllables.
    """

    def __init__(self, lexicon: Mapping[str, int]) -> None:
        self._lexicon = lexicon
        # single words only: no patient's text is kept, however long the program runs
        self.of = lru_cache(_CACHED)(self._of)

    def _of(self, word: str) -> Said:
        low = word.lower().strip("'")
        return Said(max(1, self._corrected(word, low)), textstat_syllables(low))

    def _corrected(self, word: str, low: str) -> int:
        for form in _forms(low):
            if form in self._lexicon:
                return self._lexicon[form]
        known = in_dictionary(low)
        if known is not None:
            return known
        for form in _forms(low)[1:]:
            if (known := in_dictionary(form)) is not None:
                return known + _sounded_ending(form)
        if _SPELT_OUT.match(word):
            return _letters(word.rstrip("s"))
        if low[:1].isdigit():
            return 1
        return max(textstat_syllables(low), vowel_groups(low))

    def checked(self, word: str) -> bool:
        """Whether the count is looked up, and not guessed from the letters."""
        low = word.lower().strip("'")
        return any(f in self._lexicon or in_dictionary(f) is not None for f in _forms(low)) or (
            low[:1].isdigit() or bool(_SPELT_OUT.match(word))
        )


def _forms(low: str) -> list[str]:
    """The word itself, then without a possessive or plural ending."""
    return [low, *(low[: -len(end)] for end in _PLURAL if low.endswith(end) and len(low) > 3)]


def _sounded_ending(form: str) -> int:
    """1 where the plural of a form is said as a syllable of its own ('abscesses'), else 0."""
    return int(form.endswith(("s", "x", "z", "ch", "sh", "ce", "ge", "se", "ze")))


def _letters(word: str) -> int:
    """Syllables of letters and figures read one by one: all have one but W (and 0 and 7, near enough)."""
    return sum(3 if letter == "W" else 1 for letter in word)


def vowel_groups(low: str) -> int:
    """A count from the letters, for words that nobody has looked up: never fewer than one."""
    count = len(_GROUP.findall(low)) + len(_HIATUS.findall(low))
    return max(1, count - bool(_UNSAID.search(low)))


@lru_cache(_CACHED)
def in_dictionary(low: str) -> int | None:
    """Syllables in the dictionary textstat uses (its first pronunciation), or None."""
    found = pronounced().get(low)
    return syllables_of(found) if found else None


@lru_cache(_CACHED)
def textstat_syllables(low: str) -> int:
    """textstat's own count of one word."""
    from textstat.backend.counts import count_syllables  # noqa: PLC0415

    hand_over()
    return int(count_syllables.__wrapped__(low, "en_US"))
