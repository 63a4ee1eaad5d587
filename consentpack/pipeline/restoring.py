"""Bringing a clinic folder back from an archive: into a new folder, and only when every file is whole."""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from consentpack.clinic import SETTINGS_FILE, register_from
from consentpack.errors import BackupError, ConsentpackError, OutputError, Problem
from consentpack.files import FIXES, PRIVATE_FILE, PRIVATE_FOLDER, make_parent, to_disk
from consentpack.pipeline.archive import Archive, Damaged, open_archive
from consentpack.pipeline.archive_list import Kept, KeptRegister, Listed, alike
from consentpack.recovery import strays
from consentpack.register import check_copy, file_of, shown, state_at, version_at, write_rows

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Restored:
    """A clinic folder that was brought back."""

    folder: Path
    listed: Listed
    lost: tuple[Problem, ...]
    """What was damaged and is not there; () unless it was asked for what is whole."""
    to_do: tuple[Problem, ...]
    """What the clinic has to change or to know before it works there."""


def restore(
    path: Path, to: Path, *, only_whole: bool = False, register: str = "", progress: Progress
) -> Restored:
    """Bring back what an archive holds, into the new or empty folder `to`.

    `only_whole`: what is damaged is left out and listed, instead of stopping everything. `register`: the
    URL of an empty database, into which the rows are written too. Raises BackupError, OutputError or
    RegisterError, with no folder made.
    """
    to = Path(os.path.abspath(to))
    _refuse_taken(to)
    with open_archive(path) as archive, _told(to):
        make_parent(to.parent)
        for stray in strays(to.parent):
            if stray.name.startswith(f".{to.name}."):  # in any folder there may be things of others
                _take_away(stray)
        _refuse_no_room(archive.listed, to)
        with _room(to) as room:
            progress(f"unpacking {len(archive.listed.files)} files")
            lost = _unpack(archive, room, to)
            if lost and not only_whole:
                raise BackupError([*lost, _refused(path, archive)])
            progress("checking the register")
            to_do = _register(archive.listed, room, wanted=bool(register))
            _close(archive.listed, room)
            if register and archive.listed.register:
                kept = archive.listed.register
                write_rows(room / kept.file, register, digest=kept.digest)
            os.rename(room, to)
            to_disk(to.parent)
    return Restored(to, archive.listed, tuple(lost), (*to_do, *_settings(archive.listed, to, register)))


def _refuse_taken(to: Path) -> None:
    if to.is_symlink() or (to.exists() and (not to.is_dir() or any(to.iterdir()))):
        what = "there is something here already; nothing is ever restored over it."
        raise OutputError(Problem(str(to), what, "Name a new folder."))


def _refuse_no_room(listed: Listed, to: Path) -> None:
    """Before the first byte is written: a disk that is filled stops everybody else."""
    free = shutil.disk_usage(to.parent).free
    if listed.size > free:
        what = f"this backup needs {listed.size:,} bytes, and there is room for {free:,}."
        raise OutputError(Problem(str(to), what, "Make room, or name a folder on another disk."))


def _refused(path: Path, archive: Archive) -> Problem:
    there = len(archive.listed.files)
    what = f"this backup is damaged. It holds {there} files; nothing was restored."
    fix = (
        "Take another copy of it, or an older one. `--only-whole` restores what is whole and lists the rest."
    )
    return Problem(str(path), what, fix)


