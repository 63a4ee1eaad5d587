"""Word files: paragraphs, lists and table cells in the order of the page."""

from __future__ import annotations

import io
import re
import zipfile
from typing import Any

from consentpack.errors import Problem, ReadError
from consentpack.readers.build import Builder
from consentpack.tree import Section, Source

_BULLET = re.compile(r"^\s*(?:[•·▪●○■□☐✓*–-]|\(?\d{1,2}[.)]|\(?[a-z][.)])\s+")


def read_word(data: bytes, file: str) -> tuple[str, tuple[Section, ...]]:
    """Title and sections of a .docx. Raises ReadError when it is none."""
    import docx  # noqa: PLC0415 - python-docx is slow to load
    from docx.opc.exceptions import PackageNotFoundError  # noqa: PLC0415

    try:
        document = docx.Document(io.BytesIO(data))
    except (PackageNotFoundError, zipfile.BadZipFile, KeyError, ValueError):
        fix = "Open it in Word and save it as .docx; an old .doc is another kind of file."
        raise ReadError(Problem(file, "this is not a Word file (.docx).", fix)) from None
    builder = Builder(file)
    _blocks(document, builder, file, [0])
    return document.core_properties.title or builder.title, builder.sections()


def _blocks(holder: Any, builder: Builder, file: str, number: list[int]) -> None:
    """Everything a document or cell holds, paragraphs counted as Word's reader would count them."""
    from docx.table import Table  # noqa: PLC0415

    for block in holder.iter_inner_content():
        if isinstance(block, Table):
            for row in block.rows:
                for cell in dict.fromkeys(row.cells):  # a merged cell is given once per column
                    _blocks(cell, builder, file, number)
        else:
            number[0] += 1
            _paragraph(block, builder, Source(f"{file}, paragraph {number[0]}"))


def _paragraph(paragraph: Any, builder: Builder, source: Source) -> None:
    """One paragraph; forced line breaks inside it part it, as they do for the eye."""
    style = (paragraph.style.name or "").lower() if paragraph.style is not None else ""
    pieces = [piece for piece in paragraph.text.split("\n") if piece.strip()]
    listed = style.startswith("list") or (paragraph._p.pPr is not None and paragraph._p.pPr.numPr is not None)
    for text in pieces:
        if style.startswith(("heading", "title")) or _is_bold_heading(paragraph, text):
            builder.heading(text)
        elif listed or _BULLET.match(text):
            builder.item(_BULLET.sub("", text), source)
        else:
            builder.paragraph(text, source)


def _is_bold_heading(paragraph: Any, text: str) -> bool:
    """Old forms often make headings by hand: a short line, all bold, without a full stop."""
    runs = [run for run in paragraph.runs if run.text.strip()]
    short = len(text.split()) <= 12 and text.rstrip()[-1:] not in ".!?;,"
    return bool(runs) and short and (all(run.bold for run in runs) or text.isupper())
