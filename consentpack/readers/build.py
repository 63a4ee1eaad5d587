"""A document's lead and sections from a stream of headings, paragraphs and points of lists."""

from __future__ import annotations

from dataclasses import dataclass, field

from consentpack.errors import Problem, ReadError
from consentpack.readers import prose
from consentpack.tree import Heading, Items, Node, Paragraph, Run, Section, Source

LONGEST_WORD = 120
"""Letters. More in one piece is no word but data that got into the text (a picture as letters, a row of
marks); it counts as one word, and scoring it whole would take minutes."""
_PICTURES = "If its pages are pictures (a scan), type the text or have it recognised first."


@dataclass(frozen=True)
class Parts:
    """What a reader makes of a file: a title if it has one, what leads, and the sections."""

    title: str
    lead: tuple[Node, ...]
    sections: tuple[Section, ...]


@dataclass
class Builder:
    """Collects a document's parts in order."""

    file: str
    _sections: list[tuple[str, Source, list[Node]]] = field(default_factory=list)
    _lead: list[Node] = field(default_factory=list)
    _items: list[Paragraph] = field(default_factory=list)
    _numbered: bool = False

    def heading(self, text: str, source: Source) -> None:
        """A heading; it begins a section."""
        self._flush()
        self._sections.append((_one_line(text), source, []))

    def label(self, text: str, source: Source) -> None:
        """Words that name what stands beside or below them and begin no section: the head of a column."""
        self._flush()
        self._nodes().append(Heading((Run(_one_line(text)),), 3, source))

    def paragraph(self, text: str, source: Source, *, in_row: bool = False) -> None:
        """A paragraph, or a cell. Nothing to read is no paragraph, and ends no list."""
        text = _one_line(text)
        text = prose.without_blanks(text) if self._is_prose(text, in_row=in_row) else text
        if prose.is_label(text):
            return self.label(text, source) if in_row else self.heading(text.rstrip(": "), source)
        self._flush()
        self._nodes().append(self._made(text, source, in_row=in_row))

    def item(self, text: str, source: Source, *, numbered: bool = False) -> None:
        """A point of a list; points that follow one another are one list."""
        if text.strip():
            if numbered != self._numbered:
                self._flush()
            self._numbered = numbered
            self._items.append(self._made(text, source, in_row=True))

    def more(self, text: str, source: Source) -> None:
        """A further paragraph of the last point; a paragraph where there is none."""
        if not self._items:
            return self.paragraph(text, source)
        last = self._items.pop()
        before = last.runs[0].text
        stop = "" if before.endswith((".", "!", "?", ":")) else "."
        self._items.append(self._made(f"{before}{stop} {text}", last.source, in_row=True))

    def unread(self, text: str, source: Source) -> None:
        """Words that stand on the page and are not scored."""
        if text.strip():
            self._flush()
            self._nodes().append(Paragraph((Run(_one_line(text)),), source, scored=False))

    def parts(self) -> Parts:
        """What was collected. Raises ReadError when there is no text."""
        self._flush()
        found = tuple(
            Section(f"part-{number}", heading, tuple(nodes), source)
            for number, (heading, source, nodes) in enumerate(self._sections, 1)
        )
        if not self._lead and not any(section.nodes for section in found):
            raise ReadError(Problem(self.file, "there is no text in this file.", _PICTURES))
        return Parts(found[0].heading if found else "", tuple(self._lead), found)

    def _nodes(self) -> list[Node]:
        return self._sections[-1][2] if self._sections else self._lead

    def _flush(self) -> None:
        if self._items:
            self._nodes().append(Items(tuple(self._items), self._numbered))
            self._items = []

    def _made(self, text: str, source: Source, *, in_row: bool) -> Paragraph:
        scored = self._is_prose(text, in_row=in_row)
        return Paragraph((Run(_one_line(text)),), source, scored)

    def _is_prose(self, text: str, *, in_row: bool) -> bool:
        heading = self._sections[-1][0] if self._sections else ""
        return prose.is_prose(_one_line(text), heading, in_row=in_row)


def _one_line(text: str) -> str:
    return " ".join(word[:LONGEST_WORD] for word in text.split())
