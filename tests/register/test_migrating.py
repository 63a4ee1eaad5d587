"""Registers that an older or a newer program made. What they hold is invented."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url
from support import NOW, SQLITE_ONLY, contents

from consentpack.errors import RegisterError
from consentpack.register import check_register, history, migrate, open_register, told_to, undo, values_of
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
        connection.execute(text("INSERT INTO schema_version VALUES (7, '2030-01-01 00:00:00', '9.0')"))
    said = f"made by a newer consentpack, schema 7; this one knows up to {SCHEMA}"
    with pytest.raises(RegisterError, match=said):
        open_register(register_url, create=create)
