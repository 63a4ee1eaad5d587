"""Single cells: a value, nothing, or a reason. All cells here are invented."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.register.cells import BadCell, read_count, read_date, read_number, read_outcome

FORMATS = {"day-first": "{d}/{m}/{y}", "month-first": "{m}/{d}/{y}", "year-first": "{y}/{m}/{d}"}


@pytest.mark.parametrize(
    ("order", "expected"),
    [("day-first", date(2026, 4, 3)), ("month-first", date(2026, 3, 4))],
)
def test_a_date_that_could_be_either_is_read_in_the_declared_order(order, expected):
    assert read_date("03/04/2026", order) == expected


@pytest.mark.parametrize("order", FORMATS)
@given(day=st.dates(min_value=date(1000, 1, 1), max_value=date(2999, 12, 31)))
def test_every_date_typed_in_the_declared_order_comes_back(order, day):
    typed = FORMATS[order].format(d=day.day, m=day.month, y=day.year)
    assert read_date(typed, order) == day


@pytest.mark.parametrize("order", FORMATS)
@given(day=st.dates(min_value=date(1000, 1, 1)))
def test_an_iso_date_is_read_the_same_whatever_the_declared_order(order, day):
    assert read_date(day.isoformat(), order) == day


@pytest.mark.parametrize("typed", ["25/11/2026", "25.11.2026", "25-11-2026", " 25/11/2026 "])
def test_slash_dot_and_hyphen_stand_between_the_parts_of_a_date(typed):
    assert read_date(typed, "day-first") == date(2026, 11, 25)


def test_a_day_above_twelve_is_never_guessed_into_the_other_order():
    with pytest.raises(BadCell, match="no day of the calendar; dates here are typed 11/25/2026"):
        read_date("25/11/2026", "month-first")
    with pytest.raises(BadCell, match="no day of the calendar; dates here are typed 25/11/2026"):
        read_date("11/25/2026", "day-first")


@pytest.mark.parametrize("typed", ["25/11/26", "1/2/3", "25/11/026"])
def test_a_year_of_fewer_than_four_digits_is_refused(typed):
    with pytest.raises(BadCell, match="year of four digits"):
        read_date(typed, "day-first")


@pytest.mark.parametrize("typed", ["30/02/2026", "29/02/2025", "00/01/2026", "31/04/2026"])
def test_a_day_that_no_calendar_has_is_refused(typed):
    with pytest.raises(BadCell, match="no day of the calendar"):
        read_date(typed, "day-first")


@pytest.mark.parametrize("typed", ["45987", "last week", "25 Nov 2026", "25/11", "2026-11-25 09:00", "-"])
def test_what_is_not_a_date_is_refused_with_an_example_of_what_would_be(typed):
    with pytest.raises(BadCell, match="is not a date; dates here are typed 25/11/2026"):
        read_date(typed, "day-first")


@pytest.mark.parametrize("blank", ["", " ", "\t", "\n", "\u00a0"])
def test_blank_means_not_recorded_never_no(blank):
    assert read_outcome(blank) is None
    assert read_number(blank) is None
    assert read_date(blank, "day-first") is None


@pytest.mark.parametrize("typed", ["yes", "Yes", "Y", "TRUE", "1", "x", " yes "])
def test_yes_is_known_in_the_ways_people_type_it(typed):
    assert read_outcome(typed) == 1


@pytest.mark.parametrize("typed", ["no", "No", "N", "FALSE", "0", " no ", "None"])
def test_no_is_known_in_the_ways_people_type_it(typed):
    assert read_outcome(typed) == 0


@pytest.mark.parametrize(
    ("typed", "grade"),
    [("mild", 1), ("Moderate", 2), (" SEVERE ", 3), ("1", 1), ("2", 2), ("3", 3), ("4", 4), ("5", 5)],
)
def test_a_grade_is_known_as_a_word_or_a_number(typed, grade):
    assert read_outcome(typed) == grade


@pytest.mark.parametrize(
    "typed",
    ["maybe", "-", "n/a", "?", "6", "-1", "1.0", "nil", "yes?", "unknown", "not seen", "0 to 5", "grade 2"],
)
def test_anything_else_is_neither_yes_nor_no_nor_a_grade(typed):
    with pytest.raises(BadCell, match=r"nor a grade .*; leave the cell blank when it was not recorded"):
        read_outcome(typed)


@given(st.text(max_size=8))
def test_no_cell_is_read_as_no_unless_somebody_typed_no(typed):
    try:
        found = read_outcome(typed)
    except BadCell:
        return
    if found == 0:
        assert typed.strip().lower() in {"no", "n", "none", "false", "0"}
    assert found is None or 0 <= found <= 5


@given(st.integers(1, 9999))
def test_a_whole_number_is_read(number):
    assert read_count(f" {number} ") == number


@pytest.mark.parametrize("typed", ["", "0", "-1", "1.5", "1,0", "one", "2nd", "²"])
def test_what_is_no_whole_number_of_one_or_more_is_refused(typed):
    with pytest.raises(BadCell, match="whole number of 1 or more"):
        read_count(typed)


@pytest.mark.parametrize("digits", [7, 20, 5000])
def test_a_number_of_absurd_length_is_refused_like_any_other_bad_cell(digits):
    with pytest.raises(BadCell, match="whole number of 1 or more"):
        read_count("9" * digits)


@pytest.mark.parametrize(
    ("typed", "number"), [("0.02", 0.02), ("0,02", 0.02), ("3", 3.0), (" 1.5 ", 1.5), ("0", 0.0)]
)
def test_a_number_is_read_with_a_point_or_a_comma(typed, number):
    assert read_number(typed) == number


@pytest.mark.parametrize("typed", ["-1", "1.", ".5", "1,000.5", "0.02 ml", "a lot", "1e-3", "nan", "inf"])
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(BadCell, match="is not a number"):
        read_number(typed)


def test_yesterday_and_tomorrow_are_apart_by_one_day_across_a_change_of_clocks():
    assert read_date("30/03/2026", "day-first") - read_date("29/03/2026", "day-first") == timedelta(1)
