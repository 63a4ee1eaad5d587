"""A cell as it may be taken at all, before anybody asks what it says; and days that were read before."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from consentpack.normal import plain
from consentpack.register.cells import BadCell, DateOrder, Marked, is_keepable
from consentpack.register.days import read_day
from consentpack.register.limits import CELL_LETTERS

KEPT = 5000
"""Cells that are remembered: an audit writes the same few a million times."""
NOT_AS_SHOWN = "is shown in another form than the file holds it; type the reference as text"


def sentence(words: str) -> str:
    return words if words.endswith((".", "?")) else f"{words}."


def keepable(text: str) -> str:
    """The cell itself. Raises BadCell for one that cannot be kept."""
    if isinstance(text, Marked) and text.fault:
        raise BadCell(text.fault)
    if len(text) > CELL_LETTERS:
        raise BadCell(f"is longer than {CELL_LETTERS} characters")
    if not is_keepable(text):  # a database would refuse the whole file for it
        raise BadCell("holds a character that cannot be kept; type the cell again")
    return text


def case_reference(text: str) -> str:
    """A case reference as it is shown: 7 in the format 000 is 007."""
    if isinstance(text, Marked):
        if text.shown is None:
            raise BadCell(NOT_AS_SHOWN)
        text = text.shown
    return present(text)


def present(text: str) -> str:
    found = plain(text)
    if not found:
        raise BadCell("is blank")
    return found


@lru_cache(maxsize=KEPT)
def read_day_once(text: str, order: DateOrder, from_1904: bool) -> tuple[date | None, str]:
    """`read_day` of a cell without marks."""
    return read_day(text, order, from_1904=from_1904)
