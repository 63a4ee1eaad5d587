"""How long writing a consent of four pages takes, beside other ways of writing the same words.

    python tests/benchmarks/export_speed.py [ROUNDS]

The document is the front of a demo plan's consent form: as many of its parts as fill four pages of A4.
Every way is handed the finished tree and writes to memory, in turn, in one warm process. What is
measured is processor time:

- consentpack: `export_docx`, with the demo's brand, content controls, fixed dates and order of parts;
- naive: python-docx as its manual shows it (`pack_speed.naive_docx`);
- docxtpl: a template with loops, opened and filled for each document. The template is made beforehand
  from the slim package that consentpack starts from, so that docxtpl carries none of the dead weight;
- pandoc: Markdown to Word, one process for each document. It has to start each time; that is how it is
  used from a program. Left out where it is not installed.

docxtpl and pandoc write less: no content controls, no brand, no header, and nothing keeps lines together.
"""

from __future__ import annotations

import gc
import io
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from docx import Document as WordDocument
from docxtpl import DocxTemplate
from pack_speed import booklet_of, naive_docx
from pictures import without_pictures

from consentpack import pipeline
from consentpack.export._base import new_document
from consentpack.export.docx import export_docx
from consentpack.export.look import Look
from consentpack.tree import (
    Box,
    Choice,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Paragraph,
    Table,
    text_of,
)

DAY = date(2026, 11, 25)
PAGES = 4
SECTIONS = (
    "Why we plan this",
    "What will happen",
    "How we numb the area",
    "What you may gain",
    "Before you come",
)
"""Parts of the consent that, with its lead, fill four pages as LibreOffice draws them."""


def demo() -> tuple[list[Document], Look]:
    """The finished documents of all demo plans without their pictures, which other ways cannot draw,
    and the demo's look."""
    with tempfile.TemporaryDirectory() as folder:
        place = pipeline.open_workplace(pipeline.copy_demo(Path(folder) / "demo"))
        pipeline.import_audit(place, place.folder / "audit.csv", now=datetime.now(), by="bench")
        packs = [pipeline.make_pack(place, plan) for plan in pipeline.plan_files(place)]
        documents = [without_pictures(document) for pack in packs for document in pack.documents]
        return documents, Look(place.clinic.brand)


def four_pages(document: Document) -> Document:
    """A consent cut to what fills four pages, without the list of contents: no other way counts its pages."""
    kept = tuple(section for section in document.sections if section.heading in SECTIONS)
    lead = tuple(node for node in document.lead if not isinstance(node, Items))
    return replace(document, lead=lead, sections=kept)


# --- the same blocks for docxtpl and pandoc -------------------------------------------------------


def blocks(document: Document) -> Iterator[tuple[str, Any]]:
    """The document as simple blocks: a kind, and its words or rows."""
    yield "h1", document.title
    for node in document.lead:
        yield from _block(node)
    for section in document.sections:
        yield "h2", section.heading
        for node in section.nodes:
            yield from _block(node)


def _block(node: Node) -> Iterator[tuple[str, Any]]:
    if isinstance(node, Heading):
        yield f"h{node.level}", text_of(node.runs)
    elif isinstance(node, Paragraph):
        yield "p", text_of(node.runs)
    elif isinstance(node, Items):
        for item in node.items:
            yield ("number" if node.numbered else "bullet"), text_of(item.runs)
    elif isinstance(node, Choice):
        yield "p", f"\u2610 {text_of(node.runs)}"
    elif isinstance(node, Facts):
        for label, value in node.pairs:
            yield "p", f"{label}: {value}"
    elif isinstance(node, Fields):
        for words in filter(None, (node.title, text_of(node.statement))):
            yield "p", words
        for line in node.lines:
            yield "p", f"{line.label}: ______"
    elif isinstance(node, Box):
        yield "p", node.title
        for body in node.body:
            yield from _block(body)
    elif isinstance(node, Table):
        yield "table", [list(node.columns), *([list(_lines(cell)) for cell in row] for row in node.rows)]


def _lines(cell: Any) -> Iterator[str]:
    for content in cell.content:
        parts = content.items if isinstance(content, Items) else (content,)
        yield from (text_of(part.runs) for part in parts)


# --- docxtpl --------------------------------------------------------------------------------------

_STYLES = {
    "h1": "Heading1",
    "h2": "Heading2",
    "h3": "Heading3",
    "bullet": "ListBullet",
    "number": "ListNumber",
}


def template() -> bytes:
    """A template with one loop over blocks, as a clinic's designer would keep it in Word."""
    word, _ = new_document(Look())
    _paragraph(word, "{%p for b in blocks %}")
    for kind, style in (*_STYLES.items(), ("p", "")):
        _paragraph(word, f"{{%p if b.kind == '{kind}' %}}")
        _paragraph(word, "{{ b.words }}", style)
        _paragraph(word, "{%p endif %}")
    for columns in (2, 3):
        _paragraph(word, f"{{%p if b.kind == 'table' and b.columns == {columns} %}}")
        table = word.add_table(rows=3, cols=columns)
        table._tbl.tblStyle_val = "PackTable"
        table.cell(0, 0).text = "{%tr for row in b.words %}"
        for column in range(columns):
            table.cell(1, column).text = f"{{{{ row[{column}] }}}}"
        table.cell(2, 0).text = "{%tr endfor %}"
        _paragraph(word, "{%p endif %}")
    _paragraph(word, "{%p endfor %}")
    stream = io.BytesIO()
    word.save(stream)
    return stream.getvalue()


