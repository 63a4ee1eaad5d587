"""Changes of a pack as checklists look at it: one part, tick box, line or passage taken away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from consentpack.check.checklists import Held
from consentpack.check.checklists.item import ABOUT
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
    Run,
    Table,
    paragraphs,
)

Change = Callable[[Held], Held]


def with_document(held: Held, document: Document) -> Held:
    """The pack with one of its documents changed; it stands for all papers that are judged as one with it."""
    group = next((kind for kind in ABOUT if held._belongs(document, kind)), document.kind)
    others = {kind: each for kind, each in held.documents.items() if not held._belongs(each, group)}
    return replace(held, documents={**others, document.kind: document})


def changed(kind: str, change: Callable[[Node], Node | None]) -> Change:
    """A change of every node of one document, those in boxes too; None takes the node out."""

    def node(each: Node) -> Node | None:
        if isinstance(each, Box):
            return replace(each, body=tuple(b for a in each.body if (b := change(a))))
        return change(each)

    def nodes(found: tuple[Node, ...]) -> tuple[Node, ...]:
        return tuple(b for a in found if (b := node(a)) is not None)

    def apply(held: Held) -> Held:
        document: Document = held.of(kind)
        sections = tuple(replace(s, nodes=nodes(s.nodes)) for s in document.sections)
        return with_document(held, replace(document, lead=nodes(document.lead), sections=sections))

    return apply


def both(*changes: Change) -> Change:
    def apply(held: Held) -> Held:
        for change in changes:
            held = change(held)
        return held

    return apply


def no_tick(kind: str, tag: str) -> Change:
    return changed(kind, lambda n: None if isinstance(n, Choice) and n.tag == tag else n)


def no_line(kind: str, what: str, owner: str = "") -> Change:
    """Without lines of a tag or kind, of one person or of anybody."""

    def change(node: Node) -> Node:
        if isinstance(node, Fields) and owner in ("", node.tag):
            return replace(node, lines=tuple(x for x in node.lines if what not in (x.tag, x.kind)))
        return node

    return changed(kind, change)


def no_statement(kind: str, owner: str) -> Change:
    return changed(
        kind, lambda n: replace(n, statement=()) if isinstance(n, Fields) and n.tag == owner else n
    )


def no_value(kind: str, value: str) -> Change:
    def change(node: Node) -> Node:
        if isinstance(node, Facts):
            return replace(node, pairs=tuple(p for p in node.pairs if value not in p[1]))
        return node

    return changed(kind, change)


def no_part(kind: str, directive: str) -> Change:
    def apply(held: Held) -> Held:
        document: Document = held.of(kind)
        left = tuple(s for s in document.sections if directive not in s.parts)
        return with_document(held, replace(document, sections=left))

    return apply


def in_part(directive: str, change: Change, kind: str = "consent") -> Change:
    """A change of one part alone."""

    def apply(held: Held) -> Held:
        before: Document = held.of(kind)
        after: Document = change(held).of(kind)
        both = zip(before.sections, after.sections, strict=True)
        sections = tuple(new if directive in old.parts else old for old, new in both)
        return with_document(held, replace(before, sections=sections))

    return apply


def no_words_of(kind: str, module: str) -> Change:
    """Without the headings, paragraphs and table rows of one module."""

    def change(node: Node) -> Node | None:
        if isinstance(node, Heading | Paragraph) and node.source.module == module:
            return None
        if isinstance(node, Items):
            return replace(node, items=tuple(i for i in node.items if i.source.module != module))
        if isinstance(node, Table):
            rows = (row for row in node.rows if module not in _modules(node, row))
            return replace(node, rows=tuple(rows))
        return node

    return changed(kind, change)


def _modules(table: Table, row: tuple[Cell, ...]) -> set[str]:
    """The modules that the words of one row come from."""
    return {paragraph.source.module for paragraph in paragraphs(replace(table, rows=(row,)))}


def no_section(kind: str, folder: str, module: str, label: str) -> Change:
    """Without the words of one section of a module."""

    def apply(held: Held) -> Held:
        found = held.library.kind(folder)[module]
        gone = {(found.file, i.line) for block in found.sections[label] for i in block.items}

        def words(node):
            if isinstance(node, Paragraph):
                return None if (node.source.file, node.source.line) in gone else node
            if isinstance(node, Items):
                return replace(node, items=tuple(i for i in node.items if words(i)))
            if isinstance(node, Table):
                return replace(node, rows=tuple(tuple(cell(c) for c in row) for row in node.rows))
            return node

        def cell(each):
            return replace(each, content=tuple(w for c in each.content if (w := words(c))))

        return changed(kind, words)(held)

    return apply


def plan(**values) -> Change:
    return lambda held: replace(held, plan=replace(held.plan, **values))


def not_matched(kind: str, *ids: str) -> Change:
    def apply(held: Held) -> Held:
        left = tuple(m for m in getattr(held.matches, kind) if m.id not in ids)
        return replace(held, matches=replace(held.matches, **{kind: left}))

    return apply


def document(kind: str, **values) -> Change:
    return lambda held: with_document(held, replace(held.of(kind), **values))


def review_passed(held: Held) -> Held:
    old = replace(held.library.risks["bruising"], review_by=date(2020, 1, 1))
    return replace(held, library=replace(held.library, risks={**held.library.risks, "bruising": old}))


def figures_cut(keep: int, module: str) -> Change:
    """Only the first lines of the figure of one outcome."""

    def change(node: Node) -> Node:
        if not isinstance(node, Table):
            return node
        rows = (
            (*r[:-1], replace(r[-1], content=r[-1].content[:keep])) if module in _modules(node, r) else r
            for r in node.rows
        )
        return replace(node, rows=tuple(rows))

    return changed("consent", change)


def no_bold(kind: str) -> Change:
    def weak(node):
        if isinstance(node, Paragraph | Choice):
            return replace(node, runs=tuple(Run(r.text) for r in node.runs))
        if isinstance(node, Items):
            return replace(node, items=tuple(weak(i) for i in node.items))
        if isinstance(node, Table):
            rows = (tuple(replace(c, content=tuple(map(weak, c.content))) for c in r) for r in node.rows)
            return replace(node, rows=tuple(rows))
        return node

    return changed(kind, weak)


def lists_loosened(kind: str) -> Change:
    """Every list becomes a paragraph a point: the words stay, the list goes."""

    def apply(held: Held) -> Held:
        made: Document = held.of(kind)

        def loose(nodes):
            return tuple(x for n in nodes for x in (n.items if isinstance(n, Items) else (n,)))

        sections = tuple(replace(s, nodes=loose(s.nodes)) for s in made.sections)
        return with_document(held, replace(made, lead=loose(made.lead), sections=sections))

    return apply


def first_section(kind: str, **values) -> Change:
    def apply(held: Held) -> Held:
        made: Document = held.of(kind)
        first, *rest = made.sections
        return with_document(held, replace(made, sections=(replace(first, **values), *rest)))

    return apply


def lead_reversed(held: Held) -> Held:
    return with_document(held, replace(held.of("aftercare"), lead=held.of("aftercare").lead[::-1]))


def over_target(held: Held) -> Held:
    first, *rest = held.scores
    return replace(held, scores=(replace(first, grade=9.0), *rest))


def tables(**values) -> Change:
    return changed("aftercare", lambda n: replace(n, **values) if isinstance(n, Table) else n)


def heads_blank(node: Node) -> Node:
    return replace(node, columns=("",) * len(node.columns)) if isinstance(node, Table) else node


def no_reason(node: Node) -> Node | None:
    return None if isinstance(node, Paragraph) and "p-900.toml" in node.source.file else node
