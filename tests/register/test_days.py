"""The day an outcome was first noticed, and the day a place was treated again. All rows are invented."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from support import HEAD, NOW, READING, cases, contents, load, numbers, treatment

from consentpack.errors import RegisterError
from consentpack.register import (
    add_treatment,
    check_register,
    open_register,
    propose,
    record_outcomes,
    state_of,
    told_to,
    undo,
    values_of,
)
from consentpack.register.schema import SCHEMA, field_columns

DATA = Path(__file__).parents[1] / "data"
DAYS = HEAD.strip() + ",last_seen,noticed:bruising,retreated\n"
USUAL = "A,1,2026-01-05,blunt-cannula,chin,yes,2026-02-05,2026-01-08,\n"


def days(register, case="A", outcome="bruising"):
    """Days to when it was first noticed, and to when the place was treated again."""
    row = contents(register)[case, 1]
    with register.connect() as connection:
        columns = field_columns(connection).days
    return tuple(row.get(columns.get(name, "")) for name in (outcome, "retreated"))


def entered(register, case="A", *, seen="2026-02-01", noticed=None, again=None, **outcomes):
    on = [date.fromisoformat(day) if day else None for day in (seen, noticed, again)]
    return record_outcomes(
        register, case, 1, outcomes, seen_on=on[0], noticed_on=on[1], retreated_on=on[2], now=NOW, by="tests"
    )


# --- a spreadsheet --------------------------------------------------------------------------------


def test_a_sheet_says_when_it_was_first_noticed_and_when_the_place_was_treated_again(register):
    rows = USUAL + "B,1,2026-01-05,blunt-cannula,chin,no,2026-02-05,,2026-01-20\n"
    assert numbers(load(register, DAYS + rows)) == (2, 2, 0, 0, 0)
    assert (days(register), days(register, "B")) == ((3, None), (None, 15))
    assert numbers(load(register, DAYS + rows)) == (2, 0, 0, 2, 0)
    assert check_register(register).edited == ()


def test_a_day_alone_says_that_it_was_seen(register):
    load(register, DAYS + USUAL.replace("yes", ""))
    assert contents(register)["A", 1]["outcomes"] == {"bruising": 1}
    head = DAYS.replace("bruising,last", "last")
    load(register, head + "B,1,2026-01-05,blunt-cannula,chin,2026-02-05,2026-01-08,\n")
    assert contents(register)["B", 1]["outcomes"] == {"bruising": 1}


@pytest.mark.parametrize(
    ("row", "column", "reason"),
    [
        (USUAL.replace("2026-01-08", "2026-01-04"), "noticed:bruising", "before the day of the treatment"),
        (USUAL.replace("2026-01-08", "2027-01-04"), "noticed:bruising", "in the future"),
        (USUAL.replace("yes", "no"), "noticed:bruising", "says that it was not seen"),
        (USUAL.replace(",\n", ",2026-01-04\n"), "retreated", "before the day of the treatment"),
    ],
)
def test_a_day_that_cannot_be_sets_the_row_aside(register, row, column, reason):
    result = load(register, DAYS + row)
    assert result.rows_set_aside == 1 and result.set_aside[0].column == column
    assert reason in result.set_aside[0].reason
    assert cases(register) == []


def test_a_register_without_days_has_no_columns_for_them(register):
    load(register, HEAD + "A,1,2026-01-05,blunt-cannula,chin,yes\n")
    with register.connect() as connection:
        assert field_columns(connection).days == {}


@pytest.mark.parametrize(
    ("header", "meaning"),
    [
        ("Bruising noticed", "noticed:bruising"), ("Bruise date", "noticed:bruising"),
        ("Date of bruise", "noticed:bruising"), ("Ecchymosis first noticed", "noticed:bruising"),
        ("Bruise first seen on", "noticed:bruising"), ("Treated again", "retreated"),
        ("Re-treatment", "retreated"), ("Bruise seen", "ignore"), ("Date", "date"), ("Bruise", "bruising"),
    ],
)  # fmt: skip
def test_columns_of_days_are_proposed(header, meaning):
    assert propose([header], {"bruising": ("Bruising", "ecchymosis")}) == {header: meaning}


def test_swapped_days_are_noticed_in_these_columns_too(register):
    head = HEAD.strip() + ",noticed:bruising\n"
    rows = "".join(f"C{n},1,01/01/2026,blunt-cannula,chin,yes,01/{n}/2026\n" for n in range(13, 20))
    with pytest.raises(RegisterError, match="month-first"):
        load(register, head + rows, reading=replace(READING, date_order="day-first"))


# --- by hand --------------------------------------------------------------------------------------


def test_by_hand_a_day_may_be_said_with_what_was_seen(register):
    add_treatment(register, treatment("A", day=date(2026, 1, 5)), now=NOW, by="tests")
    entered(register, bruising=1, infection=0, noticed="2026-01-08", again="2026-01-25")
    assert days(register) == (3, 20)
    assert days(register, outcome="infection") == (None, 20)
    assert [(v.outcome, v.noticed) for v in values_of(register, "A", 1)] == [
        ("bruising", 3), ("infection", None),
    ]  # fmt: skip
    entered(register, seen="2026-02-20", bruising=2)  # it got worse; it was first noticed when it was
    assert days(register) == (3, 20)
    entered(register, seen="2026-02-21", bruising=0)  # it was a slip
    assert days(register) == (None, 20)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"bruising": 1, "noticed": "2026-02-02"}, "first noticed on 2026-02-02 and seen before"),
        ({"bruising": 0, "noticed": "2026-01-08"}, "needs something that was seen"),
        ({"bruising": 1, "noticed": "2026-01-04"}, "before the day of the treatment"),
        ({"bruising": 1, "again": "2027-01-04"}, "in the future"),
    ],
)
def test_a_day_that_cannot_be_is_refused_by_hand(register, said, why):
    add_treatment(register, treatment("A", day=date(2026, 1, 5)), now=NOW, by="tests")
    with pytest.raises(RegisterError, match=why):
        entered(register, **said)
    assert contents(register)["A", 1]["outcomes"] == {}


def test_an_earlier_day_never_shortens_how_long_was_watched(register):
    add_treatment(register, treatment("A", day=date(2026, 1, 5)), now=NOW, by="tests")
    assert entered(register, seen="2026-02-04", infection=0).watched_days == 30
    assert entered(register, seen="2026-01-10", bruising=1, noticed="2026-01-06").watched_days == 30
    load(register, DAYS + "A,1,2026-01-05,blunt-cannula,chin,,2026-01-12,,\n")
    assert contents(register)["A", 1]["watched_days"] == 30


# --- a file after an entry by hand ----------------------------------------------------------------


@pytest.fixture
def by_hand(register):
    load(register, DAYS + "A,1,2026-01-05,blunt-cannula,chin,no,2026-02-05,,\n")
    entered(register, seen="2026-02-06", bruising=1, noticed="2026-01-10")
    return register


@pytest.mark.parametrize("day", ["2026-01-08", ""])
def test_a_file_takes_no_day_away_that_was_entered_by_hand(by_hand, day):
    result = load(by_hand, DAYS + USUAL.replace("2026-01-08", day))
    assert days(by_hand) == (5, None)
    differs = [(each.held_day, each.day_in_file) for each in result.differs]
    assert differs == ([(5, 3)] if day else [])


def test_a_file_takes_no_outcome_away_that_was_entered_by_hand(by_hand):
    load(by_hand, DAYS + "A,1,2026-01-05,blunt-cannula,chin,no,2026-02-05,,\n")
    load(by_hand, DAYS + "A,1,2026-01-05,blunt-cannula,chin,,2026-02-05,,\n")
    assert contents(by_hand)["A", 1]["outcomes"] == {"bruising": 1}
    assert days(by_hand) == (5, None)


def test_told_to_the_file_takes_its_day(by_hand):
    load(by_hand, DAYS + USUAL, overwrite_by_hand=True)
    assert days(by_hand) == (3, None)


def test_a_file_may_add_the_day_that_nobody_entered(register):
    load(register, DAYS + "A,1,2026-01-05,blunt-cannula,chin,no,2026-02-05,,\n")
    entered(register, seen="2026-02-06", bruising=1)
    result = load(register, DAYS + USUAL)
    assert days(register) == (3, None) and result.differs == ()


def test_of_two_days_of_another_treatment_the_first_ends_watching(by_hand):
    entered(by_hand, seen="2026-02-06", again="2026-01-30")
    load(by_hand, DAYS + USUAL.replace(",\n", ",2026-02-10\n"))
    assert days(by_hand)[1] == 25
    load(by_hand, DAYS + USUAL)
    assert days(by_hand)[1] == 25


def test_a_column_of_days_that_is_not_read_any_more_takes_nothing_away(register):
    load(register, DAYS + USUAL)
    load(register, HEAD + "A,1,2026-01-05,blunt-cannula,chin,severe\n")
    assert contents(register)["A", 1]["outcomes"] == {"bruising": 3}
    assert days(register) == (3, None)


def test_a_blank_day_in_a_file_takes_away_what_a_file_brought(register):
    load(register, DAYS + USUAL)
    load(register, DAYS + USUAL.replace("2026-01-08", ""))
    assert days(register) == (None, None)
    undo(register, now=NOW, by="tests")
    assert days(register) == (3, None)
    assert check_register(register).edited == ()


def test_a_blank_day_says_nothing_of_what_has_its_answer_elsewhere(register):
    load(register, HEAD + "A,1,2026-01-05,blunt-cannula,chin,no\n")
    head = DAYS.replace("bruising,last", "last")
    load(register, head + "A,1,2026-01-05,blunt-cannula,chin,2026-02-05,,\n")
    assert contents(register)["A", 1]["outcomes"] == {"bruising": 0}


# --- what is lacking is said ----------------------------------------------------------------------


def test_an_import_counts_the_rows_that_do_not_say_how_long_was_watched(register):
    rows = USUAL + "B,1,2026-01-05,blunt-cannula,chin,no,,,\nC,1,2026-01-05,blunt-cannula,chin,,,,\n"
    result = load(register, DAYS + rows)
    assert (result.last_seen_read, result.without_last_seen) == (True, 1)
    result = load(register, HEAD + "D,1,2026-01-05,blunt-cannula,chin,no\n")
    assert (result.last_seen_read, result.without_last_seen) == (False, 1)


# --- a register of the program before -------------------------------------------------------------


@pytest.fixture
def third(tmp_path):
    """Where a register of schema 3 is: a real one."""
    raw = sqlite3.connect(tmp_path / "third.sqlite")
    raw.executescript((DATA / "register_schema_3.sqlite.sql").read_text())
    raw.close()
    return tmp_path / "third.sqlite"


def test_a_register_without_days_is_brought_up_to_date_and_a_copy_is_kept(third):
    raw = sqlite3.connect(third)
    before = list(raw.iterdump())
    raw.close()
    said: list[str] = []
    with told_to(said.append):
        register = open_register(str(third))
    assert f"from schema 3 to {SCHEMA}" in said[0]
    (copy,) = third.parent.glob("third.sqlite.schema-3.*")
    kept = sqlite3.connect(copy)
    assert list(kept.iterdump()) == before
    kept.close()
    # every digest is what it was: a treatment without days is written as it always was
    assert check_register(register).edited == ()
    with register.connect() as connection:
        assert state_of(connection).treatments == len(contents(register)) == 3
    assert contents(register)["H-1", 1]["outcomes"] == {"bruising": 1}
    entered(register, "H-1", seen="2026-03-20", bruising=1, noticed="2026-03-05")
    assert days(register, "H-1") == (3, None)
    assert undo(register, now=NOW, by="tests", number=2)[2] == 1
    assert check_register(register).edited == ()
    register.engine.dispose()
