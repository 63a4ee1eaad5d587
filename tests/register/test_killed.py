"""An import that is killed half-way leaves the register as it was, in both databases. Rows are invented."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from pathlib import Path

import pytest
from sqlalchemy import text
from support import HEAD, SQLITE_ONLY, contents, finish, load, seen, start

from consentpack.register import Register, history

KEPT, LARGE = 500, 5_000

_IMPORT = """
import os, signal
from sqlalchemy import event

url, sheet, moment = sys.argv[1:]
register = open_register(url)
statements = 0

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

def count(*_):
    global statements
    statements += 1
    if str(statements) == moment:
        die()

event.listen(register.engine, "after_cursor_execute", count)
if moment == "commit":  # called when everything is written and nothing is committed
    event.listen(register.engine, "commit", die)
print("ready", flush=True)
result = load(register, Path(sheet))
print(result.added, result.updated, statements)
"""


def many(first: int, last: int, bruising: str) -> str:
    rows = (
        f"K-{number:06},1,2026-{number % 9 + 1:02}-05,blunt-cannula;local-infiltration,chin,{bruising},no\n"
        for number in range(first, last)
    )
    return HEAD.strip() + ",infection\n" + "".join(rows)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory) -> Path:
    """A large sheet that corrects what is in the register and adds many."""
    path = tmp_path_factory.mktemp("kill") / "large.csv"
    path.write_text(many(0, LARGE, "no"))
    return path


@pytest.fixture
def filled(register: Register) -> Register:
    load(register, many(0, KEPT, "yes"))
    return register


def assert_whole(register: Register) -> None:
    """As before: opened as the program does, sound, and nothing of the large sheet in it."""
    if register.engine.dialect.name == "sqlite":
        with register.connect() as connection:
            assert connection.scalar(text("PRAGMA integrity_check")) == "ok"
    assert (len(history(register)), len(contents(register))) == (1, KEPT)
    assert seen(register) == [1] * KEPT
    assert seen(register, "infection") == [0] * KEPT


def test_the_import_that_is_killed_below_would_have_changed_everything(filled, register_url, sheet):
    added, updated, statements = map(int, finish(start(_IMPORT, register_url, sheet, "never")).split()[1:])
    assert (added, updated) == (LARGE - KEPT, KEPT)
    assert statements > 20  # so the moments below all come to pass
    assert (len(history(filled)), len(contents(filled))) == (2, LARGE)
    assert seen(filled) == [0] * LARGE


@pytest.mark.parametrize("moment", ["3", "12", "20", "commit"])
def test_an_import_that_is_killed_leaves_the_register_as_it_was(
    filled, register_url, sheet, moment, tmp_path
):
    killed = start(_IMPORT, register_url, sheet, moment)
    said, _ = killed.communicate(timeout=60)
    assert (killed.returncode, said) == (-signal.SIGKILL, "ready\n")
    if filled.engine.dialect.name == "sqlite" and moment == "commit":
        assert (tmp_path / "register.sqlite-journal").exists()  # it was half-way: changes were begun
    assert_whole(filled)


def kill(process: subprocess.Popen[str]) -> None:
    os.kill(process.pid, signal.SIGKILL)
    process.communicate(timeout=60)


def assert_whole_or_done(register: Register) -> None:
    """A kill from outside may come too late; what it leaves is never something between."""
    if len(history(register)) == 1:
        assert_whole(register)
    else:
        assert (len(history(register)), seen(register)) == (2, [0] * LARGE)


@SQLITE_ONLY
def test_an_import_that_is_killed_when_it_begins_to_write_leaves_the_register_whole(
    filled, register_url, sheet, tmp_path
):
    killed = start(_IMPORT, register_url, sheet, "never")
    while killed.poll() is None and not (tmp_path / "register.sqlite-journal").exists():
        time.sleep(0.001)
    kill(killed)
    assert_whole_or_done(filled)


@pytest.mark.parametrize("after", [0.05, 0.15])
def test_an_import_that_is_killed_from_outside_leaves_the_register_whole(filled, register_url, sheet, after):
    killed = start(_IMPORT, register_url, sheet, "never")
    assert killed.stdout.readline() == "ready\n"
    time.sleep(after)
    kill(killed)
    assert_whole_or_done(filled)


def test_after_an_import_was_killed_the_next_one_goes_in(filled, register_url, sheet):
    start(_IMPORT, register_url, sheet, "12").communicate(timeout=60)
    result = load(filled, sheet)
    assert (result.added, result.updated) == (LARGE - KEPT, KEPT)
    assert seen(filled) == [0] * LARGE
