"""Where each outcome came from: a file takes nothing away that somebody entered. Rows are invented."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from support import BY, FIELDS, HEAD, NOW, contents, line, load, numbers, seen, take_back, treatment

from consentpack.errors import RegisterError
from consentpack.register import add_treatment, history, record_outcomes, undo, values_of
from consentpack.register.entry import LARGEST_COUNT

SEEN_HEAD = HEAD.strip() + ",last_seen\n"


def record(register, case="A", *, seen_on=date(2026, 2, 4), by=BY, kind="entry", **outcomes: int):
    return record_outcomes(register, case, 1, outcomes, seen_on=seen_on, now=NOW, by=by, kind=kind)


def told(register, case="A"):
    return [(v.outcome, v.grade, v.kind, v.entry, v.by, v.replaced) for v in values_of(register, case, 1)]


def row(last_seen="", **cells) -> str:
    return f"{line(**cells).strip()},{last_seen}\n"


@pytest.mark.parametrize("kind", ["entry", "diary"])
@pytest.mark.parametrize("in_file", ["no", "severe", ""])
def test_what_was_entered_by_hand_stays_when_the_file_is_imported_again(register, kind, in_file):
    text = HEAD + line("A", bruising=in_file)
    load(register, text)
    record(register, kind=kind, bruising=1)
    result = load(register, text)
    assert seen(register) == [1]
    assert numbers(result) == (1, 0, 0, 1, 0)
    found = [(d.row, d.case, d.session, d.outcome, d.held, d.in_file, d.kind) for d in result.differs]
    grade, name = {"no": 0, "severe": 3}.get(in_file), {"entry": "hand", "diary": "diary"}[kind]
    assert found == ([(2, "A", 1, "bruising", 1, grade, name)] if in_file else [])


def test_the_file_goes_before_when_it_is_told_to_and_a_blank_never_does(register):
    load(register, HEAD + line("A") + line("B"))
    record(register, bruising=1)
    record(register, "B", bruising=1)
    result = load(register, HEAD + line("A", bruising="no") + line("B", bruising=""), overwrite_by_hand=True)
    assert seen(register) == [0, 1]
    assert ([d.case for d in result.differs], result.overwritten) == (["A"], True)
    assert told(register)[-1][1:4] == (0, "file", 4)


def test_a_file_that_agrees_does_not_take_over_what_was_entered(register):
    load(register, HEAD + line("A", bruising=""))
    record(register, bruising=1)
    assert load(register, HEAD + line("A", bruising="yes")).differs == ()
    result = load(register, HEAD + line("A", bruising="no"))
    assert (seen(register), len(result.differs)) == ([1], 1)


def test_a_value_that_is_corrected_in_the_file_is_taken_and_the_old_one_kept(register):
    load(register, HEAD + line("A", bruising="yes"))
    assert numbers(load(register, HEAD + line("A", bruising="no"))) == (1, 0, 1, 0, 0)
    assert told(register) == [("bruising", 1, "file", 1, BY, True), ("bruising", 0, "file", 2, BY, False)]


def test_every_value_has_its_source_and_what_it_replaced(register):
    load(register, HEAD + line("A"))
    record(register, by="AQ", bruising=2)
    record(register, by="ML", kind="diary", infection=0)
    assert told(register) == [
        ("bruising", 0, "file", 1, BY, True),
        ("bruising", 2, "hand", 2, "AQ", False),
        ("infection", 0, "diary", 3, "ML", False),
    ]  # fmt: skip
    undo(register, now=NOW, by="ML")
    undo(register, now=NOW, by="AQ")
    assert told(register) == [("bruising", 0, "file", 1, BY, False)]


def test_there_are_no_values_of_a_treatment_that_is_not_there(register):
    with pytest.raises(RegisterError, match="there is no case X, session 1"):
        values_of(register, "X", 1)


def test_a_column_that_is_not_read_any_more_takes_nothing_away(register):
    head = HEAD.strip() + ",skin_type,last_seen,operator,gauge,volume_ml\n"
    load(register, head + line("A", bruising="yes").strip() + ",II,2026-02-04,AQ,22,0.01\n")
    before = contents(register)
    result = load(register, ",".join(FIELDS) + "\nA,1,2026-01-05,blunt-cannula,chin\n")
    assert (contents(register), numbers(result)) == (before, (1, 0, 0, 1, 0))
    assert result.unread == ("bruising",)


def test_a_value_blanked_in_the_file_is_forgotten_and_counted(register):
    load(register, HEAD + line("A", bruising="yes"))
    assert load(register, HEAD + line("A", bruising="")).blanked == 1


def test_an_import_never_shortens_the_watching_that_was_entered(register):
    load(register, SEEN_HEAD + row("2026-01-10", case="A"))
    record(register, seen_on=date(2026, 3, 6), infection=0)
    load(register, SEEN_HEAD + row("2026-01-20", case="A"))
    assert contents(register)["A", 1]["watched_days"] == 60
    load(register, SEEN_HEAD + row("2026-04-05", case="A"))
    assert contents(register)["A", 1]["watched_days"] == 90
    load(register, SEEN_HEAD + row("2026-01-20", case="A"))  # the file's own slip is put right
    assert contents(register)["A", 1]["watched_days"] == 60


def test_an_earlier_look_does_not_shorten_the_watching_and_keeps_its_own_day(register):
    load(register, SEEN_HEAD + row("2026-03-06", case="A"))
    assert record(register, seen_on=date(2026, 1, 8), infection=1).watched_days == 60
    assert [v.looked for v in values_of(register, "A", 1) if v.outcome == "infection"] == [3]


def test_a_blank_cell_takes_nothing_from_a_treatment_entered_by_hand(register):
    add_treatment(register, treatment("A", skin_type="IV", operator="AQ"), now=NOW, by=BY)
    head = HEAD.strip() + ",skin_type,operator\n"
    load(register, head + line("A", date="2026-03-02", bruising="").strip() + ",,ML\n")
    held = contents(register)["A", 1]
    assert (held["skin_type"], held["operator"]) == ("IV", "ML")


# --- taking back ----------------------------------------------------------------------------------


def test_who_takes_back_takes_their_own_last_entry_and_is_named(register):
    load(register, HEAD + line("A") + line("B"))
    record(register, "B", by="AQ", bruising=1)
    later = datetime(2026, 11, 26, 10, 0)
    entry, _, restored = undo(register, now=later, by="AQ")
    assert (entry.id, restored, seen(register)) == (2, 1, [0, 0])
    last = history(register)[-1]
    assert (last.undone, last.undone_at, last.undone_by) == (True, later, "AQ")
    with pytest.raises(RegisterError, match=r"nothing of 'AQ' to take back. The last is number 1, by tests"):
        undo(register, now=later, by="AQ")


def test_an_entry_of_somebody_else_is_taken_back_by_its_number(register):
    load(register, HEAD + line("A") + line("B"))
    record(register, "A", by="AQ", bruising=1)
    record(register, "B", by="ML", bruising=2)
    undo(register, now=NOW, by="ML", number=2)
    assert seen(register) == [0, 2]
    assert [(e.undone, e.undone_by) for e in history(register)] == [
        (False, None),
        (True, "ML"),
        (False, None),
    ]
    for number, why in ((2, "is taken back already"), (9, "there is no number 9")):
        with pytest.raises(RegisterError, match=why):
            undo(register, now=NOW, by="ML", number=number)


def test_what_a_later_entry_was_built_upon_is_not_pulled_away(register):
    load(register, HEAD + line("A"))
    record(register, "A", by="AQ", infection=1)
    before = contents(register)
    with pytest.raises(RegisterError, match=r"number 1 cannot be taken back.*\(2\)"):
        take_back(register)
    assert contents(register) == before
    undo(register, now=NOW, by="AQ")
    take_back(register)
    assert contents(register) == {}


@pytest.mark.parametrize("session", [0, -1, LARGEST_COUNT + 1, 10**30])
def test_an_absurd_session_by_hand_is_told(register, session):
    with pytest.raises(RegisterError, match="session: should be from 1 to 999999"):
        add_treatment(register, treatment("A", session), now=NOW, by=BY)
    with pytest.raises(RegisterError, match="session: should be from 1 to 999999"):
        record_outcomes(register, "A", session, {"bruising": 1}, seen_on=NOW.date(), now=NOW, by=BY)
    assert history(register) == []
