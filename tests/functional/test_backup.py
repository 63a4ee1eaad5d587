"""A backup holds all of a clinic folder as of one moment, or is not there. Clinic and rows are invented."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import pytest
import saved
from saved import MADE, bring_back, but_register, files_of, save
from sqlalchemy import text
from support import POSTGRES_ONLY, contents, finish, load, many_rows, start

from consentpack import __version__, pipeline
from consentpack.errors import BackupError, OutputError, RegisterError
from consentpack.files import write_file
from consentpack.locks import LOCK, locked
from consentpack.pipeline.archive import open_archive
from consentpack.pipeline.audit import reading_of
from consentpack.register import SCHEMA, check_register, import_file, open_register, state_of

ROOT = Path(__file__).resolve().parents[2]


def state(file: Path) -> str:
    register = open_register(str(file))
    assert register
    with register.connect() as connection:
        return state_of(connection).digest


def names(archive: Path) -> set[str]:
    with open_archive(archive) as opened:
        return {kept.name for kept in opened.listed.files}


def built(clinic: Path) -> Path:
    """A clinic with one pack, a scan in it, and a thing that may only be read."""
    place = pipeline.open_workplace(clinic)
    pipeline.build(place, clinic / "plans/p-101.toml", today=MADE.date())
    (clinic / "packs/HS-P-101/signed scan é 12:30.pdf").write_bytes(b"%PDF signed")
    (clinic / "packs/HS-P-101/form.html").chmod(0o400)
    (clinic / "empty").mkdir(mode=0o700)
    return clinic


def test_a_clinic_comes_back_byte_for_byte_with_its_figures(clinic_copy, tmp_path):
    """Takes long: a pack is built."""
    clinic, there = built(clinic_copy), tmp_path / "restored"
    before = but_register(files_of(clinic))
    restored = bring_back(save(clinic).path, there)
    assert but_register(files_of(there)) == before and restored.to_do == ()
    assert {p.name for p in there.iterdir()} >= {"empty", "backups"} and not any((there / "empty").iterdir())
    assert state(there / "register.sqlite") == state(clinic / "register.sqlite")
    figures = []
    for folder in (clinic, there):
        place = pipeline.open_workplace(folder)
        figures.append(pipeline.plan_rates(place, folder / "plans/p-101.toml")[1])
        assert check_register(open_register(place.clinic.register_url)).edited == ()
    assert figures[0] == figures[1] and any(answer.rate for answer in figures[0].values())


def test_modes_are_private_and_what_could_only_be_read_still_can_only_be_read(clinic_copy, tmp_path):
    (clinic_copy / "plans/p-101.toml").chmod(0o444)
    (clinic_copy / "audit.csv").chmod(0o664)
    (clinic_copy / "plans").chmod(0o555)
    os.utime(clinic_copy / "audit.csv", (1_700_000_000, 1_700_000_000))
    made, there = save(clinic_copy), tmp_path / "restored"
    bring_back(made.path, there)
    found = {
        name: (there / name).stat().st_mode & 0o777 for name in ("", "plans/p-101.toml", "audit.csv", "plans")
    }
    assert found == {"": 0o700, "plans/p-101.toml": 0o400, "audit.csv": 0o600, "plans": 0o500}
    assert (there / "audit.csv").stat().st_mtime == 1_700_000_000
    assert made.path.stat().st_mode & 0o777 == 0o600


def test_the_archive_lists_what_is_in_it(clinic_copy):
    made = save(clinic_copy)
    assert made.path == clinic_copy / "backups" / "backup-2026-11-25-093005.zip"
    with zipfile.ZipFile(made.path) as archive:  # by any program, without ours
        assert archive.testzip() is None
        text = json.loads(archive.read("consentpack-backup.json"))
        assert archive.read("consentpack-backup-again.json") == archive.read("consentpack-backup.json")
        for kept in text["list"]["files"]:
            content = archive.read(f"clinic/{kept['name']}")
            assert (len(content), sha256(content).hexdigest()) == (kept["size"], kept["sha256"])
        assert len(archive.namelist()) == len(text["list"]["files"]) + 2
        plain = json.dumps(text["list"], sort_keys=True, separators=(",", ":")).encode()
        assert text["sha256"] == sha256(plain).hexdigest()
        assert archive.comment.endswith(sha256(made.path.read_bytes()[:-64]).hexdigest().encode())
    listed = text["list"]
    assert (listed["program"], listed["made"]) == (__version__, "2026-11-25T09:30:05")
    assert listed["register"]["digest"] == state(clinic_copy / "register.sqlite")
    assert (listed["register"]["schema"], listed["register"]["rows"]["treatments"]) == (SCHEMA, 720)


def test_what_is_left_out_is_said(clinic_copy, tmp_path):
    first = save(clinic_copy)
    shutil.copy(first.path, clinic_copy / "last year.ZIP")
    (clinic_copy / "outside").symlink_to("/etc")
    (clinic_copy / "inside").symlink_to(clinic_copy / "plans")
    os.mkfifo(clinic_copy / "pipe")
    (clinic_copy / f".x.{os.getppid()}.part").write_text("another run is writing this")
    (clinic_copy / ".audit.set-aside.csv.q1.part").write_text("so is this")
    (clinic_copy / "photographs.zip").write_bytes(b"PK no backup")
    with locked(clinic_copy):
        pass
    made = save(clinic_copy)
    left = {each.name: each.why for each in made.listed.left_out}
    assert left == {
        ".consentpack.lock": "the lock of the folder",
        "backups/backup-2026-11-25-093005.zip": "an older backup",
        "last year.ZIP": "an older backup",
        "outside": "a link to /etc",
        "inside": f"a link to {clinic_copy / 'plans'}",
        "pipe": "no file and no folder",
        f".x.{os.getppid()}.part": "not whole: another run is writing it, or was stopped",
        ".audit.set-aside.csv.q1.part": "not whole: another run is writing it, or was stopped",
    }
    assert not left.keys() & names(made.path) and "photographs.zip" in names(made.path)
    assert made.path.name == "backup-2026-11-25-093005-2.zip"  # the first of this second is still there


def test_settings_that_are_a_link_are_saved_with_what_they_say(clinic_copy, tmp_path):
    shutil.move(clinic_copy / "clinic.toml", tmp_path / "shared.toml")
    (clinic_copy / "clinic.toml").symlink_to(tmp_path / "shared.toml")
    bring_back(save(clinic_copy).path, tmp_path / "restored")
    found = tmp_path / "restored" / "clinic.toml"
    assert not found.is_symlink() and found.read_bytes() == (tmp_path / "shared.toml").read_bytes()


@pytest.mark.parametrize("place", [".", "plans", "elsewhere/deep", "one.zip"])
def test_a_backup_never_holds_itself(clinic_copy, place):
    made = save(clinic_copy, clinic_copy / place)
    again = save(clinic_copy, clinic_copy / place if place != "one.zip" else None)
    there = made.path.relative_to(clinic_copy).as_posix()
    assert there not in names(made.path) | names(again.path)
    assert [each.name for each in again.listed.left_out if each.why == "an older backup"] == [there]
    assert not saved.strays(clinic_copy) and not saved.strays(made.path.parent)


def test_a_backup_is_never_written_over_anything(clinic_copy, tmp_path):
    (tmp_path / "one.zip").write_bytes(b"precious")
    with pytest.raises(OutputError, match="there is something of this name already"):
        save(clinic_copy, tmp_path / "one.zip")
    assert (tmp_path / "one.zip").read_bytes() == b"precious"


# --- a register of every kind ---------------------------------------------------------------------


def test_a_clinic_without_a_register_is_saved_and_that_is_said(clinic_copy, run):
    (clinic_copy / "register.sqlite").unlink()
    result = run(clinic_copy, "backup")
    assert result.exit_code == 0 and "There is no register yet, so none was saved." in result.stdout
    result = run(clinic_copy, "restore", str(next(clinic_copy.glob("backups/*.zip"))), "../restored")
    assert result.exit_code == 0 and "the register: it was not there when it was made." in result.stdout


def test_a_register_that_lies_elsewhere_is_saved_and_its_place_is_told(clinic_copy, tmp_path):
    shutil.move(clinic_copy / "register.sqlite", tmp_path / "far.sqlite")
    set_register(clinic_copy, str(tmp_path / "far.sqlite"))
    (clinic_copy / "register.sqlite").write_text("something else of this name")
    restored = bring_back(save(clinic_copy).path, tmp_path / "restored")
    assert state(tmp_path / "restored/register-2.sqlite") == state(tmp_path / "far.sqlite")
    (to_do,) = restored.to_do
    assert to_do.where == "clinic.toml" and 'register = "register-2.sqlite"' in to_do.fix
    assert (tmp_path / "restored/clinic.toml").read_bytes() == (clinic_copy / "clinic.toml").read_bytes()


def test_a_restored_clinic_that_would_write_into_the_old_register_is_told(clinic_copy, tmp_path):
    """Its settings name the old folder: the next import would go there."""
    set_register(clinic_copy, str(clinic_copy / "register.sqlite"))
    restored = bring_back(save(clinic_copy).path, tmp_path / "restored")
    assert [each.where for each in restored.to_do] == ["clinic.toml"]


def set_register(clinic: Path, where: str) -> None:
    settings = (clinic / "clinic.toml").read_text()
    assert settings.count('register = "register.sqlite"') == 1
    (clinic / "clinic.toml").write_text(settings.replace("register.sqlite", where))


def test_a_register_of_an_older_program_is_saved_as_it_is(clinic_copy, tmp_path):
    """A backup is what one wants before the tables are changed."""
    (clinic_copy / "register.sqlite").unlink()
    with closing(sqlite3.connect(clinic_copy / "register.sqlite")) as older:
        older.executescript((ROOT / "tests/data/register_schema_3.sqlite.sql").read_text())
    before = (clinic_copy / "register.sqlite").read_bytes()
    made = save(clinic_copy)
    assert made.register is None and made.listed.register.schema == 3
    restored = bring_back(made.path, tmp_path / "restored")
    assert (clinic_copy / "register.sqlite").read_bytes() == before
    assert "another version of consentpack" in restored.to_do[0].what
    assert state(tmp_path / "restored/register.sqlite")  # it is brought up to date when it is opened


def test_a_register_that_another_program_changed_is_saved_and_told(clinic_copy, tmp_path, run):
    register = open_register(str(clinic_copy / "register.sqlite"))
    with register.engine.begin() as connection:
        connection.execute(text("UPDATE treatments SET site = 'chin' WHERE id < 3"))
    result = run(clinic_copy, "backup")
    assert result.exit_code == RegisterError.exit_code and "not as consentpack wrote it" in result.stderr
    restored = bring_back(next(clinic_copy.glob("backups/*.zip")), tmp_path / "restored")
    assert "2 treatments had been changed by another program" in restored.to_do[0].what


def test_a_file_that_is_no_register_stops_the_backup(clinic_copy):
    (clinic_copy / "register.sqlite").write_text("this is no database, it is a letter\n" * 50)
    with pytest.raises(RegisterError, match="not a database"):
        save(clinic_copy)
    assert not list(clinic_copy.glob("backups/*")) and not saved.strays(clinic_copy)


@pytest.fixture
def on_server(clinic_copy, register, register_url):
    """The clinic with its audit on a server, and a table of which the register knows nothing."""
    set_register(clinic_copy, register_url)
    place = pipeline.open_workplace(clinic_copy)
    columns, reading = place.clinic.audit_columns, reading_of(place)
    import_file(register, clinic_copy / "audit.csv", columns=columns, reading=reading, now=MADE, by="tests")
    with register.engine.begin() as connection:
        connection.execute(
            text("CREATE TABLE later (id SERIAL PRIMARY KEY, day DATE, words TEXT, grown FLOAT, bytes BYTEA)")
        )
        connection.execute(
            text("INSERT INTO later (day, words, bytes) VALUES ('2026-01-02', 'é', '\\x00ff')")
        )
        connection.execute(text("CREATE INDEX later_words ON later (words) WHERE grown IS NULL"))
    return register


@POSTGRES_ONLY
def test_a_register_on_a_server_comes_back_as_a_file_and_on_another_server(
    on_server, clinic_copy, register_url, postgres, tmp_path
):
    """Takes long: a server, and four registers."""
    (clinic_copy / "register.sqlite").unlink()
    made = save(clinic_copy)
    assert (made.listed.register.kind, made.listed.register.rows["later"]) == ("postgresql", 1)
    restored = bring_back(made.path, tmp_path / "one")
    file = open_register(str(tmp_path / "one/register.sqlite"))
    assert contents(file) == contents(on_server)
    assert 'register = "register.sqlite"' in restored.to_do[0].fix and "***" not in restored.to_do[0].fix
    with file.engine.connect() as connection:
        assert connection.execute(text("SELECT words, bytes FROM later")).one() == ("é", b"\x00\xff")
        indexes = (
            connection.execute(text("SELECT sql FROM sqlite_master WHERE type = 'index'")).scalars().all()
        )
        assert any("later_words" in (each or "") and "WHERE" in each for each in indexes)
    with postgres.empty_database() as url:
        there = bring_back(made.path, tmp_path / "two", register=url)
        other = open_register(url)
        assert contents(other) == contents(on_server) and there.to_do[0].where == "clinic.toml"
        # the server goes on numbering where the rows end, and tells what another program changes
        assert (
            load(other, "case,session,date,techniques,site\nZ,1,2026-01-05,blunt-cannula,chin\n").added == 1
        )
        with other.engine.begin() as connection:
            connection.execute(
                text("UPDATE treatments SET site = 'chin' WHERE session = 1 AND case_ref = 'Z'")
            )
        assert check_register(other).edited == (("Z", 1),)
        with pytest.raises(RegisterError, match="not empty"):
            bring_back(made.path, tmp_path / "three", register=url)
        assert not (tmp_path / "three").exists() and not saved.strays(tmp_path)
        other.engine.dispose()


_IMPORTS = """
from sqlalchemy import text
url, = sys.argv[1:]
register = open_register(url)
print("ready", flush=True)
for number in range(40):
    load(register, many_rows(number, 50))
