"""Registers that an older or a newer program made. What they hold is invented."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url
from support import HEAD, NOW, SQLITE_ONLY, contents, line, load, numbers

from consentpack.errors import RegisterError
from consentpack.register import (
    check_register,
    history,
    migrate,
    open_register,
    state_of,
    told_to,
    undo,
    values_of,
)
from consentpack.register.schema import SCHEMA

DATA = Path(__file__).parents[1] / "data"


@pytest.fixture
def old(register_url):
    """Where a register of schema 1 is: the real one of the program before there was a version."""
    dialect = make_url(register_url).get_backend_name()
    script = (DATA / f"register_schema_1.{dialect}.sql").read_text()
    if dialect == "sqlite":
        raw = sqlite3.connect(make_url(register_url).database)
        raw.executescript(script)
        raw.close()
    else:
        engine = create_engine(register_url)
        with engine.begin() as connection:
            connection.exec_driver_sql(script.replace("%", "%%"))
        engine.dispose()
    return register_url


def opened(url):
    said: list[str] = []
    with told_to(said.append):
        register = open_register(url)
    assert register
    return register, said


def told(register, case):
    return [(v.outcome, v.grade, v.kind, v.entry, v.looked, v.replaced) for v in values_of(register, case, 1)]


def test_an_old_register_is_brought_up_to_date_with_all_it_held(old):
    register, said = opened(old)
    assert f"from schema 1 to {SCHEMA}" in said[0]
    held = {case: row["outcomes"] for (case, _), row in contents(register).items()}
    assert held == {"A": {"bruising": 0}, "B": {"bruising": 0}, "C": {"bruising": 2, "infection": 0}, "H": {}}
    assert [entry.undone for entry in history(register)] == [False] * 5 + [True]
    assert history(register)[-1].undone_by is None
    assert check_register(register).edited == ()
    register.engine.dispose()
    again, said = opened(old)
    assert said == []  # once is enough
    again.engine.dispose()


def test_what_was_entered_by_hand_in_an_old_register_is_known(old):
    register, _ = opened(old)
    by_hand = ("hand", 3, 20, False)
    assert told(register, "C") == [("bruising", 2, *by_hand), ("infection", 0, *by_hand)]
    # what the older program let an import take away can be found
    first = ("bruising", 0, "file", 1, None, False)
    assert told(register, "B") == [first, ("infection", 1, "hand", 2, 60, True)]
    assert told(register, "A") == [
        ("bruising", 1, "file", 1, None, True), ("bruising", 0, "file", 5, None, False),
    ]  # fmt: skip
    register.engine.dispose()


def test_an_import_of_an_old_register_can_still_be_taken_back(old):
    register, _ = opened(old)
    _, gone, restored = undo(register, now=NOW, by="tests")
    assert (gone, restored) == (0, 2)
    assert contents(register)["B", 1]["outcomes"] == {"bruising": 0, "infection": 1}
    assert told(register, "B")[1] == ("infection", 1, "hand", 2, 60, False)
    assert check_register(register).edited == ()
    register.engine.dispose()


@pytest.fixture
def second(tmp_path):
    """Where a register of schema 2 is: a real one. Case D was edited by something else."""
    raw = sqlite3.connect(tmp_path / "second.sqlite")
    raw.executescript((DATA / "register_schema_2.sqlite.sql").read_text())
    raw.close()
    return str(tmp_path / "second.sqlite")


def test_strata_and_measurements_of_schema_2_are_carried_over(second):
    register, said = opened(second)
    assert f"from schema 2 to {SCHEMA}" in said[0]
    names = ("skin_type", "gauge", "volume_ml")
    held = {case: tuple(row[n] for n in names) for (case, _), row in contents(register).items()}
    assert held == {
        "A": ("III", 22, 0.01), "B": (None, None, None), "C": ("IV", None, 1), "D": ("II", 20, None),
    }  # fmt: skip
    # who edited a row in the schema before is known still, and nothing else passes for edited
    with register.connect() as connection:
        assert state_of(connection).edited == 1
    assert check_register(register).edited == (("D", 1),)
    register.engine.dispose()


def test_the_same_file_changes_nothing_in_a_register_of_schema_2(second):
    register, _ = opened(second)
    head = HEAD.strip() + ",skin_type,last_seen,operator,gauge,volume_ml\n"
    rows = (
        "A,1,2026-01-05,blunt-cannula,chin,no,III,2026-02-05,AQ,22,0.01\n"
        "C,1,2026-01-06,blunt-cannula,chin,yes,IV,2026-03-05,ML,,1\n"
    )
    assert numbers(load(register, head + rows)) == (2, 0, 0, 2, 0)
    register.engine.dispose()


def test_what_a_treatment_of_schema_2_was_before_can_be_put_back(second):
    register, _ = opened(second)
    undo(register, now=NOW, by="tests", number=3)
    held = contents(register)["C", 1]
    assert (held["skin_type"], held["outcomes"], held["volume_ml"]) == ("V", {"bruising": 0}, 1)
    assert check_register(register).edited == (("D", 1),)
    register.engine.dispose()


def test_strata_and_measurements_of_schema_1_are_carried_over(old):
    engine = create_engine(old)
    with engine.begin() as connection:
        statement = "UPDATE treatments SET skin_type = 'V', gauge = 22, volume_ml = 0.01 WHERE case_ref = 'H'"
        connection.execute(text(statement))
    engine.dispose()
    register, _ = opened(old)
    held = contents(register)["H", 1]
    assert (held["skin_type"], held["gauge"], held["volume_ml"]) == ("V", 22, 0.01)
    assert check_register(register).edited == (("H", 1),)  # its digest was not the program's
    head = HEAD.strip() + ",gauge\n"
    load(register, head + line("N").strip() + ",23\n")
    assert contents(register)["N", 1]["gauge"] == 23
    register.engine.dispose()


@SQLITE_ONLY
def test_a_copy_of_the_old_register_is_kept_and_nobody_else_may_read_it(old, tmp_path):
    before = sqlite3.connect(tmp_path / "register.sqlite")
    rows = list(before.iterdump())
    before.close()
    register, said = opened(old)
    (copy,) = tmp_path.glob("register.sqlite.schema-1.*")
    assert str(copy) in said[0]
    assert copy.stat().st_mode & 0o777 == 0o600
    kept = sqlite3.connect(copy)
    assert list(kept.iterdump()) == rows
    kept.close()
    register.engine.dispose()


def test_a_step_that_fails_leaves_the_register_as_it_was(old, monkeypatch):
    def fails(connection):
        migrate._to_2(connection)
        connection.execute(text("SELECT * FROM nowhere"))

    monkeypatch.setattr(migrate, "STEPS", (fails,))
    with pytest.raises(RegisterError, match="cannot be opened"):
        open_register(old)
    monkeypatch.undo()
    register, _ = opened(old)
    assert len(contents(register)) == 4
    register.engine.dispose()


@SQLITE_ONLY
@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_without_room_for_the_copy_nothing_is_changed(old, tmp_path):
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(RegisterError, match="cannot be opened"):
            open_register(old)
    finally:
        tmp_path.chmod(0o700)
    assert not list(tmp_path.glob("*.schema-1.*"))


@pytest.mark.parametrize("create", [False, True])
def test_a_register_of_a_newer_program_is_refused_by_name(register, register_url, create):
    with register.writing() as connection:
        connection.execute(
            text(f"INSERT INTO schema_version VALUES ({SCHEMA + 1}, '2030-01-01 00:00:00', '9.0')")
        )
    said = f"made by a newer consentpack, schema {SCHEMA + 1}; this one knows up to {SCHEMA}"
    with pytest.raises(RegisterError, match=said):
        open_register(register_url, create=create)
