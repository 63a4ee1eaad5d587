"""Counts out of real registers in both databases. All rows are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

import pytest
from in_order import series
from support import READING as USUAL
from support import load

from consentpack.model import Counts
from consentpack.register import Comparison, Reading, Window, tally, tally_all

YEAR = Window(date(2026, 1, 1), date(2026, 12, 31))
CANNULA = frozenset({"cannula"})
SCOPE = frozenset({"cannula", "needle", "filler"})
"""What is compared together. The numbing injection 'local' stands outside it."""
ALONE = Comparison(CANNULA, SCOPE)
COLUMNS = (
    "case",
    "session",
    "date",
    "techniques",
    "site",
    "skin_type",
    "last_seen",
    "bruising",
    "marks",
    "operator",
)
DAYS = {"bruising": 14, "marks": 180}
SKIN = USUAL.strata
READING = Reading(
    "year-first", frozenset({"cannula", "needle", "filler", "local"}), frozenset(DAYS), SKIN
)  # fmt: skip


def row(
    day="2026-06-01", techniques="cannula", *, site="chin", skin="III", seen="", bruising="", marks="", by=""
):
    return (day, techniques, site, skin, seen, bruising, marks, by)


@pytest.fixture
def filled(register):
    """The register with some rows: filled(rows)."""

    def fill(rows):
        lines = [f"C-{number},1,{','.join(cells)}" for number, cells in enumerate(rows)]
        text = "\n".join([",".join(COLUMNS), *lines])
        assert load(register, text, reading=READING, now=datetime(2027, 12, 31)).added == len(rows)
        return register

    return fill


@pytest.fixture
def count(filled):
    """The tally of some rows: count(rows, comparison, window)."""

    def counted(rows, comparison=ALONE, window=YEAR, days=DAYS):
        with filled(rows).connect() as connection:
            return tally(connection, comparison, window, days)

    return counted


def numbers(counts: Counts) -> tuple[int, int, int, int]:
    """Events, watched, due, due and watched."""
    return (counts.events, counts.watched, counts.due, counts.due_watched)


# --- watched long enough --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("last_seen", "watched"),
    [("2026-06-14", 0), ("2026-06-15", 1), ("2026-06-16", 1)],
    ids=["13 days", "14 days", "15 days"],
)
def test_an_outcome_that_was_not_seen_counts_from_the_last_day_one_must_look(count, last_seen, watched):
    found = count([row("2026-06-01", seen=last_seen, bruising="no")])
    assert numbers(found.counts["bruising"]) == (0, watched, 1, watched)


@pytest.mark.parametrize(("last_seen", "inside"), [("2026-06-01", 0), ("2026-06-14", 0), ("2026-06-15", 1)])
def test_an_outcome_that_was_seen_counts_when_one_that_was_not_would(count, last_seen, inside):
    """An event that jumps the queue makes a harm look more frequent than it is."""
    found = count([row("2026-06-01", seen=last_seen, bruising="yes")]).counts["bruising"]
    assert numbers(found) == (inside, inside, 1, inside)
    assert (found.outside_events, found.outside) == (1 - inside, 1 - inside)


def test_an_outcome_that_was_not_recorded_counts_as_nothing_however_long_the_patient_was_seen(count):
    found = count([row("2026-01-02", seen="2026-12-30", bruising="", marks="no")])
    assert numbers(found.counts["bruising"]) == (0, 0, 1, 0)
    assert numbers(found.counts["marks"]) == (0, 1, 1, 1)


def test_each_outcome_has_its_own_denominator(count):
    rows = [
        row("2026-03-01", seen="2026-12-01", bruising="no", marks="no"),  # long enough for both
        row("2026-03-01", seen="2026-03-20", bruising="no", marks="no"),  # for bruising only
        row("2026-03-01", seen="2026-03-02", bruising="no", marks="no"),  # for neither
        row("2026-03-01", seen="2026-03-20", bruising="yes", marks="yes"),  # so too
    ]
    found = count(rows)
    assert found.treatments == 4
    assert (found.counts["bruising"].events, found.counts["bruising"].watched) == (1, 3)
    assert (found.counts["marks"].events, found.counts["marks"].watched) == (0, 1)
    assert (found.counts["marks"].outside_events, found.counts["marks"].outside) == (1, 3)


def test_a_treatment_without_a_last_seen_day_was_not_watched(count):
    found = count([row(seen="", bruising="no"), row(seen="2026-12-01", bruising="no")])
    assert found.timed
    assert found.counts["bruising"].watched == 1


@pytest.mark.parametrize(("without", "timed"), [(1, True), (2, False)])
def test_where_most_lack_a_last_seen_day_counts_say_nothing_of_time(count, without, timed):
    rows = [row(seen="", bruising="yes")] * without + [row(seen="2026-12-01", bruising="no")]
    found = count([*rows, row("2026-12-30", seen="", bruising="")])  # nothing is written down of this one
    assert found.timed is timed
    assert numbers(found.counts["bruising"]) == ((0, 1, 3 - timed, 1) if timed else (2, 3, 3, 3))


def test_with_thirty_last_seen_days_a_missing_one_is_a_patient_lost(count):
    rows = [row(seen="2026-12-01", bruising="no")] * 30 + [row(seen="", bruising="yes")] * 40
    found = count(rows)
    assert found.timed
    assert numbers(found.counts["bruising"]) == (0, 30, 70, 30)


# --- due and followed up --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "due"), [("2026-12-16", 1), ("2026-12-17", 1), ("2026-12-18", 0)], ids=["15", "14", "13 days ago"]
)
def test_a_treatment_is_due_from_the_day_its_watching_time_has_passed(count, day, due):
    found = count([row(day), row(day, seen="2027-06-01", bruising="no")]).counts["bruising"]
    assert (found.due, found.due_watched) == (2 * due, due)


def test_a_harm_seen_before_it_is_due_is_counted_beside_the_others(count):
    found = count([row("2026-12-30", seen="2026-12-31", bruising="yes")])
    assert numbers(found.counts["bruising"]) == (0, 0, 0, 0)
    assert (found.counts["bruising"].outside_events, found.counts["bruising"].outside) == (1, 1)
    assert found.counts["bruising"].completeness is None


def test_completeness_is_the_share_of_due_treatments_that_were_followed_up(count):
    rows = [
        row("2026-06-01", seen="2026-07-01", bruising="no"),
        row("2026-06-01", seen="2026-07-01", bruising="yes"),
        row("2026-06-01", seen="2026-06-02", bruising="no"),  # lost
        row("2026-06-01", seen="2026-07-01", bruising=""),  # seen, but nobody wrote it down
        row("2026-12-30", seen="2026-12-31", bruising="no"),  # not due
    ]
    counts = count(rows).counts["bruising"]
    assert numbers(counts) == (1, 2, 4, 2)
    assert counts.completeness == 0.5


# --- which treatments are compared ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("together", "used", "same"),
    [
        ({"cannula"}, "cannula", 1),
        ({"cannula"}, "cannula;local", 1),  # 'local' is outside the scope: it does not matter
        ({"cannula"}, "cannula;filler", 0),
        ({"cannula"}, "needle", 0),
        ({"cannula"}, "local", 0),
        ({"cannula", "filler"}, "cannula;filler", 1),
        ({"cannula", "filler"}, "filler;local;cannula", 1),
        ({"cannula", "filler"}, "cannula", 0),
        ({"cannula", "filler"}, "filler", 0),
        ({"cannula", "filler"}, "cannula;needle", 0),
        ({"cannula", "filler"}, "cannula;filler;needle", 0),
    ],
)
def test_the_same_techniques_together_means_all_of_them_and_no_other_of_the_scope(
    count, together, used, same
):
    assert count([row(techniques=used)], Comparison(frozenset(together), SCOPE)).treatments == same


@pytest.mark.parametrize(("used", "same"), [("cannula", 1), ("cannula;filler;local", 1), ("needle", 0)])
def test_a_scope_of_the_technique_alone_takes_it_in_any_combination(count, used, same):
    assert count([row(techniques=used)], Comparison(CANNULA, CANNULA)).treatments == same


def test_a_treatment_with_several_techniques_and_outcomes_is_counted_once(count):
    found = count([row(techniques="cannula;local", seen="2026-12-31", bruising="yes", marks="yes")])
    assert found.treatments == 1
    assert numbers(found.counts["bruising"]) == (1, 1, 1, 1)
    assert numbers(found.counts["marks"]) == (1, 1, 1, 1)


def test_only_the_sites_of_the_comparison_count(filled):
    register = filled([row(site="chin"), row(site="Left Cheek"), row(site="right cheek")])
    cheeks = Comparison(CANNULA, SCOPE, sites=("left cheek", "right cheek"))
    with register.connect() as connection:
        assert tally(connection, cheeks, YEAR, DAYS).treatments == 2
        assert tally(connection, ALONE, YEAR, DAYS).treatments == 3


def test_only_the_skin_types_of_the_comparison_count_and_unrecorded_skin_is_none_of_them(filled):
    register = filled([row(skin="III"), row(skin="IV"), row(skin="v"), row(skin="")])
    with register.connect() as connection:
        darker = Comparison(CANNULA, SCOPE, strata=(("skin_type", ("IV", "V")),))
        assert tally(connection, darker, YEAR, DAYS).treatments == 2
        assert tally(connection, ALONE, YEAR, DAYS).treatments == 4


def test_site_and_skin_type_must_both_fit(count):
    rows = [row(site="chin", skin="III"), row(site="chin", skin="IV"), row(site="lip", skin="III")]
    assert count(rows, Comparison(CANNULA, SCOPE, ("chin",), (("skin_type", ("III",)),))).treatments == 1


# --- the period -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "inside"),
    [("2025-12-31", 0), ("2026-01-01", 1), ("2026-12-31", 1), ("2027-01-01", 0)],
)
def test_both_days_of_the_period_count(count, day, inside):
    assert count([row(day, seen="2027-12-01", bruising="yes")], days={"bruising": 0}).treatments == inside


def test_first_and_last_are_the_days_of_treatments_that_counted(count):
    rows = [row("2025-06-01"), row("2026-02-03"), row("2026-08-09"), row("2026-10-01", "needle")]
    found = count(rows)
    assert (found.first, found.last) == (date(2026, 2, 3), date(2026, 8, 9))


def test_nothing_comparable_is_a_tally_of_nothing_for_every_outcome_asked_for(count):
    found = count([row(techniques="needle", bruising="yes")])
    assert (found.treatments, found.first, found.last) == (0, None, None)
    assert found.counts == {"bruising": Counts(0, 0, 0, 0), "marks": Counts(0, 0, 0, 0)}


def test_only_the_outcomes_asked_for_are_counted(count):
    found = count([row(bruising="yes", marks="yes")], days={"marks": 180})
    assert set(found.counts) == {"marks"}


@pytest.mark.parametrize(("grade", "events"), [("mild", 1), ("severe", 1), ("5", 1), ("0", 0), ("none", 0)])
def test_any_grade_above_none_is_an_event(count, grade, events):
    found = count([row(seen="2026-12-01", bruising=grade)]).counts["bruising"]
    assert (found.events, found.watched) == (events, 1)


def test_an_outcome_the_register_has_never_heard_of_was_never_recorded(count):
    found = count([row(), row("2026-12-30")], days={"marks": 180, "never-asked": 14}).counts["never-asked"]
    assert numbers(found) == (0, 0, 1, 0)
    assert (found.days_watched, found.days_possible) == (0, 15)  # 14 of the first, 1 of the second


# --- watching time in days ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "seen", "said", "watched", "possible"),
    [
        ("2026-06-01", "2026-06-15", "no", 14, 14),
        ("2026-06-01", "2026-12-01", "no", 14, 14),  # more than was needed counts as what was needed
        ("2026-06-01", "2026-06-04", "no", 3, 14),
        ("2026-06-01", "", "no", 0, 14),
        ("2026-06-01", "2026-06-04", "", 0, 14),  # there, and nobody wrote it down
        ("2026-06-01", "2026-06-04", "yes", 14, 14),  # it was seen: nothing is left to watch for
        ("2026-12-21", "2027-02-01", "no", 10, 10),  # only 10 days have passed
        ("2026-12-21", "2026-12-24", "no", 3, 10),
        ("2026-12-31", "2027-06-01", "no", 0, 0),
    ],
)
def test_person_time_is_what_was_watched_of_what_could_have_been(count, day, seen, said, watched, possible):
    found = count([row(day, seen=seen, bruising=said)]).counts["bruising"]
    assert (found.days_watched, found.days_possible) == (watched, possible)


# --- every combination, groups and series ---------------------------------------------------------


def test_each_combination_of_techniques_is_counted_by_itself(filled):
    rows = [
        row(techniques="cannula", seen="2026-12-01", bruising="yes"),
        row(techniques="cannula;local", seen="2026-12-01", bruising="yes"),
        row(techniques="local; cannula", seen="2026-12-01", bruising="no"),
        row("2025-06-01", "needle", bruising="yes"),  # outside the period
    ]
    with filled(rows).connect() as connection:
        found = tally_all(connection, YEAR, DAYS).each
    assert set(found) == {CANNULA, frozenset({"cannula", "local"})}
    assert numbers(found[CANNULA]["bruising"]) == (1, 1, 1, 1)
    assert numbers(found[frozenset({"cannula", "local"})]["bruising"]) == (1, 2, 2, 2)
    assert set(found[CANNULA]) == set(DAYS)


def test_operators_and_sites_are_counted_side_by_side(filled):
    rows = [
        row(site="chin", by="AQ", bruising="yes", seen="2026-12-01"),
        row(site="chin", by="MV", bruising="no", seen="2026-12-01"),
        row(site="lip", by="AQ", bruising="no", seen="2026-12-01"),
        row(site="lip", by="", bruising="yes", seen="2026-12-01"),
        row(site="lip", by="MV", bruising="no", seen="2026-06-02"),  # not long enough
        row(site="lip", by="MV", techniques="needle", bruising="yes"),
    ]
    with filled(rows).connect() as connection:
        asked = {"bruising": 14, "never-asked": 14}
        by = tally_all(connection, YEAR, asked).by
    operators, sites = by["operator"].of(ALONE, "bruising"), by["site"].of(ALONE, "bruising")
    unknown = by["site"].of(ALONE, "never-asked")
    assert operators == {"AQ": (1, 2), "MV": (0, 1), "not recorded": (1, 1)}
    assert sites == {"chin": (1, 2), "lip": (1, 2)}
    assert unknown == {}
    with pytest.raises(ValueError, match="not parted by site"):
        by["operator"].of(replace(ALONE, sites=("chin",)), "bruising")


def test_a_series_is_what_was_watched_in_order_of_days(filled):
    rows = [
        row("2026-07-01", bruising="yes"),
        row("2026-05-01", bruising="no", seen="2026-12-01"),
        row("2026-06-01", bruising="no", seen="2026-06-02"),  # not long enough
        row("2026-06-03", bruising=""),
        row("2026-06-01", bruising="severe"),
        row("2026-05-01", bruising="yes"),
        row("2025-06-01", bruising="yes"),
    ]
    with filled(rows).connect() as connection:
        found = list(series(connection, ALONE, YEAR, "bruising", 14))
        assert list(series(connection, ALONE, YEAR, "never-asked", 14)) == []
    assert found == [
        (date(2026, 5, 1), False),
        (date(2026, 5, 1), True),
        (date(2026, 6, 1), True),
        (date(2026, 7, 1), True),
    ]