"""


@pytest.mark.slow("two processes at work, in both databases")
def test_a_register_is_saved_as_of_one_moment_while_another_imports(
    register, register_url, clinic_copy, tmp_path
):
    """Each import brings fifty rows: a copy of two moments would have another number."""
    (clinic_copy / "register.sqlite").unlink()
    set_register(clinic_copy, register_url)
    load(register, many_rows(99, 50))
    register.engine.dispose()
    writer, seen = start(_IMPORTS, register_url), []
    assert writer.stdout.readline() == "ready\n"
    while writer.poll() is None or not seen:
        made = save(clinic_copy, tmp_path / "here", now=datetime.now())
        rows, digest = made.listed.register.rows, made.listed.register.digest
        assert rows["treatments"] == 50 * rows["imports"] and made.register.edited == ()
        bring_back(made.path, tmp_path / f"r{len(seen)}")
        file = open_register(
            made.listed.register and str(tmp_path / f"r{len(seen)}" / made.listed.register.file)
        )
        assert (len(contents(file)), digest) == (rows["treatments"], state(Path(file.engine.url.database)))
        seen.append(rows["imports"])
    finish(writer)
    assert seen == sorted(seen) and len(set(seen)) > 1


# --- while others work ----------------------------------------------------------------------------


def test_others_wait_for_a_backup_only_while_it_notes_what_is_there(clinic_copy):
    could = []

    def meanwhile(stage: str) -> None:
        if stage.startswith(("copying", "reading it back")):
            with locked(clinic_copy, say=could.append):
                write_file(clinic_copy / "plans/p-101.toml", f"# {stage}")

    before = (clinic_copy / "plans/p-101.toml").read_bytes()
    made = save(clinic_copy, progress=meanwhile)
    assert could == []  # nobody had to wait
    with zipfile.ZipFile(made.path) as archive:
        assert archive.read("clinic/plans/p-101.toml") == before


def test_register_and_files_are_noted_under_one_lock_the_register_first(clinic_copy, monkeypatch):
    """Else a pack could be saved whose figures come from an import that was not."""
    from filelock import FileLock, Timeout

    from consentpack.pipeline import saving

    order = []

    def watched(name: str):
        real = getattr(saving, name)

        def call(*args, **more):
            with pytest.raises(Timeout):
                FileLock(clinic_copy / LOCK, is_singleton=False).acquire(timeout=0)
            order.append(name)
            return real(*args, **more)

        monkeypatch.setattr(saving, name, call)

    for name in ("held", "walk", "_link"):
        watched(name)
    save(clinic_copy)
    assert order == ["held", "walk", "_link"]


@pytest.mark.parametrize("mode", ["ab", "r+b"])
def test_a_file_that_is_written_into_meanwhile_stops_the_backup(clinic_copy, mode):
    """Half of the old and half of the new would be saved as if it were a file."""

    def meanwhile(stage: str) -> None:
        if stage.startswith("copying"):
            with open(clinic_copy / "audit.csv", mode) as sheet:
                sheet.write(b"one more line\n")

    with pytest.raises(BackupError, match=r"audit\.csv: this file was changed while it was copied"):
        save(clinic_copy, progress=meanwhile)
    assert list((clinic_copy / "backups").iterdir()) == [] and not saved.strays(clinic_copy)


_BUILDS = """
from datetime import datetime
from consentpack import pipeline
clinic, = sys.argv[1:]
place = pipeline.open_workplace(Path(clinic))
print("ready", flush=True)
for number in range(6):
    with open_register(place.clinic.register_url).writing() as connection:
        pass
    load(open_register(place.clinic.register_url), many_rows(number, 5))
    pipeline.build(place, Path(clinic, "plans/p-101.toml"), allow_draft=True)
