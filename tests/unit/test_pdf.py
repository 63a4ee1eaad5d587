"""PDFs through an office program that is not there, fails, makes nothing, or never ends."""

from __future__ import annotations

import os
import sys
import time

import pytest

from consentpack.errors import OutputError
from consentpack.export import pdf

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="shell scripts stand in for LibreOffice")
WORD = {"consent.docx": b"a Word file", "record.docx": b"another"}


@pytest.fixture
def office(tmp_path, monkeypatch):
    """Put a script in LibreOffice's place: office('echo hello')."""

    def install(script: str) -> None:
        command = tmp_path / "bin" / "soffice"
        command.parent.mkdir()
        command.write_text(f"#!/bin/sh\n{script}\n")
        command.chmod(0o755)
        monkeypatch.setenv("PATH", f"{command.parent}{os.pathsep}{os.environ['PATH']}")

    return install


def problem_of(**more) -> str:
    with pytest.raises(OutputError) as caught:
        pdf.export_pdf(WORD, **more)
    (problem,) = caught.value.problems
    assert problem.where == "--pdf"
    assert "The Word files can be printed as they are" in problem.fix
    return str(problem)


def test_without_libreoffice_the_error_says_what_to_install(monkeypatch):
    monkeypatch.setenv("PATH", "")
    monkeypatch.setattr(pdf, "_USUAL_PLACES", ())
    said = problem_of()
    assert "LibreOffice" in said and "is not installed here" in said
    assert "apt-get install libreoffice-writer" in said


def test_it_is_found_where_its_installer_puts_it(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", "")
    place = tmp_path / "soffice.exe"
    monkeypatch.setattr(pdf, "_USUAL_PLACES", (str(tmp_path / "nowhere"), str(place)))
    assert pdf.find_office() is None
    place.write_text("")
    assert pdf.find_office() == str(place)


def test_one_start_draws_all_in_a_profile_of_its_own(office, tmp_path):
    office(
        f'echo "$@" >> {tmp_path}/calls\n'
        'out=$(echo "$@" | sed "s/.*--outdir //; s/ .*//")\n'
        'for kind in consent record; do printf "%%PDF-1.6 of $(cat $out/$kind.docx)" > $out/$kind.pdf; done'
    )
    made = pdf.export_pdf(WORD)
    assert made == {"consent.pdf": b"%PDF-1.6 of a Word file", "record.pdf": b"%PDF-1.6 of another"}
    (call,) = (tmp_path / "calls").read_text().splitlines()
    assert call.startswith("-env:UserInstallation=file:///") and "--headless --convert-to pdf" in call
    folder = call.split("--outdir ")[1].split()[0]
    assert not os.path.exists(folder), "patients' documents must not stay among temporary files"


@pytest.mark.parametrize("script", ["echo 'no export filter' >&2; exit 0", "echo 'no export filter'; exit 1"])
def test_when_it_makes_nothing_the_error_says_what_it_said(office, script):
    office(script)
    assert "LibreOffice made no consent.pdf. The last it said: no export filter" in problem_of()


def test_a_command_that_cannot_be_started_is_an_error_for_users(office, tmp_path):
    office("")
    (tmp_path / "bin" / "soffice").write_bytes(b"\x7fELF broken")
    assert "LibreOffice did not start" in problem_of()


def test_one_that_never_ends_is_stopped_with_all_it_started(office, tmp_path):
    """LibreOffice's command is a script: what it starts would hold the profile and the memory."""
    office(f"sleep 60 & echo $! > {tmp_path}/child; wait")
    began = time.monotonic()
    assert "had not finished after 0.5 seconds and was stopped" in problem_of(seconds=0.5)
    assert time.monotonic() - began < 10
    child = int((tmp_path / "child").read_text())
    assert not alive(child)


def alive(pid: int) -> bool:
    """Whether a process runs; one that has ended and was not yet taken away does not."""
    for _ in range(50):
        try:
            with open(f"/proc/{pid}/stat") as stat:
                if stat.read().rsplit(")", 1)[1].split()[0] == "Z":
                    return False
        except FileNotFoundError:
            return False
        time.sleep(0.05)
    return True
