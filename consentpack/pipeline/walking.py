"""Going through a clinic folder: what belongs into a backup, and what does not."""

from __future__ import annotations

import os
import stat
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

from consentpack.approvals import APPROVALS_FILE
from consentpack.clinic import SETTINGS_FILE
from consentpack.locks import LOCK
from consentpack.pipeline.archive import is_archive
from consentpack.recovery import is_temporary
from consentpack.register import file_of

BESIDE = ("-journal", "-wal", "-shm")
"""What SQLite keeps beside a database while it is used."""
WAITING = ".waiting"
"""Where spreadsheets lie that somebody is looking at before they are imported."""


@dataclass(frozen=True)
class RegisterPlace:
    """Where the register lies, seen from a clinic folder."""

    name: str
    """Its name in the folder; '' where it lies elsewhere or is no file."""


@dataclass(frozen=True)
class Found:
    """One thing in a clinic folder."""

    name: str
    """Its place in the folder, with '/'."""
    path: Path
    mode: int
    folder: bool
    why: str = ""
    """Why a backup leaves it out; '' when it is taken."""


def place_of(where: str, folder: Path) -> RegisterPlace:
    """Where the register named in clinic.toml lies."""
    file = file_of(where)
    for path in (Path(os.path.abspath(file)), Path(file).resolve()) if file else ():
        if path.is_relative_to(folder):
            return RegisterPlace(path.relative_to(folder).as_posix())
    return RegisterPlace("")


def walk(folder: Path, register: RegisterPlace, *, apart: Collection[Path] = ()) -> Iterator[Found]:
    """All that is in a clinic folder, in the order of names, but the register's file, which is copied by
    itself, and `apart`. Raises OSError for a folder that cannot be looked into."""
    todo = [folder]
    while todo:
        here = todo.pop()
        with os.scandir(here) as entries:
            found = sorted(entries, key=lambda entry: entry.name)
        for entry in found:
            path = Path(entry.path)
            name = path.relative_to(folder).as_posix()
            if path in apart or name == register.name:
                continue
            each = _found(name, path, register)
            yield each
            if each.folder and not each.why:
                todo.append(path)


def _found(name: str, path: Path, register: RegisterPlace) -> Found:
    seen = path.lstat()
    why = _left_out(name, path, seen, register)
    if stat.S_ISLNK(seen.st_mode) and not why:
        seen = path.stat()
    return Found(name, path, stat.S_IMODE(seen.st_mode), stat.S_ISDIR(seen.st_mode), why)


def _left_out(name: str, path: Path, seen: os.stat_result, register: RegisterPlace) -> str:
    """Why a backup does not take this; '' when it does."""
    if path.name == LOCK:
        return "the lock of the folder"
    if name == WAITING:
        return "spreadsheets that nobody has imported yet"
    if is_temporary(path.name) or (path.name.startswith(".") and path.suffix == ".part"):
        return "not whole: another run is writing it, or was stopped"
    if register.name and name in {register.name + end for end in BESIDE}:
        return "belongs to the register, which was copied as a whole"
    if stat.S_ISLNK(seen.st_mode):
        settings = name in (SETTINGS_FILE, APPROVALS_FILE) and path.is_file()
        return "" if settings else f"a link to {os.readlink(path)}"
    if not stat.S_ISDIR(seen.st_mode) and not stat.S_ISREG(seen.st_mode):
        return "no file and no folder"
    return "an older backup" if path.suffix.lower() == ".zip" and is_archive(path) else ""
