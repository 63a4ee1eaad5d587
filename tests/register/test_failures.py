"""A register that cannot be written: full, locked, broken. All rows are invented."""

from __future__ import annotations

import sqlite3
from datetime import date

import pytest
from sqlalchemy import event, text
from support import (
    BY,
    HEAD,
    NOW,
    POSTGRES_ONLY,
    SQLITE_ONLY,
    Postgres,
    cases,
    contents,
    finish,
    line,
    load,
    numbers,
    start,
    take_back,
    treatment,
)

from consentpack.errors import RegisterError
from consentpack.register import (
    add_treatment,
    history,
    open_register,
    record_outcomes,
)

MANY = HEAD + "".join(line(f"F-{number:06}", site=f"invented site {number}") for number in range(12_000))


def fails_for_case_c(register) -> None:
    """The database refuses one row half-way through."""
    statements = {
        "sqlite": [
            "CREATE TRIGGER refuse BEFORE INSERT ON treatments WHEN NEW.case_ref = 'C' "
            "BEGIN SELECT RAISE(ABORT, 'broken (invented)'); END"
        ],
        "postgresql": [
            "CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS "
            "$$BEGIN RAISE 'broken (invented)'; END$$",
            "CREATE TRIGGER refuse BEFORE INSERT ON treatments FOR EACH ROW WHEN (NEW.case_ref = 'C') "
            "EXECUTE FUNCTION refuse()",
        ],
    }
    with register.engine.begin() as connection:
        for statement in statements[register.engine.dialect.name]:
            connection.execute(text(statement))


def test_a_failure_half_way_leaves_the_register_as_it_was(register):
    load(register, HEAD + line("A"))
    before = contents(register)
    fails_for_case_c(register)
    with pytest.raises(RegisterError, match=r"broken \(invented\)\). Nothing was changed"):
        load(register, HEAD + line("A", bruising="yes") + line("B") + line("C"))
    assert contents(register) == before
    assert len(history(register)) == 1


def test_a_failing_entry_by_hand_leaves_the_register_as_it_was(register):
    fails_for_case_c(register)
    with pytest.raises(RegisterError, match="Nothing was changed"):
        add_treatment(register, treatment("C"), now=NOW, by=BY)
    assert (contents(register), history(register)) == ({}, [])


def test_an_outcome_the_register_has_never_seen_leaves_no_column_when_the_import_fails(register):
    fails_for_case_c(register)
    with pytest.raises(RegisterError):
        load(register, HEAD + line("C", bruising="yes"))
    load(register, HEAD + line("A", bruising="severe"))
    assert contents(register)["A", 1]["outcomes"] == {"bruising": 3}


def test_a_register_locked_by_somebody_else_is_told(tmp_path):
    database = tmp_path / "register.sqlite"
    register = open_register(f"sqlite:///{database}?timeout=0", create=True)
    add_treatment(register, treatment("A"), now=NOW, by=BY)
    raw = sqlite3.connect(database, isolation_level=None)
    raw.execute("BEGIN EXCLUSIVE")
    told = pytest.raises(RegisterError, match=r"went on using the register.*Nothing was changed")
    try:
        with told:
            load(register, HEAD + line("A"))
        with told:
            add_treatment(register, treatment("B"), now=NOW, by=BY)
        with told:
            record_outcomes(register, "A", 1, {"bruising": 1}, seen_on=date(2026, 4, 1), now=NOW, by=BY)
        with told:
            take_back(register)
    finally:
        raw.close()
    assert cases(register) == ["A"]


@SQLITE_ONLY
def test_a_register_that_may_only_be_read_is_told(register):
    event.listen(register.engine, "connect", lambda raw, _: raw.execute("PRAGMA query_only = ON"))
    with pytest.raises(RegisterError, match=r"readonly database\). Nothing was changed"):
        load(register, HEAD + line("A"))


# --- no room left ---------------------------------------------------------------------------------

_FULL = """
import resource
url, sheet, most = sys.argv[1:]
register = open_register(url)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(most), int(most)))
try:
    load(register, Path(sheet))
except Exception as error:
    print(type(error).__name__, error)
"""


def test_a_full_disk_leaves_an_sqlite_register_as_it_was_and_is_told(tmp_path):
    url, sheet = f"sqlite:///{tmp_path / 'register.sqlite'}", tmp_path / "many.csv"
    sheet.write_text(MANY)
    register = open_register(url, create=True)
    load(register, HEAD + line("A"))
    before, digest = contents(register), (tmp_path / "register.sqlite").read_bytes()
    for most in (100_000, 600_000, 1_500_000):
        said = finish(start(_FULL, url, sheet, most))
        assert said.startswith("RegisterError register: the register could not be written"), said
        assert "Nothing was changed" in said
        assert contents(register) == before
        assert (tmp_path / "register.sqlite").read_bytes() == digest
    assert numbers(load(register, sheet)) == (12_000, 12_000, 0, 0, 0)  # it fits when there is room


@SQLITE_ONLY
def test_a_full_page_count_leaves_an_sqlite_register_as_it_was(register):
    load(register, HEAD + line("A"))
    before = contents(register)
    event.listen(register.engine, "connect", lambda raw, _: raw.execute("PRAGMA max_page_count = 60"))
    with pytest.raises(RegisterError, match=r"database or disk is full\). Nothing was changed"):
        load(register, MANY)
    assert contents(register) == before


@POSTGRES_ONLY
def test_a_full_disk_leaves_a_postgresql_register_as_it_was_and_is_told(register, postgres: Postgres):
    load(register, HEAD + line("A"))
    before = contents(register)
    # more than the cluster's log needs: its files have 1 MiB
    with (
        postgres.files_limited(1_200_000),
        pytest.raises(RegisterError, match=r"could not extend file.*Nothing was changed"),
    ):
        load(register, MANY)
    assert contents(register) == before
    assert numbers(load(register, MANY)) == (12_000, 12_000, 0, 0, 0)


# --- what is no register --------------------------------------------------------------------------


def test_no_register_is_none_and_makes_no_file(register_url, tmp_path):
    assert open_register(register_url) is None
    assert list(tmp_path.iterdir()) == []


def test_an_empty_file_is_no_register_yet(tmp_path):
    (tmp_path / "register.sqlite").touch()
    assert open_register(f"sqlite:///{tmp_path / 'register.sqlite'}") is None


@pytest.mark.parametrize("create", [False, True])
def test_a_file_that_is_no_database_is_told(tmp_path, create):
    (tmp_path / "register.sqlite").write_text("this is no database, it is a letter\n" * 50)
    with pytest.raises(RegisterError, match=r"cannot be opened .file is not a database"):
        open_register(f"sqlite:///{tmp_path / 'register.sqlite'}", create=create)


def test_a_register_in_a_folder_that_is_not_there_is_told(tmp_path):
    with pytest.raises(RegisterError, match=r"cannot be opened .unable to open database file"):
        open_register(f"sqlite:///{tmp_path / 'nowhere' / 'register.sqlite'}", create=True)


@pytest.mark.parametrize("url", ["nodatabase://x/y", "sqlite+nodriver:///x", "postgresql://h:port/x"])
def test_a_url_of_no_database_is_told(url):
    with pytest.raises(RegisterError, match="cannot be opened"):
        open_register(url)


@pytest.mark.postgres
def test_a_server_that_is_not_there_is_told_without_the_password(postgres: Postgres, tmp_path):
    url = f"postgresql+psycopg://somebody:secret-word@/nowhere?host={tmp_path}"
    with pytest.raises(RegisterError, match="cannot be opened") as caught:
        open_register(url)
    assert "secret-word" not in str(caught.value)
