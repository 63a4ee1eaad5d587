"""The digest of what a register holds, changes behind its back, and waiting for it. Rows are invented."""

from __future__ import annotations

import sqlite3
import threading
from datetime import date

import pytest
from sqlalchemy import text
from support import BY, HEAD, NOW, SQLITE_ONLY, cases, empty, finish, line, load, numbers, seen, start

from consentpack.errors import RegisterError
from consentpack.register import (
    check_register,
    history,
    open_register,
    record_outcomes,
    state_of,
    told_to,
    waiting,
)

ROWS = HEAD + line("A") + line("B") + line("C", bruising="yes")


def digest(register) -> str:
    with register.connect() as connection:
        return state_of(connection).digest


def record(register, case="A", seen_on=date(2026, 2, 4), kind="entry", **outcomes: int):
    record_outcomes(register, case, 1, outcomes, seen_on=seen_on, now=NOW, by=BY, kind=kind)


def edit(register, statement: str) -> None:
    with register.engine.begin() as connection:
        connection.execute(text(statement))


def test_the_same_content_has_the_same_digest_in_whatever_order_it_came(register, register_url):
    load(register, ROWS)
    one = digest(register)
    load(register, ROWS)
    assert digest(register) == one
    register.engine.dispose()
    other = empty(register_url)
    load(other, HEAD + line("C", bruising="yes"))
    load(other, HEAD + line("B") + line("A"))
    assert digest(other) == one
    other.engine.dispose()


def test_every_other_content_has_another_digest(register, register_url):
    entries = (
        {"bruising": 1}, {"bruising": 2}, {"infection": 1}, {"bruising": 0},
        {"bruising": 0, "kind": "diary"}, {"bruising": 0, "seen_on": date(2026, 2, 5)},
        {"case": "B", "bruising": 1},
    )  # fmt: skip
    register.engine.dispose()
    found = set()
    for each in entries:
        one = empty(register_url)
        load(one, ROWS)
        found.add(digest(one))
        record(one, **each)
        found.add(digest(one))
        one.engine.dispose()
    assert len(found) == 1 + len(entries)


def test_what_another_program_changes_shows_in_the_digest_and_in_the_check(register):
    load(register, ROWS)
    before = digest(register)
    assert check_register(register).edited == ()
    edit(register, "UPDATE treatments SET o1 = 0 WHERE case_ref = 'C'")
    assert digest(register) != before
    with register.connect() as connection:
        assert state_of(connection).edited == 1
    assert check_register(register).edited == (("C", 1),)
    # the sheet puts it right: it is not taken for unchanged
    assert numbers(load(register, ROWS)) == (3, 0, 1, 2, 0)
    assert (seen(register), check_register(register).edited) == ([0, 0, 1], ())
    assert digest(register) == before


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE outcome_sources SET looked_days = 3",
        "DELETE FROM outcome_sources",
        "UPDATE combinations SET techniques = 'other'",
    ],
)
def test_what_is_changed_beside_the_treatments_is_found_by_the_check(register, statement):
    load(register, ROWS)
    record(register, bruising=1)
    edit(register, statement)
    assert ("A", 1) in check_register(register).edited


def test_a_treatment_that_another_program_takes_out_shows_in_the_digest(register):
    load(register, ROWS)
    before = digest(register)
    edit(register, "DELETE FROM treatments WHERE case_ref = 'C'")
    assert digest(register) != before


def test_all_that_is_read_at_once_belongs_to_one_moment(register_url, tmp_path):
    register = open_register(register_url, create=True)
    load(register, ROWS)
    sheet = tmp_path / "more.csv"
    sheet.write_text(HEAD + line("D"))
    with register.connect() as connection:
        before = state_of(connection)
        writer = start("load(open_register(sys.argv[1]), Path(sys.argv[2]))", register_url, sheet)
        with pytest.raises(Exception, match="timed out"):
            writer.wait(3)  # SQLite lets it write and waits with the commit; PostgreSQL is soon done
            raise TimeoutError("timed out")
        assert state_of(connection) == before
    finish(writer)
    assert digest(register) != before.digest
    register.engine.dispose()


# --- waiting --------------------------------------------------------------------------------------

