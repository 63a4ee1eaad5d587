"""Scored texts as a page: each with its sentences marked, its words explained, and side by side."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import groupby
from pathlib import Path

from consentpack.export.text_report import MarkedSentence, TextPage, text_report
from consentpack.files import write_file
from consentpack.library import Library
from consentpack.model import ReadingTarget, Term
from consentpack.pipeline.place import scorer_of
from consentpack.pipeline.reading import ReadFile
from consentpack.readability import SHORTEST_NAMED, Piece, Scorer, parts

_WORD = re.compile(r"([\w']+)")
NOBODY = "–"


def write_text_page(
    found: Iterable[ReadFile], path: Path, library: Library, *, before: ReadFile | None = None
) -> None:
    """Write the page of some texts, and of one as it was. Raises OutputError when it cannot be written."""
    pages = [_page(each, library) for each in found]
    if before:
        pages.insert(0, _page(before, library, before=True))
    write_file(path, text_report(pages))


def _page(each: ReadFile, library: Library, *, before: bool = False) -> TextPage:
    scorer = scorer_of(library)
    title = "" if each.document.title == Path(each.name).stem else each.document.title
    return TextPage(
        each.name,
        title,
        each.document.language,
        each.score,
        each.length,
        each.ease,
        each.layout,
        each.remarks,
        each.mended,
        tuple(_parts(each, scorer)),
        tuple(_words(each, library.terms)),
        before,
    )


def _parts(each: ReadFile, scorer: Scorer) -> Iterator[tuple[str, tuple[tuple[MarkedSentence, ...], ...]]]:
    pieces = scorer.pieces(each.document)
    rare = {word.word for word in each.ease.rare} if each.ease else set()
    target = each.score.target
    for id, heading, _ in parts(each.document):
        own = (piece for piece in pieces if piece.part == id)
        paragraphs = groupby(own, key=lambda piece: piece.source)
        yield (
            heading,
            tuple(
                tuple(_marked(piece, scorer, each.document.language, rare, target) for piece in some)
                for _, some in paragraphs
            ),
        )


def _marked(
    piece: Piece, scorer: Scorer, language: str, rare: set[str], target: ReadingTarget | None
) -> MarkedSentence:
    value = scorer.value(piece, language)
    hard = target is not None and piece.counts.words >= SHORTEST_NAMED and not target.met(value)
    cut = [(part, part.lower().removesuffix("'s") in rare) for part in _WORD.split(piece.text) if part]
    return MarkedSentence(tuple(cut), value, hard)


def _words(each: ReadFile, terms: Iterable[Term]) -> Iterator[tuple[str, str, str]]:
    """The glossary's terms that stand in a text, then its rare words without one. English alone has both."""
    if not each.ease:
        return
    text = each.text.lower()
    for term in terms:
        if term.stands_in(text):
            yield term.clinical, term.plain, term.explain
    for word in each.ease.rare:
        if not word.plain:
            yield word.word, NOBODY, f"Rare: {word.zipf:.1f} on the Zipf scale. Nothing explains it."
