"""Markdown and plain text."""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack import markdown
from consentpack.readers import prose
from consentpack.readers.build import Builder, Parts
from consentpack.readers.html import feed_html
from consentpack.readers.letters import decode, too_large
from consentpack.tree import Source

_FRONT_MATTER = re.compile(
    r"\A(\+\+\+|---)[ \t]*\n(?=\s*(?:#.*\n\s*)*(?:[\w.\"'-]+\s*[:=]|\[)).*?\n\1[ \t]*(?:\n|\Z)", re.S
)
_UNDERLINE = re.compile(r"^\s*([=\-_*~])\1{2,}\s*$")


def read_markdown(data: bytes, file: str) -> Parts:
    """The parts of any Markdown; front matter is passed over."""
    text = decode(data, file)
    found = _FRONT_MATTER.match(text)
    if found:  # the lines stay, so that places are those of the file
        text = "\n" * found.group().count("\n") + text[found.end() :]
    builder = Builder(file)
    try:
        for kind, line, words in markdown.loose_blocks(text):
            _take(builder, kind, words, Source(file, line))
    except markdown.TooManyMarks as error:
        raise too_large(error, f"{file}, line {error.line + 1}") from None
    return builder.parts()


def _take(builder: Builder, kind: str, words: str, source: Source) -> None:
    """Hand one block of Markdown to the builder."""
    if kind in ("item", "step"):
        builder.item(words, source, numbered=kind == "step")
    elif kind == "more":
        builder.more(words, source)
    elif kind == "html":
        feed_html(words, builder, first_line=source.line)
    elif kind == "label":
        builder.label(words, source)
    elif kind == "heading" or (kind == "strong" and prose.is_handmade_heading(words)):
        builder.heading(words, source)
    else:
        lines = [(Source(source.file, source.line + n), row) for n, row in enumerate(words.split("\n"))]
        for place, row in prose.joined(lines):
            builder.paragraph(row, place, in_row=kind == "cell")


def read_plain(data: bytes, file: str) -> Parts:
    """The parts of plain text: an empty line parts paragraphs, a sign begins a point of a list."""
    builder = Builder(file)
    for paragraph in _paragraphs(decode(data, file)):
        for number, text in _points(paragraph):
            source = Source(file, number)
            if len(paragraph) == 1 and _is_heading(text):
                builder.heading(text, source)
            elif found := prose.BULLET.match(text):
                builder.item(text[found.end() :], source, numbered=prose.is_numbered(text))
            else:
                builder.paragraph(text, source)
    return builder.parts()


_Lines = list[tuple[int, str]]


def _paragraphs(text: str) -> Iterator[_Lines]:
    """The lines between empty lines, with their numbers. A heading in capitals or with a line under it
    stands alone."""
    rows = [*text.split("\n"), ""]
    held: _Lines = []
    for number, row in enumerate(rows, 1):
        under = bool(_UNDERLINE.match(row))
        alone = _is_capital(row) or bool(_UNDERLINE.match((rows[number : number + 1] or [""])[0]))
        if (not row.strip() or under or alone) and held:
            yield held
            held = []
        if alone and row.strip() and not under:
            yield [(number, row)]
        elif row.strip() and not under:
            held.append((number, row))


def _is_capital(row: str) -> bool:
    return row.isupper() and len(row.split()) > 1 and _is_heading(row)


def _points(paragraph: _Lines) -> _Lines:
    """A paragraph's points and sentences with the line each begins on; wrapped lines are joined.

    A line that is set in under a point belongs to it, whatever it begins with.
    """
    joined: _Lines = []
    held: _Lines = []
    depth = -1
    for number, row in paragraph:
        indent = len(row) - len(row.lstrip())
        if prose.BULLET.match(row):
            joined, held, depth = joined + prose.joined(held), [(number, row)], indent
        elif depth >= 0 and indent > depth:
            held[-1] = (held[-1][0], f"{held[-1][1]} {row.strip()}")
        else:
            held.append((number, row))
    return joined + prose.joined(held)


def _is_heading(text: str) -> bool:
    """Whether a line that stands alone is a heading: in capitals, or a few words with no full stop."""
    text = text.strip()
    short = len(text.split()) <= 6 or text.isupper() or text.endswith("?")
    point = prose.BULLET.match(text) and not text.isupper()
    return short and not point and prose.is_handmade_heading(text) and not prose.is_name(text)
