"""What patients' rows may not reach: errors, logs, results. All names and rows are invented."""

from __future__ import annotations

import logging
import traceback
from dataclasses import asdict
from datetime import date

import pytest
from sqlalchemy import text
from support import BY, NOW, load, treatment

from consentpack.errors import RegisterError
from consentpack.register import (
    Comparison,
    Window,
    add_treatment,
    open_register,
    record_outcomes,
    set_aside_csv,
    tally,
)

SECRETS = ("SECRET-CASE-1", "SECRET-CASE-2", "secret site", "2026-03-02", "secret remark")
PERSON = "Wilhelmina Invented"
BROKEN = 'SECRET-CASE-3,1,"2026-03-02"x,y\n'
"""Here and not in its test: a traceback shows the lines of the test too."""
HEAD = "case,session,date,techniques,site,bruising,remarks\n"
GOOD = (
    "SECRET-CASE-1,1,2026-03-02,blunt-cannula,secret site,yes,secret remark\n"
    "SECRET-CASE-2,1,2026-03-02,blunt-cannula,secret site,no,secret remark\n"
)


@pytest.fixture
def sqlite(tmp_path):
    return open_register(f"sqlite:///{tmp_path / 'register.sqlite'}", create=True)


def bytes_of(tmp_path) -> bytes:
    """Everything the program wrote: the register and whatever lies beside it."""
    files = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert files
    return b"".join(path.read_bytes() for path in files)


def test_a_result_holds_counts_and_no_row(register):
    result = load(register, HEAD + GOOD)
    assert result.added == 2
    for secret in SECRETS:
        assert secret not in repr(asdict(result))


def test_of_a_row_set_aside_only_the_offending_cell_is_kept(register):
    bad = "SECRET-CASE-3,1,2026-03-02,blunt-cannula,secret site,hm?,secret remark\n"
    result = load(register, HEAD + GOOD + bad)
    (item,) = result.set_aside
    assert (item.row, item.column, item.value) == (4, "bruising", "hm?")
    for secret in (*SECRETS, "SECRET-CASE-3"):
        assert secret not in repr(asdict(result))
        assert secret not in set_aside_csv(result)


def test_a_duplicate_is_told_by_its_row_and_not_by_its_case(register):
    result = load(register, HEAD + GOOD + GOOD.splitlines()[0] + "\n")
    assert [item.row for item in result.set_aside] == [4]
    assert "SECRET-CASE-1" not in set_aside_csv(result)


def test_a_column_that_is_not_read_leaves_no_trace(sqlite, tmp_path):
    load(sqlite, HEAD + GOOD)
    written = bytes_of(tmp_path)
    assert b"SECRET-CASE-1" in written  # the sqlite holds what it should …
    assert b"secret remark" not in written  # … and nothing else


def test_a_tally_holds_counts_and_no_row(register):
    load(register, HEAD + GOOD)
    comparison = Comparison(frozenset({"blunt-cannula"}), frozenset({"blunt-cannula"}))
    with register.connect() as connection:
        found = tally(connection, comparison, Window(date(2026, 1, 1), date(2026, 12, 31)), {"bruising": 14})
    assert found.counts["bruising"].events == 1
    assert "SECRET" not in repr(found) and "secret" not in repr(found)


@pytest.mark.parametrize("header", ["Patient name", "Surname", "Date of birth", "Email", "NHS number"])
@pytest.mark.parametrize("meaning", [None, "case", "site"])
def test_the_content_of_a_column_that_looks_like_an_identity_is_nowhere(
    sqlite, tmp_path, capfd, header, meaning
):
    head = HEAD.strip().replace(meaning, "other") if meaning else HEAD.strip()
    text = f"{head},{header}\n" + "".join(f"{row},{PERSON}\n" for row in GOOD.splitlines())
    with pytest.raises(RegisterError) as caught:
        load(sqlite, text, columns={header: meaning} if meaning else {})
    assert header in str(caught.value)
    told = "".join(traceback.format_exception(caught.value)) + "".join(capfd.readouterr())
    assert PERSON not in told
    assert PERSON.encode() not in bytes_of(tmp_path)
    assert b"SECRET" not in bytes_of(tmp_path)


@pytest.mark.parametrize("header", ["patient_name", "PatientName"])
def test_names_do_not_get_into_the_register_by_a_header_written_as_one_word(register, header):
    text = HEAD.replace("case", header) + GOOD.replace("SECRET-CASE-1", PERSON)
    with pytest.raises(RegisterError, match="who a patient is"):
        load(register, text, columns={header: "case"})


