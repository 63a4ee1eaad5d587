"""How hard a document is to read, by published measures, on the very words that are exported.

`prepare` text -> sentences -> `syllables` and `counts` -> `formulas` -> `scoring` -> `explain`.
"""

from consentpack.readability.ease import ease_of, has_ease, rare_in
from consentpack.readability.explain import check, described
from consentpack.readability.measures import MEASURES, measures_for
from consentpack.readability.prepare import prepare, split, words_of
from consentpack.readability.scoring import (
    FEWEST_WORDS,
    SHORTEST_NAMED,
    Piece,
    Scorer,
    parts,
    scored_paragraphs,
    scored_text,
)
from consentpack.readability.targets import target_for
from consentpack.readability.textstats_own import textstat_grade
from consentpack.signs import root

__all__ = [
    "FEWEST_WORDS",
    "MEASURES",
    "SHORTEST_NAMED",
    "Piece",
    "Scorer",
    "check",
    "described",
    "ease_of",
    "has_ease",
    "measures_for",
    "parts",
    "prepare",
    "rare_in",
    "root",
    "scored_paragraphs",
    "scored_text",
    "split",
    "target_for",
    "textstat_grade",
    "words_of",
]
