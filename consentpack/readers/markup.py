"""Markdown and plain text."""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack import markdown
from consentpack.readers.build import Builder
from consentpack.readers.html import decode
from consentpack.tree import Section, Source

_FRONT_MATTER = re.compile(r"\A(\+\+\+|---)\n.*?\n\1\n", re.DOTALL)
_BULLET = re.compile(r"^\s*(?:[•·▪●○■□☐*–-]|\(?\d{1,2}[.)])\s+")
_ENDED = (".", "!", "?", ":", "”", '"')


def read_markdown(data: bytes, file: str) -> tuple[str, tuple[Section, ...]]:
    """Title and sections of any Markdown; front matter is passed over."""
    text = decode(data, file)
    found = _FRONT_MATTER.match(text)
    if found:  # the lines stay, so that places are those of the file
        text = "\n" * found.group().count("\n") + text[found.end() :]
    builder = Builder(file)
    for kind, line, words in markdown.loose_blocks(text):
        source = Source(file, line)
        if kind == "heading":
            builder.heading(words)
        elif kind == "item":
            builder.item(words, source)
        else:
            builder.paragraph(words, source)
    return builder.title, builder.sections()


def read_plain(data: bytes, file: str) -> tuple[str, tuple[Section, ...]]:
    """Title and sections of plain text: an empty line parts paragraphs, a sign begins a bullet."""
    builder = Builder(file)
    for line, text, bullet in _paragraphs(decode(data, file)):
        if bullet:
            builder.item(_BULLET.sub("", text), Source(file, line))
        elif _is_heading(text):
            builder.heading(text)
        else:
            builder.paragraph(text, Source(file, line))
    return builder.title, builder.sections()


def _paragraphs(text: str) -> Iterator[tuple[int, str, bool]]:
    """Line, words and whether a bullet, of each paragraph; wrapped lines are joined again."""
    start, words, bullet = 0, "", False
    for number, line in enumerate([*text.splitlines(), ""], 1):
        begins = bool(_BULLET.match(line))
        if words and (begins or not line.strip()):
            yield start, words, bullet
            words = ""
        if line.strip():
            if not words:
                start, bullet = number, begins
            words = f"{words} {line.strip()}".strip()


def _is_heading(text: str) -> bool:
    return (
        len(text.split()) <= 10
        and not text.endswith(_ENDED)
        and (text.isupper() or text.istitle() or len(text.split()) <= 6)
    )
