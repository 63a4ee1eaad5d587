"""Treatments and outcomes entered one by one, and what is due. All cases are invented."""

from __future__ import annotations

from datetime import date

import pytest
from support import BY, HEAD, NOW, contents, line, load, numbers, treatment

from consentpack.errors import RegisterError
from consentpack.register import add_treatment, due, history, record_outcomes

DAY = date(2026, 3, 2)
DAYS = {"bruising": 14, "infection": 30}


def add(register, *args, **values):
    add_treatment(register, treatment(*args, **values), now=NOW, by=BY)


def record(register, case="H-1", session=1, *, seen_on=date(2026, 3, 20), **outcomes: int):
    return record_outcomes(register, case, session, outcomes, seen_on=seen_on, now=NOW, by=BY)


def held(register, case="H-1", session=1):
    return contents(register)[case, session]


# --- add ------------------------------------------------------------------------------------------


def test_a_treatment_entered_by_hand_is_in_the_register(register):
    add(register, techniques=("blunt-cannula", "local-infiltration"), skin_type="IV", operator="AQ", gauge=22,
        volume_ml=0.01)  # fmt: skip
    row = held(register)
    assert (row["day"], row["techniques"], row["site"], row["skin_type"], row["operator"]) == (
        DAY, "blunt-cannula+local-infiltration", "chin", "IV", "AQ",
    )  # fmt: skip
    assert (row["gauge"], row["volume_ml"], row["watched_days"], row["outcomes"]) == (22, 0.01, None, {})
    assert row["source_row"] is None


def test_a_treatment_that_is_there_already_is_refused_and_left_alone(register):
    add(register)
    load(register, HEAD + line("A"))
    before, entries = contents(register), history(register)
    for same in (treatment(), treatment(site="lip"), treatment("A")):
        with pytest.raises(RegisterError, match=r"case \S+, session 1 is in the register already") as caught:
            add_treatment(register, same, now=NOW, by=BY)
        assert "consentpack audit outcome" in str(caught.value)
    assert (contents(register), history(register)) == (before, entries)


def test_another_session_of_the_same_case_is_another_treatment(register):
    add(register)
    add(register, session=2)
    assert set(contents(register)) == {("H-1", 1), ("H-1", 2)}


# --- outcomes -------------------------------------------------------------------------------------


def test_what_was_seen_is_recorded_with_how_long_was_watched(register):
    add(register)
    after = record(register, bruising=2, infection=0)
    assert (after.watched_days, after.outcomes) == (18, {"bruising": 2, "infection": 0})
    assert (held(register)["watched_days"], held(register)["outcomes"]) == (18, after.outcomes)


def test_outcomes_that_are_not_named_stay_as_they_were(register):
    add(register)
    record(register, bruising=1)
    record(register, seen_on=date(2026, 4, 2), infection=0)
    assert held(register)["outcomes"] == {"bruising": 1, "infection": 0}
    assert held(register)["watched_days"] == 31


def test_an_outcome_can_be_put_right(register):
    add(register)
    record(register, bruising=1)
    record(register, bruising=0)
    assert held(register)["outcomes"] == {"bruising": 0}


def test_an_earlier_visit_entered_late_does_not_shorten_the_watching_time(register):
    add(register)
    record(register, seen_on=date(2026, 6, 1), infection=0)
    record(register, seen_on=date(2026, 3, 5), bruising=1)
    assert held(register)["watched_days"] == 91


def test_the_day_of_the_treatment_itself_is_no_day_of_watching(register):
    add(register)
    assert record(register, seen_on=DAY, bruising=0).watched_days == 0


def test_a_day_before_the_treatment_is_refused(register):
    add(register)
    with pytest.raises(RegisterError, match="2026-03-01 is before the day of the treatment, 2026-03-02"):
        record(register, seen_on=date(2026, 3, 1), bruising=1)
    assert (held(register)["outcomes"], len(history(register))) == ({}, 1)


def test_a_day_in_the_future_is_refused_and_today_is_not(register):
    add(register)
    with pytest.raises(RegisterError, match="2026-11-26 is in the future"):
        record(register, seen_on=date(2026, 11, 26), bruising=0)
    assert (held(register)["watched_days"], len(history(register))) == (None, 1)
    assert record(register, seen_on=NOW.date(), bruising=0).watched_days == 268


@pytest.mark.parametrize(("case", "session"), [("H-2", 1), ("H-1", 2), ("h-1", 2), ("H1", 1)])
def test_a_treatment_that_is_not_there_is_told(register, case, session):
    add(register)
    with pytest.raises(RegisterError, match="there is no case") as caught:
        record(register, case, session, bruising=1)
    assert "consentpack audit add" in str(caught.value)
    assert len(history(register)) == 1


