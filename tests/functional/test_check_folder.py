"""`consentpack check` finds each fault that was planted, and is silent where there is none. All invented."""

from __future__ import annotations

import json
import os
import re
import shutil
import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest
import saved
from given import approved, give
from saved import MADE, everything
from sqlalchemy import text
from support import POSTGRES_ONLY, many_rows
from support import load as load_rows
from test_backup import ROOT, set_register

from consentpack import pipeline
from consentpack.errors import ClinicError
from consentpack.pipeline.checking import CHECKS
from consentpack.register import open_register

PACK, GIVEN = "packs/HS-P-101", "given/HS-P-101/1"
POLISH = "locales/pl/LC_MESSAGES/clinic.po"


@pytest.fixture(scope="module")
def sound(demo_clinic, tmp_path_factory) -> Path:
    """The demo with a pack, a scan in it, and something that was given."""
    clinic = tmp_path_factory.mktemp("sound") / "clinic"
    shutil.copytree(demo_clinic, clinic)
    place = pipeline.open_workplace(clinic)
    pipeline.build(place, clinic / "plans/p-101.toml", today=MADE.date())
    (clinic / PACK / "signed.pdf").write_bytes(b"%PDF signed")
    (clinic / PACK / "signed.pdf").chmod(0o600)
    approved(clinic)
    give(clinic)
    return clinic


@pytest.fixture
def clinic(sound, tmp_path) -> Path:
    return shutil.copytree(sound, tmp_path / "clinic", symlinks=True)


def told(clinic: Path, *, notes: bool = False) -> list[tuple[str, str]]:
    """Where and what, of all that has to be put right, or of all notes; nothing in the folder changes."""
    before = everything(clinic)
    found = pipeline.check_folder(clinic)
    assert everything(clinic) == before
    assert found.wrong == any(not each.only_note for each in found.noticed)
    return [(n.problem.where, n.problem.what) for n in found.noticed if n.only_note == notes]


def test_nothing_is_said_of_a_clinic_in_which_all_is_well(clinic, run):
    """Takes a second or two: a pack is built, and every treatment read."""
    assert told(clinic) == [] and told(clinic, notes=True) == []
    result = run(clinic, "check")
    assert (result.exit_code, result.stderr) == (0, "")
    what = "4 plans, 1 pack, 1 given version, 720 treatments: all is well."
    assert re.fullmatch(rf"Checked \d+ files, {what}\n", result.stdout)
    saved.save(clinic)
    assert told(clinic) == [] and told(clinic, notes=True) == []


def test_nothing_is_said_of_the_demo_as_it_is_made(tmp_path, run):
    """Takes some seconds: four packs."""
    assert run(tmp_path, "demo", "demo").exit_code == 0
    result = run(tmp_path / "demo", "check")
    assert result.exit_code == 0 and len(result.stdout.splitlines()) == 1, result.stdout


def edit(path: Path, old: str, new: str) -> None:
    written = path.read_text()
    assert old in written
    path.write_text(written.replace(old, new, 1))


def rows_changed(clinic: Path) -> None:
    register = open_register(str(clinic / "register.sqlite"))
    with register.engine.begin() as connection:
        connection.execute(text("UPDATE treatments SET site = 'chin' WHERE id < 3"))


def orphaned(clinic: Path) -> None:
    with closing(sqlite3.connect(clinic / "register.sqlite")) as raw, raw:
        raw.execute("DELETE FROM combinations")


