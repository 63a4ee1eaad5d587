"""The document as a tree: the one thing that is scored, exported and compared.

Two layers. `Block` is a piece of a content file as written, before translation and filling. All the
others are nodes of a finished document; each keeps the `Source` it came from, so that a hard
sentence or a wrong figure can be named by file and line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal, assert_never


@dataclass(frozen=True)
class Source:
    """Where words came from: a content file and line, or the code that phrased them."""

    file: str
    line: int = 0
    module: str = ""

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}" if self.line else self.file


PHRASED = Source("phrases in the program")
STUDIED = Source("content/published_rates.csv")
"""Of a sentence that says whose figure it is: the people are those of a study, not the reader."""
CITED = Source("content/sources.json")
EXPLAINED = Source("content/glossary.toml")


@dataclass(frozen=True)
class Inline:
    """One translatable piece of text as written (one PO message), with its line."""

    text: str
    line: int
    only: str = ""
    """When it belongs, as `conditions` reads it; '' for always. Never printed, never translated."""
    sheet: str | None = None
    """Not None: the short sheet prints it too. The word in its mark, or '': see `library.sheet_marks`."""


@dataclass(frozen=True)
class Block:
    """One block of a content file as written."""

    kind: Literal["heading", "paragraph", "bullets", "numbered", "directive"]
    items: tuple[Inline, ...]
    level: int = 0


@dataclass(frozen=True)
class Run:
    """Words in one style."""

    text: str
    strong: bool = False
    href: str = ""
    language: str = ""
    """Their language tag where it is not the document's, so that the right voice reads them."""
    big: bool = False
    """Drawn large and bold: a number that is looked for in a hurry."""
    to: str = ""
    """The section of the same document that they lead to, by its id: on paper, with its page."""


Runs = tuple[Run, ...]


def text_of(runs: Runs) -> str:
    """The bare words of some runs."""
    return "".join(run.text for run in runs)


@dataclass(frozen=True)
class Heading:
    """A heading inside a section; a section's own heading is on the Section."""

    runs: Runs
    level: int
    source: Source = PHRASED


@dataclass(frozen=True)
class Paragraph:
    """One paragraph. `scored` is False for names, numbers to ring and references."""

    runs: Runs
    source: Source = PHRASED
    scored: bool = True
    tag: str = ""
    """What it states, the same in every language; '' for most."""


