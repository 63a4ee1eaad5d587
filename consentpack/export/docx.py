"""Document tree to Word.

The body is written as one XML string and parsed once: building it element by element through
python-docx is many times slower, and its table access is quadratic (docs/why/fast-word-files.md).
python-docx keeps what it is good at: the package, its parts and relationships.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import zip_longest

from docx.document import Document as WordDocument
from docx.oxml import parse_xml

from consentpack.export import _ooxml as x
from consentpack.export._base import HYPERLINK, TEXT_WIDTH, new_document
from consentpack.export._drawing import Pictures
from consentpack.export._package import saved
from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Paragraph,
    Pictograph,
    Runs,
    Section,
    Table,
    text_of,
)


def export_docx(document: Document, *, day: date) -> bytes:
    """A document as the bytes of a .docx file. `day` goes into its properties."""
    word = new_document()
    writer = _Writer(word)
    blocks = "".join(writer.document(document))
    body = word.element.body
    for child in parse_xml(f"<w:body {x.NAMESPACES}>{blocks}</w:body>"):
        body.insert(len(body) - 1, child)
    _running_parts(word, document)
    _properties(word, document, day)
    return saved(word)


@dataclass
class _Writer:
    """Writes nodes as XML and keeps the counters Word wants unique."""

    word: WordDocument
    controls: int = 0
    after_table: bool = False
    links: dict[str, str] = field(default_factory=dict)
    pictures: Pictures = field(init=False)

    def __post_init__(self) -> None:
        self.pictures = Pictures(self.word)

    def document(self, document: Document) -> list[str]:
        found = [x.paragraph(x.text_run(document.title), "Heading1")]
        found += self.nodes(document.lead)
        for section in document.sections:
            found += self.section(section)
        return found

    def section(self, section: Section) -> list[str]:
        found = [x.paragraph(x.text_run(section.heading), "Heading2")]
        self.after_table = False
        return [*found, *self.nodes(section.nodes, together=section.keep_together)]

    def nodes(self, nodes: tuple[Node, ...], *, together: bool = False) -> list[str]:
        """Nodes in order; what introduces a table or list is kept on its page."""
        return [
            self.node(node, keep=follower is not None and (together or _introduces(node, follower)))
            for node, follower in zip_longest(nodes, nodes[1:])
        ]

    def node(self, node: Node, *, keep: bool = False) -> str:
        """One node. `keep` ties it to what follows, so that no page break comes between."""
        follows, self.after_table = self.after_table, isinstance(node, Table | Box)
        if follows and self.after_table:
            raise ValueError("two tables in a row: Word would make one of them; put words between")
        if isinstance(node, Paragraph):
            style = "AfterTable" if follows else ""
            return x.paragraph(self.runs(node.runs), style, keep_next=keep)
        if isinstance(node, Heading):
            return x.paragraph(self.runs(node.runs), f"Heading{node.level}")
        if isinstance(node, Items):
            return self.items(node)
        if isinstance(node, Choice):
            return self.choice(node, keep)
        if isinstance(node, Fields):
            return self.fields(node, keep)
        if isinstance(node, Facts):
            return "".join(self.fact(label, value) for label, value in node.pairs)
        if isinstance(node, Box):
            return self.box(node)
        return self.table(node)

    def runs(self, runs: Runs) -> str:
        found = []
        for run in runs:
            made = x.text_run(run.text, strong=run.strong)
            found.append(x.hyperlink(made, self.link(run.href)) if run.href else made)
        return "".join(found)

    def link(self, href: str) -> str:
        if href not in self.links:
            self.links[href] = self.word.part.relate_to(href, HYPERLINK, is_external=True)
        return self.links[href]

    def items(self, items: Items, *, in_cell: bool = False) -> str:
        if items.numbered:
            number = self.fresh_count()
            return "".join(x.paragraph(self.runs(i.runs), "ListNumber", number=number) for i in items.items)
        style = "CellBullet" if in_cell else "ListBullet"
        return "".join(x.paragraph(self.runs(i.runs), style) for i in items.items)

    def fresh_count(self) -> int:
        """A numbering instance that begins at 1 again; without it Word goes on counting."""
        numbering = self.word.part.numbering_part.element
        number = len(numbering.findall(f"{{{x.W}}}num")) + 1
        numbering.append(
            parse_xml(
                f'<w:num {x.NAMESPACES} w:numId="{number}"><w:abstractNumId w:val="2"/>'
                '<w:lvlOverride w:ilvl="0"><w:startOverride w:val="1"/></w:lvlOverride></w:num>'
            )
        )
        return number

    def choice(self, choice: Choice, keep: bool) -> str:
        self.controls += 1
        box = x.tick_box(self.controls, choice.tag, text_of(choice.runs))
        return x.paragraph(f"{box}{x.tab()}{self.runs(choice.runs)}", "Choice", keep_next=keep)

    def fields(self, fields: Fields, keep: bool) -> str:
        found = [x.paragraph(x.text_run(fields.title), "FieldTitle")] if fields.title else []
        if fields.statement:
            found.append(x.paragraph(self.runs(fields.statement), keep_next=True))
        last = len(fields.lines) - 1
        for index, line in enumerate(fields.lines):
            runs = x.text_run(f"{line.label}: ") + x.tab()
            found.append(x.paragraph(runs, "Field", keep_next=keep or index < last))
        return "".join(found)

    def fact(self, label: str, value: str) -> str:
        runs = x.text_run(label, strong=True) + x.tab() + x.text_run(value)
        return x.paragraph(runs, "Fact")

    def table(self, table: Table) -> str:
        widths = [TEXT_WIDTH * share // 100 for share in table.widths]
        head = [
            x.cell(x.paragraph(x.text_run(words), "CellHead"), width)
            for words, width in zip(table.columns, widths, strict=True)
        ]
        rows = [x.row(head, header=True)]
        for cells in table.rows:
            made = (self.cell(c, width) for c, width in zip(cells, widths, strict=True))
            rows.append(x.row(made))
        style = "UrgentTable" if table.urgent else "PackTable"
        return x.table(rows, widths, style=style, summary=table.summary)

    def cell(self, cell: Cell, width: int) -> str:
        found = [self.content(content) for content in cell.content]
        # a cell without a paragraph makes Word refuse the file
        return x.cell("".join(found) or x.paragraph("", "CellText"), width)

    def content(self, content: Paragraph | Items | Pictograph) -> str:
        """What stands in a cell. A picture stands in a line of its own."""
        if isinstance(content, Items):
            return self.items(content, in_cell=True)
        if isinstance(content, Pictograph):
            return x.paragraph(self.pictures.run(content), "CellText")
        return x.paragraph(self.runs(content.runs), "CellText")

    def box(self, box: Box) -> str:
        """A framed group: a table of one column, its title as the header row."""
        head = x.cell(x.paragraph(x.text_run(box.title), "CellHead"), TEXT_WIDTH)
        content = x.cell("".join(self.node(body) for body in box.body), TEXT_WIDTH)
        rows = [x.row([head], header=True), x.row([content])]
        return x.table(rows, [TEXT_WIDTH], style="PackTable", summary=box.title)


def _introduces(node: Node, follower: Node) -> bool:
    """Whether a paragraph would look lost at the foot of a page, away from what follows it."""
    return isinstance(node, Paragraph) and isinstance(follower, Table | Box | Choice | Items)


def _running_parts(word: WordDocument, document: Document) -> None:
    """Header and footer: whose document, which reference, which page, and whether it is a draft."""
    labels = document.labels
    head = [x.paragraph(x.text_run(f"{document.clinic_name} · {document.title}"), "Header")]
    if "invented" in labels:
        head.append(x.paragraph(x.text_run(labels["invented"]), "Header"))
    if document.draft:
        head.append(x.paragraph(x.text_run(labels["draft"]), "DraftMark"))
    left = f"{labels['reference']} {document.reference} · {labels['version']} · {document.issued}"
    pages = (
        x.text_run(f"{labels['page']} ")
        + x.field("PAGE")
        + x.text_run(f" {labels['of']} ")
        + x.field("NUMPAGES")
    )
    foot = [x.paragraph(x.text_run(left) + x.tab() + pages, "Footer")]
    section = word.sections[0]
    for part, paragraphs in ((section.header, head), (section.footer, foot)):
        element = part._element
        for child in list(element):
            element.remove(child)
        element.extend(parse_xml(f"<w:body {x.NAMESPACES}>{''.join(paragraphs)}</w:body>"))


def _properties(word: WordDocument, document: Document, day: date) -> None:
    for language in word.styles.element.iter(f"{{{x.W}}}lang"):
        language.set(f"{{{x.W}}}val", document.language)
    properties = word.core_properties
    properties.title = x.clean(f"{document.title} – {document.reference}")
    properties.author = properties.last_modified_by = x.clean(document.clinic_name)
    properties.subject = x.clean(document.labels["subject"])
    properties.comments = properties.keywords = ""
    properties.language = document.language
    properties.created = properties.modified = datetime(day.year, day.month, day.day)
    properties.revision = 1