_HOLD = """
import time
register = open_register(sys.argv[1])
with register.writing():
    print("held", flush=True)
    time.sleep(float(sys.argv[2]))
"""


def test_waiting_for_another_writer_is_said_and_ends_well(register, register_url, monkeypatch):
    monkeypatch.setattr(waiting, "NOTICE_SECONDS", 0.2)
    holder = start(_HOLD, register_url, 1.5)
    assert holder.stdout.readline() == "held\n"
    said: list[str] = []
    with told_to(said.append):
        load(register, HEAD + line("A"))
    finish(holder)
    # once for each wait, not once each time it has looked; a busy machine may wait for something else too
    assert 0 < len(said) < 5 and all("another program is using the register" in each for each in said)
    assert cases(register) == ["A"]


def test_nothing_is_said_when_nobody_waits(register, monkeypatch):
    monkeypatch.setattr(waiting, "NOTICE_SECONDS", 5)
    said: list[str] = []
    with told_to(said.append):
        load(register, HEAD + line("A"))
    assert (said, threading.active_count() < 20) == ([], True)


def test_after_the_limit_it_is_told_who_is_in_the_way(register_url, monkeypatch):
    monkeypatch.setattr(waiting, "BUSY_SECONDS", 1)
    sqlite = register_url.startswith("sqlite")
    url = f"{register_url}?timeout=1" if sqlite else register_url
    register = open_register(url, create=True)
    holder = start(_HOLD, register_url, 4)
    assert holder.stdout.readline() == "held\n"
    with pytest.raises(RegisterError, match="another program went on using the register") as caught:
        load(register, HEAD + line("A"))
    assert "Wait until its import, entry or build has finished" in str(caught.value)
    finish(holder)
    assert history(register) == []
    register.engine.dispose()


# --- what is no register --------------------------------------------------------------------------


@SQLITE_ONLY
def test_a_damaged_register_is_told(register, tmp_path):
    load(register, ROWS)
    path = tmp_path / "register.sqlite"
    data = bytearray(path.read_bytes())
    data[4096:] = b"\xa5" * (len(data) - 4096)
    path.write_bytes(data)
    for use in (history, check_register, cases):
        with pytest.raises(RegisterError):
            use(register)
    with pytest.raises(RegisterError, match="Nothing was changed"):
        load(register, ROWS)


@SQLITE_ONLY
@pytest.mark.parametrize("value", ["'never'", "99"])
def test_a_time_that_is_none_is_told_and_not_repeated(register, value):
    load(register, ROWS)
    edit(register, f"UPDATE imports SET at = {value}")
    with pytest.raises(RegisterError, match="holds something damaged") as caught:
        history(register)
    assert "never" not in str(caught.value)


@pytest.mark.parametrize("create", [False, True])
def test_the_database_of_something_else_is_refused_and_left_alone(tmp_path, create):
    raw = sqlite3.connect(tmp_path / "other.sqlite")
    raw.execute("CREATE TABLE letters (id INTEGER)")
    raw.commit()
    with pytest.raises(RegisterError, match="the database of something else"):
        open_register(str(tmp_path / "other.sqlite"), create=create)
    assert raw.execute("SELECT name FROM sqlite_master").fetchall() == [("letters",)]
    raw.close()


@pytest.mark.parametrize("create", [False, True])
def test_a_folder_and_a_link_to_nothing_are_told(tmp_path, create):
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    for name, why in (("", "it is a folder"), ("link", "a link to a file that is not there")):
        with pytest.raises(RegisterError, match=why):
            open_register(str(tmp_path / name), create=create)
    assert not (tmp_path / "nowhere").exists()


def test_a_new_register_can_be_read_by_nobody_else(tmp_path):
    open_register(str(tmp_path / "register.sqlite"), create=True)
    assert (tmp_path / "register.sqlite").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("name", ["what?", "50%20", "a b#c", "ü", "sqlite:"])
def test_a_folder_may_have_any_name(tmp_path, name):
    folder = tmp_path / name
    folder.mkdir()
    register = open_register(str(folder / "register.sqlite"), create=True)
    load(register, ROWS)
    assert [path.name for path in folder.iterdir()] == ["register.sqlite"]
    assert [path.name for path in tmp_path.iterdir()] == [name]
