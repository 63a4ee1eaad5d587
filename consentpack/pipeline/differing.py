"""In which parts a paper differs from the one that was given."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from consentpack.errors import ConsentpackError
from consentpack.export.pdf import pages_of_any
from consentpack.readers import READERS, read_file
from consentpack.tree import texts

MOST = 40
"""Pieces that are shown; a paper with more is another paper."""


@dataclass(frozen=True)
class Difference:
    """One piece of words that is not as it was given."""

    part: str
    """The heading it stands under, or the page."""
    given: str
    """'' for something that was added."""
    now: str
    """'' for something that is missing."""


def differences(given: Path, now: Path) -> tuple[Difference, ...]:
    """What is said differently in two files of one kind; none where only the bytes differ."""
    try:
        before, after = _pieces(given), _pieces(now)
    except ConsentpackError as error:
        return (Difference(now.name, "", f"this cannot be read: {error.problems[0].what}"),)
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    found = [
        change
        for tag, first, upto, there, until in matcher.get_opcodes()
        if tag != "equal"
        for change in _changes(before[first:upto], after[there:until])
    ]
    return tuple(found[:MOST])


def _changes(before: list[tuple[str, str]], after: list[tuple[str, str]]) -> Iterator[Difference]:
    for position in range(max(len(before), len(after))):
        old = before[position] if position < len(before) else ("", "")
        new = after[position] if position < len(after) else ("", "")
        yield Difference(old[0] or new[0], old[1], new[1])


def _pieces(path: Path) -> list[tuple[str, str]]:
    """Each piece of words with the heading above it."""
    if path.suffix.lower() == ".pdf":
        return list(_pages(path))
    if path.suffix.lower() not in READERS:
        return [("", line) for line in path.read_text(encoding="utf-8", errors="replace").splitlines()]
    document = read_file(path)
    found = [("", piece) for node in document.lead for piece in texts(node)]
    for section in document.sections:
        found.append((section.heading, section.heading))
        found += [(section.heading, piece) for node in section.nodes for piece in texts(node)]
    return [(part, " ".join(piece.split())) for part, piece in found if piece.strip()]


def _pages(path: Path) -> Iterator[tuple[str, str]]:
    for number, page in enumerate(pages_of_any(path.read_bytes()), 1):
        for line in page.splitlines():
            if line.strip():
                yield f"page {number}", " ".join(line.split())
