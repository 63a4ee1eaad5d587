"""Counts out of the register at their borders. All rows are invented."""

from __future__ import annotations

from dataclasses import astuple
from datetime import date

import pytest
from test_queries import ALONE, CANNULA, DAYS, YEAR, count, filled, row

from consentpack.register import Comparison, due, series, tally, tally_all

__all__ = ["count", "filled"]


def test_in_a_series_an_outcome_not_seen_counts_from_the_last_day_one_must_look(filled):
    rows = [
        row("2026-06-01", seen="2026-06-14", bruising="no"),  # 13 days
        row("2026-06-02", seen="2026-06-16", bruising="no"),  # 14 days
        row("2026-06-03", seen="2026-06-18", bruising="no"),  # 15 days
        row("2026-06-04", seen="", bruising="no"),
        row("2026-06-05", seen="", bruising="yes"),
    ]
    with filled(rows).connect() as connection:
        found = list(series(connection, ALONE, YEAR, "bruising", 14))
    assert found == [(date(2026, 6, 2), False), (date(2026, 6, 3), False), (date(2026, 6, 5), True)]


def test_of_one_day_a_series_keeps_the_order_of_the_register(filled):
    """A sum over time depends on the order; two runs over one register must tell the same story."""
    used = ("cannula", "cannula;local", "cannula", "cannula;local")
    said = ("yes", "no", "no", "yes")
    rows = [row(techniques=t, seen="2026-12-01", bruising=s) for t, s in zip(used, said, strict=True)]
    with filled(rows).connect() as connection:
        found = [seen for _, seen in series(connection, ALONE, YEAR, "bruising", 14)]
    assert found == [True, False, False, True]


@pytest.mark.parametrize(
    ("day", "seen", "bruising", "looked", "possible"),
    [
        ("2026-06-01", "2026-06-08", "no", 7, 14),
        ("2026-06-01", "2026-12-01", "no", 14, 14),
        ("2026-12-24", "2027-03-01", "no", 7, 7),  # today is a week later
        ("2026-06-01", "2026-06-02", "yes", 14, 14),
        ("2026-06-01", "2026-12-01", "", 0, 14),
        ("2026-06-01", "", "no", 0, 14),
    ],
)
def test_days_looked_for_stop_at_the_watching_time_and_at_today(count, day, seen, bruising, looked, possible):
    found = count([row(day, seen=seen, bruising=bruising)]).counts["bruising"]
    assert (found.days_watched, found.days_possible) == (looked, possible)


def test_each_outcome_keeps_its_own_sums_however_many_are_asked_together(filled):
    rows = [
        row("2026-01-05", seen="2026-12-20", bruising="no", marks="yes"),
        row("2026-01-05", seen="2026-12-20", bruising="yes", marks="no"),
        row("2026-12-01", seen="2026-12-20", bruising="yes", marks=""),
    ]
    asked = (DAYS, dict(reversed(DAYS.items())), {"never-asked": 14} | DAYS, {"bruising": 14})
    expected = {
        "bruising": (2, 3, 3, 3, 42, 42),
        "marks": (1, 2, 2, 2, 360, 390),
        "never-asked": (0, 0, 3, 0, 0, 42),
    }
    with filled(rows).connect() as connection:
        for days in asked:
            found = tally(connection, ALONE, YEAR, days).counts
            assert {name: astuple(counts) for name, counts in found.items()} == {
                name: expected[name] for name in days
            }


@pytest.mark.parametrize(("site", "skin", "n"), [("chin", "III", 1), ("lip", "III", 0), ("chin", "IV", 0)])
def test_a_treatment_at_another_site_or_of_another_skin_is_not_compared(count, site, skin, n):
    assert count([row()], Comparison(CANNULA, CANNULA, (site,), (skin,))).treatments == n


def test_the_last_day_of_a_period_is_counted_for_every_combination(filled):
    rows = [row(day) for day in ("2025-12-31", "2026-01-01", "2026-12-31", "2027-01-01")]
    with filled(rows).connect() as connection:
        found = tally_all(connection, YEAR, DAYS).each
    assert astuple(found[CANNULA]["bruising"])[:4] == (0, 0, 1, 0)  # the last is not due yet


def test_what_is_due_is_named_from_the_day_its_time_has_passed(filled):
    rows = [
        row("2026-06-17", bruising="no", seen="2026-06-30"),  # 13 days: not long enough
        row("2026-06-17", bruising="no", seen="2026-07-01"),
        row("2026-06-17", bruising="yes"),
        row("2026-06-17"),
        row("2026-06-18"),  # due tomorrow
        row("2026-06-01", techniques="needle"),  # nothing is looked for after it
        row("2026-06-16", bruising="no"),  # nobody knows how long
    ]
    with filled(rows).connect() as connection:
        found = due(
            connection, {"bruising": 14}, date(2026, 7, 1),
            lambda used: ("bruising", "unknown") if "cannula" in used else (),
        )  # fmt: skip
    assert [(each.case, each.day.day) for each in found] == [("C-6", 16), ("C-0", 17), ("C-3", 17)]
    assert {each.outcomes for each in found} == {("bruising",)}
