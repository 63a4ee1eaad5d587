"""Days in settings, plans and modules, however they are written; and quotes from a word processor."""

from __future__ import annotations

from datetime import date

import pytest

from consentpack.days import Unclear, day_in, looks_like_day
from consentpack.strict import Key, TomlText, check_table, dated, load_toml

DAY = date(2026, 11, 20)
KEYS = {"day": Key(date, "a day")}


@pytest.mark.parametrize(
    "words",
    ["2026-11-20", "2026-11-20 ", "2026/11/20", "20.11.2026", "20/11/2026", "11/20/2026", "20 Nov 2026",
     "20 November 2026", "Nov 20, 2026", "20-Nov-2026", "20th November 2026", "20. 11. 2026"],
)  # fmt: skip
def test_a_clear_day_is_read_in_any_form(words):
    assert day_in(words) == DAY


def test_day_and_month_are_told_apart_by_the_clinics_order_and_never_guessed():
    assert day_in("03/04/2026", "day-first") == date(2026, 4, 3)
    assert day_in("03/04/2026", "month-first") == date(2026, 3, 4)
    assert day_in("04/04/2026") == date(2026, 4, 4)
    for order in ("", "year-first"):
        with pytest.raises(Unclear, match="3 April 2026 or 4 March 2026: write 2026-04-03 or 2026-03-04"):
            day_in("03/04/2026", order)


@pytest.mark.parametrize(
    "words", ["", "soon", "31.2.2026", "20.11.26", "20 Foo 2026", "2026", "1.2", "x" * 500]
)
def test_what_is_no_day_is_none(words):
    assert day_in(words) is None


def test_a_day_that_is_not_there_still_looks_like_one():
    assert looks_like_day("31.2.2026") and not looks_like_day("1.2.3.4") and not looks_like_day("2.5")


def read(text: str, order: str = "") -> object:
    data, problems = load_toml(text, file="p.toml")
    found = dated(data, KEYS, order)
    said = [str(each) for each in problems or check_table(found, KEYS, toml=TomlText("p.toml", text))]
    return said or found["day"]


@pytest.mark.parametrize("written", ["2026-11-20", "20.11.2026", "20 Nov 2026", "20/11/2026", '"20/11/2026"'])
def test_a_day_of_a_settings_file_needs_no_quotes_and_may_have_them(written):
    assert read(f"# first\nday = {written}  # when\n") == DAY


def test_a_day_that_may_be_two_is_refused_with_its_line():
    assert read("\nday = 03/04/2026\n") == [
        "p.toml, line 2: 'day' is '03/04/2026', which may be 3 April 2026 or 4 March 2026: "
        "write 2026-04-03 or 2026-03-04."
    ]
    assert read("day = 03/04/2026\n", "day-first") == date(2026, 4, 3)


def test_a_day_that_is_not_in_the_calendar_is_said_to_be_none():
    assert read("day = 31.2.2026\n") == ["p.toml, line 1: 'day' is '31.2.2026', and there is no such day."]


def test_nothing_else_is_taken_for_a_day():
    assert "is not TOML" in read("day = 1.2.3.4\n")[0]
    text = 'a = """\nday = 20.11.2026\n"""\nday = 20.11.2026\n'
    assert load_toml(text, file="p")[0] == {"a": "day = 20.11.2026\n", "day": "20.11.2026"}


@pytest.mark.parametrize(
    ("row", "straight"),
    [("a = “chin”", 'a = "chin"'), ("a = [“x”, 'y']", "a = [\"x\", 'y']"), ("a = ‘chin’", 'a = "chin"'),
     ('p = "x” # "y"', 'p = "x" # "y"'), ("a = `x`", 'a = "x"'), ("a = “it’s”", 'a = "it’s"')],
)  # fmt: skip
def test_quotes_of_a_word_processor_are_named_with_what_to_type(row, straight):
    _, (problem,) = load_toml(f"b = 1\n{row}\n", file="p.toml")
    assert problem.where == "p.toml, line 2" and "typographic quotes" in problem.what
    assert problem.fix == f"Type straight ones: {straight}"
