"""The treatments behind a figure, counted by hand; finding a case. All cases are invented."""

from __future__ import annotations

from datetime import date

from support import BY, NOW, treatment

from consentpack.register import Window, add_treatment, cases_like, record_outcomes, rows_behind

TODAY = date(2026, 6, 1)
WINDOW = Window(date(2025, 6, 1), TODAY)


def enter(register, case: str, day: date, *, seen_on: date | None = None, again: date | None = None, **seen):
    add_treatment(register, treatment(case, day=day), now=NOW, by=BY)
    if seen_on:
        record_outcomes(register, case, 1, seen, seen_on=seen_on, now=NOW, by=BY, retreated_on=again)


def behind(register, outcome: str = "bruising", **asked):
    with register.connect() as connection:
        return rows_behind(connection, "blunt-cannula", outcome, window=WINDOW, days=14, **asked)


def six(register) -> None:
    enter(register, "A-1", date(2026, 3, 2), seen_on=date(2026, 3, 20), bruising=1)
    enter(register, "A-2", date(2026, 3, 3), seen_on=date(2026, 3, 20), bruising=0)
    enter(register, "A-3", date(2026, 3, 4), seen_on=date(2026, 3, 7), bruising=1)
    enter(register, "A-4", date(2026, 3, 5))
    enter(register, "A-5", date(2026, 5, 25), seen_on=date(2026, 5, 30), bruising=1)
    enter(register, "A-6", date(2025, 5, 31), seen_on=date(2026, 3, 20), bruising=1)  # before the period
    enter(register, "A-7", date(2026, 3, 6), seen_on=date(2026, 3, 30), again=date(2026, 3, 10), bruising=0)


def test_each_is_counted_or_says_why_not(register):
    six(register)
    found = behind(register)
    assert found.numbers == {"seen": 1, "counted": 2, "left-out": 4, "all": 6}
    assert [(row.case, row.grade, row.why_not) for row in found.shown] == [
        ("A-5", 1, "its watching time is not over"),
        ("A-7", 0, "the place was treated again before the watching time was over"),
        ("A-4", None, "nothing is written down"),
        ("A-3", 1, "watched for 3 of 14 days"),
        ("A-2", 0, ""),
        ("A-1", 1, ""),
    ]


def test_a_part_of_them_is_told_and_a_page_of_that(register):
    six(register)
    assert [row.case for row in behind(register, part="seen").shown] == ["A-1"]
    assert [row.case for row in behind(register, part="counted").shown] == ["A-2", "A-1"]
    assert [row.case for row in behind(register, part="left-out", first=1, most=2).shown] == ["A-7", "A-4"]


def test_of_an_outcome_that_nobody_wrote_down_nothing_counts(register):
    six(register)
    found = behind(register, "infection")
    assert found.numbers == {"seen": 0, "counted": 0, "left-out": 6, "all": 6}
    assert {row.why_not for row in found.shown} == {"nothing is written down"}


def test_a_case_is_found_by_how_it_begins_and_a_sign_means_itself(register):
    for case in ("Ab-1", "AB-12", "ab-2", "X_1", "XY1", "%"):
        enter(register, case, date(2026, 3, 2))
    with register.connect() as connection:
        assert cases_like(connection, "ab-1") == ["Ab-1", "AB-12"]
        assert cases_like(connection, "x_") == ["X_1"]
        assert cases_like(connection, "%") == ["%"]
        assert cases_like(connection, "ab", most=1) == ["Ab-1"]
        assert cases_like(connection, "b") == []
