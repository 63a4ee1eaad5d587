"""Several PDFs as one, to be printed in one go on both sides of the paper."""

from __future__ import annotations

import io
from collections.abc import Iterable

from consentpack.errors import OutputError, Problem


def one_pdf(papers: Iterable[tuple[str, bytes]]) -> bytes:
    """All pages of some PDFs, by name, in their order. Each paper begins on a sheet of its own: on both sides
    of the paper, somebody would sign the back of another one. Raises OutputError for what is no PDF.

    It is for printing alone: a screen reader's marks are in the single files.
    """
    from pypdfium2 import PdfDocument, PdfiumError  # noqa: PLC0415 - only for PDFs

    made = PdfDocument.new()
    for name, content in papers:
        try:
            with PdfDocument(content) as paper:
                made.import_pages(paper)
                if len(paper) % 2:
                    made.new_page(*paper[len(paper) - 1].get_size())
        except PdfiumError:
            fix = "Make the pack again."
            raise OutputError(Problem(name, "it cannot be read as a PDF.", fix)) from None
    stream = io.BytesIO()
    made.save(stream)
    made.close()
    return stream.getvalue()