@dataclass(frozen=True)
class Items:
    """A bulleted or numbered list; each item is a paragraph."""

    items: tuple[Paragraph, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Pictograph:
    """Marks of one size in a grid, as many filled as people had it out of `total`.

    The numbers stand beside it in words; `alt` says events, denominator and time for who cannot see it.
    """

    marked: int
    total: int
    alt: str
    mirrored: bool = False
    """Filled from the right, as who reads from the right counts."""

    def __post_init__(self) -> None:
        if not 0 <= self.marked <= self.total or self.total not in (100, 1000):
            raise ValueError(f"{self.marked} marks of {self.total}")


@dataclass(frozen=True)
class Choice:
    """An empty tick box with its words. Nothing is ever ticked in advance."""

    runs: Runs
    source: Source = PHRASED
    tag: str = ""
    one_of: bool = False
    """One of several of which one is marked; drawn round."""


Content = Paragraph | Items | Pictograph | Choice


@dataclass(frozen=True)
class Cell:
    """A table cell. `head` marks the cell that names its row."""

    content: tuple[Content, ...]
    head: bool = False
    shaded: bool = False
    """Tinted, for the eye to follow; its words say the same without."""


@dataclass(frozen=True)
class Table:
    """A table with one header row. Rows are never split over a page.

    `widths` are shares of the text width, one per column; they add up to 100.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[int, ...]
    summary: str
    """What the table shows, for people who cannot see it."""
    urgent: bool = False
    """Drawn with a heavy frame: the emergency signs."""
    big_head: bool = False
    """The labels of its columns are drawn large: the number to ring stands there."""
    grid: bool = False
    """A first column and short marks: drawn as columns however large the print."""

    def __post_init__(self) -> None:
        if len(self.widths) != len(self.columns) or sum(self.widths) != 100:
            raise ValueError(f"widths {self.widths} do not fit the columns {self.columns}")
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"a row of {len(row)} cells under {len(self.columns)} columns")


@dataclass(frozen=True)
class Field:
    """A labelled line to fill in by pen or on a tablet."""

    label: str
    kind: Literal["text", "signature", "date", "time"] = "text"
    tag: str = ""
    """What the line is for, the same in every language."""


@dataclass(frozen=True)
class Fields:
    """Lines that belong together, such as one person's signature. Never split over a page."""

    title: str
    lines: tuple[Field, ...]
    statement: Runs = ()
    """What is signed, between the title and the lines; empty when the section has said it."""
    tag: str = ""
    """Whose lines they are, the same in every language."""
    in_row: bool = False
    """Side by side on one line where there is room, as signatures are."""


@dataclass(frozen=True)
class Panel:
    """Figures to be compared at a glance: pictures of one size and one denominator, side by side.

    They stand in groups under their titles. Each cell holds first what it is of, which heads the others: a
    picture, its figure, and how far the true number may lie.
    """

    groups: tuple[tuple[str, tuple[Cell, ...]], ...]
    summary: str
    """What the panel shows, for people who cannot see it."""

    def __post_init__(self) -> None:
        if not self.groups or not all(cells for _, cells in self.groups):
            raise ValueError("a panel, or a group of one, without a picture")

    @property
    def cells(self) -> tuple[Cell, ...]:
        return tuple(cell for _, cells in self.groups for cell in cells)


@dataclass(frozen=True)
class Facts:
    """Labels with values: what is planned, whom to ring. Not scored as prose."""

    pairs: tuple[tuple[str, str], ...]


Body = Heading | Paragraph | Items | Table | Panel | Choice | Fields | Facts


@dataclass(frozen=True)
class Box:
    """A framed group under its own title, told apart by its words and frame, never by colour."""

    title: str
    body: tuple[Body, ...]


Node = Body | Box


@dataclass(frozen=True)
class Section:
    """A part of a document under its own heading (level 2)."""

    id: str
    heading: str
    nodes: tuple[Node, ...]
    source: Source = PHRASED
    keep_together: bool = False
    """True where splitting would do harm: a signature must stay with what is signed."""
    parts: tuple[str, ...] = ()
    """The directives it was built from: what it is, whatever its heading and language."""
    new_side: bool = False
    """Begins a new side of paper."""
    annex: bool = False
    """Whether it stands behind what is to be read and signed, to be looked up."""


PAGE, PAGES = "{page}", "{pages}"
"""Stand in the label `page` for numbers that only a finished page has."""


def page_parts(label: str) -> list[str]:
    """The label `page` taken apart: its words, and PAGE and PAGES where the numbers go."""
    return [part for part in re.split(f"({re.escape(PAGE)}|{re.escape(PAGES)})", label) if part]


@dataclass(frozen=True)
class Document:
    """A finished document in one language."""

    kind: str
    title: str
    language: str
    """A language tag such as 'en-GB'."""
    audience: Literal["patient", "clinician"]
    clinic_name: str
    reference: str
    """The pack reference printed at the foot of each page."""
    issued: str
    sections: tuple[Section, ...]
    notice: str = ""
    """What a reader must know before anything else; '' for nothing."""
    lead: tuple[Node, ...] = ()
    """What stands before the first section heading."""
    rtl: bool = False
    close: bool = False
    """Set in closer lines: a paper of a few sides."""
    draft: tuple[str, ...] = ()
    """Why patients may not have this yet; empty when they may."""
    ring: tuple[tuple[str, str], ...] = ()
    """Whom to ring: a label and a number each, the most urgent first. Pages make links of these alone."""
    labels: dict[str, str] = field(default_factory=dict)
    """Phrases the exporter prints around the body: page footer, draft mark."""
    one_sheet: bool = False
    """Set in the closest lines, to fit on one sheet of paper."""
    code: str = ""
    """By what this paper is found again; '' for a working copy, which was given to nobody."""

    @property
    def foot(self) -> tuple[str, ...]:
        """What the foot of every page says: whose paper, whether it was given, and what it is found by."""
        labels = self.labels
        if self.code:  # without the word before the reference: one line has no room for all
            return (self.reference, labels["version"], labels["given"], self.code)
        return (f"{labels['reference']} {self.reference}", labels["version"], self.issued)


def bodies(node: Node) -> Iterator[Body]:
    """The node itself, or what a box holds."""
    if isinstance(node, Box):
        yield from node.body
    else:
        yield node


def paragraphs(node: Node) -> Iterator[Paragraph]:
    """Every paragraph of running words inside a node, in reading order."""
    for body in bodies(node):
        yield from _paragraphs(body)


def led_to(document: Document) -> tuple[str, ...]:
    """Ids of the sections that words of a document lead to, as they are first named."""
    nodes = (*document.lead, *(node for section in document.sections for node in section.nodes))
    found = (run.to for node in nodes for paragraph in paragraphs(node) for run in paragraph.runs if run.to)
    return tuple(dict.fromkeys(found))


def _paragraphs(body: Body) -> Iterator[Paragraph]:
    match body:
        case Paragraph():
            yield body
        case Items():
            yield from body.items
        case Table() | Panel():
            for content in contents(body):
                if not isinstance(content, Pictograph):
                    yield from _paragraphs(content)
        case Choice():
            yield Paragraph(body.runs, body.source)
        case Fields():
            yield from (Paragraph(body.statement),) if body.statement else ()
        case Heading() | Facts():
            return
        case _:
            assert_never(body)


def contents(table: Table | Panel) -> Iterator[Content]:
    """What stands in the cells of a table, row by row, or of a panel."""
    rows = (table.cells,) if isinstance(table, Panel) else table.rows
    return (content for row in rows for cell in row for content in cell.content)


def texts(node: Node) -> Iterator[str]:
    """Each piece of words of a node in reading order, scored or not. Pictures have none, nor have lines to
    write on: their labels are the `Fields` itself to say."""
    if isinstance(node, Box):
        yield node.title
    for body in bodies(node):
        yield from _texts(body)


def _texts(body: Body) -> Iterator[str]:
    match body:
        case Heading() | Paragraph() | Choice():
            yield text_of(body.runs)
        case Items():
            yield from (text_of(item.runs) for item in body.items)
        case Table():
            yield from body.columns
            yield from _in_cells(contents(body))
        case Panel():
            for title, cells in body.groups:
                yield title
                yield from _in_cells(content for cell in cells for content in cell.content)
        case Fields():
            yield from (body.title, text_of(body.statement))
        case Facts():
            yield from (" ".join(pair) for pair in body.pairs)
        case _:
            assert_never(body)


def _in_cells(some: Iterable[Content]) -> Iterator[str]:
    return (words for each in some if not isinstance(each, Pictograph) for words in _texts(each))
