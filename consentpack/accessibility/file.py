"""A Word file as the rules see it: paragraphs, runs and tables, each with a place a person can find."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from consentpack.accessibility.colours import Theme
from consentpack.accessibility.looks import Layers, Looks, TableLook, find, value
from consentpack.accessibility.package import Package, open_package
from consentpack.accessibility.runs import Run, runs_in
from consentpack.readers.ooxml import W, blocks, kind, shown, words

_STORIES = ("header", "footer", "footnotes", "endnotes")
_NAMES = {"footnotes": "footnote", "endnotes": "endnote"}


@dataclass
class Table:
    """A table; `number` counts those of the whole document."""

    element: Any
    part: str
    number: int
    nested: bool

    @cached_property
    def rows(self) -> list[list[Any]]:
        """The cells of each row."""
        rows = [row for row in blocks(self.element) if kind(row) == "tr"]
        return [[cell for cell in blocks(row) if kind(cell) == "tc"] for row in rows]

    @property
    def row_elements(self) -> list[Any]:
        return [row for row in blocks(self.element) if kind(row) == "tr"]

    @property
    def where(self) -> str:
        said = snippet(" ".join(filter(None, (text_of(cell) for row in self.rows for cell in row))))
        return f"{self.part}table {self.number}{said}"


@dataclass(frozen=True)
class Cell:
    """Where in a table a paragraph stands; row and column counted from 0."""

    table: Table
    element: Any
    row: int
    column: int
    look: TableLook

    def layers(self, properties: str) -> Layers:
        rows = self.table.rows
        return self.look.layers(properties, self.row, self.column, len(rows), len(rows[self.row]))


@dataclass
class Paragraph:
    """One paragraph, blank ones too."""

    element: Any
    file: WordFile
    part: str
    """'' for the text itself; 'header, ' and such for the others."""
    source: str
    """The name of the part in the file."""
    number: int
    """Counted without blank ones, in its part and outside tables."""
    cell: Cell | None = None
    boxed: bool = False
    """In a text box."""

    @cached_property
    def text(self) -> str:
        """What it says; where it says nothing yet, what asks for words ('Type your name')."""
        said = words(self.element)
        return said if said.strip() else "".join(run.text for run in self.runs)

    @property
    def blank(self) -> bool:
        return not self.text.strip() and not self.holds("drawing", "pict", "object", "oMath", "oMathPara")

    def holds(self, *names: str) -> bool:
        return any(kind(each) in names for each in self.element.iter())

    @property
    def runs_along(self) -> bool:
        """Whether it stands in a header or footer."""
        return self.part.startswith(("header", "footer"))

    @property
    def where(self) -> str:
        if self.cell:
            here = f"table {self.cell.table.number}, row {self.cell.row + 1}, cell {self.cell.column + 1}"
        else:
            here = f"after paragraph {self.number}" if self.blank else f"paragraph {self.number}"
        return f"{self.part}{'text box by ' if self.boxed else ''}{here}{snippet(self.text)}"

    @property
    def style(self) -> str:
        return value(find(self._direct, "pStyle"))

    @property
    def _direct(self) -> Layers:
        return tuple(self.element.findall(f"{W}pPr"))

    @cached_property
    def layers(self) -> Layers:
        """What says how the paragraph looks, nearest first."""
        looks = self.file.looks
        table = self.cell.layers("pPr") if self.cell else ()
        return (*self._direct, *looks.layers(self.style, "pPr"), *table, *looks.paragraph_defaults)

    @cached_property
    def level(self) -> int:
        """1 to 9 for a heading, 0 for none."""
        said = value(find(self.layers, "outlineLvl"))
        if said:
            return int(said) + 1 if said.isdecimal() and int(said) < 9 else 0
        named = re.fullmatch(r"heading ([1-9])", self.file.looks.name(self.style))
        return int(named[1]) if named else 0

    @property
    def is_title(self) -> bool:
        return self.file.looks.name(self.style) == "title"

    @property
    def listed(self) -> bool:
        """Whether it is a point of a real list."""
        numbering = find(self.layers, "numPr")
        return numbering is not None and value(find((numbering,), "numId")) not in ("", "0")

    @cached_property
    def runs(self) -> list[Run]:
        """The runs that show words, links known."""
        return list(runs_in(self.element, self.file.package.links(self.source), self.run_layers))

    def run_layers(self, run: Any) -> Layers:
        looks, own = self.file.looks, tuple(run.findall(f"{W}rPr"))
        style = value(find(own, "rStyle"))
        named = looks.layers(style, "rPr", "character") if style else ()
        table = self.cell.layers("rPr") if self.cell else ()
        return (*own, *named, *looks.layers(self.style, "rPr"), *table, *looks.run_defaults)


def snippet(text: str, most: int = 45) -> str:
    """' “first words…”', or nothing."""
    text = " ".join(text.split())
    return f" “{text if len(text) <= most else text[:most].rstrip() + '…'}”" if text else ""


def text_of(holder: Any) -> str:
    """The words of everything inside a cell or other holder."""
    return " ".join(filter(None, (words(p).strip() for p in holder.iter(f"{W}p"))))


@dataclass
class WordFile:
    """One file, taken apart once for all rules."""

    package: Package
    least_size: float = 12
    """Points that text must have at least."""
    tables: list[Table] = field(default_factory=list)

    @cached_property
    def looks(self) -> Looks:
        return Looks(self.package.first("styles"))

    @cached_property
    def theme(self) -> Theme:
        return Theme(self.package.first("theme"))

    @property
    def settings(self) -> Layers:
        found = self.package.first("settings")
        return () if found is None else (found,)

    @cached_property
    def stories(self) -> list[tuple[str, str, Any]]:
        """The text itself (''), then headers, footers and notes: what each is called, the name of its
        part, and the element that holds it."""
        package = self.package
        found = [("", package.main, package.xml(package.main).find(f"{W}body"))]
        for story in _STORIES:
            for name in package.related(package.main, story):
                root = package.xml(name)
                notes = root.findall(f"{W}{_NAMES.get(story, '')}") if story in _NAMES else [root]
                called = f"{_NAMES.get(story, story)}, "
                found += [(called, name, note) for note in notes if not value(note, "type")]
        return found

    @cached_property
    def paragraphs(self) -> list[Paragraph]:
        found: list[Paragraph] = []
        for part, source, holder in self.stories:
            found += _Walk(self, part, source).paragraphs(holder)
        return found

    @property
    def body(self) -> list[Paragraph]:
        """The paragraphs of the text itself."""
        return [p for p in self.paragraphs if not p.part]

    @property
    def told(self) -> list[Paragraph]:
        """The paragraphs with words."""
        return [p for p in self.paragraphs if p.text.strip()]


@dataclass
class _Walk:
    """Goes through one story and counts."""

    file: WordFile
    part: str
    source: str
    number: int = 0

    def paragraphs(self, holder: Any, cell: Cell | None = None, boxed: bool = False) -> Iterator[Paragraph]:
        for block in blocks(holder):
            if kind(block) == "tbl":
                yield from self._table(block, nested=cell is not None)
            elif kind(block) == "p":
                found = Paragraph(block, self.file, self.part, self.source, self.number, cell, boxed)
                if not found.blank and cell is None and not boxed:
                    self.number += 1
                    found.number = self.number
                yield found
                for box in shown(block):
                    if kind(box) == "txbxContent":
                        yield from self.paragraphs(box, cell, boxed=True)

    def _table(self, element: Any, nested: bool) -> Iterator[Paragraph]:
        table = Table(element, self.part, len(self.file.tables) + 1, nested)
        self.file.tables.append(table)
        look = TableLook(self.file.looks, element)
        for row, cells in enumerate(table.rows):
            for column, cell in enumerate(cells):
                yield from self.paragraphs(cell, Cell(table, cell, row, column, look))


def open_file(path: Path, *, shown: str = "", least_size: float = 12) -> WordFile:
    """Raises ReadError when the file is not there, is of another kind, or cannot be read."""
    file = WordFile(open_package(path, shown or path.name), least_size)
    _ = file.paragraphs  # so that the tables are known
    return file