@contextmanager
def _told(to: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        what = f"the folder cannot be written ({error.strerror}). Nothing was restored."
        raise OutputError(Problem(str(to), what, FIXES.get(error.errno or 0, ""))) from None


@contextmanager
def _room(to: Path) -> Iterator[Path]:
    """A folder beside the one that is made; gone in the end, unless it has got its name."""
    room = to.with_name(f".{to.name}.{os.getpid()}.part")
    _take_away(room)
    room.mkdir(mode=PRIVATE_FOLDER)
    try:
        yield room
    finally:
        _take_away(room)


def _take_away(room: Path) -> None:
    """Take a folder away, with those in it that may only be read."""
    for folder, _, _ in os.walk(room):
        Path(folder).chmod(PRIVATE_FOLDER)
    shutil.rmtree(room, ignore_errors=True)


# --- the files ------------------------------------------------------------------------------------


def _unpack(archive: Archive, room: Path, to: Path) -> list[Problem]:
    """Write every file whose digest is right; the others, and what else is wrong with the archive."""
    _refuse_alike(archive.listed, room, to)
    for name in sorted(archive.listed.folders):
        (room / name).mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
    problems = []
    for kept in archive.listed.files:
        (room / kept.name).parent.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
        try:
            _put(archive, kept, room / kept.name)
        except Damaged as error:
            (room / kept.name).unlink(missing_ok=True)
            problems.append(Problem(kept.name, f"{error}."))
    problems += archive.strangers()
    if not archive.whole and not problems:
        what = "every file in it is whole, but something else in it was changed since it was made."
        problems.append(Problem(str(archive.path), what))
    return problems


def _put(archive: Archive, kept: Kept, path: Path) -> None:
    """Write one file. Raises Damaged; OSError."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
    with open(handle, "wb") as stream:
        for chunk in archive.chunks(kept):
            stream.write(chunk)
        stream.flush()
        os.fsync(stream.fileno())


def _refuse_alike(listed: Listed, room: Path, to: Path) -> None:
    """On a disk that does not tell capitals apart, one file would lie under the other's name."""
    (room / "a").touch()
    same = (room / "A").exists()
    (room / "a").unlink()
    found = alike([*(kept.name for kept in listed.files), *listed.folders]) if same else []
    if found:
        what = "these are one name on this disk. Nothing was restored."
        fix = f"Name a folder on a disk that tells capitals apart, or unpack {to.name} by hand."
        raise BackupError([Problem(" and ".join(names), what, fix) for names in found])


def _close(listed: Listed, room: Path) -> None:
    """Give files and folders their times and modes: private, and what was read-only stays so."""
    for kept in listed.files:
        path = room / kept.name
        if path.is_file():
            path.chmod(stat.S_IRUSR | kept.mode & stat.S_IRWXU)
            os.utime(path, ns=(kept.modified, kept.modified))
    for name, mode in sorted(listed.folders.items(), reverse=True):  # the inner ones first
        to_disk(room / name)
        (room / name).chmod(stat.S_IRUSR | stat.S_IXUSR | mode & stat.S_IRWXU)
    to_disk(room)


# --- the register ---------------------------------------------------------------------------------


def _register(listed: Listed, room: Path, *, wanted: bool) -> list[Problem]:
    """Open the register that was unpacked and check it; what is to be known of it.

    Raises BackupError when it does not hold what the list says, or is `wanted` and not there.
    """
    kept = listed.register
    file = room / kept.file if kept else room
    if kept is None or not file.is_file():
        why = "is damaged in this backup, and was not restored" if kept else "was not there when it was made"
        if wanted:
            raise BackupError(Problem("the register", f"it {why}.", "Leave --register out."))
        return [Problem(kept.file if kept else "the register", f"it {why}.")]
    return _as_listed(kept, file)


def _as_listed(kept: KeptRegister, file: Path) -> list[Problem]:
    if not kept.digest or version_at(str(file)) != kept.schema:
        what = f"another version of consentpack made it (schema {kept.schema}), so its rows are not checked."
        return [Problem(kept.file, what, "`consentpack audit check` there brings it up to date.")]
    state, checked = state_at(file), check_copy(file)
    if state.digest != kept.digest:
        what = "the register does not hold what the list of the backup says. Nothing was restored."
        raise BackupError(Problem(kept.file, what, "Take another copy of the backup, or an older one."))
    said = [
        Problem(kept.file, f"the database was damaged when it was saved: {line}.") for line in checked.damage
    ]
    if checked.edited:
        what = f"{len(checked.edited)} treatments had been changed by another program when it was saved."
        said.append(Problem(kept.file, what, "`consentpack audit check` names them."))
    return said


def _settings(listed: Listed, to: Path, url: str) -> list[Problem]:
    """What is to be changed in clinic.toml, which is left as it was."""
    try:
        where = register_from(to) if (to / SETTINGS_FILE).is_file() else None
    except ConsentpackError as error:
        return list(error.problems)
    if where is None or not listed.register or not (to / listed.register.file).is_file():
        return []
    here = to.resolve() / listed.register.file
    wanted = url or listed.register.file
    named = where == url if url else Path(file_of(where) or "/").resolve() == here.resolve()
    if named:
        return []
    what = f"clinic.toml was left as it was, and names the register {shown(where) or 'none'}."
    fix = f'To work with what was restored, write there under [audit]: register = "{shown(wanted)}"'
    return [Problem(SETTINGS_FILE, what, fix)]
