"""How an item looks at a document: by what its parts are, never by the words of one language."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from consentpack.check.checklists.item import Finding, Held, lacking
from consentpack.model import Module
from consentpack.tree import (
    Body,
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Source,
    Table,
    bodies,
    contents,
    paragraphs,
)

SIGNED = ("signature", "date", "time")


def part(document: Document, *directives: str) -> tuple[Node, ...]:
    """The nodes of the sections that some directives built; none where there is no such section."""
    return tuple(n for s in document.sections if {*directives} & {*s.parts} for n in s.nodes)


HARMS = ("risk-table", "harms-in-full")
CHOICES = ("options", "choices-in-full")
SURE = ("how-sure", "newer", "how-sure-in-full")
STUDIES = ("figure-sources", "studies-in-full")
"""What the booklet tells, and what of it the paper behind holds where there is no room."""


def everything(document: Document) -> tuple[Node, ...]:
    return (*document.lead, *(node for section in document.sections for node in section.nodes))


def flat(nodes: Iterable[Node]) -> Iterator[Body]:
    for node in nodes:
        yield from bodies(node)


def tags(nodes: Iterable[Node]) -> set[str]:
    """Tags of the tick boxes."""
    found = {body.tag for body in flat(nodes) if isinstance(body, Choice)}
    cells = (content for table in tables(nodes) for content in contents(table))
    return found | {content.tag for content in cells if isinstance(content, Choice)}


def lines(nodes: Iterable[Node]) -> list[Field]:
    """Every line to fill in."""
    return [line for body in flat(nodes) if isinstance(body, Fields) for line in body.lines]


def line_tags(nodes: Iterable[Node]) -> set[str]:
    return {line.tag for line in lines(nodes)}


def fields(document: Document, tag: str) -> Fields | None:
    """The lines of one person or purpose, as one where they stand in several rows."""
    all_of_them = [b for b in flat(everything(document)) if isinstance(b, Fields)]
    found = [b for b in all_of_them if b.tag == tag or b.tag.startswith(f"{tag}-")]
    if not found:
        return None
    statement = next((each.statement for each in found if each.statement), ())
    return replace(found[0], lines=tuple(line for each in found for line in each.lines), statement=statement)


def values(nodes: Iterable[Node]) -> list[str]:
    """The values of labelled facts."""
    return [value for body in flat(nodes) if isinstance(body, Facts) for _, value in body.pairs]


def tables(nodes: Iterable[Node]) -> list[Table]:
    return [body for body in flat(nodes) if isinstance(body, Table)]


def pictures(nodes: Iterable[Node]) -> Iterator[Pictograph]:
    for body in flat(nodes):
        if isinstance(body, Table | Panel):
            yield from (content for content in contents(body) if isinstance(content, Pictograph))


def sources(nodes: Iterable[Node]) -> list[Source]:
    """Where the printed words came from."""
    words = [paragraph.source for node in nodes for paragraph in paragraphs(node)]
    return words + [body.source for body in flat(nodes) if isinstance(body, Heading)]


def modules(nodes: Iterable[Node]) -> set[str]:
    """Ids of the modules whose words are printed."""
    return {source.module for source in sources(nodes)}


def rows_of(nodes: Iterable[Node]) -> dict[str, tuple[Cell, ...]]:
    """Id of a module -> the first table row that prints its words."""
    found: dict[str, tuple[Cell, ...]] = {}
    for table in tables(nodes):
        for row in table.rows:
            for content in (c for cell in row for c in cell.content if not isinstance(c, Pictograph)):
                for paragraph in paragraphs(content):
                    found.setdefault(paragraph.source.module, row)
    return found


Said = frozenset[str | None]


def said(held: Held, nodes: Iterable[Node]) -> Said:
    """The texts of the library that some nodes print, as they are written there."""
    return frozenset(held.written.get((source.file, source.line)) for source in sources(nodes))


def unsaid(printed: Said, module: Module, *labels: str) -> list[str]:
    """Sections of a module that are not printed whole, named as 'id: label'.

    What two modules say in the same words is printed once, so words count, not places.
    """
    return [f"“{label}” of {module.id}" for label in labels if not _texts(module, label) <= printed]


def _texts(module: Module, label: str) -> set[str | None]:
    blocks = module.sections.get(label, ())
    return {item.text for block in blocks if block.kind != "heading" for item in block.items}


def signed(document: Document, tag: str, *, where: str, wanted: tuple[str, ...] = SIGNED) -> Finding:
    """Whether somebody's lines hold a signature, a date and a time, or what else is wanted."""
    found = fields(document, tag)
    have = {line.kind for line in found.lines} | {line.tag for line in found.lines} if found else set()
    missing = [f"{each} line for the {tag}" for each in wanted if each not in have]
    return lacking(missing, where=where, what=f"lines for the {tag}: {', '.join(wanted)}")


def ticked(document: Document, *wanted: str, where: str) -> Finding:
    """Whether tick boxes are there, by their tags."""
    missing = [f"tick box “{tag}”" for tag in wanted if tag not in tags(everything(document))]
    return lacking(missing, where=where, what=f"tick box {', '.join(wanted)}")


def declared(document: Document, *wanted: str, where: str) -> Finding:
    """Whether statements that are signed are there, by their tags, as tick boxes or as points."""
    nodes = everything(document)
    said = tags(nodes) | {each.tag for node in nodes for each in paragraphs(node)}
    missing = [f"statement “{tag}”" for tag in wanted if tag not in said]
    return lacking(missing, where=where, what=f"statement {', '.join(wanted)}")


def to_fill(document: Document, *wanted: str, where: str) -> Finding:
    """Whether lines to fill in are there, by their tags."""
    missing = [f"line “{tag}”" for tag in wanted if tag not in line_tags(everything(document))]
    return lacking(missing, where=where, what=f"line {', '.join(wanted)}")


def stated(document: Document, *wanted: str, where: str) -> Finding:
    """Whether values known from plan or clinic are printed as facts."""
    printed = values(everything(document))
    missing = [each for each in wanted if not any(each in value for value in printed)]
    return lacking(missing, where=where, what=", ".join(wanted))


def prose(document: Document, section: str) -> list[Paragraph]:
    """What the document file itself says in one of its sections."""
    nodes = (n for s in document.sections if s.id == section for n in s.nodes)
    return [p for node in nodes for p in paragraphs(node) if of_a_document(p)]


def of_a_document(paragraph: Paragraph) -> bool:
    """Whether a document file says it itself, and no module."""
    return "documents/" in paragraph.source.file
