"""A sheet typed in the other order of day and month is refused, not half swapped. Rows are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support import HEAD, READING, cases, contents, line, load, numbers

from consentpack.errors import RegisterError
from consentpack.register.orders import order_shown

MONTH_FIRST = ["01/05/2026", "02/03/2026", "03/25/2026", "04/13/2026"]
DAY_FIRST = ["05/01/2026", "25/03/2026", "13/04/2026"]


def sheet(days: list[str]) -> str:
    return HEAD + "".join(line(f"C-{number}", date=day) for number, day in enumerate(days))


@pytest.mark.parametrize(
    ("days", "order", "other"),
    [(MONTH_FIRST, "day-first", "month-first"), (DAY_FIRST, "month-first", "day-first")],
)
def test_a_sheet_in_the_other_order_stops_and_nothing_goes_in(register, days, order, other):
    with pytest.raises(RegisterError) as caught:
        load(register, sheet(days), reading=replace(READING, date_order=order))
    (problem,) = caught.value.problems
    assert f"the dates seem to be typed {other}: 2 fit only that, and 0 only {order}" in problem.what
    assert f'dates = "{other}"' in problem.fix
    assert cases(register) == []


@pytest.mark.parametrize(
    ("days", "order"),
    [(MONTH_FIRST, "month-first"), (DAY_FIRST, "day-first"), (MONTH_FIRST[:2], "day-first")],
)
def test_a_sheet_in_the_declared_order_goes_in(register, days, order):
    result = load(register, sheet(days), reading=replace(READING, date_order=order))
    assert result.added == len(days)


def test_one_slip_among_many_dates_sets_its_row_aside(register):
    result = load(
        register, sheet([*DAY_FIRST, "12/31/2025"]), reading=replace(READING, date_order="day-first")
    )
    assert numbers(result) == (4, 3, 0, 0, 1)


def test_the_day_of_last_sight_tells_the_order_too(register):
    text = HEAD.strip() + ",last_seen\n" + line("A", date="01/02/2026").strip() + ",03/25/2026\n"
    with pytest.raises(RegisterError, match="seem to be typed month-first"):
        load(register, text, reading=replace(READING, date_order="day-first"))


def test_days_that_fit_no_order_or_have_the_year_first_say_nothing(register):
    days = ["31/02/2026", "2026-13-01", "2026-01-05", "yesterday", "13/13/2026"]
    result = load(register, sheet(days), reading=replace(READING, date_order="day-first"))
    assert numbers(result) == (5, 1, 0, 0, 4)


@pytest.mark.parametrize(
    ("cell", "shown"),
    [("25/03/2026", "day-first"), ("03/25/2026", "month-first"), ("03/04/2026", None), ("30/02/2026", None),
     ("2026-03-25", None), ("8.9.23", None), ("8/30/23", "month-first"), ("", None)],
)  # fmt: skip
def test_the_order_that_a_date_shows(cell, shown):
    assert order_shown(cell, "day-first") == order_shown(cell, "month-first") == shown
    assert order_shown(cell, "year-first") is None


def test_nothing_is_swapped_in_a_sheet_that_goes_in(register):
    load(register, sheet(["02/03/2026", "25/03/2026"]), reading=replace(READING, date_order="day-first"))
    assert str(contents(register)["C-0", 1]["day"]) == "2026-03-02"
