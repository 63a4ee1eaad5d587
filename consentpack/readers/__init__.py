"""Reads a text the clinic already has (Word, Markdown, HTML, plain text) into a document tree.

So an old form can be scored and mended by the same rules as a new one. What is no running text
(contacts, lines to sign, references) is kept in the tree and marked as not scored.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from consentpack.errors import Problem, ReadError
from consentpack.readers.html import read_html
from consentpack.readers.markup import read_markdown, read_plain
from consentpack.readers.word import read_word
from consentpack.tree import Document, Section

READERS: dict[str, Callable[[bytes, str], tuple[str, tuple[Section, ...]]]] = {
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
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        what = f"a '{path.suffix}' file cannot be read." if path.suffix else "its name has no ending."
        raise ReadError(Problem(name, what, f"Save it as one of: {', '.join(READERS)}."))
    try:
        data = path.read_bytes()
    except OSError as error:
        raise ReadError(Problem(name, f"the file cannot be read ({error.strerror}).")) from None
    title, sections = reader(data, name)
    return Document(
        kind=name,
        title=title or path.stem,
        language=language,
        audience="patient",
        clinic_name="",
        reference="",
        issued="",
        sections=sections,
    )


__all__ = ["READERS", "read_file"]