def torn(clinic: Path) -> None:
    data = bytearray((clinic / "register.sqlite").read_bytes())
    data[len(data) // 2 : len(data) // 2 + 4096] = os.urandom(4096)
    (clinic / "register.sqlite").write_bytes(data)


def given_changed(clinic: Path) -> None:
    path = clinic / "given/HS-P-101/1/form.docx"
    path.chmod(0o600)
    path.write_bytes(b"other words")
    path.chmod(0o400)


def old_part(clinic: Path) -> None:
    path = clinic / ".audit.set-aside.csv.q2.part"
    path.touch(0o600)
    os.utime(path, (time.time() - 9000,) * 2)


def stray_pid() -> int:
    """The number of a process that is not there any more."""
    pid = os.fork()
    if not pid:
        os._exit(0)
    os.waitpid(pid, 0)
    return pid


def written(name: str, content: bytes):
    return lambda clinic: (clinic / name).write_bytes(content)


def gone(name: str):
    return lambda clinic: (clinic / name).unlink()


FAULTS = {
    "settings": (lambda c: edit(c / "clinic.toml", "[audit]", "[audti]"), "clinic.toml", "audti"),
    "settings no TOML": (written("clinic.toml", b"[clinic"), "clinic.toml", ""),
    "approvals": (lambda c: private(c, "approvals.toml", b"approval = 1"), "approvals.toml", "brackets"),
    "plan": (
        lambda c: edit(c / "plans/p-101.toml", "blunt-cannula", "blunt-canula"),
        "plans/p-101",
        "canula",
    ),
    "plan no text": (written("plans/p-102.toml", b"\xff"), "plans/p-102.toml", "UTF-8"),
    "content": (lambda c: private(c, "content/risks/odd.md", b"words"), "content/risks/odd.md", ""),
    "translation": (written(POLISH, b"\xff\xfe"), "clinic.po", ""),
    "rows": (rows_changed, "register.sqlite", "2 of 720 treatments were changed by another program"),
    "orphans": (orphaned, "register.sqlite", "damaged"),
    "torn": (torn, "register", "damaged|malformed"),
    "journal": (lambda c: private(c, "register.sqlite-journal", b"x"), "register.sqlite", "stopped half-way"),
    "web page": (lambda c: edit(c / PACK / "form.html", "e", "E"), f"{PACK}/form.html", "not as it was made"),
    "document gone": (gone(f"{PACK}/record.docx"), f"{PACK}/record.docx", "missing"),
    "manifest gone": (gone(f"{PACK}/manifest.json"), f"{PACK}/manifest.json", "no pack"),
    "manifest torn": (written(f"{PACK}/manifest.json", b"{"), f"{PACK}/manifest.json", "damaged"),
    "given": (given_changed, f"{GIVEN}/form.docx", "changed"),
    "given gone": (gone(f"{GIVEN}/form.docx"), f"{GIVEN}/form.docx", "missing"),
    "given open": (lambda c: (c / GIVEN / "form.docx").chmod(0o600), f"{GIVEN}/form.docx", "written over"),
    "stray": (lambda c: (c / f"packs/.x.{stray_pid()}.part").mkdir(0o700), "packs/.x.", "stopped"),
    "set-aside stray": (old_part, ".audit.set-aside.csv.q2.part", "stopped"),
    "folder open": (lambda c: [c.chmod(0o755), (c / "plans").chmod(0o755)], "/", "look into this folder"),
    "file open": (lambda c: [c.chmod(0o711), (c / "audit.csv").chmod(0o666)], "/", "1 file .*, and change 1"),
    "link outside": (lambda c: (c / "far").symlink_to("/etc"), "far", "no backup of this folder holds it"),
    "link nowhere": (lambda c: (c / "far").symlink_to("/gone/x"), "far", "nothing is there"),
    "no plan": (lambda c: private(c, "plans/p-105.tml", b""), "plans/p-105.tml", "nobody reads it"),
    "no pack": (lambda c: private(c, "packs/scan.pdf", b""), "packs/scan.pdf", "is none"),
    "not given": (lambda c: private(c, "given/scan.pdf", b""), "given/scan.pdf", "belongs to none"),
    "cut backup": (lambda c: private(c, "backups/b.zip", b"PK"), "backups/b.zip", "its end is missing"),
    "loose translation": (lambda c: private(c, "locales/pl.po", b""), "locales/pl.po", "nobody reads it"),
}


def private(clinic: Path, name: str, content: bytes) -> None:
    path = clinic / name
    path.parent.mkdir(mode=0o700, exist_ok=True, parents=True)
    for folder in path.relative_to(clinic).parents:
        (clinic / folder).chmod(0o700)
    path.write_bytes(content)
    path.chmod(0o600)


@pytest.mark.parametrize(("plant", "where", "what"), FAULTS.values(), ids=FAULTS)
def test_a_planted_fault_is_found_and_nothing_else(clinic, plant, where, what):
    """Takes a second where content changes: the library is read anew."""
    plant(clinic)
    found = told(clinic)
    assert found and all(where in place for place, _ in found), found
    assert any(re.search(what, said) or re.search(what, place) for place, said in found), found


NOTES = {
    "filled in": (written(f"{PACK}/form.docx", b"with a name"), f"{PACK}/form.docx", "filled in"),
    "link inside": (lambda c: (c / "near").symlink_to(c / "plans"), "near", "a link"),
    "no register": (gone("register.sqlite"), "register.sqlite", "no register yet"),
    "scan": (lambda c: (c / PACK / "signed.pdf").chmod(0o644), f"{PACK}/", "only a closed folder above"),
}


@pytest.mark.parametrize(("plant", "where", "what"), NOTES.values(), ids=NOTES)
def test_what_is_no_fault_is_a_note(clinic, plant, where, what):
    plant(clinic)
    assert told(clinic) == []
    ((place, said),) = told(clinic, notes=True)
    assert where in place and what in said


def test_each_thing_is_one_line_with_what_to_do(clinic, run):
    page = (clinic / PACK / "form.html").read_bytes()
    FAULTS["web page"][0](clinic)
    NOTES["filled in"][0](clinic)
    result = run(clinic, "check")
    assert result.exit_code == 25
    assert result.stdout.splitlines()[:-1] == [
        f"note: {PACK}/form.docx: it was filled in or changed since it was made.",
        f"{PACK}/form.html: it is not as it was made, and there is nothing in it to fill in. "
        "Build its plan again.",
    ]
    assert result.stdout.endswith("720 treatments: 1 thing to put right.\n")
    (clinic / PACK / "form.html").write_bytes(page)
    result = run(clinic, "check")
    assert result.exit_code == 0 and "all is well" in result.stdout.splitlines()[-1]


def test_all_faults_are_told_in_one_run_and_as_json(clinic, run):
    for plant in ("rows", "web page", "stray", "link outside", "plan", "approvals", "given"):
        FAULTS[plant][0](clinic)
    result = run(clinic, "check", "--json")
    said = json.loads(result.stdout)
    assert result.exit_code == 25 and said["well"] is False and said["checked"]["treatments"] == 720
    places = {each["where"].split(",")[0] for each in said["found"] if not each["note"]}
    assert len(places) >= 7 and {"far", f"{PACK}/form.html", "given/HS-P-101/1/form.docx"} <= places


def test_a_register_of_an_older_program_is_not_brought_up_to_date(clinic):
    (clinic / "register.sqlite").unlink()
    with closing(sqlite3.connect(clinic / "register.sqlite")) as older:
        older.executescript((ROOT / "tests/data/register_schema_3.sqlite.sql").read_text())
    (clinic / "register.sqlite").chmod(0o600)
    ((_, said),) = told(clinic, notes=True)
    assert "schema 3" in said and told(clinic) == []


def test_no_row_is_told(clinic, run):
    """`audit check` names cases to whoever asks for them; this goes to logs."""
    rows_changed(clinic)
    register = open_register(str(clinic / "register.sqlite"))
    with register.connect() as connection:
        cases = connection.execute(text("SELECT case_ref FROM treatments WHERE id < 3")).scalars().all()
    said = run(clinic, "check").stdout
    assert len(cases) == 2 and not any(case in said for case in cases)


def test_settings_that_cannot_be_read_do_not_keep_the_rest_from_being_looked_at(clinic):
    (clinic / "clinic.toml").write_text("[clinic")
    FAULTS["web page"][0](clinic)
    assert {where.split(",")[0] for where, _ in told(clinic)} == {"clinic.toml", f"{PACK}/form.html"}
    assert [where for where, _ in told(clinic, notes=True)] == ["plans/"]


def test_what_a_run_is_writing_just_now_is_no_stray(clinic):
    (clinic / f"packs/.x.{os.getppid()}.part").mkdir(0o700)
    (clinic / ".audit.set-aside.csv.q1.part").touch(0o600)
    assert told(clinic) == []


@POSTGRES_ONLY
def test_a_register_on_a_server_is_checked_too(clinic, register, register_url):
    shutil.rmtree(clinic / "given")  # its ledger is in the other register
    set_register(clinic, register_url)
    load_rows(register, many_rows(1, 5))
    assert told(clinic) == []
    with register.engine.begin() as connection:
        connection.execute(text("UPDATE treatments SET site = 'brow' WHERE session = 1"))
    ((_, said),) = told(clinic)
    assert said.startswith("5 of 5 treatments")


def test_outside_a_clinic_folder_that_is_told(tmp_path):
    with pytest.raises(ClinicError):
        pipeline.check_folder(tmp_path)


def test_each_check_says_what_it_looks_at():
    assert all(check.__doc__ for check in CHECKS)
