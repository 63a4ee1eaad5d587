"""How long a document is, in words and minutes, and on sides of paper where its Word file is at hand."""

from __future__ import annotations

from dataclasses import replace

from consentpack.length.word_file import sides_of
from consentpack.length.words import words_in
from consentpack.model import Length, Limits
from consentpack.tree import Document

NO_LIMITS = Limits()


def what_counts(document: Document, limits: Limits) -> Document:
    """The part of a document that limits are about: all of it, or what is before its annex."""
    if not limits.before_annex:
        return document
    return replace(document, sections=tuple(each for each in document.sections if not each.annex))


def measure(
    document: Document,
    limits: Limits = NO_LIMITS,
    *,
    word_file: bytes | None = None,
    large: bytes | None = None,
) -> Length:
    """The length of a document. `word_file` and `large` hold `what_counts` of it, in two sizes of print."""
    if limits.before_annex and not any(section.annex for section in document.sections):
        limits = NO_LIMITS  # two pages before an annex say nothing of a document without one
    counted = words_in(what_counts(document, limits))
    words = sum(each.words for each in counted)
    sides = sides_of(word_file) if word_file else None
    return Length(
        document.kind,
        document.language,
        words,
        counted,
        sides.sides if sides else None,
        sides.filled if sides else None,
        sides_of(large).sides if large else None,
        annex_words=_words(document) - words if limits.before_annex else 0,
        limits=limits,
    )


def _words(document: Document) -> int:
    return sum(each.words for each in words_in(document))
