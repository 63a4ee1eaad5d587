"""Days as people type them beside the plain forms of `cells`: short years, names of months, numbers of days.

None of them is a guess. A short year is the last part; a month by its name needs no order; the number of a
day is what spreadsheet programs keep. Where day and month could be either, the order counts as always.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from functools import lru_cache

from consentpack import shipped
from consentpack.normal import folded, plain
from consentpack.register.cells import BadCell, DateOrder, Marked, read_date

SHORT_YEAR = re.compile(r"^(\d{1,2})[./-](\d{1,2})[./-](\d{2})$")
_SPACED = re.compile(r"\s*([./-])\s*(?=\d)")
_TIME = re.compile(r"(?:[ T]|, ?)\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?: ?[ap]m)?Z?$", re.IGNORECASE)
_SERIAL = re.compile(r"^(\d{5})(?:[.,]\d+)?$")
_DIGITS = re.compile(r"^(\d{4})(\d{2})(\d{2})$")
_CENTURY = 2000
"""No clinic's audit of sessions that it still counts reaches back to the century before."""
_FIRST_SERIAL = 25569
"""1970-01-01. A smaller number is no day of an audit, but an amount in the wrong column."""
_EPOCH, _EPOCH_1904 = date(1899, 12, 30), date(1904, 1, 1)
"""Day 0 of a workbook, and of one that counts from 1904 (ECMA-376-1, 18.17.4.1; day 60 is not counted)."""
_BESIDE = frozenset(("de", "del", "of", "the", "st", "nd", "rd", "th", "er", "ngày", "năm", "年", "日", "r"))
"""What may stand beside a month's name, in the languages of our catalogues (from memory)."""


def read_day(text: str, order: DateOrder, *, from_1904: bool = False) -> tuple[date | None, str]:
    """A day, and how it was typed where that is none of the plain forms; None for blank. Raises BadCell."""
    try:
        return read_date(text, order), ""
    except BadCell:
        found, how = _otherwise(text, order, from_1904)
        if found is None:
            raise
        return found, how


def without_time(text: str) -> str:
    """A day as its plain parts: no time behind it, no spaces in it, no sign of text before it."""
    return _SPACED.sub(r"\1", _TIME.sub("", plain(text).lstrip("'’")).rstrip(" .,"))


def _otherwise(text: str, order: DateOrder, from_1904: bool) -> tuple[date | None, str]:
    word = without_time(text)
    try:
        if word != plain(text) and (day := read_date(word, order)):
            return day, "with more than the day"
    except BadCell:
        pass
    if found := SHORT_YEAR.match(word):
        return _short(found, order), "with a short year"
    if found := _SERIAL.match(word):
        return _numbered(int(found[1]), isinstance(text, Marked), from_1904), "as the number of a day"
    if found := _DIGITS.match(word):
        return _day(int(found[1]), int(found[2]), int(found[3])), "in digits alone"
    return _named(word), "with the month's name"


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _short(found: re.Match[str], order: DateOrder) -> date | None:
    """With the year first a short year could be a day: 08.09.23 would be of 2008. It is not read."""
    first, second, year = (int(part) for part in found.groups())
    if order == "year-first":
        return None
    month, day = (second, first) if order == "day-first" else (first, second)
    return _day(_CENTURY + year, month, day)


def _numbered(number: int, is_number: bool, from_1904: bool) -> date | None:
    """In a workbook that counts from 1904 a number typed as text may be of either count: it is not read."""
    if from_1904:
        return _EPOCH_1904 + timedelta(number) if is_number else None
    return _EPOCH + timedelta(number) if number >= _FIRST_SERIAL else None


def _named(word: str) -> date | None:
    names, beside = _months()
    text = folded(word)
    found = list(_any_of(tuple(names)).finditer(text))
    if len(found) != 1:
        return None
    rest = f"{text[: found[0].start()]} {text[found[0].end() :]}"
    if not beside.issuperset(re.findall(r"[^\W\d_]+", rest)):
        return None
    numbers = re.findall(r"\d+", rest)
    if len(numbers) != 2 or sorted(map(len, numbers)) not in ([1, 2], [1, 4], [2, 2], [2, 4]):
        return None
    return _with_month(names[found[0].group()], *numbers)


def _with_month(month: int, first: str, second: str) -> date | None:
    if len(first) == 4:
        return _day(int(first), month, int(second))
    if len(second) == 1:
        return None
    return _day(int(second) + (_CENTURY if len(second) == 2 else 0), month, int(first))


@lru_cache(maxsize=1)
def _months() -> tuple[dict[str, int], frozenset[str]]:
    """Name of a month -> its number, in English and the languages of our catalogues; and what may stand
    beside it. A name that is another month in another language is in none."""
    from babel import Locale  # noqa: PLC0415 - heavy, and most audits name no month

    meant: dict[str, set[int]] = {}
    beside = set(_BESIDE)
    for tag in sorted({"en", *(each.name for each in shipped.locales().iterdir() if each.is_dir())}):
        locale = Locale.parse(tag)
        for number, name in _names(locale.months):
            meant.setdefault(name, set()).add(number)
        beside.update(word for _, name in _names(locale.days) for word in name.split())
    names = {name: min(months) for name, months in meant.items() if len(months) == 1}
    return names, frozenset(beside) - names.keys()


def _names(table: object) -> Iterator[tuple[int, str]]:
    """Numbers and names, whole and short, as they stand alone and in a date; not single letters."""
    for context in ("format", "stand-alone"):
        for width in ("wide", "abbreviated"):
            for number, name in table[context][width].items():  # type: ignore[index]
                short = folded(name).rstrip(".")
                if not short.isdecimal():
                    yield number, short


@lru_cache(maxsize=1)
def _any_of(names: tuple[str, ...]) -> re.Pattern[str]:
    """The longest first: 'march' before 'mar', and '11月' before '1月'."""
    longest = sorted(names, key=len, reverse=True)
    return re.compile("|".join(_bounded(name) for name in longest))


def _bounded(name: str) -> str:
    before = r"(?<!\d)" if name[0].isdecimal() else r"(?<![^\W\d_])"
    after = r"(?!\d)" if name[-1].isdecimal() else r"(?![^\W\d_])"
    return f"{before}{re.escape(name)}{after}"
