"""Whether day or month stands first: as the clinic says, or as a whole column tells. Never by one cell."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from consentpack.errors import Problem, RegisterError
from consentpack.register.cells import BadCell, DateOrder
from consentpack.register.days import SHORT_YEAR, read_day, without_time

_LONG_YEAR = re.compile(r"^(\d{1,2})[./-](\d{1,2})[./-](\d{4})$")
_SWAPPED: dict[str, DateOrder] = {"day-first": "month-first", "month-first": "day-first"}
"""The order that is taken for each other; year-first never is."""
_NAMED = 5
"""Rows that a question names."""


def orders_fitting(cell: str, today: date = date.max) -> frozenset[DateOrder]:
    """The orders in which a date that does not begin with a long year is a day of the calendar.

    A short year may also stand first, where two digits do; and none lies in the future, or half the
    days of a month would pass for years.
    """
    word = without_time(cell)
    if _LONG_YEAR.match(word):
        return frozenset(order for order in _SWAPPED.values() if _day(word, order))
    short = SHORT_YEAR.match(word)
    if short is None:
        return frozenset()
    found = {order for order in _SWAPPED.values() if (day := _day(word, order)) and day <= today}
    first = f"20{short[1]}-{short[2]}-{short[3]}"
    if len(short[1]) == 2 and (day := _day(first, "year-first")) and day <= today:
        found.add("year-first")
    return frozenset(found)


def _day(word: str, order: DateOrder) -> date | None:
    try:
        return read_day(word, order)[0]
    except BadCell:
        return None


def order_shown(cell: str, order: DateOrder, today: date = date.max) -> DateOrder | None:
    """The only order of day and month that fits a date; None when several fit, or none.

    `order` is the declared one; with the year first, nothing can be taken for anything else.
    """
    if order not in _SWAPPED:
        return None
    fits = orders_fitting(cell, today)
    if order in fits:
        return order if len(fits) == 1 else None
    return min(fits, default=None)


@dataclass
class Declared:
    """Whether the dates of a sheet are typed in the declared order.

    Those that fit only the other order are set aside, but those that fit both would go in swapped.
    """

    order: DateOrder
    columns: tuple[int, ...]
    today: date
    fitting: int = 0
    others: int = 0
    first: int = 0
    other: DateOrder | None = None

    def look(self, number: int, cells: list[str]) -> None:
        """Count the dates of one row that fit one order only."""
        if self.order not in _SWAPPED:
            return
        for column in self.columns:
            if column >= len(cells) or cells[column][:4].isdecimal():  # a long year first
                continue
            shown = order_shown(cells[column], self.order, self.today)
            if shown == self.order:
                self.fitting += 1
            elif shown is not None:
                self.others += 1
                self.first, self.other = self.first or number, self.other or shown

    def refuse_others(self, file: str) -> None:
        """Stop when more dates are in the other order than are surely in the declared one."""
        if self.others <= self.fitting:
            return
        what = (
            f"the dates seem to be typed {self.other}: {self.others} fit only that, and "
            f"{self.fitting} only {self.order}. The others would be read with day and month swapped, "
            "so nothing went in."
        )
        fix = f'Look at the dates. If it is so, write dates = "{self.other}" under [audit] in clinic.toml.'
        if self.other == "year-first":
            fix = "Look at the dates. If the year stands first, write it with four digits, as in 2026-11-25."
        raise RegisterError(Problem(f"{file}, row {self.first}", what, fix))


@dataclass
class _Column:
    """What the dates of one column say about their order."""

    only: dict[DateOrder, list[int]] = field(default_factory=dict)
    """Order -> rows whose dates fit that alone."""
    either: list[int] = field(default_factory=list)
    """Rows whose dates are another day in another order."""
    left: set[DateOrder] = field(default_factory=lambda: {"day-first", "month-first", "year-first"})
    """The orders in which every date so far is a day."""

    def look(self, number: int, cell: str, today: date) -> None:
        fits = orders_fitting(cell, today)
        if not fits:
            return
        self.left &= fits
        if len(fits) == 1:
            self.only.setdefault(min(fits), []).append(number)
        elif len({_day(_as_typed(cell, order), order) for order in fits}) > 1:
            self.either.append(number)

    @property
    def order(self) -> DateOrder | None:
        """The one order of all its dates; None when that cannot be told."""
        if len(self.left) == 1 and "year-first" not in self.left:
            return min(self.left)
        return None if self.only or self.either else "day-first"


def _as_typed(cell: str, order: DateOrder) -> str:
    word = without_time(cell)
    return f"20{word}" if order == "year-first" else word


def told_by_columns(
    rows: Iterable[tuple[int, list[str]]], columns: Mapping[int, str], *, file: str, today: date
) -> dict[int, DateOrder]:
    """Position of a column -> the order in which all its dates are days.

    `columns` are those that hold days, by position, with their headers. Raises RegisterError with a
    question where a column does not tell: one date read the wrong way round is a wrong day in every
    figure, and nobody would see it.
    """
    found = {at: _Column() for at in columns}
    for number, cells in rows:
        for at, column in found.items():
            if at < len(cells) and cells[at]:
                column.look(number, cells[at], today)
    orders = {at: column.order for at, column in found.items()}
    asked = [_question(columns[at], found[at], file) for at, order in orders.items() if order is None]
    if asked:
        raise RegisterError(asked)
    return {at: order for at, order in orders.items() if order is not None}


_ANSWER = (
    'Which is it? Write dates = "day-first" (25/11/2026) or dates = "month-first" (11/25/2026) under [audit] '
    "in clinic.toml, and import again."
)


def _question(header: str, column: _Column, file: str) -> Problem:
    parts = [f"{len(rows)} fit only {order} ({_rows(rows)})" for order, rows in sorted(column.only.items())]
    if column.either:
        parts.append(f"{len(column.either)} can be read in more than one order ({_rows(column.either)})")
    what = f"nothing tells whether day or month stands first in '{header}': {', '.join(parts)}."
    fix = _ANSWER
    if "year-first" in column.left | column.only.keys():
        fix += " If the year stands first, write it with four digits instead."
    return Problem(file, f"{what} Nothing went in.", fix)


def _rows(rows: list[int]) -> str:
    """'row 5', or 'rows 5, 6, 7 …'."""
    named = ", ".join(map(str, rows[:_NAMED]))
    return f"row {named}" if len(rows) == 1 else f"rows {named}{' …' if len(rows) > _NAMED else ''}"
