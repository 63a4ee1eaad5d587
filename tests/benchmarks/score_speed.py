"""How long scoring the whole library takes, beside textstat alone on the very same strings.

    python tests/benchmarks/score_speed.py [ROUNDS]

textstat alone: its six English measures of every prepared text we hand it, whole documents and
sections (its Flesch-Kincaid grade only, which is all that a section shows). For other languages: its
Flesch reading ease where it has constants for it. Both in one process, in turn. Ours is the grade with its
measures and, in English, the score beside it.
"""

from __future__ import annotations

import statistics
import sys
import time

from textstat.backend import metrics

from consentpack import shipped
from consentpack.check import module_document
from consentpack.library import load_library
from consentpack.model import ReadingRules, ReadingTarget
from consentpack.pipeline import scorer_of
from consentpack.readability import Scorer, ease_of, has_ease, parts, root, scored_text, target_for
from consentpack.readability.textstats_own import forget
from consentpack.tree import Document, Paragraph, Run, Section

SIX = (
    lambda text: metrics.flesch_kincaid_grade(text, "en_US"),
    lambda text: metrics.smog_index(text, "en_US"),
    lambda text: metrics.gunning_fog(text, "en_US"),
    metrics.coleman_liau_index,
    metrics.automated_readability_index,
    lambda text: metrics.dale_chall_readability_score(text, "en_US"),
)
SYLLABLES = ("scar", "skin", "pad", "wash", "cream", "numb", "press", "rest")
LANGUAGES = ("en-GB", "es", "fr", "de")
"""English as written; the others get the same words, which is enough for timing."""


def documents() -> list[Document]:
    """Every module of the shipped library as a document, in several languages."""
    library = load_library(shipped.content())
    return [
        module_document(folder, module, library, language=language)
        for language in LANGUAGES
        for folder, module in library.modules()
    ]


def scorer() -> Scorer:
    return scorer_of(load_library(shipped.content()))


def target() -> ReadingTarget | None:
    return load_library(shipped.content()).targets["ama"]


def invented(number: int) -> Document:
    """A document of some 800 bytes that no other number gives."""
    words = [f"{SYLLABLES[number * k % 97 % len(SYLLABLES)]}{number * k % 9973}" for k in range(1, 16)]
    text = " ".join(f"We look at {word} and tell you what {number} means." for word in words)
    paragraph = Paragraph((Run(text),))
    return Document("x", "X", "en-GB", "patient", "", "", "", (Section("a", "A", (paragraph,)),))


def textstat_alone(prepared: list[tuple[str, str, tuple[str, ...]]]) -> None:
    for language, whole, sections in prepared:
        if language == "en":
            for measure in SIX:
                measure(whole)
            for section in sections:
                metrics.flesch_kincaid_grade(section, "en_US")
        else:
            metrics.flesch_reading_ease(whole, language)
            for section in sections:
                metrics.flesch_reading_ease(section, language)


def measure(rounds: int) -> tuple[list[float], list[float]]:
    """CPU seconds per round: our scores of every module, and textstat's on the same strings."""
    library = load_library(shipped.content())
    scorer, trees = scorer_of(library), documents()
    prepared = []
    for tree in trees:
        texts = tuple(scored_text(nodes, tree.language) for _, _, nodes in parts(tree))
        prepared.append((root(tree.language), " ".join(filter(None, texts)), tuple(filter(None, texts))))
    ours, alone = [], []
    for _ in range(rounds + 1):
        start = time.process_time()
        for tree in trees:
            pieces = scorer.pieces(tree)
            target = target_for("", tree.language, ReadingRules(), library.targets)
            scorer.score(tree, target, pieces=pieces)
            if has_ease(tree.language):
                ease_of(pieces, library.ease, library.terms)
        middle = time.process_time()
        forget()
        textstat_alone(prepared)
        ours.append(middle - start)
        alone.append(time.process_time() - middle)
    return ours[1:], alone[1:]


def main() -> None:
    ours, alone = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
    for name, times in (("consentpack", ours), ("textstat alone", alone)):
        print(f"{name:16} median {statistics.median(times):6.3f} s, least {min(times):6.3f} s")
    print(f"ratio, median of pairs: {statistics.median(a / b for a, b in zip(ours, alone, strict=True)):.2f}")


if __name__ == "__main__":
    main()
