"""Days as people write them: 2026-11-20, 20.11.2026, 20 Nov 2026, "20/11/2026".

What is clear is read. Where day and month could change places it is the clinic's own order that says which is
which; without one nothing is guessed: a form dated three months late would still look right.
"""

from __future__ import annotations

import re
from datetime import date

MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
    "november", "december",
)  # fmt: skip
_NUMBERS = re.compile(r"(\d{1,4})\s*[./ -]\s*(\d{1,2})\s*[./ -]\s*(\d{1,4})")
_DAY_WORD = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ .-]*([A-Za-z]{3,9})[ .,-]*(\d{4})", re.IGNORECASE)
_WORD_DAY = re.compile(r"([A-Za-z]{3,9})[ .-]*(\d{1,2})(?:st|nd|rd|th)?[ .,-]+(\d{4})", re.IGNORECASE)


class Unclear(ValueError):
    """A day that may be one of two; the text finishes a sentence that begins with it."""


def day_in(words: str, order: str = "") -> date | None:
    """The day that some words name; None where they name none.

    `order` is how the clinic types dates: 'day-first', 'month-first', or anything else for neither. Raises
    Unclear where day and month may change places and no order says which is which.
    """
    words = words.strip()
    if found := _NUMBERS.fullmatch(words):
        return _of_numbers(found.group(1), int(found.group(2)), found.group(3), order)
    if found := _DAY_WORD.fullmatch(words):
        return _made(found.group(3), _month(found.group(2)), int(found.group(1)))
    if found := _WORD_DAY.fullmatch(words):
        return _made(found.group(3), _month(found.group(1)), int(found.group(2)))
    return None


def looks_like_day(words: str) -> bool:
    """Whether some words are written as a day is, whether or not there is such a day."""
    return any(form.fullmatch(words.strip()) for form in (_NUMBERS, _DAY_WORD, _WORD_DAY))


def _of_numbers(first: str, second: int, last: str, order: str) -> date | None:
    if len(first) == 4 and len(last) <= 2:
        return _made(first, second, int(last))
    if len(last) != 4 or len(first) > 2:
        return None
    day_first, month_first = _made(last, second, int(first)), _made(last, int(first), second)
    if day_first is None or month_first is None or day_first == month_first:
        return day_first or month_first
    if order == "day-first":
        return day_first
    if order == "month-first":
        return month_first
    either = f"{_said(day_first)} or {_said(month_first)}"
    raise Unclear(f"may be {either}: write {day_first} or {month_first}")


def _said(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1].capitalize()} {day.year}"


def _month(word: str) -> int:
    """The number of a month by its name or the beginning of it; 0 for no month."""
    word = word.lower()
    return next((number for number, name in enumerate(MONTHS, 1) if name.startswith(word)), 0)


def _made(year: str, month: int, day: int) -> date | None:
    try:
        return date(int(year), month, day)
    except ValueError:
        return None
