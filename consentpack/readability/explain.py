"""A score in words: which part misses its target, and by which sentences."""

from __future__ import annotations

from consentpack.errors import Problem
from consentpack.model import Score, Sentence
from consentpack.readability.scoring import Scorer
from consentpack.tree import Document

SHOWN_WORDS = 4
"""Hard words named beside a sentence."""


def check(scorer: Scorer, document: Document, result: Score) -> list[Problem]:
    """What keeps a document over its target: each part, with its worst sentences. Empty if met."""
    problems = []
    names = {each.id: each for each in result.sections}
    for id in result.over:
        part = f"{document.kind}, “{names[id].heading}”" if id else document.kind
        grade = names[id].grade if id else result.grade
        worst = scorer.worst_sentences(document, 3, id)
        fix = "\n  ".join(described(sentence) for sentence in worst)
        problems.append(Problem(part, f"{_missed(result, grade)}", fix))
    return problems


def _missed(result: Score, grade: float | None) -> str:
    if grade is None or result.target is None:
        return "there are too few words to score."
    said = "reading grade" if result.measure.startswith("Flesch-Kincaid") else result.measure
    return f"the {said} is {grade:.1f}; the target is {result.target.limit:g} ({result.target.who})."


def described(sentence: Sentence) -> str:
    """One hard sentence with its place, grade, length and hard words."""
    hard = ", ".join(f"{each.word} ({each.syllables})" for each in sentence.hard[:SHOWN_WORDS])
    long = f"; long words: {hard}" if hard else ""
    return f"{sentence.source}: grade {sentence.grade:.1f}, {sentence.words} words{long}: {sentence.text}"
