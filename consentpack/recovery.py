"""Putting right what killed runs left in a clinic folder, before anything else is written there."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sys
from collections.abc import Collection, Iterator
from pathlib import Path

from consentpack.files import clear

_STRAY = re.compile(r"^\.(?P<name>.+)\.(?P<pid>\d+)\.(?P<state>part|ready|old|done)$")
"""part: not whole yet; ready: whole, old or new; old: set aside while the new one moves in; done: to go."""


def left_behind(parent: Path) -> bool:
    """Whether a killed run has left anything here."""
    return bool(strays(parent))


def strays(parent: Path) -> list[Path]:
    """What killed runs have left in a folder; not what a run is writing just now."""
    return [path for path, _ in _strays(parent)]


def is_temporary(name: str) -> bool:
    """Whether a file or folder has a name under which a run writes what is not whole yet."""
    return bool(_STRAY.match(name))


def recover(parent: Path, *, mark: str) -> list[str]:
    """Put right what killed runs left in a folder; what was found, for the user. Takes no lock itself.

    A folder whose old state was set aside comes back; of a folder that was whole, files that people put
    there and that are nowhere else move into the folder of that name; the rest goes.
    """
    said = []
    for stray, found in _strays(parent):
        target = parent / found["name"]
        whole = stray.is_dir() and found["state"] in ("old", "ready")
        if whole and not target.exists() and (stray / mark).is_file():
            os.rename(stray, target)
            said.append(f"{target.name}: brought back as it was before a run that was stopped.")
            continue
        if whole:
            said += _rescued(stray, target, mark)
        clear(stray)
    return said


def _strays(parent: Path) -> Iterator[tuple[Path, re.Match[str]]]:
    """What killed runs left: the old state of a folder first, so that it comes back before newer ones."""
    if not parent.is_dir():
        return
    found = [(path, match) for path in parent.iterdir() if (match := _STRAY.match(path.name))]
    order = ("old", "ready", "part", "done")
    for path, match in sorted(found, key=lambda each: (order.index(each[1]["state"]), each[0].name)):
        if not runs(int(match["pid"])):
            yield path, match


def runs(pid: int) -> bool:
    """Whether a process is still there: what it is writing is no stray."""
    if pid == os.getpid():
        return False
    if sys.platform == "win32":
        return False
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _rescued(stray: Path, target: Path, mark: str) -> list[str]:
    """Copy what people had put into a folder that is not in its place any more."""
    said = []
    made = _made_here(stray / mark)
    for path in sorted(stray.rglob("*")):
        inside = path.relative_to(stray)
        if not path.is_file() or str(inside) == mark or _same(path, target / inside):
            continue
        if str(inside) in made and _digest(path) == made[str(inside)]:
            continue
        to = target / inside
        to = free_name(to) if to.exists() else to
        to.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, to)
        said.append(f"{target.name}/{to.relative_to(target)}: found in what a stopped run left, and kept.")
    return said


def _made_here(manifest: Path) -> dict[str, str]:
    """File name -> digest of what we wrote, as a folder's own list says; nothing where it cannot be read."""
    try:
        listed = json.loads(manifest.read_bytes())["documents"]
        return {name: str(entry["sha256"]) for name, entry in listed.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _same(one: Path, other: Path) -> bool:
    return other.is_file() and one.read_bytes() == other.read_bytes()


def free_name(path: Path, taken: Collection[str] = ()) -> Path:
    """A name beside a file that nothing has yet: 'consent-kept-1.docx' for 'consent.docx'."""
    number = 1
    while (new := path.with_name(f"{path.stem}-kept-{number}{path.suffix}")).exists() or new.name in taken:
        number += 1
    return new
