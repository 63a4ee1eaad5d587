"""What every page of the desk shares: the clinic folder, the frame, and who is at the desk."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import Any

from flask import current_app, render_template

from consentpack import pipeline
from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import ClinicError, Problem

HERE = "consentpack.here"

Seen = tuple[tuple[str, int, int], ...]
"""Files with when they were written and their size."""


@dataclass
class Here:
    """The clinic folder of this desk. It is read again when a file that it is made from has changed."""

    folder: Path
    say: Callable[[str], None]
    _kept: tuple[Seen, pipeline.Workplace] | None = None
    _lock: Lock = field(default_factory=Lock)

    def place(self) -> pipeline.Workplace:
        """The clinic folder, read and checked; modules with mistakes are left aside, as in commands."""
        with self._lock:
            seen = _seen(self.folder)
            if self._kept is None or self._kept[0] != seen:
                self._kept = (seen, pipeline.open_workplace(self.folder, whole=False))
            return self._kept[1]


def _seen(folder: Path) -> Seen:
    """What the settings and the clinic's own content look like from outside."""
    if not (folder / SETTINGS_FILE).is_file():  # else a clinic folder above it would be opened instead
        what, fix = "it is not there any more.", "Put it back, from a backup if need be; nothing was changed."
        raise ClinicError(Problem(SETTINGS_FILE, what, fix))
    found = [folder / SETTINGS_FILE]
    for top, folders, names in os.walk(folder / "content"):
        folders.sort()
        found += [Path(top) / name for name in sorted(names)]
    return tuple(map(_looked_at, found))


def _looked_at(path: Path) -> tuple[str, int, int]:
    """One file; what an editor has taken away meanwhile is a change like any other."""
    try:
        stat = path.stat()
    except FileNotFoundError:
        return str(path), 0, 0
    return str(path), stat.st_mtime_ns, stat.st_size


def here() -> Here:
    found: Here = current_app.extensions[HERE]
    return found


def place() -> pipeline.Workplace:
    """The clinic folder of this request. Raises what opening it raises, which has a page."""
    return here().place()


PAGES = (
    ("/", "Today"),
    ("/patients", "Patients"),
    ("/audit", "Audit"),
    ("/texts", "Texts"),
    ("/score", "Score a form"),
)
"""Address -> its name in the line at the top of every page."""


def view(template: str, *, title: str, **values: Any) -> str:
    """One page. `title` is its heading and the name of its window."""
    return render_template(template, title=title, pages=PAGES, **values)
