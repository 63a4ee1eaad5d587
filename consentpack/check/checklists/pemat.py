"""The Patient Education Materials Assessment Tool for printed materials (PEMAT-P). Items 13 and 14
are for sound and film only."""

from __future__ import annotations

from consentpack.check.checklists.conditions import no_figures, no_pictures
from consentpack.check.checklists.item import (
    FORM,
    SHEET,
    Checklist,
    Finding,
    Held,
    ListOf,
    Published,
    lacking,
    there,
)
from consentpack.check.checklists.looking import everything, flat, part, sources, tables
from consentpack.check.checklists.shared import (
    AFTERCARE,
    CARE_PARTS,
    CONSENT,
    actions_named,
    figures_explained,
    summary_first,
)
from consentpack.tree import Document, Heading, Items, Node, Paragraph, paragraphs

_P = ListOf(Published("AHRQ", "PEMAT-P, 14-0002-EF", "2013", "S"))
_PM = ListOf(Published("AHRQ", "PEMAT-P, 14-0002-EF (numbers of the items)", "2013", "M"))

MOST_PARAGRAPHS = 10
"""Paragraphs in a row with nothing between (common practice, no source: PEMAT names no number)."""
MOST_COLUMNS = 5
"""Columns of a table that is still simple (common practice, no source)."""


def terms_explained(held: Held) -> Finding:
    """Counted, because the words themselves stand there in the patient's language."""
    found = {held.written.get((s.file, s.line), "") for s in sources(everything(held.of(FORM)))}
    text = " ".join(sorted(found)).lower()
    terms = [term for term in held.library.terms if term.stands_in(text)]
    rows = sum(len(table.rows) for table in tables(part(held.of(FORM), "words-explained")))
    missing = [f"{len(terms) - rows} of {len(terms)} clinical words"] if rows < len(terms) else []
    return lacking(missing, where=f"{CONSENT}, words you may hear", what=f"{rows} clinical words")


def short_pieces(held: Held) -> Finding:
    long = [
        f"break in “{s.id}”"
        for d in _patient(held)
        for s in d.sections
        if _longest(s.nodes) > MOST_PARAGRAPHS
    ]
    what = f"at most {MOST_PARAGRAPHS} paragraphs in a row"
    return lacking(long, where="both documents", what=what)


def _patient(held: Held) -> tuple[Document, Document]:
    return held.of(FORM), held.of(SHEET)


def _longest(nodes: tuple[Node, ...]) -> int:
    longest = now = 0
    for node in nodes:
        now = now + 1 if isinstance(node, Paragraph) else 0
        longest = max(longest, now)
    return longest


def has_cues(held: Held) -> Finding:
    missing = [f"bold words in the {d.kind}" for d in _patient(held) if not _bold(d)]
    return lacking(missing, where="both documents", what="bold words for what matters most")


def _bold(document: Document) -> bool:
    words = (p for node in everything(document) for p in paragraphs(node))
    return any(run.strong for paragraph in words for run in paragraph.runs)


def simple_tables(held: Held) -> Finding:
    missing = [
        f"simple head for “{table.summary}”"
        for document in _patient(held)
        for table in tables(everything(document))
        if len(table.columns) > MOST_COLUMNS or not all(table.columns)
    ]
    what = f"every table has named columns, at most {MOST_COLUMNS}"
    return lacking(missing, where="both documents", what=what)


def explicit_steps(held: Held) -> Finding:
    """Under each topic a list of single things to do, not a block of prose."""
    loose = [
        f"list in {name}"
        for name in CARE_PARTS
        for body in flat(part(held.of(SHEET), name))
        if not isinstance(body, Items | Heading)
    ]
    return lacking(loose, where=AFTERCARE, what="each thing to do is a point of its own")


def tool(held: Held) -> Finding:
    found = tables(part(held.of(SHEET), "diary"))
    return there(found, where=AFTERCARE, what="diary to fill in")


PEMAT = Checklist(
    "pemat-p",
    "Understandable and actionable print (PEMAT-P)",
    (
        _P.person("1", "The purpose is plain at once"),
        _P.person("2", "Nothing leads away from the purpose"),
        _P.person("3", "Everyday words"),
        _P.machine("4", "Clinical words are explained", terms_explained),
        _P.person("5", "The active voice"),
        _P.person("6", "Numbers are clear"),
        _P.person("7", "The reader has nothing to reckon out"),
        _P.machine("8", "Short pieces", short_pieces, where="all three"),
        _P.person("9", "Headings tell what comes"),
        _P.person("10", "The order makes sense"),
        _P.machine("11", "A summary", summary_first),
        _P.machine("12", "Cues to what matters most", has_cues, where="all three"),
        _P.person("15", "Pictures wherever they would help"),
        _P.person("16", "Pictures bear out the words", unless=no_pictures),
        _P.person("17", "Pictures have clear titles", unless=no_pictures),
        _P.person("18", "Pictures are clear", unless=no_pictures),
        _P.machine("19", "Simple tables with short clear heads", simple_tables, where="all three"),
        _PM.machine("20", "At least one thing to do", actions_named, where="aftercare sheet"),
        _PM.person("21", "The reader is spoken to when asked to act"),
        _PM.machine("22", "Things to do in single steps", explicit_steps, where="aftercare sheet"),
        _PM.machine("23", "A tool that helps to act", tool, where="aftercare sheet"),
        _PM.person("24", "Help with any reckoning"),
        _PM.machine("25", "How to use the figures and tables", figures_explained, unless=no_figures),
        _PM.person("26", "Pictures where they would make acting easier"),
    ),
)
