"""Writing whole, and what a stopped run leaves: nothing that people keep is ever lost."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from consentpack import files, locks
from consentpack.errors import OutputError
from consentpack.recovery import left_behind, recover

MARK = "manifest.json"
DEAD = 2**22 + 5
"""A process number above what Linux gives out by default, so that no process has it."""


def manifest(**documents: bytes) -> bytes:
    listed = {name: {"sha256": hashlib.sha256(data).hexdigest()} for name, data in documents.items()}
    return json.dumps({"documents": listed}).encode()


def pack(folder: Path, text: bytes = b"old", **others: bytes) -> Path:
    made = {"consent.docx": text}
    folder.mkdir(parents=True)
    for name, data in {**made, MARK: manifest(**made), **others}.items():
        (folder / name).write_bytes(data)
    return folder


def write(folder: Path, text: bytes = b"new", **more) -> None:
    made = {"consent.docx": text}
    files.write_folder(folder, {**made, MARK: manifest(**made)}, mark=MARK, **more)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def everything(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


# --- modes and links ------------------------------------------------------------------------------


def test_what_is_new_is_for_its_owner_alone(tmp_path):
    files.write_file(tmp_path / "a.toml", "x")
    write(tmp_path / "packs" / "P-1")
    assert mode(tmp_path / "a.toml") == 0o600 and mode(tmp_path / "packs/P-1/consent.docx") == 0o600
    assert mode(tmp_path / "packs") == mode(tmp_path / "packs/P-1") == 0o700


@pytest.mark.parametrize("before", [0o600, 0o640, 0o644])
def test_a_mode_that_somebody_has_set_is_kept(tmp_path, before):
    path = tmp_path / "clinic.toml"
    path.write_text("old")
    path.chmod(before)
    files.write_file(path, "new")
    assert (path.read_text(), mode(path)) == ("new", before)
    folder = pack(tmp_path / "P-1")
    folder.chmod(0o750)
    write(folder)
    assert mode(folder) == 0o750


def test_a_link_is_followed_and_stays_a_link(tmp_path):
    real = tmp_path / "shared.toml"
    real.write_text("old")
    link = tmp_path / "clinic.toml"
    link.symlink_to(real)
    files.write_file(link, "new")
    assert link.is_symlink() and real.read_text() == "new"


def test_what_is_read_only_stays_as_it_is(tmp_path):
    folder = pack(tmp_path / "P-1")
    folder.chmod(0o500)
    with pytest.raises(OutputError, match="read-only"):
        write(folder)
    assert (folder / "consent.docx").read_bytes() == b"old"
    folder.chmod(0o700)
    path = tmp_path / "a.toml"
    path.write_text("old")
    path.chmod(0o400)
    with pytest.raises(OutputError, match="read-only"):
        files.write_file(path, "new")
    assert path.read_text() == "old"


# --- whole or not at all ---------------------------------------------------------------------------


@pytest.mark.parametrize("exchange", [True, False])
def test_a_new_pack_takes_the_place_of_the_old_and_what_people_keep_stays(tmp_path, monkeypatch, exchange):
    if not exchange:
        monkeypatch.setattr(files, "_exchanged", lambda *_: False)
    folder = pack(tmp_path / "P-1", **{"scan.pdf": b"signed", "old.html": b"ours"})
    write(folder, outdated={"old.html"}, renamed={"consent.docx": "consent-kept-1.docx"})
    found = everything(folder)
    assert found.pop(MARK) and found == {
        "consent.docx": b"new", "consent-kept-1.docx": b"old", "scan.pdf": b"signed",
    }  # fmt: skip
    assert [p.name for p in tmp_path.iterdir()] == ["P-1"]


@pytest.mark.parametrize("call", range(1, 12))
def test_a_full_disk_at_any_write_leaves_what_stood_there(tmp_path, monkeypatch, call):
    """The disk is full at the n-th call that brings something to it."""
    folder = pack(tmp_path / "P-1", **{"scan.pdf": b"signed"})
    before, calls, real = everything(folder), [], os.fsync

    def full(handle):
        calls.append(handle)
        if len(calls) == call:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    try:
        write(folder)
    except OutputError as error:
        assert "disk is full" in str(error)
        found = everything(folder)
        assert found in (
            before,
            {**before, "consent.docx": b"new", MARK: manifest(**{"consent.docx": b"new"})},
        )
    monkeypatch.setattr(os, "fsync", real)
    recover(tmp_path, mark=MARK)
    assert (folder / "scan.pdf").read_bytes() == b"signed" and [p.name for p in tmp_path.iterdir()] == ["P-1"]


def test_a_scan_that_comes_while_the_pack_is_made_is_kept(tmp_path, monkeypatch):
    folder = pack(tmp_path / "P-1")
    real = files._move_in

    def late(ready, to):
        (folder / "late-scan.pdf").write_bytes(b"signed")
        real(ready, to)

    monkeypatch.setattr(files, "_move_in", late)
    write(folder)
    assert (folder / "late-scan.pdf").read_bytes() == b"signed"


# --- what a stopped run leaves ----------------------------------------------------------------------


def test_a_pack_that_was_set_aside_comes_back_with_its_scan(tmp_path):
    """Killed between two renames: the old pack lies under a hidden name and nothing is in its place."""
    pack(tmp_path / f".P-1.{DEAD}.old", **{"scan.pdf": b"signed"})
    pack(tmp_path / f".P-1.{DEAD}.ready", b"new", **{"scan.pdf": b"signed"})
    said = recover(tmp_path, mark=MARK)
    assert (tmp_path / "P-1/scan.pdf").read_bytes() == b"signed" and "brought back" in said[0]
    assert [p.name for p in tmp_path.iterdir()] == ["P-1"]


def test_what_people_had_put_there_is_found_again_and_our_own_old_files_are_not(tmp_path):
    pack(tmp_path / "P-1", b"new", **{"consent-filled.docx": b"later"})
    theirs = {"scan.pdf": b"signed", "consent-filled.docx": b"by hand"}
    pack(tmp_path / f".P-1.{DEAD}.ready", b"old", **theirs)
    recover(tmp_path, mark=MARK)
    found = everything(tmp_path / "P-1")
    assert found.pop(MARK) and found.pop("consent-filled.docx") == b"later" and found == {
        "consent.docx": b"new", "scan.pdf": b"signed", "consent-filled-kept-1.docx": b"by hand",
    }  # fmt: skip


def test_what_was_half_written_goes_and_what_another_process_is_writing_stays(tmp_path):
    (tmp_path / f".clinic.toml.{DEAD}.part").write_text("half")
    (tmp_path / f".P-1.{DEAD}.part").mkdir()
    (tmp_path / f".P-1.{DEAD}.part" / "scan.pdf").write_text("half")
    pack(tmp_path / f".P-2.{DEAD}.done")
    (tmp_path / f".a.toml.{os.getppid()}.part").write_text("being written")
    assert left_behind(tmp_path)
    recover(tmp_path, mark=MARK)
    assert [p.name for p in tmp_path.iterdir()] == [f".a.toml.{os.getppid()}.part"]
    assert not left_behind(tmp_path)


# --- the lock ---------------------------------------------------------------------------------------


def test_a_second_writer_waits_and_is_told_so(tmp_path, monkeypatch):
    monkeypatch.setattr(locks, "SAY_AFTER_SECONDS", 0.05)
    said, order, held = [], [], threading.Event()

    def first():
        with locks.locked(tmp_path):
            held.set()
            threading.Event().wait(0.3)
            order.append("first")

    thread = threading.Thread(target=first)
    thread.start()
    held.wait(5)
    with locks.locked(tmp_path, say=said.append):
        order.append("second")
    thread.join()
    assert order == ["first", "second"] and "another consentpack is writing" in said[0]


def test_who_waits_too_long_is_told_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setattr(locks, "SAY_AFTER_SECONDS", 0.02)
    monkeypatch.setattr(locks, "WAIT_SECONDS", 0.05)
    from filelock import FileLock

    with (
        FileLock(tmp_path / locks.LOCK),
        pytest.raises(OutputError, match="another consentpack has been writing"),
        locks.locked(tmp_path, say=lambda _: None),
    ):
        pass


def test_the_lock_of_a_killed_process_is_free(tmp_path):
    code = (
        "import sys, time, pathlib\nfrom consentpack.locks import locked\n"
        f"with locked(pathlib.Path({str(tmp_path)!r})):\n    print('held', flush=True)\n    time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout and other.stdout.readline() == "held\n"
        other.kill()
    with locks.locked(tmp_path, say=pytest.fail):
        pass
