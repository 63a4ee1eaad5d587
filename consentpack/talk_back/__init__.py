"""Talk-back: questions made from a plan's own papers, each with the place where its answer stands.

It asks whether we explained well, and is no exam: see `docs/why/understanding.md`.
"""

from consentpack.talk_back.asking import Asked, questions
from consentpack.talk_back.question import MARKS, MOST, QUESTIONS, Place, Question, as_json, from_json
from consentpack.talk_back.shorter import like, shorter
from consentpack.talk_back.tags import AT_NIGHT, CHOICES, NO_FIGURE, choice, outcome, planned

__all__ = [
    "AT_NIGHT",
    "CHOICES",
    "MARKS",
    "MOST",
    "NO_FIGURE",
    "QUESTIONS",
    "Asked",
    "Place",
    "Question",
    "as_json",
    "choice",
    "from_json",
    "like",
    "outcome",
    "planned",
    "questions",
    "shorter",
]
