"""One cell of a spreadsheet read strictly: a value, nothing, or a reason."""

from __future__ import annotations

import re
from datetime import date
from typing import Literal

YES = frozenset({"yes", "y", "true", "1", "x"})
NO = frozenset({"no", "n", "false", "0"})

_DATE = re.compile(r"^(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})$")
_ORDERS: dict[str, tuple[int, int, int]] = {
    "day-first": (2, 1, 0),
    "month-first": (2, 0, 1),
    "year-first": (0, 1, 2),
}
"""Where year, month and day stand."""

DateOrder = Literal["day-first", "month-first", "year-first"]


class BadCell(ValueError):
    """A cell that cannot be read; the text says why and what would be right."""


def read_date(cell: str, order: DateOrder) -> date | None:
    """A date in the declared order, or an ISO date (its order is never in doubt); None if blank.

    Raises BadCell.
    """
    cell = cell.strip()
    if not cell:
        return None
    found = _DATE.match(cell)
    if not found:
        raise BadCell(f"is not a date; dates here are typed {_example(order)}")
    parts = found.groups()
    at = _ORDERS["year-first"] if len(parts[0]) == 4 else _ORDERS[order]
    year, month, day = (parts[position] for position in at)
    if len(year) != 4:
        raise BadCell(f"needs a year of four digits, as in {_example(order)}")
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        raise BadCell(f"is no day of the calendar; dates here are typed {_example(order)}") from None


def _example(order: DateOrder) -> str:
    return {"day-first": "25/11/2026", "month-first": "11/25/2026", "year-first": "2026-11-25"}[order]


def read_yes_no(cell: str) -> bool | None:
    """Yes, no, or None for blank: blank means not recorded, never no. Raises BadCell."""
    word = cell.strip().lower()
    if not word:
        return None
    if word in YES:
        return True
    if word in NO:
        return False
    raise BadCell("is neither yes nor no; leave the cell blank when it was not recorded")


def read_count(cell: str) -> int:
    """A whole number of 1 or more. Raises BadCell."""
    cell = cell.strip()
    if not cell.isdecimal() or int(cell) < 1:
        raise BadCell("is not a whole number of 1 or more")
    return int(cell)
