"""Which published measure fits which language. A language that is not here has none, and gets none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from consentpack.readability import formulas
from consentpack.readability.counts import Counts
from consentpack.signs import root

SMOG_SENTENCES = 30
"""SMOG was made on 30 sentences; from fewer it is no SMOG (McLaughlin 1969)."""


@dataclass(frozen=True)
class Measure:
    """One published measure."""

    id: str
    name: str
    language: str
    """The language its constants were fitted on."""
    formula: Callable[[Counts], float]
    source: str
    high_is_hard: bool = True
    grade: Callable[[Counts], float] | None = None
    """Its result as a US grade, for measures that can be compared; None where there is none."""
    fewest_sentences: int = 1

    def of(self, counts: Counts) -> float | None:
        """Its value; None when there is too little text for it."""
        if not counts.words or counts.sentences < self.fewest_sentences:
            return None
        return self.formula(counts)


def _ease(id: str, name: str, language: str, formula: Callable[[Counts], float], source: str) -> Measure:
    """A measure whose high values are easy."""
    return Measure(id, name, language, formula, source, high_is_hard=False)


def _grade(id: str, name: str, formula: Callable[[Counts], float], source: str, fewest: int = 1) -> Measure:
    return Measure(id, name, "en", formula, source, grade=formula, fewest_sentences=fewest)


MEASURES: tuple[Measure, ...] = (
    _grade("flesch-kincaid", "Flesch-Kincaid grade", formulas.flesch_kincaid, "Kincaid et al. 1975"),
    _grade("smog", "SMOG", formulas.smog, "McLaughlin 1969", SMOG_SENTENCES),
    _grade("fog", "Gunning Fog", formulas.fog, "Gunning 1952"),
    _grade("coleman-liau", "Coleman-Liau", formulas.coleman_liau, "Coleman and Liau 1975"),
    _grade("ari", "ARI", formulas.ari, "Smith and Senter 1967"),
    Measure(
        "dale-chall", "Dale-Chall", "en", formulas.dale_chall, "Dale and Chall 1948",
        grade=formulas.dale_chall_grade,
    ),
    _ease("szigriszt", "INFLESZ (Szigriszt-Pazos)", "es", formulas.szigriszt, "Szigriszt-Pazos 1993"),
    _ease("fernandez-huerta", "Fernández Huerta", "es", formulas.fernandez_huerta, "Fernández Huerta 1959"),
    _ease("kandel-moles", "Kandel-Moles", "fr", formulas.kandel_moles, "Kandel and Moles 1958"),
    _ease("amstad", "Flesch-Amstad", "de", formulas.amstad, "Amstad 1978"),
    Measure("vienna-1", "Wiener Sachtextformel 1", "de", formulas.vienna_1, "Bamberger and Vanecek 1984"),
    _ease("gulpease", "Gulpease", "it", formulas.gulpease, "Lucisano and Piemontese 1988"),
    _ease("douma", "Flesch-Douma", "nl", formulas.douma, "Douma 1960 (from memory)"),
    _ease("martins", "Flesch for Portuguese", "pt", formulas.martins, "Martins et al. 1996"),
    Measure("pisarek", "Pisarek", "pl", formulas.pisarek, "Pisarek 1969 (form from memory)"),
    *(
        Measure("lix", "LIX", language, formulas.lix, "Björnsson 1968 (from memory)")
        for language in ("sv", "da", "nb")
    ),
)  # fmt: skip
"""The first of a language is the one its documents are judged by."""


@lru_cache(256)
def measures_for(language: str) -> tuple[Measure, ...]:
    """The measures that fit a language tag, the deciding one first; none where none was made.

    textstat takes 'en-GB' for no English at all and 'de-DE' for English, so no tag ever reaches it.
    """
    return tuple(measure for measure in MEASURES if measure.language == root(language))


def measure(id: str) -> Measure:
    """A measure by id."""
    return next(each for each in MEASURES if each.id == id)
