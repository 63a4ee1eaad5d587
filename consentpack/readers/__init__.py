"""Reads a text the clinic already has (Word, Markdown, HTML, plain text) into a document tree.

So an old form can be scored and mended by the same rules as a new one. What is no running text
(contacts, lines to sign, references) is kept in the tree and marked as not scored.

`letters` bytes to text -> `html`, `markup`, `word` -> `prose` what is a sentence -> `build` the tree.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from consentpack.errors import Problem, ReadError, unread
from consentpack.limits import MOST_BYTES
from consentpack.readers.build import Parts
from consentpack.readers.html import read_html
from consentpack.readers.markup import read_markdown, read_plain
from consentpack.readers.word import read_word
from consentpack.tree import Document

READERS: dict[str, Callable[[bytes, str], Parts]] = {
    ".docx": read_word,
    ".md": read_markdown,
    ".txt": read_plain,
    ".html": read_html,
    ".htm": read_html,
}


def read_file(path: Path, *, shown: str = "", language: str = "en-GB") -> Document:
    """The document in a file. `shown` is the file's name in messages.

    Raises ReadError when the file is not there, is of another kind, or cannot be read.
    """
    name = shown or path.name
    parts = _reader(path, name)(read_bytes(path, name), name)
    return Document(
        kind=name,
        title=parts.title or path.stem,
        language=language,
        audience="patient",
        clinic_name="",
        reference="",
        issued="",
        sections=parts.sections,
        lead=parts.lead,
    )


def _reader(path: Path, name: str) -> Callable[[bytes, str], Parts]:
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        what = f"a '{path.suffix}' file cannot be read." if path.suffix else "its name has no ending."
        fix = f"Open it in the program that made it and save it as one of: {', '.join(READERS)}."
        raise ReadError(Problem(name, what, fix))
    return reader


def read_bytes(path: Path, name: str) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            what = f"the file has more than {MOST_BYTES // 1_000_000} million bytes."
            raise ReadError(Problem(name, what, "Take its pictures out, or save its text alone as .txt."))
        return path.read_bytes()
    except OSError as error:
        raise ReadError(unread(name, error)) from None


__all__ = ["READERS", "read_file"]
