"""Document tree to one HTML file for a phone: nothing fetched, readable without script and without style.

What a reader sees and what a screen reader says are the words of the tree. After the first part of a
patient's page the others are opened with a tap; on paper all are open. Nothing looks as if it could be
filled in unless it is kept: boxes and lines are drawn, for the pen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from importlib import import_module
from importlib.util import find_spec
from itertools import groupby
from typing import TypeVar, assert_never

from consentpack.direction import has_right_to_left, is_rtl
from consentpack.export import Paper
from consentpack.export._html import NOTHING_RINGS, attribute, clean, link, place_here, place_in_page, text
from consentpack.export._page import page
from consentpack.export._ringing import Ringing
from consentpack.export.look import Look
from consentpack.signs import signs_of
from consentpack.tree import (
    CITED,
    PHRASED,
    STUDIED,
    Box,
    Cell,
    Choice,
    Content,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Run,
    Runs,
    Section,
    Source,
    Table,
    led_to,
    text_of,
)


def export_html(document: Document, look: Look | None = None) -> bytes:
    """A document as the bytes of an .html file that needs nothing else."""
    writer = _Writer(
        document.rtl,
        signs_of(document.language).colon.strip("\u00a0 "),
        _drawing(),
        ringing=Ringing(tuple(number for _, number in document.ring)),
        labels=document.labels,
        led=frozenset(led_to(document)),
        folds=document.audience == "patient",
    )
    main = writer.nodes(document.lead, level=2)
    main += [writer.section(section, folded=bool(index)) for index, section in enumerate(document.sections)]
    return page(document, writer.text, main, look or Look())


def write(document: Document, paper: Paper) -> bytes:
    """A document as one of `export.EXPORTERS`. A page looks as the phone that shows it is set."""
    return export_html(document, paper.look)


def _classes(table: Table) -> str:
    """How a table is drawn, for the rules of style."""
    marks = table.grid and any(cell.shaded for row in table.rows for cell in row)
    wanted = (("urgent", table.urgent), ("big-head", table.big_head), ("marks", marks))
    names = " ".join(name for name, holds in wanted if holds)
    return f' class="{names}"' if names else ""


def _drawing() -> Callable[[Pictograph], str] | None:
    """What draws pictographs, where there is such a part."""
    name = "consentpack.export.pictograph"
    return import_module(name).svg if find_spec(name) else None


KEPT_WORDS = ("yes", "no", "kept", "chosen", "clear")
"""What the diary says where it is kept on a phone: names of `Document.labels`."""
_OF_FIGURES = (PHRASED, STUDIED, CITED)
_TICK = '<span class="tick" aria-hidden="true"></span>'
_LINE = '<span class="line" aria-hidden="true"></span>'


@dataclass
class _Writer:
    """Writes nodes as HTML and keeps count of what needs an id of its own."""

    rtl: bool
    colon: str = ":"
    drawing: Callable[[Pictograph], str] | None = None
    counts: dict[str, int] = field(default_factory=dict)
    ringing: Ringing = NOTHING_RINGS
    labels: Mapping[str, str] = field(default_factory=dict)
    led: frozenset[str] = frozenset()
    """Ids of sections that words of the page lead to."""
    folds: bool = False
    """Whether parts after the first are opened with a tap."""
    asks: bool = False
    """Whether the part in hand is the diary."""

    def text(self, words: str) -> str:
        return text(words, rtl=self.rtl, ringing=self.ringing, short=self.ringing.told(words))

    def id(self, kind: str) -> str:
        self.counts[kind] = self.counts.get(kind, 0) + 1
        return f"{kind}-{self.counts[kind]}"

    def section(self, section: Section, *, folded: bool = False) -> str:
        id = self.id("part")
        self.asks = "diary" in section.parts and "answers" in self.labels
        inside = self.nodes(section.nodes, level=3, named_by=id)
        heading = f'<h2 id="{id}">{text(section.heading, rtl=self.rtl)}</h2>'
        if self.asks:
            words = "".join(f" data-{name}={attribute(self.labels[name])}" for name in KEPT_WORDS)
            inside = [f'<div class="diary"{words}>', *inside, "</div>"]
        self.asks = False
        inside = [place_here(section.id), *inside] if section.id in self.led else inside
        kept = (" together" if section.keep_together else "") + (" side" if section.new_side else "")
        if folded and self.folds:
            return "\n".join(
                [f'<details class="part{kept}">', f"<summary>{heading}</summary>", *inside, "</details>"]
            )
        return "\n".join([f'<section class="part{kept}">', heading, *inside, "</section>"])

    def nodes(self, nodes: Iterable[Node], *, level: int, named_by: str = "") -> list[str]:
        """Nodes in order; tick boxes that follow each other are one list. `level` is for a box's title."""
        name = f' aria-labelledby="{named_by}"' if named_by else ""
        return listed(nodes, lambda node: self.node(node, level), name)

    def node(self, node: Node, level: int) -> str:
        match node:
            case Paragraph():
                return self.paragraph(node)
            case Heading():
                return f"<h{node.level}{self.way(node.runs)}>{self.runs(node.runs)}</h{node.level}>"
            case Items():
                return self.items(node)
            case Choice():
                return self.choice(node)
            case Fields():
                return self.fields(node)
            case Facts():
                return self.facts(node)
            case Box():
                return self.box(node, level)
            case Panel():
                return self.panel(node, level)
            case Table():
                return self.table(node)
        assert_never(node)

    def runs(self, runs: Runs, source: Source = PHRASED) -> str:
        """Words of one paragraph. In a phrase of the program a short number may be one of people."""
        short = source not in _OF_FIGURES or self.ringing.told(text_of(runs))
        return "".join(self.run(run, short=short) for run in runs)

    def run(self, run: Run, *, short: bool) -> str:
        rtl = is_rtl(run.language) if run.language else self.rtl
        ringing = NOTHING_RINGS if run.href or run.to else self.ringing
        made = link(text(run.text, rtl=rtl, ringing=ringing, short=short), run.href or place_in_page(run.to))
        if run.language:
            way = f' dir="{"rtl" if rtl else "ltr"}"' if rtl != self.rtl else ""
            made = f"<span lang={attribute(run.language)}{way}>{made}</span>"
        if run.big:
            return f'<strong class="big">{made}</strong>'
        return f"<strong>{made}</strong>" if run.strong else made

    def way(self, runs: Runs) -> str:
        """The direction of a paragraph whose words run against the page: its first words decide."""
        first = next((run.language for run in runs if run.text.strip()), "")
        rtl = is_rtl(first) if first else self.rtl
        return "" if rtl == self.rtl else f' dir="{"rtl" if rtl else "ltr"}"'

    def paragraph(self, paragraph: Paragraph) -> str:
        return f"<p{self.way(paragraph.runs)}>{self.runs(paragraph.runs, paragraph.source)}</p>"

    def items(self, items: Items) -> str:
        name = "ol" if items.numbered else "ul"
        way = self.way(items.items[0].runs) if items.items else ""
        made = "\n".join(f"<li>{self.runs(item.runs, item.source)}</li>" for item in items.items)
        return f"<{name}{way}>\n{made}\n</{name}>"

    def choice(self, choice: Choice) -> str:
        """A box for the pen. One that could be ticked here would look as if the tick were kept."""
        return f'<li class="choice">{_TICK}<span>{self.runs(choice.runs, choice.source)}</span></li>'

    def fields(self, fields: Fields) -> str:
        statement = [f"<p>{self.runs(fields.statement)}</p>"] if fields.statement else []
        lines = [*statement, *(self.field(line) for line in fields.lines)]
        if not fields.title:
            return "\n".join(lines)
        title = f'<p class="legend"><strong>{self.text(fields.title)}</strong></p>'
        return "\n".join(['<div class="fields">', title, *lines, "</div>"])

    def field(self, line: Field) -> str:
        """A label and a line for the pen."""
        return f'<p class="field">{self.text(line.label)}{self.colon} {_LINE}</p>'

    def facts(self, facts: Facts) -> str:
        pairs = (
            f"<div><dt>{self.text(label)}</dt> <dd>{self.text(value)}</dd></div>"
            for label, value in facts.pairs
        )
        return "\n".join(["<dl>", *pairs, "</dl>"])

    def box(self, box: Box, level: int) -> str:
        id = self.id("box")
        title = f'<h{level} id="{id}">{self.text(box.title)}</h{level}>'
        inside = self.nodes(box.body, level=level, named_by=id)
        return "\n".join([f'<div class="box" role="group" aria-labelledby="{id}">', title, *inside, "</div>"])

    def table(self, table: Table) -> str:
        """The roles say again what the elements are: some browsers forget it of a table drawn as cards."""
        widths = "".join(f'<col style="width:{share}%">' for share in table.widths)
        heads = map(self.head, table.columns)
        return "\n".join(
            [
                f'<table role="table"{_classes(table)}>',
                f"<caption>{text(table.summary, rtl=self.rtl)}</caption>",
                f"<colgroup>{widths}</colgroup>",
                f'<thead role="rowgroup"><tr role="row">{"".join(heads)}</tr></thead>',
                '<tbody role="rowgroup">',
                *(self.row(row, table.columns) for row in table.rows),
                "</tbody>",
                "</table>",
            ]
        )

    def panel(self, panel: Panel, level: int) -> str:
        """Pictures side by side, as many as the page is wide; lists for who hears them."""
        return "\n".join(self.group(title, cells, level) for title, cells in panel.groups)

    def group(self, title: str, cells: tuple[Cell, ...], level: int) -> str:
        id = self.id("panel")
        inside = map(self.contents, cells)
        head = f'<h{level} id="{id}">{self.text(title)}</h{level}>'
        items = (f"<li>{each}</li>" for each in inside)
        return "\n".join([head, f'<ul class="panel" aria-labelledby="{id}">', *items, "</ul>"])

    def head(self, words: str) -> str:
        """The name of a column. A name in two languages runs as its first letter does.

        No link: on a phone it is out of sight, and a key would still find it.
        """
        way = ' dir="auto"' if has_right_to_left(words) != self.rtl else ""
        return f'<th scope="col" role="columnheader"{way}>{text(words, rtl=self.rtl)}</th>'

    def row(self, cells: tuple[Cell, ...], columns: tuple[str, ...]) -> str:
        made = (self.cell(cell, label) for cell, label in zip(cells, columns, strict=True))
        return "\n".join(['<tr role="row">', *made, "</tr>"])

    def cell(self, cell: Cell, label: str) -> str:
        name = 'th scope="row" role="rowheader"' if cell.head else 'td role="cell"'
        inside = self.contents(cell)
        asked = " data-asked" if self.asks and self.is_answer(cell) else ""
        tint = ' class="shaded"' if cell.shaded else ""
        return f"<{name}{asked}{tint} data-label={attribute(label)}>{inside}</{name[:2]}>"

    def is_answer(self, cell: Cell) -> bool:
        """Whether a cell of the diary is there to choose yes or no."""
        first = cell.content[0] if cell.content else None
        return isinstance(first, Paragraph) and text_of(first.runs) == self.labels["answers"]

    def contents(self, cell: Cell) -> str:
        return "".join(listed(cell.content, self.content))

    def content(self, content: Content) -> str:
        """What stands in a cell."""
        match content:
            case Choice():
                return self.choice(content)
            case Items():
                return self.items(content)
            case Paragraph():
                return self.paragraph(content)
            case Pictograph():
                return self.picture(content)
        assert_never(content)

    def picture(self, content: Pictograph) -> str:
        """A picture, or its words where it cannot be drawn."""
        if self.drawing:
            return self.drawing(replace(content, alt=clean(content.alt)))
        return f"<p>{self.text(content.alt)}</p>"


_T = TypeVar("_T")


def listed(nodes: Iterable[_T], made: Callable[[_T], str], name: str = "") -> list[str]:
    """HTML of nodes; tick boxes that follow each other are one list, which says how many there are."""
    found = []
    for ticks, group in groupby(nodes, lambda node: isinstance(node, Choice)):
        items = [made(node) for node in group]
        found += [f'<ul class="choices"{name}>', *items, "</ul>"] if ticks else items
    return found