def _paragraph(word: Any, text: str, style: str = "") -> None:
    paragraph = word.add_paragraph(text)
    if style:
        paragraph._p.style = style


def with_docxtpl(document: Document, made: bytes) -> bytes:
    """The document through the template. Words are escaped: without, a `<` would vanish."""
    found = []
    for kind, words in blocks(document):
        if kind == "table":
            words = [["\n".join(c) if isinstance(c, list) else c for c in row] for row in words]
        found.append({"kind": kind, "words": words, "columns": len(words[0]) if kind == "table" else 0})
    filled = DocxTemplate(io.BytesIO(made))
    filled.render({"blocks": found}, autoescape=True)
    stream = io.BytesIO()
    filled.save(stream)
    return stream.getvalue()


# --- pandoc ---------------------------------------------------------------------------------------


def markdown(document: Document) -> str:
    """The document as pandoc's Markdown; tables as pipe tables."""
    marks = {"h1": "# ", "h2": "## ", "h3": "### ", "bullet": "- ", "number": "1. "}
    found = []
    for kind, words in blocks(document):
        if kind == "table":
            rows = [[" ".join(c) if isinstance(c, list) else c for c in row] for row in words]
            lines = ["| " + " | ".join(row) + " |" for row in rows]
            found.append("\n".join([lines[0], "|" + "---|" * len(rows[0]), *lines[1:]]))
        else:
            found.append(marks.get(kind, "") + words)
    return "\n\n".join(found) + "\n"


def with_pandoc(document: Document) -> bytes:
    command = ["pandoc", "--from", "markdown", "--to", "docx", "--output", "-"]
    return subprocess.run(command, input=markdown(document).encode(), capture_output=True, check=True).stdout


# --- measuring ------------------------------------------------------------------------------------


def ways(document: Document, look: Look, *, pandoc: bool = True) -> dict[str, Callable[[], bytes]]:
    """Every way of writing the document."""
    made = template()
    found: dict[str, Callable[[], bytes]] = {
        "consentpack": lambda: export_docx(document, day=DAY, look=look),
        "consentpack, no brand": lambda: export_docx(document, day=DAY),
        "consentpack, large print": lambda: export_docx(document, day=DAY, look=replace(look, large=True)),
        "docxtpl": lambda: with_docxtpl(document, made),
        "naive python-docx": lambda: naive_docx(document),
    }
    if pandoc and shutil.which("pandoc"):
        found["pandoc, a process each"] = lambda: with_pandoc(document)
    return found


def measure(each: dict[str, Callable[[], bytes]], rounds: int) -> dict[str, list[float]]:
    """Seconds of processor time per round of every way, in turn."""
    for write in each.values():
        write()
    times: dict[str, list[float]] = {name: [] for name in each}
    for _ in range(rounds):
        for name, write in each.items():
            start = used()
            write()
            times[name].append(used() - start)
    return times


def used() -> float:
    """Processor time of this process and of those it has started: others on the machine do not count."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def ratio(times: dict[str, list[float]], one: str, other: str) -> float:
    """How much of the other's time one takes: the median over the rounds."""
    return statistics.median(a / b for a, b in zip(times[one], times[other], strict=True))


def words_of(content: bytes) -> list[str]:
    """Every word of a file's body, sorted: to show that all ways write the same."""
    body = WordDocument(io.BytesIO(content)).element.body
    paragraphs = ("".join(t.text or "" for t in p.iter("{*}t")) for p in body.iter("{*}p"))
    return sorted(
        word for text in paragraphs for word in text.replace("\u2610", "").split() if set(word) - {"_"}
    )


def memory_growth(documents: list[Document], look: Look, packs: int) -> tuple[float, int]:
    """Processor seconds for the documents of so many packs, and by how many kB the process then is larger.

    Each pack has a reference of its own, so that anything kept of one would show.
    """
    three = documents[:3]

    def write(number: int) -> None:
        for document in three:
            export_docx(replace(document, reference=f"R-{number}"), day=DAY, look=look)

    for number in range(100):
        write(number)
    gc.collect()
    before, start = resident(), used()
    for number in range(packs):
        write(number)
    took = used() - start
    gc.collect()
    return took, resident() - before


def resident() -> int:
    """What the process holds in memory, in kB."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * resource.getpagesize() // 1024


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 31
    documents, look = demo()
    document = four_pages(booklet_of(documents))
    each = ways(document, look)
    times = measure(each, rounds)
    for name, found in times.items():
        size = len(each[name]())
        print(
            f"{name:26} median {1000 * statistics.median(found):7.2f} ms, least {1000 * min(found):7.2f} ms, "
            f"{ratio(times, 'consentpack', name):.3f} of its time is ours, {size} bytes"
        )
    took, grown = memory_growth(documents, look, 500)
    print(
        f"500 packs, 3 whole documents each: {took:.1f} s, {1500 / took:.0f} a second, {grown} kB more memory"
    )


if __name__ == "__main__":
    main()
