"""How long a whole pack takes, beside plain python-docx writing the same documents naively.

    python tests/benchmarks/pack_speed.py [ROUNDS]

One process, both in turn in each round. "Naive" is how python-docx is used by its own manual: the
default template, styles by name, `table.cell(row, column)`. It is handed the finished trees and
only writes; consentpack matches, counts, assembles, scores and writes.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import time
from datetime import datetime
from pathlib import Path

from docx import Document as WordDocument
from docx.shared import Mm

from consentpack import pipeline
from consentpack.export.pictograph import png
from consentpack.tree import (
    Box,
    Choice,
    Document,
    Facts,
    Fields,
    Heading,
    Items,
    Node,
    Panel,
    Paragraph,
    Pictograph,
    Table,
    text_of,
)


def naive_docx(document: Document) -> bytes:
    """The document written the plain way."""
    word = WordDocument()
    word.add_heading(document.title, level=1)
    for node in document.lead:
        _naive(word, node)
    for section in document.sections:
        word.add_heading(section.heading, level=2)
        for node in section.nodes:
            _naive(word, node)
    stream = io.BytesIO()
    word.save(stream)
    return stream.getvalue()


def _naive(word, node: Node) -> None:
    if isinstance(node, Heading):
        word.add_heading(text_of(node.runs), level=node.level)
    elif isinstance(node, Paragraph):
        paragraph = word.add_paragraph()
        for run in node.runs:
            paragraph.add_run(run.text).bold = run.strong
    elif isinstance(node, Items):
        style = "List Number" if node.numbered else "List Bullet"
        for item in node.items:
            word.add_paragraph(text_of(item.runs), style=style)
    elif isinstance(node, Choice):
        word.add_paragraph(f"\u2610 {text_of(node.runs)}")
    elif isinstance(node, Fields):
        for line in node.lines:
            word.add_paragraph(f"{line.label}: ______")
    elif isinstance(node, Facts):
        for label, value in node.pairs:
            word.add_paragraph(f"{label}\t{value}")
    elif isinstance(node, Box):
        for body in node.body:
            _naive(word, body)
    elif isinstance(node, Panel):
        for title, cells in node.groups:
            word.add_paragraph(title)
            _naive_table(word, Table(("",) * len(cells), (cells,), _even(len(cells)), ""))
    else:
        _naive_table(word, node)


def _even(columns: int) -> tuple[int, ...]:
    return (100 - 100 // columns * (columns - 1), *(100 // columns for _ in range(columns - 1)))


def _naive_table(word, node: Table) -> None:
    table = word.add_table(rows=1 + len(node.rows), cols=len(node.columns), style="Table Grid")
    for column, words in enumerate(node.columns):
        table.cell(0, column).text = words
    for row, cells in enumerate(node.rows, 1):
        for column, cell in enumerate(cells):
            target = table.cell(row, column)
            for content in cell.content:
                parts = content.items if isinstance(content, Items) else (content,)
                for part in parts:
                    _naive_part(target.add_paragraph(), part)


def _naive_part(paragraph, part: Paragraph | Pictograph) -> None:
    """The pictures are handed over drawn: the plain way only puts them in."""
    if isinstance(part, Pictograph):
        paragraph.add_run().add_picture(io.BytesIO(png(part, 600)), width=Mm(22))
    else:
        paragraph.add_run(text_of(part.runs))


def booklet_of(documents: list[Document]) -> Document:
    """The longest of a pack, which stands for the form as it was before there was a booklet."""
    return next(each for each in documents if each.kind == "booklet")


def measure(rounds: int) -> tuple[list[float], list[float]]:
    """Seconds per round: whole packs by consentpack, and the naive writing of their documents.

    A round makes the packs of all demo plans, so that no cache holds the texts of the one before.
    """
    with tempfile.TemporaryDirectory() as folder:
        place = pipeline.open_workplace(pipeline.copy_demo(Path(folder) / "demo"))
        pipeline.import_audit(place, place.folder / "audit.csv", now=datetime.now(), by="bench")
        plans = pipeline.plan_files(place)
        packs = [pipeline.make_pack(place, plan) for plan in plans]  # loads dictionary and styles
        documents = [document for pack in packs for document in pack.documents]
        naive_docx(booklet_of(documents))
        ours, naive = [], []
        for _ in range(rounds):
            start = time.perf_counter()
            for plan in plans:
                pipeline.make_pack(pipeline.open_workplace(place.folder), plan)
            middle = time.perf_counter()
            for document in documents:
                naive_docx(document)
            ours.append((middle - start) / len(plans))
            naive.append((time.perf_counter() - middle) / len(plans))
    return ours, naive


def main() -> None:
    ours, naive = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 15)
    for name, times in (("whole pack, consentpack", ours), ("writing alone, naive", naive)):
        print(
            f"{name:26} median {1000 * statistics.median(times):7.1f} ms, least {1000 * min(times):7.1f} ms"
        )
    ratio = statistics.median(a / b for a, b in zip(ours, naive, strict=True))
    print(f"ratio, median of pairs: {ratio:.2f}")


if __name__ == "__main__":
    main()
