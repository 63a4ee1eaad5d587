"""Saving a clinic folder: one archive of all that is in it, as it stands at one moment."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from consentpack import __version__
from consentpack.clinic import find_clinic, register_from
from consentpack.errors import BackupError, OutputError, Problem
from consentpack.files import FIXES, PRIVATE_FILE, PRIVATE_FOLDER, clear, make_parent, to_disk
from consentpack.locks import locked
from consentpack.pipeline.archive import kept_of, open_archive, write_archive
from consentpack.pipeline.archive_list import Kept, KeptRegister, LeftOut, Listed, too_much, unsafe
from consentpack.pipeline.place import BACKUPS, ENDING, put_right
from consentpack.pipeline.walking import BESIDE, Found, RegisterPlace, place_of, walk
from consentpack.recovery import strays
from consentpack.register import Checked, Copied, check_copy, held

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Saved:
    """A backup that was made, read back and found whole."""

    path: Path
    listed: Listed
    register: Checked | None
    """What a check of the copied register found; None without one, or where an older program made it."""


def backup(start: Path, to: Path | None, *, now: datetime, progress: Progress) -> Saved:
    """Save the clinic folder at or above `start` into one archive; without `to`, in its folder backups/.

    `to` is a folder, or the archive's own name. Others may work in the clinic folder meanwhile: they wait
    only while it is noted what is there. Raises BackupError, OutputError or RegisterError, with nothing
    left behind.
    """
    folder = find_clinic(start)
    put_right(folder)
    target = _target(to or folder / BACKUPS, now)
    make_parent(target.parent)
    ours = (".backup-", f".{target.name}.")  # in any folder there may be things of others
    clear(*(stray for stray in strays(target.parent) if stray.name.startswith(ours)))
    with _told(target), _rooms(folder, target) as rooms:
        progress("noting what is there")
        still = _hold_still(folder, rooms, progress)
        registered = _checked(still.register, rooms.register)
        progress(f"copying {len(still.files)} files")
        listed = _listed(still, now)
        _write(rooms.archive, listed, still.sources)
        progress("reading it back")
        _read_back(rooms.archive)
        return Saved(_named(rooms.archive, target), listed, registered)


def _target(to: Path, now: datetime) -> Path:
    """The archive's file. Raises OutputError where something has that name."""
    if to.suffix.lower() != ENDING or to.is_dir():
        return to / f"backup-{now:%Y-%m-%d-%H%M%S}{ENDING}"
    if to.exists() or to.is_symlink():
        what = "there is something of this name already; a backup is never written over anything."
        raise OutputError(Problem(str(to), what, "Give another name."))
    return to


@dataclass(frozen=True)
class _Rooms:
    """Where a backup is made, under names that the next start takes away if this run is killed."""

    links: Path
    """In the clinic folder: each file once more under a number, without copying it."""
    register: Path
    archive: Path

    @property
    def all(self) -> tuple[Path, ...]:
        beside = (self.register.with_name(self.register.name + end) for end in ("", *BESIDE))
        return (self.links, self.archive, *beside)


@contextmanager
def _rooms(folder: Path, target: Path) -> Iterator[_Rooms]:
    end = f"{os.getpid()}.part"
    rooms = _Rooms(
        folder / f".backup.{end}",
        target.with_name(f".{target.name}.register.{end}"),
        target.with_name(f".{target.name}.{end}"),
    )
    clear(*rooms.all)  # a killed process of the same number may have left one
    try:
        yield rooms
    finally:
        clear(*rooms.all)


@contextmanager
def _told(target: Path) -> Iterator[None]:
    """What the disk says when it fails."""
    try:
        yield
    except OSError as error:
        what = f"the backup cannot be written ({error.strerror}). Nothing was saved."
        raise OutputError(Problem(str(target), what, FIXES.get(error.errno or 0, ""))) from None


# --- what is there --------------------------------------------------------------------------------


@dataclass
class _Still:
    """A clinic folder as it stood at one moment."""

    folders: dict[str, int] = field(default_factory=dict)
    files: list[Kept] = field(default_factory=list)
    sources: dict[str, Path] = field(default_factory=dict)
    left_out: list[LeftOut] = field(default_factory=list)
    register: Copied | None = None
    register_file: str = ""


