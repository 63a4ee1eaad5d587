"""Our scores beside those of two other programs, and each difference taken apart by its causes.

A difference is walked step by step: one count of ours is replaced by theirs, then the next, and last
the formula. What one step moves is what its cause is worth. At the end nothing may be left over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from math import sqrt
from typing import Any

from readability import getmeasures
from textstat.backend import counts as theirs

from calibration.passages import Passage, passages, sentences_in
from consentpack.readability import words_of
from consentpack.readability.counts import Counts
from consentpack.readability.formulas import DALE_CHALL_ADDED, DALE_CHALL_FROM
from consentpack.readability.measures import Measure, measures_for
from consentpack.readability.textstats_own import textstat_value

Formula = Callable[[Counts], float]
TEXTSTAT, SECOND = "textstat", "readability"
MEASURES = measures_for("en")


@dataclass(frozen=True)
class Step:
    """One cause: a count of theirs for one of ours, or their formula for ours."""

    cause: str
    count: str = ""
    value: int = 0
    formula: Formula | None = None


@dataclass(frozen=True)
class Moved:
    """What one cause moves a measure by, on one passage."""

    program: str
    measure: str
    cause: str
    by: float


# --- textstat -------------------------------------------------------------------------------------


def _coleman_liau_textstat(c: Counts) -> float:
    return 0.058 * 100 * c.letters / c.words - 0.296 * 100 * c.sentences / c.words - 15.8


def textstat_steps(measure: str, text: str) -> list[Step]:
    """From our counts to textstat's."""
    english = "en_US"
    hard = {n: theirs.count_difficult_words(text, english, n) for n in (0, 3)}
    own: dict[str, list[Step]] = {
        "flesch-kincaid": [
            Step("its syllables of clinical, British and unknown words", "syllables",
                 theirs.count_syllables(text, english))
        ],
        "smog": [
            Step("its syllables; a figure is one syllable", "polysyllables",
                 theirs.count_polysyllable_words(text, english))
        ],
        "fog": [
            Step("names and -ed, -es, -ing count as hard, familiar long words do not", "complex_words",
                 hard[3])
        ],
        "coleman-liau": [
            Step("figures count as letters", "letters", theirs.count_letters(text)),
            Step("0.058 for the published 0.0588", formula=_coleman_liau_textstat),
        ],
        "ari": [Step("marks count as characters", "characters", theirs.count_chars(text, True))],
        "dale-chall": [Step("inflections and figures count as hard words", "unlisted", hard[0])],
    }  # fmt: skip
    short = Step("sentences of one or two words are not counted", "sentences", theirs.count_sentences(text))
    return [*own[measure], short]


# --- the second program ---------------------------------------------------------------------------


@cache
def second(passage: Passage) -> dict[str, Any]:
    """All that the second program says. It wants one sentence a line, its words parted by blanks."""
    lines = (" ".join([*words_of(sentence), "."]) for sentence in sentences_in(passage))
    return dict(getmeasures("\n".join(lines), lang="en", merge=True))


_SECOND_NAMES = {
    "flesch-kincaid": "Kincaid",
    "smog": "SMOGIndex",
    "fog": "GunningFogIndex",
    "coleman-liau": "Coleman-Liau",
    "ari": "ARI",
    "dale-chall": "DaleChallIndex",
}


def _smog_rounded(c: Counts) -> float:
    return sqrt(30 * c.polysyllables / c.sentences) + 3


def _coleman_liau_digits(c: Counts) -> float:
    return 5.879851 * c.letters / c.words - 29.587280 * c.sentences / c.words - 15.800804


def _dale_chall_reversed(c: Counts) -> float:
    percent = 100 * c.unlisted / c.words
    added = 0.0 if percent > DALE_CHALL_FROM else DALE_CHALL_ADDED
    return 0.1579 * percent + 0.0496 * c.words / c.sentences + added


def second_steps(measure: str, found: dict[str, Any]) -> list[Step]:
    """From our counts to the second program's."""
    hard = int(found["complex_words"])
    steps: dict[str, list[Step]] = {
        "flesch-kincaid": [
            Step("its syllables, guessed from letters: none in “the”", "syllables", int(found["syllables"]))
        ],
        "smog": [
            Step("its guessed syllables; words with a capital left out", "polysyllables", hard),
            Step("the hand form of the formula, 3 and a root", formula=_smog_rounded),
        ],
        "fog": [
            Step("its guessed syllables; -ed, -es, -ing not looked at", "complex_words", hard)
        ],
        "coleman-liau": [
            Step("figures and apostrophes count as letters", "letters", int(found["characters"])),
            Step("more digits in the constants", formula=_coleman_liau_digits),
        ],
        "ari": [Step("apostrophes count as characters", "characters", int(found["characters"]))],
        "dale-chall": [
            Step("inflections count as hard words, words with a capital do not", "unlisted",
                 int(found["complex_words_dc"])),
            Step("the constant is added to easy texts, not to hard ones", formula=_dale_chall_reversed),
        ],
    }  # fmt: skip
    return steps[measure]


# --- both -----------------------------------------------------------------------------------------


def value(program: str, measure: Measure, passage: Passage) -> float:
    """A measure as another program gives it."""
    if program == SECOND:
        return float(second(passage)[_SECOND_NAMES[measure.id]])
    found = textstat_value(measure.id, passage.text)
    assert found is not None
    return found


def steps(program: str, measure: str, passage: Passage) -> list[Step]:
    if program == SECOND:
        return second_steps(measure, second(passage))
    return textstat_steps(measure, passage.text)


LEFT_OVER = "left over"


def walk(program: str, measure: Measure, passage: Passage) -> Iterator[Moved]:
    """What each cause moves, and last what no cause explains."""
    counts, formula = passage.counts, measure.formula
    at = formula(counts)
    for step in steps(program, measure.id, passage):
        counts = replace(counts, **{step.count: step.value}) if step.count else counts
        formula = step.formula or formula
        now = formula(counts)
        yield Moved(program, measure.id, step.cause, now - at)
        at = now
    yield Moved(program, measure.id, LEFT_OVER, value(program, measure, passage) - at)


@cache
def all_moved() -> tuple[Moved, ...]:
    """Every cause, on every passage."""
    return tuple(
        moved
        for program in (TEXTSTAT, SECOND)
        for measure in MEASURES
        for passage in passages()
        for moved in walk(program, measure, passage)
    )
