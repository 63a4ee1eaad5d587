"""Writing files and folders so that a half-written one cannot exist, and nothing people keep is lost.

A file is written under a temporary name, brought to the disk, then renamed. A folder is made whole
beside the old one, then both change places in one step. What a killed run leaves lies under a name that
says how far it had come and by which process, and `recovery` puts it right at the next start.
"""

from __future__ import annotations

import ctypes
import errno
import hashlib
import os
import shutil
import stat
import sys
from collections.abc import Collection, Mapping
from pathlib import Path

from consentpack.errors import OutputError, Problem

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700
"""Modes of what is new: figures of a clinic are nobody else's on a shared machine."""
KEPT_FILE, KEPT_FOLDER = 0o400, 0o500
"""Modes of what is never to be changed again."""


def digest_of(data: bytes) -> str:
    """SHA-256 as hex."""
    return hashlib.sha256(data).hexdigest()


def write_file(path: Path, text: str | bytes) -> None:
    """Write a file whole. A link is followed, a mode is kept. Raises OutputError."""
    target = path.resolve() if path.is_symlink() else path
    temporary = _stray(target, "part")
    clear(temporary)  # a killed process of the same number may have left one
    try:
        _refuse_read_only(target)
        mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else PRIVATE_FILE
        put_new(temporary, text if isinstance(text, bytes) else text.encode(), mode)
        os.replace(temporary, target)
        to_disk(target.parent)
    except OSError as error:
        what = f"the file cannot be written ({error.strerror})."
        raise OutputError(Problem(str(path), what, FIXES.get(error.errno or 0, ""))) from None
    finally:
        temporary.unlink(missing_ok=True)


def write_aside(part: Path, files: Mapping[str, bytes], *, shown: Path) -> None:
    """Write a new folder of files that nobody may change, under the name of what is not whole yet.

    It has it until `move_whole` gives it its own, which errors name. Raises OutputError, with nothing left.
    """
    try:
        make_parent(part.parent)
        clear(part)
        part.mkdir(mode=PRIVATE_FOLDER)
        for name, content in files.items():
            put_new(part / name, content, KEPT_FILE)
        to_disk(part)
    except OSError as error:
        clear(part)
        what = f"the folder cannot be written ({error.strerror})."
        fix = "Look at the room left on the disk."
        raise OutputError(Problem(str(shown), what, FIXES.get(error.errno or 0, fix))) from None


def add_aside(path: Path, content: bytes, *, shown: Path) -> None:
    """A file that nobody may change, in a folder that is not whole yet or under such a name.

    Errors name where it will be. Raises OutputError, with nothing left of it.
    """
    try:
        make_parent(path.parent)
        clear(path)
        put_new(path, content, KEPT_FILE)
        to_disk(path.parent)
    except OSError as error:
        clear(path)
        what = f"the file cannot be written ({error.strerror})."
        raise OutputError(Problem(str(shown), what, FIXES.get(error.errno or 0, ""))) from None


def move_whole(part: Path, path: Path) -> None:
    """Give a folder or file that is whole its own name; nothing may be put into it from then on.

    Raises OSError; what is whole stays where it was.
    """
    make_parent(path.parent)
    os.rename(part, path)
    if path.is_dir():  # only now: a folder that nobody may write in cannot be moved
        path.chmod(KEPT_FOLDER)
    for folder in (path.parent, path.parent.parent):  # its own folder may be new, too
        to_disk(folder)


def write_folder(
    folder: Path,
    files: Mapping[str, bytes],
    *,
    mark: str,
    outdated: Collection[str] = (),
    renamed: Mapping[str, str] | None = None,
) -> None:
    """Write a folder of files whole: all of them, or none.

    What else somebody keeps in the folder, such as a signed scan, stays; what is `outdated` goes, and
    what is `renamed` (old name -> new name) stays under its new name. A folder that holds things but not
    the file `mark` was not made by us and is refused. Raises OutputError; what stood there before then
    stands there still.
    """
    _refuse_strangers(folder, mark)
    part, ready = _stray(folder, "part"), _stray(folder, "ready")
    try:
        _refuse_read_only(folder)
        make_parent(folder.parent)
        clear(part, ready)
        mode = stat.S_IMODE(folder.stat().st_mode) if folder.is_dir() else PRIVATE_FOLDER
        part.mkdir(mode=PRIVATE_FOLDER)
        for name, content in files.items():
            put_new(part / name, content, PRIVATE_FILE)
        _keep_others(folder, part, {*files, *outdated}, renamed or {})
        part.chmod(mode)
        to_disk(part)
        os.rename(part, ready)
        _move_in(ready, folder)
    except OSError as error:
        what = f"the pack cannot be written ({error.strerror})."
        fix = "Close its documents if they are open, and look at the room left on the disk."
        raise OutputError(Problem(str(folder), what, FIXES.get(error.errno or 0, fix))) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
    _retire(ready, folder, {*files, *outdated, *(renamed or {})})


