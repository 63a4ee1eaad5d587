"""Document tree to Word in large print."""

from __future__ import annotations

from dataclasses import replace

from consentpack.export import Paper
from consentpack.export.docx import export_docx
from consentpack.tree import Document


def write(document: Document, paper: Paper) -> bytes:
    """A document in 18 pt as the bytes of a .docx file."""
    return export_docx(document, day=paper.day, look=replace(paper.look, large=True))