def _hold_still(folder: Path, rooms: _Rooms, progress: Progress) -> _Still:
    """Everything as of one moment: later changes are made to other files, or show in their digests."""
    still, where = _Still(), register_from(folder)
    register = place_of(where, folder) if where else RegisterPlace("")
    with ExitStack() as stack:
        with locked(folder):
            finish = stack.enter_context(held(where, rooms.register)) if where else None
            found = list(walk(folder, register, apart=rooms.all))
            _link(found, rooms.links, still)
        progress("reading the register")
        still.register = finish() if finish else None
    _digest(found, still)
    if still.register:
        taken = {*still.sources, *still.folders}
        still.register_file = register.name or _free("register", taken)
        still.files.append(kept_of(still.register_file, rooms.register, mode=PRIVATE_FILE))
        still.sources[still.register_file] = rooms.register
    return still


def _free(stem: str, taken: set[str]) -> str:
    number, name = 1, f"{stem}.sqlite"
    while name in taken:
        number += 1
        name = f"{stem}-{number}.sqlite"
    return name


def _link(found: list[Found], room: Path, still: _Still) -> None:
    """Give each file a second name, which stays when the first is given to a newer file; or copy it."""
    room.mkdir(mode=PRIVATE_FOLDER)
    for number, each in enumerate(found):
        if each.why:
            still.left_out.append(LeftOut(each.name, each.why))
        elif each.folder:
            still.folders[each.name] = each.mode
        else:
            still.sources[each.name] = room / str(number)
            _second_name(each.path, room / str(number))


def _second_name(path: Path, to: Path) -> None:
    try:
        os.link(path.resolve(), to)
    except OSError:  # another disk, one that has no links, or a file of somebody else
        try:
            shutil.copy2(path, to)
        except PermissionError as error:
            raise BackupError(_unreadable(str(path), error)) from None


def _digest(found: list[Found], still: _Still) -> None:
    problems = []
    for each in found:
        if each.name in still.sources:
            try:
                still.files.append(kept_of(each.name, still.sources[each.name], mode=each.mode))
            except OSError as error:
                problems.append(_unreadable(each.name, error))
    if problems := [*problems, *unsafe(still.sources, still.folders)]:
        raise BackupError([*problems, Problem("the clinic folder", "it was not saved.")])


def _unreadable(name: str, error: OSError) -> Problem:
    what = f"this file cannot be read ({error.strerror}), so it cannot be saved."
    return Problem(name, what, "Ask whoever made it for the right to read it, or move it away.")


def _checked(copied: Copied | None, file: Path) -> Checked | None:
    """A check of the copy, which nobody waits for."""
    return check_copy(file) if copied and copied.state else None


# --- writing --------------------------------------------------------------------------------------


def _listed(still: _Still, now: datetime) -> Listed:
    copied, register = still.register, None
    if copied:
        digest, edited = (copied.state.digest, copied.state.edited) if copied.state else ("", 0)
        register = KeptRegister(
            still.register_file, copied.kind, copied.schema, copied.rows, digest=digest, edited=edited
        )
    listed = Listed(
        program=__version__,
        made=now.isoformat(timespec="seconds"),
        files=tuple(sorted(still.files, key=lambda kept: kept.name)),
        folders=still.folders,
        left_out=tuple(still.left_out),
        register=register,
    )
    if problems := too_much(listed):
        raise BackupError(problems)
    return listed


def _write(path: Path, listed: Listed, sources: dict[str, Path]) -> None:
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
    with open(handle, "w+b") as stream:
        write_archive(stream, listed, sources)
        stream.flush()
        os.fsync(stream.fileno())


def _read_back(path: Path) -> None:
    """What cannot be read back is no backup: a bad disk is found now, and not on the day it is needed."""
    with open_archive(path) as archive:
        problems = [] if archive.whole else [Problem(str(path), "it is not as it was written.")]
        problems += archive.damaged()
    if problems:
        raise BackupError([*problems, Problem("the backup", "it was not kept.", "Use another disk.")])


def _named(made: Path, target: Path) -> Path:
    """Give the finished archive its name; that of another one that was made meanwhile is never taken."""
    number, name = 1, target
    while not _took(made, name):
        number += 1
        name = target.with_name(f"{target.stem}-{number}{target.suffix}")
    to_disk(name.parent)
    return name


def _took(made: Path, name: Path) -> bool:
    try:
        os.link(made, name)
    except FileExistsError:
        return False
    except OSError:  # a disk that has no links, such as a stick
        if name.exists():
            return False
        os.rename(made, name)
    return True
