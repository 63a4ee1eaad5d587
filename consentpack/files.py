"""Writing files so that a half-written one cannot exist."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path

from consentpack.errors import OutputError, Problem


def write_file(path: Path, text: str) -> None:
    """Write a text file under a temporary name, then rename it. Raises OutputError."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_text(text, encoding="utf-8", newline="\n")
        os.replace(temporary, path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise OutputError(Problem(str(path), f"the file cannot be written ({error.strerror}).")) from None


def write_folder(
    folder: Path, files: Mapping[str, bytes], *, mark: str, outdated: Collection[str] = ()
) -> None:
    """Write a folder of files whole: all of them, or none.

    What else somebody keeps in the folder, such as a signed scan, stays; what is `outdated` goes. A
    folder that holds things but not the file `mark` was not made by us and is refused. Raises
    OutputError; what stood there before then stands there still.
    """
    _refuse_strangers(folder, mark)
    new = old = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        new = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".part", dir=folder.parent))
        new.chmod(0o755)
        for name, content in files.items():
            (new / name).write_bytes(content)
        _keep_others(folder, new, {*files, *outdated})
        if folder.exists():
            old = folder.with_name(f".{folder.name}.{os.getpid()}.old")
            os.replace(folder, old)
        os.replace(new, folder)
    except OSError as error:
        if old and old.exists() and not folder.exists():
            os.replace(old, folder)
        what = f"the pack cannot be written ({error.strerror})."
        fix = "Close its documents if they are open, and look at the room left on the disk."
        raise OutputError(Problem(str(folder), what, fix)) from None
    finally:
        # the old pack goes only once the new one stands in its place
        for left in (new, old if folder.exists() else None):
            if left and left.exists():
                shutil.rmtree(left, ignore_errors=True)


def _refuse_strangers(folder: Path, mark: str) -> None:
    """A folder of somebody's own files must never be taken for an old pack."""
    if folder.exists() and not folder.is_dir():
        raise OutputError(Problem(str(folder), "this is a file; a pack needs a folder."))
    if folder.is_dir() and any(folder.iterdir()) and not (folder / mark).is_file():
        what = f"there are files here and no {mark}, so this is no pack. Nothing was written."
        raise OutputError(Problem(str(folder), what, "Name an empty or new folder."))


def _keep_others(folder: Path, new: Path, left_out: Collection[str]) -> None:
    """Copy what somebody else put into an old pack into the new one."""
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.name in left_out:
            continue
        if path.is_dir():
            shutil.copytree(path, new / path.name)
        else:
            shutil.copy2(path, new / path.name)
