"""What the tests of backup, restore and check share."""

from __future__ import annotations

import json
import os
import stat
import zipfile
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from consentpack import pipeline
from consentpack.locks import LOCK
from consentpack.pipeline.archive_list import _digest
from consentpack.pipeline.restoring import Restored
from consentpack.pipeline.saving import Saved

MADE = datetime(2026, 11, 25, 9, 30, 5)


def quiet(_message: str) -> None:
    return


def save(clinic: Path, to: Path | None = None, now: datetime = MADE, progress=quiet) -> Saved:
    return pipeline.backup(clinic, to, now=now, progress=progress)


def bring_back(archive: Path, to: Path, **more: Any) -> Restored:
    return pipeline.restore(archive, to, progress=quiet, **more)


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, but its lock."""
    there = (path for path in folder.rglob("*") if path.is_file() and path.name != LOCK)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in there}


def but_register(files: dict[str, bytes]) -> dict[str, bytes]:
    return {name: content for name, content in files.items() if not name.startswith("register.sqlite")}


def everything(folder: Path) -> dict[str, tuple[Any, ...]]:
    """Names, modes, times and contents of all that is in a folder: nothing of it may change."""
    found = {}
    for path in [folder, *sorted(folder.rglob("*"))]:
        seen = path.lstat()
        content = path.read_bytes() if stat.S_ISREG(seen.st_mode) else b""
        found[path.relative_to(folder).as_posix()] = (seen.st_mode, seen.st_mtime_ns, seen.st_nlink, content)
    return found


def forge(
    path: Path, members: list[tuple[str, bytes]], listed: dict[str, Any] | None = None, **change: Any
) -> Path:
    """An archive as somebody else could make it: any names, and a list and a seal that agree with them."""
    content = listed or {
        "format": 1,
        "program": "0",
        "made": "2026-11-25T09:00:00",
        "files": [entry(name, data) for name, data in members],
        "folders": {},
        "left_out": [],
        "register": None,
    }
    content |= change
    text = json.dumps({"sha256": _digest(content), "list": content})
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("consentpack-backup.json", text)
        for name, data in members:
            made.writestr(f"clinic/{name}", data)
        made.comment = b"consentpack-backup sha256=" + b"0" * 64
    reseal(path)
    return path


def entry(name: str, data: bytes, **change: Any) -> dict[str, Any]:
    said = {"name": name, "size": len(data), "sha256": sha256(data).hexdigest(), "mode": 0o600, "modified": 0}
    return said | change


def reseal(path: Path) -> None:
    data = path.read_bytes()[:-64]
    path.write_bytes(data + sha256(data).hexdigest().encode())


def strays(folder: Path) -> list[str]:
    """What is in a folder under the names of what is not whole yet."""
    return sorted(name for name in os.listdir(folder) if name.startswith(".") and name != LOCK)
