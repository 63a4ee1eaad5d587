"""The sentences of a document with what a rule has to know about each: place, list, instruction."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from consentpack.readability import parts, prepare, split, words_of
from consentpack.tree import (
    Box,
    Choice,
    Document,
    Heading,
    Items,
    Node,
    Paragraph,
    bodies,
    paragraphs,
    text_of,
)

_INSTRUCTING = re.compile(
    r"\b(tonight|tomorrow|first (week|day|night)|later|after the first week|what (you need )?to do|do this"
    r"|after\s?care|looking after|caring for|instructions?|advice|how to)\b|: do$",
    re.IGNORECASE,
)
"""Headings under which a text tells somebody what to do."""
_GIVES_VERB = re.compile(
    r"\b(?:avoid|do not|don't|when to|signs?|symptoms?|watch for|look out for|ring|call|tell us"
    r"|may (?:feel|see)|contain\w*|bring|side effects?|risks?)\b",
    re.IGNORECASE,
)
"""Headings whose list needs no verbs of its own: 'Avoid', 'When to ring us'."""
_LEADS_ON = re.compile(r"^(?!.*\bdo (?:this|these|the following)\b).*:\s*$", re.IGNORECASE)


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
    """Whether it is a point in a list of things to do."""
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
        if not paragraph.scored:
            continue
        text = prepare(text_of(paragraph.runs))
        found.append((str(paragraph.source), text, len(words_of(text)), len(split(text))))
    return Listing(str(items.items[0].source), items.numbered, tuple(found))


def _part(id: str, heading: str, nodes: tuple[Node, ...]) -> Iterator[Passage]:
    led = False  # whether the words before a list begin its sentences: 'Ring us if you have:'
    for node in nodes:
        inner = f"{heading}: {node.title}" if isinstance(node, Box) else heading
        for body in bodies(node):
            if isinstance(body, Heading):
                heading = inner = text_of(body.runs)
            in_list = isinstance(body, Items)
            telling = bool(_INSTRUCTING.search(inner)) and not _GIVES_VERB.search(inner) and not led
            found = body.items if isinstance(body, Items) else tuple(paragraphs(body))
            for paragraph in found:
                if paragraph.scored and not isinstance(body, Choice):
                    yield from _sentences(paragraph, id, inner, in_list, telling and in_list)
            led = not in_list and bool(found) and bool(_LEADS_ON.search(text_of(found[-1].runs)))


def _sentences(
    paragraph: Paragraph, id: str, heading: str, in_list: bool, telling: bool
) -> Iterator[Passage]:
    for number, sentence in enumerate(split(prepare(text_of(paragraph.runs)))):
        yield Passage(sentence, str(paragraph.source), id, heading, in_list, telling, number == 0)