FIXES = {
    errno.ENOSPC: "The disk is full. Make room, then do it again.",
    errno.EDQUOT: "You may not use more of this disk. Make room, then do it again.",
    errno.EFBIG: "The disk takes no file of this size. Use another disk.",
    errno.EACCES: "Ask whoever looks after this computer for the right to write there.",
    errno.EROFS: "The disk can only be read. Copy the clinic folder to one that can be written.",
}


def _stray(path: Path, state: str) -> Path:
    return path.with_name(f".{path.name}.{os.getpid()}.{state}")


def put_new(path: Path, content: bytes, mode: int) -> None:
    """Write a new file, its mode narrow from the first byte on, and bring it to the disk. Raises OSError."""
    with open(path, "xb", opener=lambda name, flags: os.open(name, flags, PRIVATE_FILE)) as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    path.chmod(mode)


def to_disk(folder: Path) -> None:
    """Bring a folder's names to the disk; where folders cannot be opened for that, nothing is to do."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_parent(folder: Path) -> None:
    """Make a folder and those above it, each for its owner alone. Raises OutputError."""
    try:
        for each in reversed([folder, *folder.parents]):
            if not each.exists():
                each.mkdir(mode=PRIVATE_FOLDER, exist_ok=True)
    except OSError as error:
        what = f"the folder cannot be made ({error.strerror})."
        raise OutputError(Problem(str(folder), what, FIXES.get(error.errno or 0, ""))) from None


def _refuse_read_only(path: Path) -> None:
    """What somebody has made read-only stays as it is, also for a user whom modes do not stop."""
    if path.exists() and not path.stat().st_mode & stat.S_IWUSR:
        raise OSError(errno.EACCES, "it is read-only")


def _refuse_strangers(folder: Path, mark: str) -> None:
    """A folder of somebody's own files must never be taken for an old pack."""
    if folder.is_symlink():
        what = "this is a link to another folder; a pack needs a folder of its own. Nothing was written."
        raise OutputError(Problem(str(folder), what, "Name an empty or new folder."))
    if folder.exists() and not folder.is_dir():
        raise OutputError(Problem(str(folder), "this is a file; a pack needs a folder."))
    if folder.is_dir() and any(folder.iterdir()) and not (folder / mark).is_file():
        what = f"there are files here and no {mark}, so this is no pack. Nothing was written."
        raise OutputError(Problem(str(folder), what, "Name an empty or new folder."))


def _keep_others(folder: Path, new: Path, left_out: Collection[str], renamed: Mapping[str, str]) -> None:
    """Copy what somebody else put into an old pack into the new one."""
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        to = new / renamed.get(path.name, path.name)
        if path.name in left_out and path.name not in renamed:
            continue
        if path.is_dir() and not path.is_symlink():
            shutil.copytree(path, to, symlinks=True)
        else:
            shutil.copy2(path, to, follow_symlinks=False)


def _move_in(ready: Path, folder: Path) -> None:
    """Put a whole new folder where the old one stands, in one step where the system can."""
    if not folder.exists():
        os.rename(ready, folder)
    elif not _exchanged(ready, folder):
        old = _stray(folder, "old")
        os.rename(folder, old)
        try:
            os.rename(ready, folder)
        except OSError:
            os.rename(old, folder)
            raise
        os.rename(old, ready)
    to_disk(folder.parent)


def _retire(ready: Path, folder: Path, expected: Collection[str]) -> None:
    """Take the old folder away, once nothing is in it that came after it was copied."""
    if not ready.is_dir():
        return
    for path in ready.iterdir():
        if path.name not in expected and not (folder / path.name).exists():
            os.rename(path, folder / path.name)
    done = _stray(folder, "done")
    os.rename(ready, done)
    clear(done)


def clear(*paths: Path) -> None:
    for path in paths:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)


_AT_FDCWD, _EXCHANGE = -100, 2
"""renameat2(2): relative to the working folder, and 'both change places'."""


def _exchanged(one: Path, other: Path) -> bool:
    """Whether two folders could change places in one step (Linux; not on every file system)."""
    if not sys.platform.startswith("linux"):
        return False
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    failed = rename(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _EXCHANGE)
    if failed and ctypes.get_errno() not in (errno.EINVAL, errno.ENOSYS, errno.EOPNOTSUPP):
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))
    return not failed
