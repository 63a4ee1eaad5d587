"""What a PDF says, set beside the tree it was made from: an office program may lose a row without a word."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from consentpack.direction import has_right_to_left
from consentpack.tree import Document, Fields, Node, bodies, texts

_ALONE = "\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3040-\u30ff\u3400-\u9fff\uac00-\ud7ff"
"""Signs of scripts without spaces between words: each is counted by itself."""
_LEFTWARD = "\u0590-\u08ff"
_WORD = re.compile(f"[{_ALONE}]|(?:(?=[{_LEFTWARD}])[^\\W\\d_])+|\\d+|[^\\W\\d_{_ALONE}{_LEFTWARD}]+")
_BROKEN = re.compile("[\x02\ufffe]")
"""Stands for a hyphen at the end of a line, and takes the line's end along."""

_LONG = 8
"""Letters of a word that a narrow column may break, and that no other words make by chance."""


@dataclass(frozen=True)
class Piece:
    """Words of a document that stand together, and the heading they stand under."""

    heading: str
    text: str


def lost(document: Document, pages: Iterable[str]) -> list[Piece]:
    """What of a document is not on its pages, each piece once; what is most surely lost first.

    Words are counted, so that a row which says what another says is missed as well. Every word of the tree
    must be there as often as the tree has it; the pages may have more: heads of tables that are repeated.
    """
    pieces = list(pieces_of(document))
    needed = Counter(word for piece in pieces for word in words_of(piece.text))
    said = [word for page in pages for word in words_of(page)]
    drawn = Counter(said)
    missing = _without_glued(needed - drawn, drawn - needed)
    stream = "".join(said)
    broken = {w for w in missing if len(w) >= _LONG and stream.count(w) >= needed[w]}
    left = Counter({word: times for word, times in missing.items() if word not in broken})
    return list(dict.fromkeys(_blamed(pieces, left)))


def page_without_code(document: Document, pages: Iterable[str]) -> int:
    """The number of the first page that lacks the document's code; 0 where none does, or it has no code."""
    code = _solid(document.code)
    return next((number for number, page in enumerate(pages, 1) if code not in _solid(page)), 0)


def _solid(text: str) -> str:
    """Letters and figures alone, however a line ends between them."""
    return "".join(filter(str.isalnum, text))


def _blamed(pieces: list[Piece], missing: Counter[str]) -> Iterator[Piece]:
    """The pieces that missing words belong to: other pieces may have the same words, and be there.

    Whole parts are lost, so that the part of which most is missing is asked first.
    """
    parts: dict[str, list[Piece]] = {}
    found = False
    for piece in pieces:
        parts.setdefault(piece.heading, []).append(piece)
    for part in sorted(parts.values(), key=lambda part: -_share(part, missing)):
        for piece in part:
            words = Counter(words_of(piece.text))
            if words and words <= missing:
                missing, found = missing - words, True
                yield piece
    if missing and not found:
        yield from (piece for piece in pieces if missing.keys() & set(words_of(piece.text)))


def _share(part: list[Piece], missing: Counter[str]) -> float:
    """How much of a part's words is missing, of 1."""
    words = Counter(word for piece in part for word in words_of(piece.text))
    return (words & missing).total() / max(1, words.total())


def _without_glued(missing: Counter[str], more: Counter[str]) -> Counter[str]:
    """What is missing, less the words that a PDF's reader joined: one ended a line, one began the next."""
    left = Counter(missing)
    for glued, times in more.items():
        for word in [w for w in left if w in glued]:
            left[word] -= times
    return +left


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page of a PDF."""
    from pypdfium2 import PdfDocument  # noqa: PLC0415 - only `build --pdf` needs it

    with PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_range() for page in document]


def words_of(text: str) -> Iterator[str]:
    """Words as they can be compared, whatever is drawn above, below or joined in them.

    Of a word from right to left only its letters count: a PDF keeps the order in which they are drawn. One
    with marks is left out, because it may be drawn in parts.
    """
    for raw in _BROKEN.sub(" ", unicodedata.normalize("NFKC", text)).split():
        if has_right_to_left(raw) and any(map(unicodedata.combining, unicodedata.normalize("NFKD", raw))):
            continue
        plain = "".join(c for c in unicodedata.normalize("NFKD", raw) if not unicodedata.combining(c))
        for word in _WORD.findall(plain):
            yield "".join(sorted(word)) if has_right_to_left(word) else word


def pieces_of(document: Document) -> Iterator[Piece]:
    """All words that a Word file shows, in reading order; pictures have none."""
    for text in (document.title, document.notice):
        yield Piece(document.title, text)
    for node in document.lead:
        yield from (Piece(document.title, text) for text in _texts(node))
    for section in document.sections:
        yield Piece(section.heading, section.heading)
        for node in section.nodes:
            yield from (Piece(section.heading, text) for text in _texts(node))


def _texts(node: Node) -> Iterator[str]:
    """The words of a node, and what stands beside its lines to write on."""
    yield from texts(node)
    for body in bodies(node):
        if isinstance(body, Fields):
            yield from (line.label for line in body.lines)
