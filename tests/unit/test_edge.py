"""The edge: whatever happens inside, a clinic sees a sentence and an exit code, and never a traceback."""

from __future__ import annotations

import errno
import getpass
import io
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from consentpack.cli import main
from consentpack.cli.edge import Edge, user_name
from consentpack.cli.fault import command_of
from consentpack.errors import FAULT, PIPE_CLOSED, STOPPED, ContentError, Problem

SECRET = "A-17,2026-01-05,chin,infection"
"""What must never be shown: a row of an audit."""


def failing(error: BaseException):
    def inside(*_: object, **__: object) -> None:
        raise error

    return inside


@pytest.fixture
def fails(monkeypatch):
    """Run `library list` while something in it raises: fails(error, *arguments)."""

    def call(error: BaseException, *before: str):
        monkeypatch.setattr("consentpack.pipeline.open_library", failing(error))
        return CliRunner().invoke(main, [*before, "library", "list"], catch_exceptions=False)

    return call


@pytest.mark.parametrize(
    "kind", [ValueError, KeyError, AssertionError, AttributeError, UnicodeError, Exception]
)
def test_a_fault_of_the_program_is_told_in_words_without_a_traceback(fails, kind):
    result = fails(kind(SECRET))
    assert result.exit_code == FAULT
    assert result.stderr.startswith(
        "consentpack library list: it could not go on. This is a fault in the program"
    )
    assert "consentpack --fault-report fault.txt library list …" in result.stderr
    assert "Traceback" not in result.output and SECRET not in result.output


@pytest.mark.parametrize(
    ("error", "said"),
    [(MemoryError(), "too little memory"), (RecursionError(SECRET), "set inside itself too often")],
)
def test_what_a_file_may_do_to_the_computer_is_told_as_that(fails, error, said):
    result = fails(error)
    assert result.exit_code == FAULT and said in result.stderr


def test_the_report_says_where_it_was_and_holds_no_word_of_anybody(fails, tmp_path):
    try:
        raise KeyError(SECRET)
    except KeyError as first:
        error = ValueError(SECRET)
        error.__cause__ = first
    result = fails(error, "--fault-report", str(tmp_path / "fault.txt"))
    text = (tmp_path / "fault.txt").read_text(encoding="utf-8")
    assert result.exit_code == FAULT and "fault.txt says where" in result.stderr
    assert "command: consentpack library list\n" in text
    assert "builtins.ValueError" in text and "builtins.KeyError" in text
    assert "consentpack/cli/library.py, line " in text and ", in list_" in text
    assert SECRET not in text and str(Path.home()) not in text and str(Path(__file__).parents[2]) not in text


def test_the_report_may_be_asked_for_by_the_environment(fails, tmp_path, monkeypatch):
    monkeypatch.setenv("CONSENTPACK_FAULT_REPORT", str(tmp_path / "f.txt"))
    fails(ValueError(SECRET))
    assert (tmp_path / "f.txt").is_file()


def test_no_report_is_written_when_none_was_asked_for(fails, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    fails(ValueError(SECRET))
    assert list(tmp_path.iterdir()) == []


def test_a_report_that_cannot_be_written_is_said_too(fails, tmp_path):
    result = fails(ValueError(SECRET), "--fault-report", str(tmp_path / "no" / "f.txt"))
    assert (
        result.exit_code == FAULT
        and "the report cannot be written (No such file or directory)" in result.stderr
    )


def test_a_fault_that_calls_itself_makes_a_short_report(fails, tmp_path):
    def deep(n: int) -> int:
        return deep(n + 1)

    with pytest.raises(RecursionError) as caught:
        deep(0)
    fails(caught.value, "--fault-report", str(tmp_path / "f.txt"))
    text = (tmp_path / "f.txt").read_text(encoding="utf-8")
    assert "more between them" in text and text.count("\n") < 100


def test_an_argument_is_never_part_of_the_command():
    assert (
        command_of(main, ["audit", "import", "Jane-Example.csv", "--by", "library"])
        == "consentpack audit import"
    )
    assert command_of(main, []) == "consentpack"


def test_ctrl_c_says_stopped(fails):
    result = fails(KeyboardInterrupt())
    assert (result.exit_code, result.stderr.strip()) == (STOPPED, "Stopped.")


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS, errno.ENOSPC, errno.EISDIR, errno.ENOTDIR])
def test_a_file_or_disk_that_will_not_is_named(fails, number):
    result = fails(OSError(number, os.strerror(number), "clinic/approvals.toml"))
    assert result.exit_code == 14
    assert f"clinic/approvals.toml: this cannot be read or written ({os.strerror(number)})." in result.stderr


def test_a_problem_of_ours_outside_of_a_guarded_command_is_shown_as_one(fails):
    result = fails(ContentError([Problem("a", "one."), Problem("b", "two.")]))
    assert result.exit_code == 10 and "a: one.\nb: two.\n2 problems." in result.stderr


def test_what_is_typed_wrongly_ends_as_click_does_it():
    result = CliRunner().invoke(main, ["library", "lisst"])
    assert result.exit_code == 2 and "No such command 'lisst'" in result.output
    assert CliRunner().invoke(main, ["--version"]).exit_code == 0


@pytest.mark.parametrize("error", [KeyError("x"), OSError("no passwd entry"), ImportError("pwd")])
def test_a_user_without_a_name_in_the_system_gets_a_number(monkeypatch, error):
    monkeypatch.setattr(getpass, "getuser", failing(error))
    assert user_name() == f"user {os.getuid()}"


def printing(text: str):
    return lambda: click.echo(text)


def test_letters_that_the_terminal_lacks_do_not_end_a_command(monkeypatch):
    out = io.TextIOWrapper(io.BytesIO(), encoding="cp1252")
    monkeypatch.setattr(sys, "stdout", out)
    assert Edge(main, []).run(printing("Zażółć")) == 0
    assert out.buffer.getvalue().decode("cp1252").strip() == "Za\\u017c\\xf3\\u0142\\u0107".replace(
        "\\xf3", "ó"
    )


def shell(line: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["bash", "-c", line], capture_output=True, text=True)


PROGRAM = f"{sys.executable} -m consentpack"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_under_the_output_is_no_success():
    done = shell(f"{PROGRAM} library list > /dev/full")
    assert done.returncode == 14
    assert "No space left on device" in done.stderr and "Traceback" not in done.stderr


def test_a_reader_that_stops_reading_ends_it_quietly():
    done = shell(f"{PROGRAM} library list --json | sleep 0; echo ${{PIPESTATUS[0]}}")
    assert done.stdout.strip() == str(PIPE_CLOSED)
    assert done.stderr == ""
