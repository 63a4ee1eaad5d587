"""A copy of a register holds what the register held, in whatever database and of whatever version."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from support import BY, NOW, POSTGRES_ONLY, contents, load, many_rows, treatment

from consentpack.errors import RegisterError
from consentpack.register import (
    add_treatment,
    check_register,
    file_of,
    held,
    history,
    open_register,
    record_outcomes,
    state_of,
    version_at,
    write_rows,
)

DATA = Path(__file__).parents[1] / "data"


def copied(url: str, to: Path):
    with held(url, to) as finish:
        assert finish is not None
        return finish()


def state(register) -> str:
    with register.connect() as connection:
        return state_of(connection).digest


def filled(register) -> None:
    """Rows, an entry by hand, a day, and a change that is kept."""
    load(register, many_rows(1, 20))
    add_treatment(register, treatment("H-1"), now=NOW, by=BY)
    seen = {"seen_on": date(2026, 4, 1), "noticed_on": date(2026, 3, 4)}
    record_outcomes(register, "H-1", 1, {"bruising": 1}, now=NOW, by=BY, **seen)


def test_a_copy_holds_all_and_is_a_register_to_work_with(register, register_url, tmp_path):
    filled(register)
    found = copied(register_url, tmp_path / "copy.sqlite")
    copy = open_register(str(tmp_path / "copy.sqlite"))
    assert (contents(copy), history(copy)) == (contents(register), history(register))
    assert found.state.digest == state(copy) == state(register) and found.rows["treatments"] == 21
    assert check_register(copy).edited == () and check_register(copy).damage == ()
    assert (tmp_path / "copy.sqlite").stat().st_mode & 0o777 == 0o600
    for each in (register, copy):
        record_outcomes(each, "H-1", 1, {"infection": 1}, seen_on=date(2026, 4, 9), now=NOW, by=BY)
    assert contents(copy) == contents(register)
    with copy.engine.begin() as connection:  # it tells what another program changes
        connection.execute(text("UPDATE treatments SET site = 'brow' WHERE case_ref = 'H-1'"))
    assert check_register(copy).edited == (("H-1", 1),)


def test_rows_are_written_into_an_empty_database_alone(register, register_url, tmp_path):
    source = open_register(str(tmp_path / "source.sqlite"), create=True)
    filled(source)
    with pytest.raises(RegisterError, match="not empty"):
        write_rows(tmp_path / "source.sqlite", register_url, digest=state(source))
    assert contents(register) == {}


def test_rows_that_are_not_those_of_the_digest_are_taken_back(register_url, tmp_path):
    source = open_register(str(tmp_path / "source.sqlite"), create=True)
    filled(source)
    with pytest.raises(RegisterError, match="does not hold what was written"):
        write_rows(tmp_path / "source.sqlite", register_url, digest="0" * 64)
    assert version_at(register_url) is None
    write_rows(tmp_path / "source.sqlite", register_url, digest=state(source))
    there = open_register(register_url)
    assert contents(there) == contents(source)
    there.engine.dispose()


@POSTGRES_ONLY
def test_a_register_of_an_older_program_on_a_server_is_copied_as_it_is(register_url, tmp_path):
    engine = create_engine(register_url)
    with engine.begin() as connection:
        script = (DATA / "register_schema_1.postgresql.sql").read_text()
        connection.exec_driver_sql(script.replace("%", "%%"))
    engine.dispose()
    found = copied(register_url, tmp_path / "copy.sqlite")
    assert (found.schema, found.state, version_at(register_url)) == (1, None, 1)
    copy, server = open_register(str(tmp_path / "copy.sqlite")), open_register(register_url)
    assert contents(copy) == contents(server) != {} and state(copy) == state(server)
    server.engine.dispose()


@POSTGRES_ONLY
def test_a_table_that_fits_no_file_stops_the_copy_and_is_named(register, register_url, tmp_path):
    with register.engine.begin() as connection:
        connection.execute(text("CREATE TABLE odd (id SERIAL PRIMARY KEY, place tsvector)"))
    with pytest.raises(RegisterError, match="'odd', whose column 'place' fits no file"):
        copied(register_url, tmp_path / "copy.sqlite")


def test_where_there_is_no_register_there_is_no_copy(register_url, tmp_path):
    with held(register_url, tmp_path / "copy.sqlite") as finish:
        assert finish is None
    assert version_at(register_url) is None and list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("where", "file"),
    [("a b/r.sqlite", "a b/r.sqlite"), ("sqlite:///x/y", "x/y"), ("postgresql://h/x", ""), ("no://", "")],
)
def test_the_file_of_a_register(where, file):
    assert file_of(where) == file
