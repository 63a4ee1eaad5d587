"""A register that is not there, is none, or cannot be told of: by the command line. Rows are invented."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from consentpack import pipeline
from consentpack.register import Moment

BUILD = ("build", "plans/p-101.toml", "--out", "made")


def point_to(folder: Path, register: str) -> None:
    path = folder / "clinic.toml"
    path.write_text(path.read_text().replace('register = "register.sqlite"', f'register = "{register}"'))


def a_link(path: Path) -> None:
    path.symlink_to(path.with_name("gone.sqlite"))


MADE = {
    "typo": lambda path: None,
    "empty file": Path.touch,
    "folder": Path.mkdir,
    "dangling link": a_link,
    "letter": lambda path: path.write_text("this is no database\n" * 100),
}


@pytest.mark.parametrize("made", MADE)
@pytest.mark.parametrize("command", [BUILD, ("audit", "rates", "plans/p-101.toml"), ("audit", "due")])
def test_what_needs_figures_stops_without_a_register_and_names_it(clinic_copy, run, made, command):
    point_to(clinic_copy, "regster.sqlite")
    MADE[made](clinic_copy / "regster.sqlite")
    result = run(clinic_copy, *command)
    assert result.exit_code == 11
    assert str(clinic_copy / "regster.sqlite") in result.stderr
    assert "clinic.toml" in result.stderr
    assert not (clinic_copy / "made").exists()


def test_a_clinic_that_says_that_it_keeps_no_audit_gets_its_pack(clinic_copy, run):
    point_to(clinic_copy, "none")
    assert run(clinic_copy, *BUILD).exit_code == 0
    assert "audit:" not in (clinic_copy / "made" / "manifest.json").read_text()
    for command in (("audit", "import", "audit.csv"), ("audit", "due"), ("audit", "sheet")):
        result = run(clinic_copy, *command)
        assert (result.exit_code, "keeps no audit" in result.stderr) == (11, True)


def test_a_new_register_is_said_to_be_new(clinic_copy, run, capfd):
    point_to(clinic_copy, "another.sqlite")
    result = run(clinic_copy, "audit", "import", "audit.csv")
    assert result.exit_code == 0
    assert f"a new one was made: {clinic_copy / 'another.sqlite'}" in result.stderr


@pytest.mark.parametrize(
    "url", ["postgresql://host:port/name", "nodatabase://x", "postgresql+psycopg://[x/y"]
)
def test_a_database_url_that_is_none_is_a_named_problem(clinic_copy, run, url):
    point_to(clinic_copy, url)
    result = run(clinic_copy, "audit", "due")
    assert (result.exit_code, "cannot be opened" in result.stderr) == (11, True)


@pytest.mark.parametrize("name", ["clinic?", "clinic%20x"])
def test_a_clinic_folder_with_a_sign_in_its_name_keeps_its_register_inside(tmp_path, name):
    place = pipeline.open_workplace(pipeline.copy_demo(tmp_path / name))
    assert place.clinic.register_url == str(tmp_path / name / "register.sqlite")


def test_an_import_during_a_build_is_neither_counted_nor_listed(clinic_copy, run):
    place = pipeline.open_workplace(clinic_copy)
    with pipeline.audit_as_it_stands(place) as before:
        listed = dict(before.digests)
    assert set(listed) == {"audit: import 1, audit.csv", "audit: the whole register"}
    run(clinic_copy, "audit", "add", "--case", "N-1", "--session", "1", "--date", "2026-03-02",
        "--technique", "blunt-cannula", "--site", "chin")  # fmt: skip
    with pipeline.audit_as_it_stands(place) as after:
        assert after.digests["audit: entries by hand"] == "1"
        assert after.digests["audit: the whole register"] != listed["audit: the whole register"]
    assert (before.moment, after.moment) == (Moment(1, 0), Moment(2, 0))


# --- kept, but ------------------------------------------------------------------------------------


def rows_of(folder: Path) -> int:
    place = pipeline.open_workplace(folder)
    return len([entry for entry in pipeline.past_imports(place) if not entry.undone])


def test_rows_that_cannot_be_set_aside_stop_the_import_before_anything_is_kept(clinic_copy, run):
    (clinic_copy / ("x" * 240)).mkdir()
    sheet = clinic_copy / ("y" * 245 + ".csv")  # its set-aside file has a name that is too long
    sheet.write_bytes((clinic_copy / "audit.csv").read_bytes())
    result = run(clinic_copy, "audit", "import", sheet.name)
    assert (result.exit_code, "Nothing was imported" in result.stderr) == (14, True)
    assert rows_of(clinic_copy) == 1


def test_rows_that_are_kept_but_whose_list_cannot_be_shown_are_told_so(clinic_copy, run):
    aside = clinic_copy / "audit.set-aside.csv"
    aside.unlink()
    (aside / "in-the-way").mkdir(parents=True)
    result = run(clinic_copy, "audit", "import", "audit.csv")
    assert (result.exit_code, "the rows were kept, but" in result.stderr) == (21, True)
    assert rows_of(clinic_copy) == 2
    (left,) = clinic_copy.glob(".audit.set-aside.csv.*.part")
    assert left.name in result.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
@pytest.mark.parametrize("command", [("import", "audit.csv"), ("import", "audit.csv", "--json")])
def test_a_report_that_nobody_can_read_does_not_make_the_import_look_undone(clinic_copy, command):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "consentpack", "audit", *command],
            cwd=clinic_copy, stdout=full, stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 21
    assert "the rows were kept, but that cannot be shown here" in done.stderr
    assert "Traceback" not in done.stderr
    assert rows_of(clinic_copy) == 2


def test_the_check_lists_what_another_program_has_changed(clinic_copy, run):
    import sqlite3

    assert run(clinic_copy, "audit", "check").exit_code == 0
    raw = sqlite3.connect(clinic_copy / "register.sqlite")
    raw.execute("UPDATE treatments SET watched_days = 400 WHERE id = 5")
    raw.commit()
    raw.close()
    result = run(clinic_copy, "audit", "check")
    assert result.exit_code == 11
    assert "changed by another program" in result.stdout
    place = pipeline.open_workplace(clinic_copy)
    with pipeline.audit_as_it_stands(place) as audit:
        assert audit.edited == 1
