"""Sections from a stream of headings, paragraphs and list items, and what of them is no prose."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from consentpack.errors import Problem, ReadError
from consentpack.tree import Items, Node, Paragraph, Run, Section, Source

_CONTACT = re.compile(r"\+?\d[\d ()-]{7,}\d|\S+@\S+\.\S+|\bhttps?://|\bwww\.", re.IGNORECASE)
_LABEL = re.compile(r"^[^.!?]{1,40}:\s*$")
_SIGN = re.compile(
    r"_{3,}|\.{5,}|…{2,}|^\W*(?:signed|signature|print name|name|date|witness)\b[^.!?]{0,40}$", re.IGNORECASE
)
_UNSCORED_HEADING = re.compile(
    r"^\W*(?:references?|sources?|bibliography|contacts?( details)?)\W*$", re.IGNORECASE
)
_MOSTLY = 8
"""A line with a number to ring and no more words than this is an address block, not a sentence."""


@dataclass
class Builder:
    """Collects a document's parts in order."""

    file: str
    title: str = ""
    _sections: list[tuple[str, list[Node]]] = field(default_factory=list)
    _items: list[Paragraph] = field(default_factory=list)

    def heading(self, text: str) -> None:
        self._flush()
        if text.strip():
            self.title = self.title or text.strip()
            self._sections.append((text.strip(), []))

    def paragraph(self, text: str, source: Source) -> None:
        self._flush()
        if text.strip():
            self._nodes().append(self._made(text, source))

    def item(self, text: str, source: Source) -> None:
        """A list item; items that follow one another are one list."""
        if text.strip():
            self._items.append(self._made(text, source))

    def sections(self) -> tuple[Section, ...]:
        """What was collected. Raises ReadError when there is no text."""
        self._flush()
        found = tuple(
            Section(f"part-{number}", heading or "(no heading)", tuple(nodes))
            for number, (heading, nodes) in enumerate(self._sections, 1)
        )
        if not any(section.nodes for section in found):
            raise ReadError(Problem(self.file, "there is no text in this file."))
        return found

    def _nodes(self) -> list[Node]:
        if not self._sections:
            self._sections.append(("", []))
        return self._sections[-1][1]

    def _flush(self) -> None:
        if self._items:
            self._nodes().append(Items(tuple(self._items)))
            self._items = []

    def _made(self, text: str, source: Source) -> Paragraph:
        heading = self._sections[-1][0] if self._sections else ""
        text = " ".join(text.split())
        return Paragraph((Run(text),), source, scored=is_prose(text, heading))


def is_prose(text: str, heading: str = "") -> bool:
    """Whether a paragraph is running text, and no contact block, line to sign, label or reference."""
    if _UNSCORED_HEADING.match(heading) or _LABEL.match(text) or _SIGN.search(text):
        return False
    return not (_CONTACT.search(text) and len(text.split()) <= _MOSTLY + len(_CONTACT.findall(text)))
