"""Document tree to Word.

The body is written as one XML string and parsed once: building it element by element through
python-docx is many times slower, and its table access is quadratic (docs/why/fast-word-files.md).
python-docx makes the empty package around it, once (`_frame`).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from itertools import accumulate, zip_longest
from typing import Any, assert_never

from consentpack.export import Paper
from consentpack.export import _ooxml as x
from consentpack.export._beside import bold, introduces
from consentpack.export._columns import LETTERS, first_widest, height, lines_of, lowest
from consentpack.export._contents import STYLE, Led, is_contents, led_in
from consentpack.export._drawing import Pictures
from consentpack.export._frame import BODY, NUMBERING, PROPERTIES, RELATIONS, frame_of
from consentpack.export._relations import Relations
from consentpack.export._running import code_picture, fits, properties, running_parts
from consentpack.export._script import Script
from consentpack.export.look import LARGE, Look
from consentpack.tree import (
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
    Runs,
    Section,
    Table,
    text_of,
)

PLAIN = Look()
LONGEST_LABEL = 34
"""Characters before a line to fill in. After a longer label the line begins below it."""
LONGEST_LABEL_LARGE = 18
LONGEST_LABEL_CLOSE = 56
_LETTER = 125
"""Width of a letter of a label, about, in twentieths of a point, with its colon spread over all."""
_WRITTEN: dict[str, int] = {"text": 1500, "signature": 1700, "date": 1300, "time": 700}
"""Least room for what is written by hand, by kind of line."""
_SHARE: dict[str, int] = {"text": 5, "signature": 4, "date": 2, "time": 1}
"""How what room is left is shared: a name needs more of it than a time."""
ACROSS, ACROSS_LARGE = 6, 4
"""Pictures of a panel that stand side by side."""
_FEW = 3
"""Pictures that have the whole width; of fewer each has a third, to stand below the others."""
_IN_PANEL = 0.85
"""How large a picture is there: all of them are compared, so all are as large."""
CELL_MARGINS = 12
"""Points that are left free in a cell on both sides, rather too many."""
LINES_OF_HEADINGS = 5
"""Lines of a page that headings take above the first row of a table."""
ONE_LINE = 80
"""Characters that stand on one line at most (as the rule `line-spacing` has it): longer words keep room
between their lines, however little a paper has."""
LONGEST_NAME = 26
"""Characters of a bold label that fit before the values of some facts."""


def export_docx(document: Document, *, day: date, look: Look = PLAIN) -> bytes:
    """A document as the bytes of a .docx file. `day` goes into its properties."""
    look = replace(look, close=document.close, sheet=document.one_sheet, coded=bool(document.code))
    frame = frame_of(look, document.language, document.rtl)
    script = Script(document.language, document.rtl)

    def made(led: Led) -> bytes:
        writer = _Writer(Relations(frame), look, script, led)
        own = {BODY: "".join(writer.document(document))}  # first: it finds what the other parts speak of
        own |= {NUMBERING: "".join(writer.numberings), RELATIONS: writer.relations.xml()}
        own |= {PROPERTIES: properties(document, day), **running_parts(frame, document, look, script)}
        return frame.archive(own, writer.relations.pictures | code_picture(document, look))

    led = led_in(document)
    first = made(led)
    return made(led.counted(first)) if led.bookmarks else first


def write(document: Document, paper: Paper) -> bytes:
    """A document as one of `export.EXPORTERS`."""
    return export_docx(document, day=paper.day, look=paper.look)


@dataclass
class _Writer:
    """Writes nodes as XML and keeps the counters Word wants unique."""

    relations: Relations
    look: Look
    script: Script
    led: Led = field(default_factory=Led)
    controls: int = 0
    cells: str = "Cell"
    """How the styles in the cells of the table in hand begin."""
    after_table: bool = False
    numberings: list[str] = field(default_factory=list)
    pictures: Pictures = field(init=False)

    def __post_init__(self) -> None:
        self.pictures = Pictures(self.relations, scale=LARGE if self.look.large else 1)

    def document(self, document: Document) -> list[str]:
        found = [self.paragraph(self.script.words(document.title), "Heading1")]
        if document.notice:
            said = self.script.words(document.notice, strong=True)
            found.append(self.paragraph(said, roomy=self.roomy(document.notice)))
        found += self.nodes(document.lead)
        for section in document.sections:
            found += self.section(section)
        return found

    def paragraph(self, made: str, style: str = "", *, of: Runs = (), **how: Any) -> str:
        """Runs already made, as a paragraph in the direction of the words it is made of."""
        return x.paragraph(made, style, rtl=self.script.runs_rtl(of) if of else self.script.rtl, **how)

    def section(self, section: Section) -> list[str]:
        heading = self.led.heading(self.script.words(section.heading), section.id)
        # in large print a decision takes more than a side wherever it begins, and half of one stayed empty
        spread = self.look.large and self.look.close and not section.annex
        found = [self.paragraph(heading, "Heading2", new_side=section.new_side and not spread)]
        self.after_table = False
        return [*found, *self.nodes(section.nodes, together=section.keep_together)]

    def nodes(self, nodes: tuple[Node, ...], *, together: bool = False) -> list[str]:
        """Nodes in order; what introduces a table or list is kept on its page."""
        return [
            self.node(node, keep=follower is not None and (together or introduces(node, follower)))
            for node, follower in zip_longest(nodes, nodes[1:])
        ]

    def node(self, node: Node, *, keep: bool = False) -> str:
        """One node. `keep` ties it to what follows, so that no page break comes between."""
        follows, self.after_table = self.after_table, isinstance(node, Table | Box | Panel)
        if follows and self.after_table:
            raise ValueError("two tables in a row: Word would make one of them; put words between")
        match node:
            case Paragraph():
                roomy = self.roomy(text_of(node.runs))
                made = self.runs(node.runs)
                return self.paragraph(made, of=node.runs, keep_next=keep, apart=follows, roomy=roomy)
            case Heading():
                return self.paragraph(self.runs(node.runs), f"Heading{node.level}", of=node.runs)
            case Items():
                return self.items(node, apart=follows)
            case Choice():
                return self.choice(node, keep)
            case Fields():
                return self.fields(node, keep)
            case Facts():
                if self.look.close:
                    return "".join(self.inline_fact(*pair) for pair in node.pairs)
                below = self.look.large or max(len(label) for label, _ in node.pairs) > LONGEST_NAME
                return "".join(self.fact(label, value, below=below) for label, value in node.pairs)
            case Box():
                return self.box(node)
            case Panel():
                return self.panel(node)
            case Table():
                return self.table(node)
        assert_never(node)

    def runs(self, runs: Runs) -> str:
        found = []
        for run in runs:
            made = self.script.words(run.text, strong=run.strong or run.big, language=run.language)
            made = x.enlarged(made) if run.big else made
            made = x.inner_link(made, self.led.bookmarks[run.to]) if run.to else made
            found.append(x.hyperlink(made, self.relations.link(run.href)) if run.href else made)
        return "".join(found)

    def items(self, items: Items, *, in_cell: bool = False, apart: bool = False) -> str:
        if is_contents(items) and not in_cell:
            lines = (self.led.line(self.runs(item.runs), item.runs[0].to) for item in items.items)
            return "".join(self.paragraph(line, STYLE) for line in lines)
        number = self.fresh_count() if items.numbered else 0
        style = "ListNumber" if items.numbered else f"{self.cells}Bullet" if in_cell else "ListBullet"
        return "".join(
            self.paragraph(
                self.runs(item.runs),
                style,
                number=number,
                apart=apart and not index,
                roomy=not in_cell and self.roomy(text_of(item.runs)),
                of=item.runs,
            )
            for index, item in enumerate(items.items)
        )

    def roomy(self, text: str) -> bool:
        """Whether words run over several lines where lines are close: they need room to be followed."""
        return (self.look.sheet or self.look.close) and len(text) > ONE_LINE

    def fresh_count(self) -> int:
        """A numbering instance that begins at 1 again; without it Word goes on counting."""
        number = self.relations.frame.counts + len(self.numberings) + 1
        self.numberings.append(
            f'<w:num w:numId="{number}"><w:abstractNumId w:val="2"/>'
            '<w:lvlOverride w:ilvl="0"><w:startOverride w:val="1"/></w:lvlOverride></w:num>'
        )
        return number

    def choice(self, choice: Choice, keep: bool, *, style: str = "Choice") -> str:
        said = text_of(choice.runs)
        box = x.tick_box(self.fresh_control(), choice.tag, said, round_=choice.one_of)
        roomy = style == "Choice" and self.roomy(said)
        return self.paragraph(f"{box}{x.tab()}{self.runs(choice.runs)}", style, keep_next=keep, roomy=roomy)

    def fields(self, fields: Fields, keep: bool) -> str:
        found = [self.paragraph(self.script.words(fields.title), "FieldTitle")] if fields.title else []
        if fields.statement:
            made, roomy = self.runs(fields.statement), self.roomy(text_of(fields.statement))
            found.append(self.paragraph(made, of=fields.statement, keep_next=True, roomy=roomy))
        if fields.in_row and (stops := self.stops(fields)):
            made = x.text_run(" ").join(self.line(line, of=fields.title) for line in fields.lines)
            return "".join((*found, self.paragraph(made, "Field", keep_next=keep, tabs=stops)))
        last = len(fields.lines) - 1
        for index, line in enumerate(fields.lines):
            runs = self.line(line, of=fields.title)
            found.append(self.paragraph(runs, "Field", keep_next=keep or index < last))
        return "".join(found)

    def stops(self, fields: Fields) -> tuple[int, ...]:
        """Where the lines of a row end; none where the row has no room for its labels and lines."""
        wanted = [len(line.label) * _LETTER + _WRITTEN[line.kind] for line in fields.lines]
        if self.look.large or sum(wanted) > self.look.text_width:
            return ()
        shares = [_SHARE[line.kind] for line in fields.lines]
        spare = (self.look.text_width - sum(wanted)) / sum(shares)
        return tuple(
            accumulate(each + int(spare * share) for each, share in zip(wanted, shares, strict=True))
        )

    def fresh_control(self) -> int:
        self.controls += 1
        return self.controls

    def line(self, line: Field, *, of: str) -> str:
        """A label and its line. A signature is no text: it is written by hand, on paper or tablet."""
        usual = LONGEST_LABEL_CLOSE if self.look.close or self.look.sheet else LONGEST_LABEL
        most = LONGEST_LABEL_LARGE if self.look.large else usual
        below = x.line_break() if len(line.label) > most else ""
        label = self.script.words(f"{line.label}{self.script.colon}") + below
        if line.kind == "signature":
            return label + x.tab()
        id = self.fresh_control()
        tag, title = f"{line.kind}-{id}", f"{of}: {line.label}" if of else line.label
        if line.kind == "date":
            return label + x.date_box(id, tag, title, self.script.language)
        return label + x.text_box(id, tag, title)

    def fact(self, label: str, value: str, *, below: bool) -> str:
        """A label with its value, on one line or `below` it where one label is too long for its column."""
        if below:
            name = self.script.words(label, strong=True) + x.line_break()
            return self.paragraph(name + self.script.words(value), roomy=self.roomy(label + value))
        runs = self.script.words(label, strong=True) + x.tab() + self.script.words(value)
        return self.paragraph(runs, "Fact", roomy=self.roomy(label + value))

    def inline_fact(self, label: str, value: str) -> str:
        """A label with its value in one run of words, where there is no room for a column of labels."""
        name = f"{label}{self.script.colon} "
        said = self.script.words(name, strong=True) + self.script.words(value)
        return self.paragraph(said, "CellText", roomy=self.roomy(name + value))

    def table(self, table: Table) -> str:
        """A table; the emergency signs in closer lines, because they must not run over page one."""
        self.cells = "Urgent" if table.urgent and not self.look.large else "Cell"
        made = self.drawn(table)
        self.cells = "Cell"
        return made

    def drawn(self, table: Table) -> str:
        if self.look.large and not table.grid and len(table.columns) > 1:
            return self.stacked(table)
        if (table.urgent or self.look.sheet) and len(table.columns) == 2:
            table = replace(table, widths=lowest(table, self.look))
        if table.grid and not self.look.large:
            table = replace(table, widths=first_widest(table, self.look))
        widths = [self.look.text_width * share // 100 for share in table.widths]
        pairs = zip(table.columns, widths, strict=True)
        head = [x.cell(self.heading_of(words, table), width) for words, width in pairs]
        rows = [x.row(head, header=True)]
        for cells in table.rows:
            made = (self.cell(c, width) for c, width in zip(cells, widths, strict=True))
            rows.append(x.row(made, splits=height([cells], table.widths, self.look) > self.look.most_lines))
        style = "UrgentTable" if table.urgent else "GridTable" if table.grid else "PackTable"
        return x.table(rows, widths, style=style, summary=table.summary, rtl=self.script.rtl)

    def heading_of(self, words: str, table: Table) -> str:
        """The label of a column."""
        style = "BigHead" if table.big_head else "CellHead"
        return x.paragraph(self.script.words(words), style, rtl=self.script.mostly_rtl(words))

    def stacked(self, table: Table) -> str:
        """A table of one column: each row is one cell, with the column's label before each part.

        Three columns of 18 pt would leave room for two words a line.
        """
        width = [self.look.text_width]
        head = x.cell(self.heading_of(table.columns[0], table), width[0])
        rows = [x.row([head], header=True)]
        for first, *others in table.rows:
            parts = [self.contents(bold(first))]
            for label, cell in zip(table.columns[1:], others, strict=True):
                parts.append(self.labelled(label, cell))
            lines = sum(lines_of(cell, 100, self.look) + 1 for cell in (first, *others))
            # a first row that has no room below its headings would leave them alone on an empty side
            most = self.look.most_lines - (LINES_OF_HEADINGS if len(rows) == 1 else 0)
            rows.append(x.row([x.cell("".join(parts), width[0])], splits=lines > most))
        style = "UrgentTable" if table.urgent else "PackTable"
        return x.table(rows, width, style=style, summary=table.summary, rtl=self.script.rtl)

    def labelled(self, label: str, cell: Cell) -> str:
        """One part of a stacked row; a short answer stands beside its label."""
        name = self.script.words(f"{label}{self.script.colon}", strong=True)
        only = cell.content[0] if len(cell.content) == 1 else None
        if isinstance(only, Paragraph) and self.on_one_line(label, text_of(only.runs)):
            return self.paragraph(name + self.runs(only.runs), "CellText")
        return self.paragraph(name, "CellLabel") + self.contents(cell)

    def on_one_line(self, label: str, answer: str) -> bool:
        """Whether an answer has room on the line of its label, in a row as wide as the page."""
        said, size = f"{label}{self.script.colon} {answer}", LETTERS * self.look.scale
        return fits(said, self.look, size=size, bold=True, aside=CELL_MARGINS)

    def cell(self, cell: Cell, width: int) -> str:
        return x.cell(self.contents(cell), width, shaded=cell.shaded)

    def contents(self, cell: Cell) -> str:
        # a cell without a paragraph makes Word refuse the file
        return "".join(map(self.content, cell.content)) or self.paragraph("", "CellText")

    def content(self, content: Content) -> str:
        """What stands in a cell. A picture stands in a line of its own."""
        match content:
            case Choice():
                return self.choice(content, keep=False, style="CellChoice")
            case Items():
                return self.items(content, in_cell=True)
            case Pictograph():
                return self.paragraph(self.pictures.run(content), "CellPicture")
            case Paragraph():
                return self.paragraph(self.runs(content.runs), f"{self.cells}Text", of=content.runs)
        assert_never(content)

    def panel(self, panel: Panel) -> str:
        """Pictures side by side under the title of their group, in a table for each.

        A screen reader says the head of a column with each of its cells, and is lost in merged ones. So the
        title is a heading above, and the names are the heads. Where a group takes several rows, each is a
        table under the title again.
        """
        across = ACROSS_LARGE if self.look.large else ACROSS
        usual, self.pictures.scale = self.pictures.scale, self.pictures.scale * _IN_PANEL
        found = [
            self.paragraph(self.script.words(title), "Heading3")
            + self.pictured(cells[first : first + across], f"{title}. {panel.summary}")
            for title, cells in panel.groups
            for first in range(0, len(cells), across)
        ]
        self.pictures.scale = usual
        return "".join(found)

    def pictured(self, cells: tuple[Cell, ...], summary: str) -> str:
        """Pictures of one row, each under its name. Fewer have more room for it."""
        width = self.look.text_width // max(len(cells), _FEW)
        names = (x.cell(self.name_of(cell), width) for cell in cells)
        figures = (self.cell(Cell(cell.content[1:]), width) for cell in cells)
        rows = [x.row(names, header=True), x.row(figures)]
        widths = [width] * len(cells)
        return x.table(rows, widths, style="PanelTable", summary=summary, rtl=self.script.rtl)

    def name_of(self, cell: Cell) -> str:
        """What a picture is of, kept on its page."""
        name = cell.content[0]
        assert isinstance(name, Paragraph)
        return self.paragraph(self.runs(name.runs), "CellText", keep_next=True, of=name.runs)

    def box(self, box: Box) -> str:
        """A framed group: a table of one column, its title as the header row."""
        width = self.look.text_width
        head = x.cell(self.paragraph(self.script.words(box.title), "CellHead"), width)
        content = x.cell("".join(self.node(body) for body in box.body), width)
        rows = [x.row([head], header=True), x.row([content])]
        return x.table(rows, [width], style="BoxTable", summary=box.title, rtl=self.script.rtl)