def test_a_case_in_other_capitals_may_be_another_one_and_is_told(register):
    add(register)
    with pytest.raises(RegisterError, match="case 'h-1' is in the register as 'H-1'"):
        record(register, "h-1", bruising=1)
    assert len(history(register)) == 1
    assert record(register, "H-1 ", bruising=1).case == "H-1"


def test_an_outcome_of_an_imported_treatment_can_be_entered_by_hand(register):
    text = HEAD + line("A", techniques="blunt-cannula;local-infiltration", bruising="")
    load(register, text)
    record(register, "A", bruising=3)
    row = held(register, "A")
    assert (row["techniques"], row["site"]) == ("blunt-cannula+local-infiltration", "chin")
    assert row["outcomes"] == {"bruising": 3}
    # a blank cell says nothing: it takes nothing away from what somebody has seen
    assert numbers(load(register, text)) == (1, 0, 0, 1, 0)
    assert held(register, "A")["outcomes"] == {"bruising": 3}


# --- due ------------------------------------------------------------------------------------------


def due_on(register, today, outcomes_of=lambda used: ("bruising", "infection"), days=DAYS):
    with register.connect() as connection:
        return [(d.case, d.outcomes) for d in due(connection, days, today, outcomes_of)]


@pytest.mark.parametrize(
    ("today", "outcomes"),
    [
        (date(2026, 3, 15), None),
        (date(2026, 3, 16), ("bruising",)),  # 14 days have passed
        (date(2026, 3, 31), ("bruising",)),
        (date(2026, 4, 1), ("bruising", "infection")),  # 30 days
    ],
)
def test_a_treatment_is_due_from_the_day_its_watching_time_has_passed(register, today, outcomes):
    add(register)
    assert due_on(register, today) == ([("H-1", outcomes)] if outcomes else [])


def test_what_was_looked_for_long_enough_is_not_due(register):
    add(register)
    record(register, seen_on=date(2026, 3, 16), bruising=0)
    assert due_on(register, date(2026, 11, 1)) == [("H-1", ("infection",))]
    record(register, seen_on=date(2026, 4, 1), infection=0)
    assert due_on(register, date(2026, 11, 1)) == []


def test_what_was_not_seen_too_early_is_still_due(register):
    add(register)
    record(register, seen_on=date(2026, 3, 15), bruising=0, infection=0)
    assert due_on(register, date(2026, 11, 1)) == [("H-1", ("bruising", "infection"))]


def test_what_was_seen_is_never_due_however_early(register):
    add(register)
    record(register, seen_on=DAY, bruising=1, infection=3)
    assert due_on(register, date(2026, 11, 1)) == []


def test_what_nobody_wrote_down_is_due_although_the_patient_came(register):
    load(register, HEAD.strip() + ",last_seen\n" + line("A", bruising="").strip() + ",2026-10-01\n")
    assert due_on(register, date(2026, 11, 1)) == [("A", ("bruising", "infection"))]


def test_a_day_of_last_sight_that_is_not_known_watches_nothing(register):
    load(register, HEAD + line("A", bruising="no"))
    assert due_on(register, date(2026, 11, 1)) == [("A", ("bruising", "infection"))]


def test_only_outcomes_that_a_technique_can_have_are_due(register):
    add(register, "C", techniques=("blunt-cannula",))
    add(register, "L", techniques=("local-infiltration",))
    add(register, "B", techniques=("blunt-cannula", "local-infiltration"))
    brings = {"blunt-cannula": {"bruising"}, "local-infiltration": {"infection"}}

    def outcomes_of(used):
        return sorted(set().union(*(brings[each] for each in used)))

    assert due_on(register, date(2026, 11, 1), outcomes_of) == [
        ("B", ("bruising", "infection")), ("C", ("bruising",)), ("L", ("infection",)),
    ]  # fmt: skip


def test_outcomes_that_nobody_tracks_are_not_due(register):
    add(register)
    assert due_on(register, date(2026, 11, 1), days={"infection": 30}) == [("H-1", ("infection",))]


def test_the_longest_overdue_comes_first(register):
    add(register, "A", day=date(2026, 3, 4))
    add(register, "B", day=date(2026, 3, 2))
    add(register, "C", 2, day=date(2026, 3, 2), techniques=("local-infiltration",))
    add(register, "C", 1, day=date(2026, 3, 2))
    with register.connect() as connection:
        found = due(connection, DAYS, date(2026, 11, 1), lambda _: ["bruising"])
    assert [(d.case, d.session) for d in found] == [("B", 1), ("C", 1), ("C", 2), ("A", 1)]
