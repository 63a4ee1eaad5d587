"""One case in two spellings is counted once, and never merged in silence. References are invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from support import BY, HEAD, NOW, READING, cases, contents, line, load, numbers, seen, treatment

from consentpack import pipeline
from consentpack.errors import RegisterError
from consentpack.register import Register, add_treatment, open_register

ALIKE = [
    ("\u00c9-1", "E\u0301-1"), ("A 1", "A\u00a01"), ("A 1", "A  1"), ("A-1", "A\u200b-1"),
    ("A-1", "\ufeffA-1"), ("A-1", " A-1\u2009"), ("A 1", "A\t1"),
]  # fmt: skip


@pytest.mark.parametrize(("case", "again"), ALIKE)
def test_a_case_that_only_looks_the_same_is_the_same_in_one_file(register, case, again):
    result = load(register, HEAD + line(case) + line(again, bruising="yes"))
    assert numbers(result) == (2, 1, 0, 0, 1)
    assert result.set_aside[0].reason == "row 2 has the same case and session; only that one went in."


@pytest.mark.parametrize(("case", "again"), ALIKE)
def test_it_is_the_same_in_a_later_file_too(register, case, again):
    load(register, HEAD + line(case))
    assert numbers(load(register, HEAD + line(again, bruising="yes"))) == (1, 0, 1, 0, 0)
    assert seen(register) == [1]


def test_a_case_in_other_capitals_is_set_aside_and_not_counted_again(register):
    result = load(register, HEAD + line("A-1") + line("a-1", bruising="yes"))
    assert numbers(result) == (2, 1, 0, 0, 1)
    assert cases(register) == ["A-1"]


def test_a_case_that_the_register_has_in_other_capitals_is_set_aside_with_what_to_do(register):
    load(register, HEAD + line("A-1"))
    result = load(register, HEAD + line("a-1", bruising="yes") + line("B"))
    assert numbers(result) == (2, 1, 0, 0, 1)
    (item,) = result.set_aside
    assert (item.row, item.column, item.value) == (2, "case", "a-1")
    assert item.reason == "is in the register in other capital or small letters; write it in the same way."
    assert seen(register) == [0, 0]


def test_a_register_of_old_that_holds_loose_marks_or_spaces_goes_on_and_counts_once(register):
    add_treatment(register, treatment("E\u0301-1 "), now=NOW, by=BY)
    result = load(register, HEAD + line("\u00c9-1", bruising="yes"))
    assert numbers(result) == (1, 0, 1, 0, 0)
    assert result.not_in_file == 0
    again = load(register, HEAD + line("\u00c9-1", bruising="yes"))
    assert numbers(again) == (1, 0, 0, 1, 0)
    assert numbers(load(register, HEAD + line("\u00c9-1", bruising="hm"))) == (1, 0, 0, 0, 1)
    assert len(contents(register)) == 1


@pytest.mark.parametrize(
    "site", ["left cheek", "Left\u00a0Cheek", " LEFT  cheek", "left\u200b cheek", "left\ncheek"]
)
def test_a_place_is_the_same_with_any_white_space(register, site):
    load(register, HEAD + line("A", site=f'"{site}"'))
    assert contents(register)["A", 1]["site"] == "left cheek"


@pytest.mark.parametrize("cell", ["\u200bblunt-cannula", "blunt-cannula\u00a0; ", "\ufeffblunt-cannula"])
def test_an_invisible_sign_does_not_set_a_row_aside(register, cell):
    text = HEAD + line("A", date="\u00a02026-01-05\u200b", techniques=cell, bruising="\u200bno")
    assert numbers(load(register, text)) == (1, 1, 0, 0, 0)


@pytest.mark.parametrize("word", ["Canula", "CANULA", "canula "])
def test_the_clinics_own_words_are_known_in_any_capitals(register, word):
    reading = replace(READING, words={"canula": "blunt-cannula"})
    assert numbers(load(register, HEAD + line("A", techniques=word), reading=reading)) == (1, 1, 0, 0, 0)


def test_two_own_words_that_differ_in_capitals_are_two_words(register):
    reading = replace(READING, words={"La": "blunt-cannula", "LA": "local-infiltration"})
    load(register, HEAD + line("A", techniques="LA"), reading=reading)
    assert contents(register)["A", 1]["techniques"] == "local-infiltration"


# --- by hand --------------------------------------------------------------------------------------


@pytest.fixture
def there(place: pipeline.Workplace, tmp_path: Path) -> Iterator[pipeline.Workplace]:
    """The demo clinic with a register of its own, which is empty."""
    yield replace(place, clinic=replace(place.clinic, register_url=f"sqlite:///{tmp_path / 'r.sqlite'}"))


def add(there: pipeline.Workplace, case: str, session: int = 1, site: str = "chin") -> None:
    pipeline.add(
        there, case=case, session=session, day=date(2026, 3, 2), techniques=["blunt-cannula"], site=site,
        skin_type=None, now=NOW, by=BY,
    )  # fmt: skip


def held(there: pipeline.Workplace) -> list[tuple[str, str]]:
    register: Register | None = open_register(there.clinic.register_url)
    assert register
    return [(row["case_ref"], row["site"]) for row in contents(register).values()]


def record(there: pipeline.Workplace, case: str, session: int = 1):
    return pipeline.record(
        there, case, session, {"bruising": "yes"}, seen_on=date(2026, 4, 2), now=NOW, by=BY
    )


def test_what_is_added_by_hand_is_kept_as_an_import_would_keep_it(there):
    add(there, " A\u00a0 1\u200b ", site=" Left\u00a0Cheek ")
    assert held(there) == [("A 1", "left cheek")]


@pytest.mark.parametrize("case", ["", "  ", "\u00a0", "\u200b"])
def test_a_blank_case_or_place_is_refused(there, case):
    with pytest.raises(RegisterError) as caught:
        add(there, case, site=case)
    assert [problem.where for problem in caught.value.problems] == ["case", "site"]


@pytest.mark.parametrize("session", [0, -1, 1_000_000, 10**30])
def test_a_session_that_no_database_holds_is_refused(there, session):
    add(there, "A-1")
    for enter in (add, record):
        with pytest.raises(RegisterError, match="session: should be from 1 to 999999"):
            enter(there, "A-1", session)


@pytest.mark.parametrize("case", ["A\0", "A\ud800"])
def test_a_case_that_no_database_holds_is_refused(there, case):
    add(there, "A-1")
    for enter in (add, record):
        with pytest.raises(RegisterError, match="holds a character that cannot be kept"):
            enter(there, case)


def test_a_case_in_other_capitals_is_told_and_not_added(there):
    add(there, "A-1")
    with pytest.raises(RegisterError, match="case 'a-1' is in the register as 'A-1'"):
        add(there, "a-1")
    with pytest.raises(RegisterError, match="case 'a-1' is in the register as 'A-1'"):
        record(there, "a-1")
    with pytest.raises(RegisterError, match="case A-1, session 1 is in the register already"):
        add(there, "A-1\u200b")
    assert held(there) == [("A-1", "chin")]


def test_another_spelling_is_looked_for_under_the_lock_of_the_writing(register):
    add_treatment(register, treatment("A 1"), now=NOW, by=BY)
    with pytest.raises(RegisterError, match="case 'a 1' is in the register as 'A 1'"):
        add_treatment(register, treatment("a 1"), now=NOW, by=BY)
    with pytest.raises(RegisterError, match="case A 1, session 1 is in the register already"):
        add_treatment(register, treatment("A\u00a01"), now=NOW, by=BY)
    assert cases(register) == ["A 1"]


def test_what_an_import_would_set_aside_for_its_length_is_refused_by_hand(there):
    with pytest.raises(RegisterError) as caught:
        add(there, "A" * 40_000, site="b" * 40_000)
    assert [problem.where for problem in caught.value.problems] == ["case", "site"]


def test_an_outcome_finds_its_case_whatever_white_space_was_typed(there):
    add(there, "A 1")
    assert record(there, " A\u00a01").outcomes == {"bruising": 1}
    assert [told.outcome for told in pipeline.values(there, "A\u200b  1", 1)] == ["bruising"]


def test_a_case_of_a_register_of_old_is_found_by_what_it_looks_like(there):
    register = open_register(there.clinic.register_url, create=True)
    assert register
    add_treatment(register, treatment("E\u0301-1"), now=NOW, by=BY)
    assert record(there, "\u00c9-1").case == "E\u0301-1"
