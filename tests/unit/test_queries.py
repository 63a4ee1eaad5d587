"""Counts out of real SQLite registers. All rows are invented."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from consentpack.model import Counts
from consentpack.register import Comparison, Window, import_csv, open_register, tally

YEAR = Window(date(2026, 1, 1), date(2026, 12, 31))
CANNULA = frozenset({"cannula"})
SCOPE = frozenset({"cannula", "needle", "filler"})
"""What is compared together. The numbing injection 'local' stands outside it."""
ALONE = Comparison(CANNULA, SCOPE)
COLUMNS = ("case", "session", "date", "techniques", "site", "skin_type", "last_seen", "bruising", "marks")
DAYS = {"bruising": 14, "marks": 180}


def row(day="2026-06-01", techniques="cannula", *, site="chin", skin="III", seen="", bruising="", marks=""):
    return (day, techniques, site, skin, seen, bruising, marks)


@pytest.fixture
def count(tmp_path):
    """The tally of some rows: count(rows, comparison, window)."""

    def counted(rows, comparison=ALONE, window=YEAR, days=DAYS):
        path = tmp_path / "audit.csv"
        database = tmp_path / "register.sqlite"
        database.unlink(missing_ok=True)
        lines = [f"C-{number},1,{','.join(cells)}" for number, cells in enumerate(rows)]
        path.write_text("\n".join([",".join(COLUMNS), *lines]))
        engine = open_register(f"sqlite:///{database}", create=True)
        result = import_csv(
            engine,
            path,
            columns={},
            date_order="year-first",
            techniques=("cannula", "needle", "filler", "local"),
            outcomes=tuple(DAYS),
            skin_types=("I", "II", "III", "IV", "V", "VI"),
            now=datetime(2027, 12, 31),
        )
        assert result.added == len(rows)
        with engine.connect() as connection:
            return tally(connection, comparison, window, days)

    return counted


# --- watched long enough --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("last_seen", "watched"),
    [("2026-06-14", 0), ("2026-06-15", 1), ("2026-06-16", 1)],
    ids=["13 days", "14 days", "15 days"],
)
def test_an_outcome_that_was_not_seen_counts_from_the_last_day_one_must_look(count, last_seen, watched):
    found = count([row("2026-06-01", seen=last_seen, bruising="no")])
    assert found.counts["bruising"] == Counts(events=0, watched=watched, due=1, due_watched=watched)


@pytest.mark.parametrize("last_seen", ["", "2026-06-01", "2026-06-14", "2026-06-15"])
def test_an_outcome_that_was_seen_always_counts(count, last_seen):
    found = count([row("2026-06-01", seen=last_seen, bruising="yes")])
    assert found.counts["bruising"] == Counts(events=1, watched=1, due=1, due_watched=1)


def test_an_outcome_that_was_not_recorded_counts_as_nothing_however_long_the_patient_was_seen(count):
    found = count([row("2026-01-02", seen="2026-12-30", bruising="", marks="no")])
    assert found.counts["bruising"] == Counts(events=0, watched=0, due=1, due_watched=0)
    assert found.counts["marks"] == Counts(events=0, watched=1, due=1, due_watched=1)


def test_each_outcome_has_its_own_denominator(count):
    rows = [
        row("2026-03-01", seen="2026-12-01", bruising="no", marks="no"),  # long enough for both
        row("2026-03-01", seen="2026-03-20", bruising="no", marks="no"),  # for bruising only
        row("2026-03-01", seen="2026-03-02", bruising="no", marks="no"),  # for neither
        row("2026-03-01", seen="2026-03-02", bruising="yes", marks="no"),  # bruising was seen
    ]
    found = count(rows)
    assert found.treatments == 4
    assert (found.counts["bruising"].events, found.counts["bruising"].watched) == (1, 3)
    assert (found.counts["marks"].events, found.counts["marks"].watched) == (0, 1)


def test_a_treatment_without_a_last_seen_day_was_not_watched(count):
    found = count([row(seen="", bruising="no")])
    assert found.counts["bruising"].watched == 0


# --- due and followed up --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "due"), [("2026-12-16", 1), ("2026-12-17", 1), ("2026-12-18", 0)], ids=["15", "14", "13 days ago"]
)
def test_a_treatment_is_due_from_the_day_its_watching_time_has_passed(count, day, due):
    assert count([row(day)]).counts["bruising"].due == due
    followed = count([row(day, seen="2027-06-01", bruising="no")]).counts["bruising"]
    assert (followed.due, followed.due_watched) == (due, due)


def test_a_harm_seen_before_it_is_due_is_an_event_but_no_proof_of_follow_up(count):
    found = count([row("2026-12-30", seen="2026-12-31", bruising="yes")])
    assert found.counts["bruising"] == Counts(events=1, watched=1, due=0, due_watched=0)
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
    assert counts == Counts(events=1, watched=2, due=4, due_watched=2)
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
    assert found.counts["bruising"] == Counts(1, 1, 1, 1)
    assert found.counts["marks"] == Counts(1, 1, 1, 1)


def test_only_the_sites_of_the_comparison_count(count):
    rows = [row(site="chin"), row(site="Left Cheek"), row(site="right cheek")]
    cheeks = Comparison(CANNULA, SCOPE, sites=("left cheek", "right cheek"))
    assert count(rows, cheeks).treatments == 2
    assert count(rows, ALONE).treatments == 3


def test_only_the_skin_types_of_the_comparison_count_and_unrecorded_skin_is_none_of_them(count):
    rows = [row(skin="III"), row(skin="IV"), row(skin="v"), row(skin="")]
    assert count(rows, Comparison(CANNULA, SCOPE, skin_types=("IV", "V"))).treatments == 2
    assert count(rows, ALONE).treatments == 4


def test_site_and_skin_type_must_both_fit(count):
    rows = [row(site="chin", skin="III"), row(site="chin", skin="IV"), row(site="lip", skin="III")]
    assert count(rows, Comparison(CANNULA, SCOPE, ("chin",), ("III",))).treatments == 1


# --- the period -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "inside"),
    [("2025-12-31", 0), ("2026-01-01", 1), ("2026-12-31", 1), ("2027-01-01", 0)],
)
def test_both_days_of_the_period_count(count, day, inside):
    assert count([row(day, bruising="yes")]).counts["bruising"].events == inside


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


def test_counting_by_hand_gives_the_same(count):
    """600 invented rows, counted once by SQL and once by the sentences of the docstring."""
    rows, expected = [], Counts(0, 0, 0, 0)
    for number in range(600):
        day = date.fromordinal(date(2026, 1, 1).toordinal() + number % 365)
        seen_days, said = (None, 3, 13, 14, 40)[number % 5], ("yes", "no", "no", "")[number % 4]
        seen = date.fromordinal(day.toordinal() + seen_days).isoformat() if seen_days is not None else ""
        techniques = ("cannula", "cannula;local", "cannula;filler")[number % 3]
        rows.append(row(day.isoformat(), techniques, seen=seen, bruising=said))
        if techniques == "cannula;filler":
            continue
        watched = said == "yes" or (said == "no" and seen_days is not None and seen_days >= 14)
        due = (YEAR.last - day).days >= 14
        expected = Counts(
            expected.events + (said == "yes"),
            expected.watched + watched,
            expected.due + due,
            expected.due_watched + (due and watched),
        )
    assert count(rows).counts["bruising"] == expected
    assert 0 < expected.events < expected.watched < expected.due
