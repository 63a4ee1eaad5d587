"""What was imported and entered, and taking the last of it back exactly. All rows are invented."""

from __future__ import annotations

import hashlib
from datetime import date, datetime

import pytest
from support import BY, HEAD, NOW, cases, contents, line, load, numbers, seen, take_back, treatment

from consentpack.errors import RegisterError
from consentpack.register import add_treatment, history, record_outcomes


def test_every_import_and_entry_is_in_the_history_the_oldest_first(register):
    text = HEAD + line("A") + line("B") + line("C", bruising="hm")
    load(register, text, now=datetime(2026, 11, 25, 9, 30))
    load(register, HEAD + line("A") + line("B", bruising="yes"), now=datetime(2026, 11, 26, 9, 30))
    add_treatment(register, treatment("H"), now=datetime(2026, 11, 27, 9, 30), by="AQ")
    first, second, third = history(register)
    assert first.file_digest == hashlib.sha256(text.encode()).hexdigest()
    assert (first.at, first.by, first.kind, first.file_name) == (
        datetime(2026, 11, 25, 9, 30), BY, "import", "audit.csv",
    )  # fmt: skip
    counts = [(e.read, e.added, e.updated, e.unchanged, e.set_aside) for e in (first, second, third)]
    assert counts == [(3, 2, 0, 0, 1), (2, 0, 1, 1, 0), (1, 1, 0, 0, 0)]
    assert (third.by, third.kind, third.file_name, third.file_digest) == ("AQ", "entry", "", "")
    assert not any(entry.undone for entry in (first, second, third))
    assert first.id < second.id < third.id


def test_a_new_register_has_no_history(register):
    assert history(register) == []


def test_there_is_nothing_to_take_back_in_a_new_register(register):
    with pytest.raises(RegisterError, match="there is nothing to take back"):
        take_back(register)
    assert history(register) == []


def test_what_an_import_added_is_gone_and_what_it_changed_is_as_before(register):
    head = HEAD.strip() + ",skin_type,last_seen,operator,gauge,volume_ml,infection\n"
    full = "II,2026-02-04,AQ,22,0.01,no\n"
    old = head + line("A", bruising="severe").strip() + f",{full}" + line("B").strip() + f",{full}"
    load(register, old)
    before = contents(register)
    changed = head + line("Z").strip() + f",{full}" + line(
        "A", techniques="filler-after-release;local-infiltration", date="2026-01-06", site="lip", bruising=""
    ).strip() + ",,,,,,yes\n" + line("B").strip() + f",{full}"  # fmt: skip
    assert numbers(load(register, changed)) == (3, 1, 1, 1, 0)
    assert contents(register) != before
    entry, gone, restored = take_back(register)
    assert (entry.added, entry.updated, gone, restored) == (1, 1, 1, 1)
    assert contents(register) == before
    assert [entry.undone for entry in history(register)] == [False, True]


def test_an_import_that_brought_a_new_outcome_is_taken_back(register):
    load(register, HEAD + line("A"))
    before = contents(register)
    load(register, HEAD.strip() + ",infection\n" + line("A").strip() + ",yes\n" + line("B").strip() + ",no\n")
    take_back(register)
    assert contents(register) == before


def test_an_import_of_many_rows_is_taken_back(register):
    load(register, HEAD + "".join(line(f"M-{number:05}") for number in range(1_200)))
    before = contents(register)
    load(register, HEAD + "".join(line(f"M-{n:05}", bruising="yes") for n in range(100, 2_600)))
    assert (len(contents(register)), seen(register).count(1)) == (2_600, 2_500)
    _, gone, restored = take_back(register)
    assert (gone, restored) == (1_400, 1_100)
    assert contents(register) == before


def test_taking_back_twice_goes_back_two_and_then_there_is_nothing_left(register):
    states = [contents(register)]
    for bruising, case in (("yes", "A"), ("no", "B"), ("", "C")):
        load(register, HEAD + line("A", bruising=bruising) + line(case, 2))
        states.append(contents(register))
    for state in reversed(states[:-1]):
        take_back(register)
        assert contents(register) == state
    with pytest.raises(RegisterError, match="there is nothing to take back"):
        take_back(register)
    assert [entry.undone for entry in history(register)] == [True, True, True]


def test_a_treatment_changed_twice_goes_back_step_by_step(register):
    for bruising in ("mild", "moderate", "severe"):
        load(register, HEAD + line("A", bruising=bruising))
    found = [seen(register)]
    for _ in range(2):
        take_back(register)
        found.append(seen(register))
    assert found == [[3], [2], [1]]


def test_an_entry_by_hand_is_taken_back(register):
    load(register, HEAD + line("A"))
    before = contents(register)
    add_treatment(register, treatment("H"), now=NOW, by=BY)
    entry, gone, restored = take_back(register)
    assert (entry.kind, gone, restored) == ("entry", 1, 0)
    assert contents(register) == before


def test_an_outcome_entered_by_hand_is_taken_back(register):
    load(register, HEAD + line("A", bruising=""))
    before = contents(register)
    record_outcomes(
        register, "A", 1, {"bruising": 2, "infection": 0}, seen_on=date(2026, 2, 4), now=NOW, by=BY
    )  # fmt: skip
    assert contents(register) != before
    entry, gone, restored = take_back(register)
    assert (entry.kind, gone, restored) == ("entry", 0, 1)
    assert contents(register) == before


def test_what_was_taken_back_can_be_imported_again(register):
    text = HEAD + line("A") + line("B")
    load(register, text)
    before = [(row["case_ref"], row["row_digest"], row["outcomes"]) for row in contents(register).values()]
    take_back(register)
    assert contents(register) == {}
    assert numbers(load(register, text)) == (2, 2, 0, 0, 0)
    again = [(row["case_ref"], row["row_digest"], row["outcomes"]) for row in contents(register).values()]
    assert again == before


def test_after_taking_back_the_next_import_can_be_taken_back_too(register):
    load(register, HEAD + line("A"))
    load(register, HEAD + line("A", bruising="yes"))
    take_back(register)
    load(register, HEAD + line("A", bruising="severe") + line("B"))
    take_back(register)
    assert (cases(register), seen(register)) == (["A"], [0])
    take_back(register)
    assert cases(register) == []


def test_an_import_that_changed_nothing_can_be_taken_back(register):
    load(register, HEAD + line("A"))
    load(register, HEAD + line("A"))
    assert take_back(register)[1:] == (0, 0)
    assert cases(register) == ["A"]


def test_a_dry_run_is_nothing_to_take_back(register):
    load(register, HEAD + line("A"), dry_run=True)
    with pytest.raises(RegisterError, match="there is nothing to take back"):
        take_back(register)