def test_a_column_of_names_that_is_declared_as_ignored_leaves_no_trace(sqlite, tmp_path):
    text = f"{HEAD.strip()},Name\n" + "".join(f"{row},{PERSON}\n" for row in GOOD.splitlines())
    result = load(sqlite, text, columns={"Name": "ignore"})
    assert result.added == 2
    assert PERSON.encode() not in bytes_of(tmp_path)
    assert PERSON not in repr(asdict(result))


# --- failures -------------------------------------------------------------------------------------


# PostgreSQL tells the whole row below the first line of its error; SQLite tells the column of an index
BREAKS = {
    "missing table": "DROP TABLE outcome_sources; DROP TABLE changes; DROP TABLE treatments",
    "missing column": "ALTER TABLE treatments RENAME COLUMN row_digest TO another",
    "unique site": "CREATE UNIQUE INDEX one_site ON treatments (site)",
}
CHECKS = {
    "sqlite": "CREATE TRIGGER t BEFORE INSERT ON treatments BEGIN SELECT RAISE(ABORT, 'broken'); END",
    "postgresql": "ALTER TABLE treatments ADD CONSTRAINT no_row CHECK (site = '')",
}


def break_it(register, breaks: str) -> None:
    statements = BREAKS.get(breaks) or CHECKS[register.engine.dialect.name]
    with register.engine.begin() as connection:
        for statement in statements.split("; ") if breaks in BREAKS else [statements]:
            connection.execute(text(statement))


def told_of(error: BaseException, capfd, caplog) -> str:
    """All that anybody could see of a failure."""
    return "".join(traceback.format_exception(error)) + "".join(capfd.readouterr()) + caplog.text


@pytest.mark.parametrize("breaks", [*BREAKS, "check"])
def test_a_failing_import_shows_no_row_in_the_error_its_traceback_or_the_log(register, capfd, caplog, breaks):
    break_it(register, breaks)
    caplog.set_level(logging.DEBUG)
    with pytest.raises(RegisterError, match="Nothing was changed") as caught:
        load(register, HEAD + GOOD)
    told = told_of(caught.value, capfd, caplog)
    for secret in SECRETS:
        assert secret not in told


@pytest.mark.parametrize("breaks", ["missing table", "missing column", "check"])
def test_a_failing_entry_by_hand_shows_no_row_either(register, capfd, caplog, breaks):
    break_it(register, breaks)
    caplog.set_level(logging.DEBUG)
    with pytest.raises(RegisterError, match="Nothing was changed") as caught:
        add_treatment(register, treatment("SECRET-CASE-1", site="secret site"), now=NOW, by=BY)
    told = told_of(caught.value, capfd, caplog)
    for secret in ("SECRET-CASE-1", "secret site"):
        assert secret not in told.replace(f'"{secret}"', "")  # the line of this test, in the traceback


def test_a_failing_outcome_by_hand_shows_no_row_either(register, capfd, caplog):
    load(register, HEAD + GOOD)
    with register.engine.begin() as connection:
        connection.execute(text("DROP TABLE changes"))
    caplog.set_level(logging.DEBUG)
    with pytest.raises(RegisterError, match="Nothing was changed") as caught:
        record_outcomes(
            register, SECRETS[0], 1, {"bruising": 0}, seen_on=date(2026, 4, 1), now=NOW, by=BY
        )  # fmt: skip
    told = told_of(caught.value, capfd, caplog)
    for secret in SECRETS:
        assert secret not in told


def test_a_file_in_the_wrong_encoding_is_told_without_its_content(register):
    with pytest.raises(RegisterError) as caught:
        load(register, (HEAD + GOOD + "é").encode("latin-1"))
    assert "SECRET" not in "".join(traceback.format_exception(caught.value))


def test_a_broken_csv_is_told_without_its_content(register):
    with pytest.raises(RegisterError) as caught:
        load(register, HEAD + GOOD + BROKEN)
    assert "cannot be read as CSV" in str(caught.value)
    assert "SECRET" not in "".join(traceback.format_exception(caught.value))


def test_the_log_of_sql_statements_holds_no_row_even_when_somebody_turns_it_on(register, caplog):
    caplog.set_level(logging.INFO, logger="sqlalchemy.engine")
    load(register, HEAD + GOOD)
    load(register, HEAD + GOOD.replace("yes", "severe"))
    add_treatment(register, treatment("SECRET-CASE-4", site=SECRETS[2]), now=NOW, by=BY)
    for word in ("INSERT INTO treatments", "UPDATE treatments"):
        assert word in caplog.text  # the log was on
    for secret in (*SECRETS, "SECRET-CASE-4"):
        assert secret not in caplog.text


def test_an_ordinary_import_says_nothing_on_its_own(register, capfd, caplog):
    caplog.set_level(logging.DEBUG)
    load(register, HEAD + GOOD)
    assert capfd.readouterr() == ("", "")
    assert caplog.text == ""
