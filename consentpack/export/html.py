"""Document tree to one HTML file for a phone: no scripts, nothing fetched, readable without style.

What a reader sees and what a screen reader says are the words of the tree. Print goes well too, but
the Word file is what is meant for paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from typing import assert_never

from consentpack.direction import is_rtl
from consentpack.export import Paper
from consentpack.export._html import attribute, clean, css_string, link, plain, text
from consentpack.signs import signs_of
from consentpack.tree import (
    PAGE,
    PAGES,
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Node,
    Paragraph,
    Pictograph,
    Run,
    Runs,
    Section,
    Table,
    page_parts,
)

_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""The browser is told what the file promises: no script, nothing from outside, nothing sent."""


def export_html(document: Document) -> bytes:
    """A document as the bytes of an .html file that needs nothing else."""
    words = _Writer(document.rtl, signs_of(document.language).colon.strip("\u00a0 "), _drawing())
    head = [*_head(document), f"<style>\n{_style()}{_page_rules(document)}</style>"]
    main = [*words.nodes(document.lead, level=2), *(words.section(s) for s in document.sections)]
    lines = [
        "<!doctype html>",
        f'<html lang={attribute(document.language)} dir="{"rtl" if document.rtl else "ltr"}">',
        "<head>",
        *head,
        "</head>",
        "<body>",
        *_header(document, words),
        "<main>",
        *main,
        "</main>",
        f"<footer><p>{words.text(_reference(document))}</p></footer>",
        "</body>",
        "</html>",
    ]
    return ("\n".join(lines) + "\n").encode()


def write(document: Document, _paper: Paper) -> bytes:
    """A document as one of `export.EXPORTERS`. A page looks as the phone that shows it is set."""
    return export_html(document)


def _head(document: Document) -> Iterable[str]:
    yield '<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content={attribute(_POLICY)}>'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield '<meta name="robots" content="noindex">'
    # phones make links of whatever looks like a number, counts of the audit among them
    yield '<meta name="format-detection" content="telephone=no, date=no, address=no">'
    yield f"<title>{plain(f'{document.title} – {document.reference}')}</title>"


@lru_cache(maxsize=1)
def _style() -> str:
    return (Path(__file__).parent / "document.css").read_text(encoding="utf-8")


def _page_rules(document: Document) -> str:
    """What stands at the head and foot of each printed page, as in the Word file."""
    labels = document.labels
    head = [f"{document.clinic_name} · {document.title}", *_marks(document)]
    lines = ' "\\A" '.join(css_string(line) for line in head)
    counters = {PAGE: "counter(page)", PAGES: "counter(pages)"}
    page = " ".join(counters.get(part) or css_string(part) for part in page_parts(labels["page"]))
    font = "font: 12pt Arial, sans-serif;"
    return (
        "@page {\n  size: A4; margin: 26mm 18mm 20mm;\n"
        f"  @top-left {{ content: {lines}; white-space: pre-line; width: 100%; {font} }}\n"
        f"  @bottom-left {{ content: {css_string(_reference(document))}; width: 75%; {font} }}\n"
        f"  @bottom-right {{ content: {page}; {font} }}\n}}\n"
    )


def _marks(document: Document) -> list[str]:
    """What must be seen before the first word: an invented clinic, a draft."""
    labels = document.labels
    draft = [labels["draft"]] if document.draft else []
    return [*([labels["invented"]] if "invented" in labels else []), *draft]


def _header(document: Document, words: _Writer) -> Iterable[str]:
    yield "<header>"
    if document.draft:
        yield f'<p class="draft">{words.text(document.labels["draft"])}</p>'
    yield f"<p>{words.text(document.clinic_name)}</p>"
    if "invented" in document.labels:
        yield f"<p>{words.text(document.labels['invented'])}</p>"
    yield f"<h1>{words.text(document.title)}</h1>"
    if document.notice:
        yield f"<p><strong>{words.text(document.notice)}</strong></p>"
    yield "</header>"


def _reference(document: Document) -> str:
    labels = document.labels
    return f"{labels['reference']} {document.reference} · {labels['version']} · {document.issued}"


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


