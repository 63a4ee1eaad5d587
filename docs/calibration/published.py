"""Printed values with their text or counts, and what we make of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from calibration.passages import passages, scorer
from consentpack.readability import formulas
from consentpack.readability.counts import Counts

Formula = Callable[[Counts], float]


@dataclass(frozen=True)
class Printed:
    """One value that somebody printed."""

    what: str
    measure: str
    formula: Formula
    counts: Counts
    printed: float
    who: str
    why: str = ""
    """Why ours differs, where it does."""

    @property
    def ours(self) -> float:
        return self.formula(self.counts)


def _counts(text: str) -> Counts:
    return scorer().counts(text)


_PLATYPUS = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."
_POINT = "This sentence, taken as a reading passage unto itself, is being used to prove a point."
_CAT = "The cat sat on the mat."
_SECOND_HAND = "encyclopaedia article, second hand"
_BEGINNERS = Counts(sentences=1000, words=5700, syllables=5814)
_SMOG_WHY = "the hand form rounds to the next square; the formula's own error is 1.5 grades"


def printed() -> list[Printed]:
    """Every printed value that we could find with its text or its counts."""
    cat, platypus, point = map(_counts, (_CAT, _PLATYPUS, _POINT))
    return [
        Printed("“The cat sat on the mat.”", "Flesch", formulas.flesch, cat, 116, _SECOND_HAND),
        Printed("the same", "Flesch-Kincaid", formulas.flesch_kincaid, cat, -1.45, _SECOND_HAND),
        Printed("“The Australian platypus …”", "Flesch", formulas.flesch, platypus, 37.5, _SECOND_HAND),
        Printed("the same", "Flesch-Kincaid", formulas.flesch_kincaid, platypus, 11.3, _SECOND_HAND),
        Printed("“This sentence, taken as …”", "Flesch", formulas.flesch, point, 69, _SECOND_HAND),
        Printed("a book for beginners: 5.7 words a sentence, 1.02 syllables a word", "Flesch-Kincaid",
                formulas.flesch_kincaid, _BEGINNERS, -1.3, _SECOND_HAND),
        Printed("639 letters, 119 words, 5 sentences", "Coleman-Liau", formulas.coleman_liau,
                Counts(sentences=5, words=119, letters=639), 14.5, "Coleman and Liau 1975, second hand"),
        Printed("95 long words in 30 sentences", "SMOG", formulas.smog,
                Counts(sentences=30, words=1, polysyllables=95), 13, "McLaughlin 1969", _SMOG_WHY),
        Printed("110 long words in 30 sentences", "SMOG", formulas.smog,
                Counts(sentences=30, words=1, polysyllables=110), 13, "McLaughlin 1969", _SMOG_WHY),
        *_gettysburg(),
    ]  # fmt: skip


def _gettysburg() -> list[Printed]:
    name, counts = "Gettysburg Address, 1863", passages()[0].counts
    other = "another rule for syllables"
    return [
        Printed(name, "Flesch", formulas.flesch, counts, 65, "an office program, in a blog; second hand",
                "not known: it counted 271 words, and two syllables fewer would give 65"),
        Printed(name, "Flesch-Kincaid", formulas.flesch_kincaid, counts, 11,
                "a newspaper, in a blog; second hand"),
        Printed(name, "Flesch-Kincaid", formulas.flesch_kincaid, counts, 10.2,
                "a text-counting program, in a blog; second hand", other),
        Printed(name, "Flesch", formulas.flesch, counts, 70.4, "the same program", other),
    ]  # fmt: skip


_A = Counts(
    sentences=8, words=100, syllables=150, textstat_syllables=150, polysyllables=15, complex_words=15,
    letters=450, characters=460, unlisted=10,
)  # fmt: skip
_A_200 = Counts(sentences=8, words=100, syllables=200, letters=450)
_GERMAN = Counts(sentences=8, words=100, polysyllables=20, long_words=30, one_syllable=50)

WORKED: tuple[tuple[str, Formula, Counts, float], ...] = (
    ("Flesch", formulas.flesch, _A, 67.2475),
    ("Flesch-Kincaid", formulas.flesch_kincaid, _A, 6.985),
    ("SMOG", formulas.smog, _A, 10.9516),
    ("Gunning Fog", formulas.fog, _A, 11.0),
    ("Coleman-Liau", formulas.coleman_liau, _A, 8.292),
    ("ARI", formulas.ari, _A, 6.486),
    ("Dale-Chall, 10 hard words", formulas.dale_chall, _A, 5.8355),
    ("Dale-Chall, 4 hard words", formulas.dale_chall, Counts(sentences=8, words=100, unlisted=4), 1.2516),
    ("Fernández Huerta (Spanish)", formulas.fernandez_huerta, _A_200, 74.09),
    ("Szigriszt-Pazos (Spanish)", formulas.szigriszt, _A_200, 69.735),
    ("Gulpease (Italian)", formulas.gulpease, _A, 68.0),
    ("Kandel-Moles (French)", formulas.kandel_moles, _A_200, 47.1125),
    ("Flesch for Portuguese", formulas.martins, _A_200, 66.9475),
    ("Amstad (German)", formulas.amstad, Counts(sentences=8, words=100, syllables=180), 62.2),
    ("Wiener Sachtextformel 1 (German)", formulas.vienna_1, _GERMAN, 7.341),
)
"""Worked out on paper from the definitions, for 100 words in 8 sentences, to four places."""
