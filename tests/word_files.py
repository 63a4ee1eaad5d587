"""Word files made to be checked: one that is accessible, and ways to break it in one place.

What python-docx cannot make is put in as the XML that Word writes (ECMA-376 part 1).
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import docx
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Pt

NAMES = nsdecls("w", "r", "wp", "a", "pic") + (
    ' xmlns:v="urn:schemas-microsoft-com:vml"'
    ' xmlns:mc="http://schemas.openxmlformats.org/markup-compatibility/2006"'
    ' xmlns:wps="http://schemas.microsoft.com/office/word/2010/wordprocessingShape"'
    ' xmlns:adec="http://schemas.microsoft.com/office/drawing/2017/decorative"'
)
TITLE = "About your scar treatment"
LONG = "We lift the scar with a thin needle. " * 4
"""Runs over several lines."""


def xml(text: str) -> Any:
    """An element from `<w:tag …>` with the namespaces Word uses."""
    head, rest = text[1:].split(">", 1) if " " not in text.split(">")[0] else text[1:].split(" ", 1)
    close = "/" if head.endswith("/") else ""
    glue = ">" if " " not in text.split(">")[0] else " "
    return parse_xml(f"<{head.removesuffix('/')} {NAMES}{close}{glue}{rest}")


def png() -> bytes:
    """A picture of one black dot."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0\0"))
        + chunk(b"IEND", b"")
    )


@dataclass
class Form:
    """A Word document with names for the places that tests break."""

    word: Any
    text: Any
    """A paragraph of running text in its middle."""
    table: Any
    picture: Any
    control: Any
    link: Any

    @property
    def run(self) -> Any:
        return self.text.runs[0]

    def set(self, where: str, text: str) -> None:
        """Put one property on the middle paragraph ('pPr') or its run ('rPr'), replacing its like."""
        holder = self.text._p.get_or_add_pPr() if where == "pPr" else self.run._r.get_or_add_rPr()
        made = xml(text)
        for old in holder.findall(made.tag):
            holder.remove(old)
        holder.append(made)

    def setting(self, text: str) -> None:
        self.word.settings.element.append(xml(text))

    def cell(self, row: int, column: int) -> Any:
        return self.table.cell(row, column)

    def saved(self, folder: Path, *, more: Mapping[str, bytes] | None = None) -> Path:
        """The file; `more` are members of the zip that are added."""
        stream = io.BytesIO()
        self.word.save(stream)
        path = folder / "form.docx"
        with zipfile.ZipFile(stream) as old, zipfile.ZipFile(path, "w") as new:
            for name in old.namelist():
                new.writestr(name, old.read(name))
            for name, data in (more or {}).items():
                new.writestr(name, data)
        return path


def clean() -> Form:
    """A small form in which no rule finds anything."""
    word = docx.Document()
    word.core_properties.title = TITLE
    word.styles["Normal"].font.size = Pt(12)
    word.styles["Normal"].font.name = "Arial"
    for level in (2, 3, 4):  # their blue has 3.99 to 1, which large text may have
        word.styles[f"Heading {level}"].font.size = Pt(14)
    word.add_heading(TITLE, 1)
    text = word.add_paragraph(LONG)
    word.add_heading("Risks", 2)
    for point in ("You may bruise.", "You may bleed."):
        word.add_paragraph(point, "List Bullet")
    table = _table(word)
    picture = word.add_paragraph().add_run().add_picture(io.BytesIO(png()))
    picture._inline.docPr.set("descr", "27 of 100 people bruised")
    control = word.add_paragraph("I agree")._p
    control.append(xml(CONTROL))
    link = _linked(word, "Our page on scars", "https://example.org/scars")
    word.add_paragraph("Ring us on 020 7946 0101.")
    word.sections[0].header.paragraphs[0].text = "Ring 020 7946 0101"
    return Form(word, text, table, picture, control, link)


CONTROL = (
    '<w:sdt><w:sdtPr><w:alias w:val="Your name"/><w:id w:val="7"/><w:text/></w:sdtPr>'
    "<w:sdtContent><w:r><w:t>Name</w:t></w:r></w:sdtContent></w:sdt>"
)


def _table(word: Any) -> Any:
    table = word.add_table(rows=3, cols=2, style="Table Grid")
    for cell, words in zip(
        table._cells, ("Risk", "How often", "Bruise", "27 of 100", "Scar", ""), strict=True
    ):
        cell.text = words
    for row in table.rows:
        row._tr.get_or_add_trPr().append(xml("<w:cantSplit/>"))
    table.rows[0]._tr.trPr.append(xml("<w:tblHeader/>"))
    return table


def _linked(word: Any, words: str, address: str) -> Any:
    paragraph = word.add_paragraph("See ")
    add_link(paragraph, words, address)
    return paragraph


def add_link(paragraph: Any, words: str, address: str) -> None:
    id = paragraph.part.relate_to(address, docx.opc.constants.RELATIONSHIP_TYPE.HYPERLINK, is_external=True)
    run = f'<w:r><w:rPr><w:u w:val="single"/></w:rPr><w:t>{words}</w:t></w:r>'
    paragraph._p.append(xml(f'<w:hyperlink r:id="{id}">{run}</w:hyperlink>'))


def text_in(link: Any, words: str) -> None:
    """Change the words of a paragraph's link."""
    link._p.find(f".//{qn('w:hyperlink')}").find(f".//{qn('w:t')}").text = words