@dataclass
class _Writer:
    """Writes nodes as HTML and keeps count of what needs an id of its own."""

    rtl: bool
    colon: str = ":"
    drawing: Callable[[Pictograph], str] | None = None
    counts: dict[str, int] = field(default_factory=dict)

    def text(self, words: str) -> str:
        return text(words, rtl=self.rtl)

    def id(self, kind: str) -> str:
        self.counts[kind] = self.counts.get(kind, 0) + 1
        return f"{kind}-{self.counts[kind]}"

    def section(self, section: Section) -> str:
        id = self.id("part")
        kept = ' class="together"' if section.keep_together else ""
        inside = self.nodes(section.nodes, level=3, named_by=id)
        return "\n".join(
            [f"<section{kept}>", f'<h2 id="{id}">{self.text(section.heading)}</h2>', *inside, "</section>"]
        )

    def nodes(self, nodes: Iterable[Node], *, level: int, named_by: str = "") -> list[str]:
        """Nodes in order; tick boxes that follow each other are one group. `level` is for a box's title."""
        found = []
        for ticks, group in groupby(nodes, lambda node: isinstance(node, Choice)):
            made = [self.node(node, level) for node in group]
            name = f' aria-labelledby="{named_by}"' if named_by else ""
            found += [f'<div role="group"{name}>', *made, "</div>"] if ticks else made
        return found

    def node(self, node: Node, level: int) -> str:
        match node:
            case Paragraph():
                return self.paragraph(node)
            case Heading():
                return f"<h{node.level}>{self.runs(node.runs)}</h{node.level}>"
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
            case Table():
                return self.table(node)
        assert_never(node)

    def runs(self, runs: Runs) -> str:
        return "".join(map(self.run, runs))

    def run(self, run: Run) -> str:
        rtl = is_rtl(run.language) if run.language else self.rtl
        made = link(text(run.text, rtl=rtl), run.href)
        if run.language:
            way = f' dir="{"rtl" if rtl else "ltr"}"' if rtl != self.rtl else ""
            made = f"<span lang={attribute(run.language)}{way}>{made}</span>"
        if run.big:
            return f'<strong class="big">{made}</strong>'
        return f"<strong>{made}</strong>" if run.strong else made

    def paragraph(self, paragraph: Paragraph) -> str:
        return f"<p>{self.runs(paragraph.runs)}</p>"

    def items(self, items: Items) -> str:
        name = "ol" if items.numbered else "ul"
        made = "\n".join(f"<li>{self.runs(item.runs)}</li>" for item in items.items)
        return f"<{name}>\n{made}\n</{name}>"

    def choice(self, choice: Choice) -> str:
        """Browsers remember what was ticked; here nothing may be ticked beforehand, so they must not."""
        name = attribute(choice.tag or self.id("choice"))
        box = f'<input type="checkbox" name={name} autocomplete="off">'
        return f'<div class="choice"><label>{box}<span>{self.runs(choice.runs)}</span></label></div>'

    def fields(self, fields: Fields) -> str:
        statement = [f"<p>{self.runs(fields.statement)}</p>"] if fields.statement else []
        lines = [*statement, *(self.field(line) for line in fields.lines)]
        if not fields.title:
            return "\n".join(lines)
        return "\n".join(["<fieldset>", f"<legend>{self.text(fields.title)}</legend>", *lines, "</fieldset>"])

    def field(self, line: Field) -> str:
        """Dates are plain text: a browser's own date field asks for and prints its country's order."""
        id = self.id("field")
        label = f'<label for="{id}">{self.text(line.label)}{self.colon}</label>'
        return f'<p class="field">{label} <input type="text" id="{id}" autocomplete="off"></p>'

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
        heads = (f'<th scope="col" role="columnheader">{self.text(words)}</th>' for words in table.columns)
        return "\n".join(
            [
                f'<table role="table"{_classes(table)}>',
                f"<caption>{self.text(table.summary)}</caption>",
                f"<colgroup>{widths}</colgroup>",
                f'<thead role="rowgroup"><tr role="row">{"".join(heads)}</tr></thead>',
                '<tbody role="rowgroup">',
                *(self.row(row, table.columns) for row in table.rows),
                "</tbody>",
                "</table>",
            ]
        )

    def row(self, cells: tuple[Cell, ...], columns: tuple[str, ...]) -> str:
        made = (self.cell(cell, label) for cell, label in zip(cells, columns, strict=True))
        return "\n".join(['<tr role="row">', *made, "</tr>"])

    def cell(self, cell: Cell, label: str) -> str:
        name = 'th scope="row" role="rowheader"' if cell.head else 'td role="cell"'
        inside = "".join(self.content(content) for content in cell.content)
        tint = ' class="shaded"' if cell.shaded else ""
        return f"<{name}{tint} data-label={attribute(label)}>{inside}</{name[:2]}>"

    def content(self, content: Paragraph | Items | Pictograph) -> str:
        """What stands in a cell."""
        match content:
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
