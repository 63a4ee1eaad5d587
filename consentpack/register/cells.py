"""One cell of a spreadsheet read strictly: a value, nothing, or a reason."""

from __future__ import annotations

import re
from datetime import date
from typing import Literal

from consentpack.normal import plain
from consentpack.register.limits import DETAIL_LETTERS

GRADES = {
    "no": 0, "n": 0, "false": 0, "none": 0, "0": 0,
    "yes": 1, "y": 1, "true": 1, "x": 1, "mild": 1, "1": 1,
    "moderate": 2, "2": 2, "severe": 3, "3": 3, "4": 4, "5": 5,
}  # fmt: skip
"""Word in an outcome cell -> 0 for not seen, 1 and above for seen or its grade."""

NONE_SEEN = frozenset({"none", "no", "nil", "-"})
"""Words of a list column that say: looked, and nothing was seen."""

LARGEST_COUNT = 999_999
"""The largest number taken for a count; longer ones are slips of the keyboard."""
_LONGEST_COUNT = len(str(LARGEST_COUNT))
_UNKEEPABLE = re.compile("[\\x00-\\x08\\x0e-\\x1b\\x7f\\ud800-\\udfff]")
"""Signs of control, and halves of a letter, which no text in UTF-8 can hold."""
_DATE = re.compile(r"^(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})$")
_ORDERS: dict[str, tuple[int, int, int]] = {
    "day-first": (2, 1, 0),
    "month-first": (2, 0, 1),
    "year-first": (0, 1, 2),
}
"""Where year, month and day stand."""
_EXAMPLES = {"day-first": "25/11/2026", "month-first": "11/25/2026", "year-first": "2026-11-25"}

DateOrder = Literal["day-first", "month-first", "year-first"]


class BadCell(ValueError):
    """A cell that cannot be read; the text says why and what would be right."""


class Marked(str):
    """The text of a cell with what its file knows of it besides."""

    fault: str
    """Why the cell cannot be read, such as a formula without its value; '' when it can."""
    shown: str | None
    """A number as the sheet shows it, such as 007 for 7; None when that cannot be told."""
    over = False
    """Whether it is a formula over many rows, such as a sum."""

    @classmethod
    def of(cls, text: str, *, fault: str = "", shown: str | None = "") -> Marked:
        """A text with its marks; `shown` is the text itself when it is left out."""
        made = cls(text)
        made.fault, made.shown = fault, shown if shown != "" else text
        return made


def is_keepable(text: str) -> bool:
    """Whether every database can hold a text."""
    return not _UNKEEPABLE.search(text)


def visible(text: str) -> str:
    """A text that can be printed anywhere: what no database can hold is shown as the sign for it."""
    return _UNKEEPABLE.sub("\N{REPLACEMENT CHARACTER}", text)


def shortened(text: str) -> str:
    """A bad cell as it is shown: a very long one would fill the memory."""
    text = text.strip()
    return visible(text if len(text) <= DETAIL_LETTERS else f"{text[:DETAIL_LETTERS]}…")


def read_date(cell: str, order: DateOrder) -> date | None:
    """A date in the declared order, or an ISO date (its order is never in doubt); None if blank.

    Raises BadCell.
    """
    cell = plain(cell)
    if not cell:
        return None
    found = _DATE.match(cell)
    if not found:
        raise BadCell(f"is not a date; dates here are typed {_EXAMPLES[order]}")
    parts = found.groups()
    at = _ORDERS["year-first"] if len(parts[0]) == 4 else _ORDERS[order]
    year, month, day = (parts[position] for position in at)
    if len(year) != 4:
        raise BadCell(f"needs a year of four digits, as in {_EXAMPLES[order]}")
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        raise BadCell(f"is no day of the calendar; dates here are typed {_EXAMPLES[order]}") from None


def read_outcome(cell: str) -> int | None:
    """0 for not seen, 1 and above for seen or its grade, None for blank.

    Blank means not recorded, never no. Raises BadCell.
    """
    word = plain(cell).lower()
    if not word:
        return None
    if word in GRADES:
        return GRADES[word]
    raise BadCell(
        "is neither yes, no nor a grade (mild, moderate, severe, 0 to 5); leave the cell blank when "
        "it was not recorded"
    )


def read_count(cell: str) -> int:
    """A whole number of 1 or more. Raises BadCell."""
    cell = plain(cell)
    if not cell.isdecimal() or len(cell) > _LONGEST_COUNT or int(cell) < 1:
        raise BadCell("is not a whole number of 1 or more")
    return int(cell)


def read_number(cell: str) -> float | None:
    """A number of 0 or more, with a decimal point or comma; None for blank. Raises BadCell."""
    cell = plain(cell)
    if not cell:
        return None
    if not re.fullmatch(r"\d+([.,]\d+)?", cell):
        raise BadCell("is not a number")
    return float(cell.replace(",", "."))
