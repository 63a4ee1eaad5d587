"""The rows in which the headers of a spreadsheet stand, as people write them."""

from __future__ import annotations

import re

_ROWS = re.compile(r"(\d{1,7})(?:\s*-\s*(\d{1,7}))?")


def header_rows(words: str) -> tuple[int, ...] | None:
    """'3' or '2-3' as numbers; () for nothing, None for what is neither one row nor two that follow."""
    if not words:
        return ()
    found = _ROWS.fullmatch(words)
    if found is None or (found[2] and int(found[2]) != int(found[1]) + 1):
        return None
    return tuple(int(number) for number in found.groups() if number)


def as_words(rows: tuple[int, ...]) -> str:
    """Rows as they are written: '3' or '2-3'."""
    return "-".join(map(str, rows))
