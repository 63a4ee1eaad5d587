"""A report that cannot be shown comes after the work: nobody may do it again for want of the report."""

from __future__ import annotations

import os
import runpy
import sys

import pytest

from consentpack import __version__
from consentpack.cli.kept import kept
from consentpack.errors import KeptError


def test_what_was_done_is_said_to_be_done_where_its_report_cannot_be_shown():
    with pytest.raises(KeptError) as caught, kept("3 treatments were added"):
        raise OSError(28, "No space left on device")
    (problem,) = caught.value.problems
    assert problem.what == "3 treatments were added, but that cannot be shown here (No space left on device)."
    assert "Do not do it again" in problem.fix


def test_what_is_still_to_be_written_fails_at_the_end_of_the_report_and_not_at_the_end_of_the_program(
    tmp_path, monkeypatch
):
    """A stream that is full takes the words and refuses when they are brought to the disk."""
    out = open(tmp_path / "out", "w")  # noqa: SIM115 - it is the program's own until its end
    monkeypatch.setattr(sys, "stdout", out)
    with pytest.raises(KeptError, match="cannot be shown here"), kept("1 was added"):
        out.write("1 was added")
        full = os.open("/dev/full", os.O_WRONLY)
        os.dup2(full, out.fileno())
        os.close(full)
    out.close()  # what is left goes nowhere, and raises nothing


def test_the_module_is_the_program(monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["consentpack", "--version"])
    with pytest.raises(SystemExit) as end:
        runpy.run_module("consentpack", run_name="__main__")
    assert end.value.code == 0 and __version__ in capsys.readouterr().out
