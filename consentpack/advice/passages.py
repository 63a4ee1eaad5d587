"""The sentences of a document with what a rule has to know about each: place, list, instruction."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from consentpack.readability import parts, prepare, split, words_of
from consentpack.tree import Choice, Document, Items, Node, Paragraph, bodies, paragraphs, text_of

_INSTRUCTING = re.compile(
    r"\b(tonight|tomorrow|first (week|day|night)|later|after the first week|what (you need )?to do|do this"
    r"|after\s?care|looking after|instructions?|advice|when to|how to)\b|: (do|avoid)$",
    re.IGNORECASE,
)
"""Headings under which a text tells somebody what to do."""
_TOLD = re.compile(r"\byou (?:must|should|need to|have to|ought to)\b|^(?:please|do not|don't|never)\b", re.I)


@dataclass(frozen=True)
class Passage:
    """One sentence in its place."""

    text: str
    """As prepared for scoring."""
    source: str
    part: str
    heading: str
    in_list: bool
    instructs: bool
    first: bool
    """Whether it is the first sentence of its paragraph or list item."""


@dataclass(frozen=True)
class Listing:
    """A list with the number of its items, and each item's place and length."""

    source: str
    numbered: bool
    """Steps in order: they may be many, one deed each."""
    items: tuple[tuple[str, str, int, int], ...]
    """Source, text, words and sentences of each item."""


def passages(document: Document) -> list[Passage]:
    """Every scored sentence of a document."""
    return [passage for id, heading, nodes in parts(document) for passage in _part(id, heading, nodes)]


def listings(document: Document) -> Iterator[Listing]:
    """Every list of a document that a patient reads as one."""
    for _, _, nodes in parts(document):
        for node in nodes:
            for body in bodies(node):
                if isinstance(body, Items) and body.items:
                    yield _listing(body)


def _listing(items: Items) -> Listing:
    found = []
    for paragraph in items.items:
        text = prepare(text_of(paragraph.runs))
        found.append((str(paragraph.source), text, len(words_of(text)), len(split(text))))
    return Listing(str(items.items[0].source), items.numbered, tuple(found))


def _part(id: str, heading: str, nodes: tuple[Node, ...]) -> Iterator[Passage]:
    telling = bool(_INSTRUCTING.search(heading))
    for node in nodes:
        for body in bodies(node):
            in_list = isinstance(body, Items)
            found = body.items if isinstance(body, Items) else paragraphs(body)
            for paragraph in found:
                if paragraph.scored and not isinstance(body, Choice):
                    yield from _sentences(paragraph, id, heading, in_list, telling)


def _sentences(
    paragraph: Paragraph, id: str, heading: str, in_list: bool, telling: bool
) -> Iterator[Passage]:
    for number, sentence in enumerate(split(prepare(text_of(paragraph.runs)))):
        instructs = (telling and in_list) or bool(_TOLD.search(sentence))
        source = str(paragraph.source)
        yield Passage(sentence, source, id, heading, in_list, instructs, number == 0)
