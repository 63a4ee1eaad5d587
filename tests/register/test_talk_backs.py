"""Marks of the talk-back in the register: entered, taken back, checked; a register of the program before."""

from __future__ import annotations

import sqlite3
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import create_engine, inspect, text
from sqlalchemy.engine import make_url
from support import HEAD, NOW, contents, line, load

from consentpack.errors import RegisterError
from consentpack.register import (
    Checked,
    Moment,
    Talk,
    TalkMark,
    add_talk,
    as_it_stood,
    check_register,
    history,
    moment_of,
    open_register,
    state_of,
    talks,
    talks_of,
    told_to,
    undo,
)
from consentpack.register.schema import SCHEMA
from consentpack.register.talk_back_table import TALK_BACKS

DATA = Path(__file__).parents[1] / "data"
DAY = date(2026, 11, 20)


def marks(**given: int) -> list[TalkMark]:
    return [TalkMark(q, f"risks/{q}", "d" * 64, f"What is said of {q}", n) for q, n in given.items()]


def enter(register, reference="R-1", *, day=DAY, by="ML", clinician="Dr A", **given: int) -> int:
    talk = Talk(reference, day, clinician, "en-GB")
    return add_talk(register, talk, marks(**(given or {"harm": 2})), now=NOW, by=by)


def standing(register):
    with register.connect() as connection:
        return [(told.question, told.mark) for told in talks(connection)]


def test_marks_are_kept_in_the_order_of_days_and_name_nobody(register):
    enter(register, "R-2", day=date(2026, 11, 21), serious=1)
    assert enter(register, harm=2, choice=0) == 2
    assert standing(register) == [("choice", 0), ("harm", 2), ("serious", 1)]
    with register.connect() as connection:
        (first, *_) = talks(connection)
        assert (first.day, first.clinician, first.language) == (DAY, "Dr A", "en-GB")
        assert "R-1" not in repr(talks(connection))


def test_one_question_is_marked_once_for_a_patient_and_a_day(register):
    enter(register, "R-1", harm=2)
    with pytest.raises(RegisterError, match=r"marked already: harm \(number 1\)"):
        enter(register, "r-1 ", harm=0, choice=2)
    assert standing(register) == [("harm", 2)]
    enter(register, "R-1", choice=2)
    enter(register, "R-1", day=date(2026, 11, 21), harm=2)
    enter(register, "R-2", harm=2)
    assert len(standing(register)) == 4


def test_what_is_to_come_is_not_marked(register):
    with pytest.raises(RegisterError, match="in the future"):
        enter(register, day=date(2027, 1, 1))
    assert history(register) == []


def test_a_marking_is_taken_back_as_any_entry_is_and_can_be_entered_again(register):
    load(register, HEAD + line("A"))
    number = enter(register, harm=0, by="ML")
    entry, gone, restored = undo(register, now=NOW, by="ML", number=number)
    assert (entry.kind, gone, restored) == ("talk-back", 0, 0)
    assert standing(register) == []
    assert [each.undone for each in history(register)] == [False, True]
    enter(register, harm=2)
    assert standing(register) == [("harm", 2)]
    assert len(contents(register)) == 1


def test_who_takes_back_their_last_import_does_not_lose_a_talk_marked_since(register):
    load(register, HEAD + line("A"))
    (imported,) = history(register)
    enter(register, harm=2, by=imported.by)
    entry, gone, _ = undo(register, now=NOW, by=imported.by)
    assert (entry.id, gone) == (imported.id, 1)
    assert standing(register) == [("harm", 2)]
    with pytest.raises(RegisterError, match="nothing to take back"):
        undo(register, now=NOW, by=imported.by)


def test_all_markings_of_one_patient_can_be_found_to_be_taken_back(register):
    for day in (20, 21):
        enter(register, "R-1", day=date(2026, 11, day))
    enter(register, "R-2")
    with register.connect() as connection:
        assert talks_of(connection, "r-1") == [2, 1]
        assert talks_of(connection, "R-9") == []


def test_marks_change_no_figure_and_no_state_of_the_treatments(register):
    load(register, HEAD + line("A"))
    with register.connect() as connection:
        before = state_of(connection)
    enter(register)
    with register.connect() as connection:
        assert state_of(connection) == before


def test_the_register_as_it_stood_has_the_marks_of_then(register, tmp_path):
    load(register, HEAD + line("A"))
    number = enter(register, "R-1", harm=2)
    with register.connect() as connection:
        then = moment_of(connection)
    undo(register, now=NOW, by="ML", number=number)
    enter(register, "R-2", harm=0)
    assert standing(as_it_stood(register, then, tmp_path)) == [("harm", 2)]
    assert standing(as_it_stood(register, Moment(1, 0), tmp_path)) == []
    assert standing(register) == [("harm", 0)]


def test_a_mark_that_something_else_has_changed_is_found(register):
    enter(register, harm=0, choice=2)
    assert check_register(register).damage == ()
    with register.writing() as connection:
        connection.execute(text("UPDATE talk_backs SET mark = 2 WHERE question = 'harm'"))
    assert check_register(register).damage == ("1 marks of talks are not as this program wrote them",)


# --- a register of the program before -------------------------------------------------------------


@pytest.fixture
def fifth(register_url) -> str:
    """Where a register of schema 5 is: a real one. Of its four entries the second was taken back."""
    url = make_url(register_url)
    script = (DATA / f"register_schema_5.{url.get_backend_name()}.sql").read_text()
    if url.get_backend_name() == "sqlite":
        raw = sqlite3.connect(str(url.database))
        raw.executescript(script)
        raw.close()
    else:
        engine = create_engine(url)
        with engine.begin() as connection:
            connection.exec_driver_sql(script.replace("%", "%%"))
        engine.dispose()
    return register_url


def test_a_register_of_schema_5_is_brought_up_to_date_and_takes_marks(fifth, tmp_path):
    said: list[str] = []
    with told_to(said.append):
        register = open_register(fifth)
    assert f"from schema 5 to {SCHEMA}" in said[0]
    assert len(list(tmp_path.glob("register.sqlite.schema-5.*"))) == fifth.startswith("sqlite")
    held = {case: row["outcomes"] for (case, _), row in contents(register).items()}
    assert held == {"A": {"bruising": 0}, "B": {"bruising": 0}, "H-1": {"bruising": 1}}
    enter(register, harm=1)
    assert standing(register) == [("harm", 1)]
    # what was taken back before the step can still be told
    (tmp_path / "then").mkdir()
    assert contents(as_it_stood(register, Moment(2, 0), tmp_path / "then"))["A", 1]["outcomes"] == {
        "bruising": 1
    }
    assert check_register(register) == Checked(3, (), ())
    register.engine.dispose()


def test_the_step_makes_the_very_table_that_a_new_register_has(fifth, tmp_path):
    """Else a register that was brought up to date would be another one than a new one."""
    register = open_register(fifth)
    new = open_register(str(tmp_path / "new.sqlite"), create=True)
    told = []
    for each in (register, new):
        with each.connect() as connection:
            found = inspect(connection)
            columns = [(c["name"], str(c["type"]), c["nullable"]) for c in found.get_columns(TALK_BACKS.name)]
            indexes = [(i["name"], i["column_names"]) for i in found.get_indexes(TALK_BACKS.name)]
            keys = [
                (k["referred_table"], k["constrained_columns"])
                for k in found.get_foreign_keys(TALK_BACKS.name)
            ]
            told.append(
                (columns, indexes, keys, found.get_pk_constraint(TALK_BACKS.name)["constrained_columns"])
            )
    assert told[0] == told[1]
    register.engine.dispose()
    new.engine.dispose()
