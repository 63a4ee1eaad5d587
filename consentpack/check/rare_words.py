"""Rare words that nothing explains: in each text that a patient reads, once each."""

from __future__ import annotations

from collections.abc import Iterator

from consentpack.check.sample import module_document
from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.model import DocumentPlan, RareWord
from consentpack.readability import Scorer, rare_in

FIX = "Use an everyday word, put it into glossary.toml, or list it in familiarity.toml with a reason."


def rare_unexplained(library: Library, scorer: Scorer) -> Iterator[tuple[str, RareWord]]:
    """The file and each rare word of it that is neither a term of the glossary nor on the list of those that
    may stand."""
    for folder, module in library.modules():
        if isinstance(module, DocumentPlan) and module.audience == "clinician":
            continue
        pieces = scorer.pieces(module_document(folder, module, library))
        for word in rare_in(pieces, library.ease, library.terms):
            if not word.plain:
                yield module.file, word


def check_rare_words(library: Library, scorer: Scorer) -> list[Problem]:
    """What an editor should look at. A rare word is no mistake, so this stops nothing."""
    return [
        Problem(word.source, f"“{word.word}” is a rare word ({word.zipf:.1f}) and nothing explains it.", FIX)
        for _, word in rare_unexplained(library, scorer)
    ]
