"""Word files to PDF, drawn by LibreOffice: an office program knows how pages break, we do not."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from consentpack.errors import OutputError, Problem
from consentpack.export._drawn import Piece, lost, page_without_code, pages_of
from consentpack.export._told_readers import mended
from consentpack.tree import Document

SECONDS = 180
"""LibreOffice takes two seconds, with a new profile some more; one that asks something waits for ever."""

_USUAL_PLACES = (
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    r"C:\Program Files\LibreOffice\program\soffice.exe",
)
"""Where its own installers put it without telling the system (common practice, no source)."""

_OPTIONS = ("UseTaggedPDF", "PDFUACompliance", "UseLosslessCompression")
"""Tagged, so that a screen reader finds headings and tables; as PDF/UA asks, which puts title and claim into
the metadata; pictures without loss. An older LibreOffice leaves out what it does not know."""
_FILTER = (
    "pdf:writer_pdf_Export:{" + ",".join(f'"{o}":{{"type":"boolean","value":"true"}}' for o in _OPTIONS) + "}"
)

_PRINT_WORD = "The Word files can be printed as they are: leave out --pdf."
_USE_WORD = f"Nothing is missing in the Word file. {_PRINT_WORD}"


def find_office() -> str | None:
    """LibreOffice's command, or None where it is not installed."""
    usual = (place for place in _USUAL_PLACES if Path(place).is_file())
    return shutil.which("soffice") or shutil.which("libreoffice") or next(usual, None)


def export_pdf(word_files: Mapping[str, bytes], *, seconds: float = SECONDS) -> dict[str, bytes]:
    """File name -> PDF, for each Word file given by its name. One start of LibreOffice draws all.

    Raises OutputError when it is not installed, takes too long, fails, or leaves a file out.
    """
    office = find_office()
    if office is None:
        what = "PDFs are drawn by LibreOffice, and it is not installed here."
        fix = f"Install LibreOffice (Debian, Ubuntu: apt-get install libreoffice-writer). {_PRINT_WORD}"
        raise OutputError(Problem("--pdf", what, fix))
    # a profile of its own: LibreOffice refuses to start twice on one, and somebody may have it open
    with tempfile.TemporaryDirectory(prefix="consentpack-", ignore_cleanup_errors=True) as made:
        folder = Path(made)
        for name, content in word_files.items():
            (folder / name).write_bytes(content)
        said = _convert(office, folder, list(word_files), seconds)
        named = {f"{Path(name).stem}.pdf": content for name, content in word_files.items()}
        return {pdf: mended(_read(folder / pdf, said), content) for pdf, content in named.items()}


_NAMED = 3
"""Pieces of a part that are named as lost: enough to find the place by."""
_LONGEST = 60
"""Characters of a piece that are shown."""


def refuse_losses(documents: Mapping[str, Document], drawn: Mapping[str, bytes]) -> None:
    """Compare each PDF's text with the tree it was made from; both are given by the PDF's name.

    Raises OutputError that names what is missing: a patient's sheet must not lack a part in silence.
    """
    pages = {name: pages_of(drawn[name]) for name in documents}
    problems = [
        Problem(name, _told(document, missing), _USE_WORD)
        for name, document in documents.items()
        if (missing := lost(document, pages[name]))
    ]
    problems += [
        Problem(name, f"LibreOffice left the code {document.code} out on page {number}.", _USE_WORD)
        for name, document in documents.items()
        if (number := page_without_code(document, pages[name]))
    ]
    if problems:
        raise OutputError(problems)


def _told(document: Document, missing: list[Piece]) -> str:
    """Which words of which parts are not in a PDF."""
    parts = list(dict.fromkeys(piece.heading for piece in missing))
    texts = [_shortened(piece.text) for piece in missing]
    more = f" and {len(texts) - _NAMED} more" if len(texts) > _NAMED else ""
    named, under = ", ".join(texts[:_NAMED]) + more, ", ".join(f"'{part}'" for part in parts)
    return f"LibreOffice left out words of '{document.title}', under {under}: {named}. No PDF was written."


def _shortened(text: str) -> str:
    return f"“{text}”" if len(text) <= _LONGEST else f"“{text[: _LONGEST - 1]}…”"


def _convert(office: str, folder: Path, names: list[str], seconds: float) -> str:
    """Run LibreOffice and give back what it said."""
    command = [office, f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless"]
    command += ["--convert-to", _FILTER, "--outdir", str(folder), *(str(folder / name) for name in names)]
    log = folder / "log.txt"
    with log.open("wb") as output:
        try:
            running = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=output, stderr=output, start_new_session=True
            )
        except OSError as error:
            raise _failed(f"LibreOffice did not start ({error.strerror}).") from None
        _wait(running, seconds)
    return log.read_text(encoding="utf-8", errors="replace")


def _wait(running: subprocess.Popen[bytes], seconds: float) -> None:
    try:
        running.wait(seconds)
    except subprocess.TimeoutExpired:
        raise _failed(f"LibreOffice had not finished after {seconds:g} seconds and was stopped.") from None
    finally:
        _stop(running)


def _stop(running: subprocess.Popen[bytes]) -> None:
    """End it with all it started: the command is a script, and what it started would live on."""
    if running.poll() is not None:
        return
    if sys.platform == "win32":
        running.kill()
    else:
        os.killpg(running.pid, signal.SIGKILL)
    running.wait()


def _read(path: Path, said: str) -> bytes:
    """A PDF that was made. LibreOffice ends with 0 even when it made none."""
    content = path.read_bytes() if path.is_file() else b""
    if not content.startswith(b"%PDF-"):
        last = next((line.strip() for line in reversed(said.splitlines()) if line.strip()), "nothing")
        raise _failed(f"LibreOffice made no {path.name}. The last it said: {last}")
    return content


def _failed(what: str) -> OutputError:
    fix = f"Open a Word file of the pack in LibreOffice to see whether it works at all. {_PRINT_WORD}"
    return OutputError(Problem("--pdf", what, fix))


def pages_of_any(pdf: bytes) -> list[str]:
    """The text of each page of a PDF from anywhere; none where it cannot be read."""
    from pypdfium2 import PdfiumError  # noqa: PLC0415 - only for PDFs

    try:
        return pages_of(pdf)
    except PdfiumError:
        return []