"""


@pytest.mark.slow("packs are built while backups are made")
def test_packs_of_a_backup_are_whole_and_never_newer_than_its_register(clinic_copy, tmp_path):
    writer, imports = start(_BUILDS, clinic_copy), []
    assert writer.stdout.readline() == "ready\n"
    while writer.poll() is None:
        made = save(clinic_copy, tmp_path / "here", now=datetime.now())
        there = tmp_path / f"r{len(imports)}"
        bring_back(made.path, there)
        imports.append(made.listed.register.rows["imports"])
        for manifest in there.glob("packs/*/manifest.json"):
            text = json.loads(manifest.read_bytes())
            for name, listed in text["documents"].items():
                assert sha256((manifest.parent / name).read_bytes()).hexdigest() == listed["sha256"]
            known = [key for key in text["inputs"] if key.startswith("audit: import ")]
            assert len(known) <= imports[-1]
        assert not pipeline.check_folder(there).wrong
    finish(writer)
    assert len(imports) > 2 and imports[-1] > imports[0]


# --- what cannot be saved -------------------------------------------------------------------------


@pytest.mark.parametrize("name", [b"a\\b.txt", b"two\nlines", b"\xff\xfe.txt", b"C:x"])
def test_a_name_that_could_not_be_restored_is_told_before(clinic_copy, name):
    (
        Path(os.fsdecode(os.fsencode(clinic_copy) + b"/plans/" + name))
        if name != b"C:x"
        else clinic_copy / "C:x"
    ).touch()
    with pytest.raises(BackupError) as caught:
        save(clinic_copy)
    assert repr(os.fsdecode(name))[1:-1] in str(caught.value)
    assert not list((clinic_copy / "backups").iterdir()) and not saved.strays(clinic_copy)


def test_files_that_cannot_be_read_are_all_named(clinic_copy, monkeypatch):
    from consentpack.pipeline import saving

    def refuse(name: str, path: Path, *, mode: int):
        if name.startswith("plans/"):
            raise PermissionError(13, "Permission denied")
        return real(name, path, mode=mode)

    real = saving.kept_of
    monkeypatch.setattr(saving, "kept_of", refuse)
    with pytest.raises(BackupError) as caught:
        save(clinic_copy)
    assert [p.where for p in caught.value.problems[:-1]] == [f"plans/p-10{n}.toml" for n in (1, 2, 3, 4)]
    assert not list((clinic_copy / "backups").iterdir()) and not saved.strays(clinic_copy)


def test_where_there_are_no_links_files_are_copied(clinic_copy, tmp_path, monkeypatch):
    """A stick, or a folder on a server."""

    def no(*_: object, **__: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", no)
    first, second = save(clinic_copy, tmp_path / "stick"), save(clinic_copy, tmp_path / "stick")
    assert first.path != second.path
    bring_back(second.path, tmp_path / "restored")
    assert but_register(files_of(tmp_path / "restored")) == but_register(files_of(clinic_copy))


def test_what_the_disk_does_not_give_back_is_no_backup(clinic_copy, monkeypatch):
    from consentpack.pipeline import saving

    def bad_disk(stream, listed, sources) -> None:
        real(stream, listed, sources)
        stream.seek(20_000)
        there = stream.read(1)
        stream.seek(20_000)
        stream.write(bytes([there[0] ^ 1]))

    real = saving.write_archive
    monkeypatch.setattr(saving, "write_archive", bad_disk)
    with pytest.raises(BackupError, match="Use another disk"):
        save(clinic_copy)
    assert not list((clinic_copy / "backups").iterdir())


# --- no room, and stopped -------------------------------------------------------------------------

_FULL = """
import resource
from consentpack.cli import main
where, most, *words = sys.argv[1:]
os.chdir(where)
resource.setrlimit(resource.RLIMIT_FSIZE, (int(most), int(most)))
main(words)
"""


@pytest.mark.parametrize("most", [100, 60_000, 150_000, 190_000])
def test_a_full_disk_leaves_nothing_and_is_told(clinic_copy, tmp_path, most):
    before = files_of(clinic_copy)
    done = start("import os\n" + _FULL, clinic_copy, most, "backup", tmp_path / "stick")
    _, said = done.communicate(timeout=60)
    assert done.returncode == OutputError.exit_code, said
    assert "cannot be written" in said and "Traceback" not in said and "Exception ignored" not in said
    assert list((tmp_path / "stick").iterdir()) == [] and not saved.strays(clinic_copy)
    assert files_of(clinic_copy) == before


def command(*words: object) -> list[str]:
    return [sys.executable, "-m", "consentpack", *map(str, words)]


def killed(words: list[str], folder: Path, after: float) -> bool:
    """Whether a command was still at work when it was killed."""
    process = subprocess.Popen(words, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        process.communicate(timeout=after)
    except subprocess.TimeoutExpired:
        os.kill(process.pid, signal.SIGKILL)
        process.communicate()
    return process.returncode == -signal.SIGKILL


def killed_often(
    words: list[str], folder: Path, lasts: float, *, first: Callable[[], object] = lambda: None
) -> Iterator[None]:
    """A command is killed at moments of its run, again and again, and whoever asks looks after each.

    It goes on until four were still at work: a run that ended before says how long one takes now, as that
    changes with whatever else the machine does.
    """
    hits = tries = 0
    while tries < 12 or hits < 4:
        assert tries < 200, "no run was still at work when it was killed"
        first()
        begun = time.perf_counter()
        if killed(words, folder, lasts * (0.3 + tries % 12 * 0.06)):
            hits += 1
        else:
            lasts = time.perf_counter() - begun
        tries += 1
        yield


@pytest.mark.slow("each kill is a run of the program")
def test_a_backup_that_is_killed_leaves_no_half_archive(clinic_copy, tmp_path):
    begun = time.perf_counter()
    subprocess.run(command("backup", tmp_path / "stick"), cwd=clinic_copy, check=True, capture_output=True)
    lasts, before = time.perf_counter() - begun, files_of(clinic_copy)
    for _ in killed_often(command("backup", tmp_path / "stick"), clinic_copy, lasts):
        for archive in (tmp_path / "stick").glob("*.zip"):
            with open_archive(archive) as opened:
                assert opened.whole and opened.damaged() == []
    subprocess.run(command("backup", tmp_path / "stick"), cwd=clinic_copy, check=True, capture_output=True)
    assert not saved.strays(tmp_path / "stick") and not saved.strays(clinic_copy)
    assert files_of(clinic_copy) == before


def test_the_command_says_what_it_did(clinic_copy, run, tmp_path):
    result = run(clinic_copy, "backup", str(tmp_path / "stick"))
    assert result.exit_code == 0
    assert "720 treatments" in result.stdout and "Read back: all whole." in result.stdout
    result = run(clinic_copy, "backup", "--json", str(tmp_path / "stick"))
    said = json.loads(result.stdout)
    assert said["register"]["rows"]["treatments"] == 720 and Path(said["archive"]).is_file()
