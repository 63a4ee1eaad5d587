"""Spreadsheets that wait to be looked at before they are imported, in a private folder of the clinic's.

A sheet that was dropped into a page lies there under a name of our own making, with what has been said of it,
until it is imported or a day is over: a page that is loaded again, or a second window, loses nothing. Its
folder is nobody else's, in no pack and in no backup.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO, Any

from consentpack.errors import OutputError, Problem, RegisterError
from consentpack.files import FIXES, PRIVATE_FILE, PRIVATE_FOLDER, write_file
from consentpack.locks import locked
from consentpack.normal import plain
from consentpack.pipeline.walking import WAITING

KEPT_FOR = timedelta(days=1)
_STATE = "state.json"
_ID = re.compile(r"[0-9a-f]{16}")
_CHUNK = 1 << 20
_LONGEST_NAME = 40
"""Letters: of four bytes each they still are a file's name, with the endings that are put behind it."""
ENDINGS = {".xlsx": ".xlsx", ".csv": ".csv", ".txt": ".csv", ".tsv": ".csv"}
"""Ending of a file that is taken -> how it is read."""


@dataclass(frozen=True)
class Choices:
    """What somebody has said of a sheet that waits. What is left out is as it is found."""

    sheet: str = ""
    header_rows: tuple[int, ...] = ()
    columns: Mapping[str, str] = field(default_factory=dict)
    """Header -> what it holds, where that was chosen."""
    words: Mapping[str, str] = field(default_factory=dict)
    """Word of a cell -> what it means."""
    dates: str = ""

    @property
    def mark(self) -> str:
        """A short digest: two windows must not write over each other's choices."""
        return hashlib.sha256(json.dumps(asdict(self), sort_keys=True).encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Dropped:
    """One spreadsheet that waits, or was kept since yesterday."""

    id: str
    folder: Path
    name: str
    digest: str
    at: datetime
    choices: Choices = field(default_factory=Choices)
    kept: Mapping[str, Any] | None = None
    """What its import did, as commands print it with --json; None while it waits."""

    @property
    def path(self) -> Path:
        return self.folder / self.name

    @property
    def aside(self) -> Path | None:
        """The rows its import set aside."""
        path = self.path.with_name(f"{self.path.stem}.set-aside.csv")
        return path if self.kept is not None and path.is_file() else None


def drop_sheet(folder: Path, sent_name: str, stream: IO[bytes], *, now: datetime) -> Dropped:
    """Put a spreadsheet among those that wait; the one that waits already where it is the same, byte by byte.

    Raises RegisterError for a file of another kind, OutputError when it cannot be written.
    """
    name = _own_name(sent_name)
    clear_dropped(folder, now=now)
    id = secrets.token_hex(8)
    place = folder / WAITING / id
    try:
        (folder / WAITING).mkdir(mode=PRIVATE_FOLDER, exist_ok=True)
        place.mkdir(mode=PRIVATE_FOLDER)
        digest = _write(place / name, stream)
    except OSError as error:
        shutil.rmtree(place, ignore_errors=True)
        what = f"the file cannot be kept there ({error.strerror})."
        raise OutputError(Problem(WAITING, what, FIXES.get(error.errno or 0, ""))) from None
    same = [each for each in dropped_sheets(folder, now=now) if each.digest == digest and each.kept is None]
    if same:
        shutil.rmtree(place, ignore_errors=True)
        return same[0]
    made = Dropped(id, place, name, digest, now)
    _save(made)
    return made


def _own_name(sent: str) -> str:
    """A name without signs that mean something to a system; of a path that was sent only its end."""
    stem, ending = os.path.splitext(plain(re.split(r"[\\/]", sent)[-1]))
    if ending.lower() not in ENDINGS:
        what = "this is no spreadsheet that can be read."
        fix = "Save it in your spreadsheet program as .xlsx, or as CSV UTF-8."
        raise RegisterError(Problem(plain(sent)[:_LONGEST_NAME] or "the file", what, fix))
    words = re.sub(r"[^\w-]+", "-", stem).strip("-_")[:_LONGEST_NAME]
    return f"{words or 'audit'}{ENDINGS[ending.lower()]}"


def _write(path: Path, stream: IO[bytes]) -> str:
    digest = hashlib.sha256()
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
    with os.fdopen(handle, "wb") as file:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
            file.write(chunk)
    return digest.hexdigest()


def _save(made: Dropped) -> None:
    values = {
        "name": made.name,
        "digest": made.digest,
        "at": made.at.isoformat(),
        "choices": asdict(made.choices),
        "kept": made.kept,
    }
    write_file(made.folder / _STATE, json.dumps(values, ensure_ascii=False))


def dropped_sheets(folder: Path, *, now: datetime) -> list[Dropped]:
    """All that wait, or were kept since yesterday, the newest first. What is older goes."""
    clear_dropped(folder, now=now)
    top = folder / WAITING
    found = [made for path in (top.iterdir() if top.is_dir() else ()) if (made := _load(path))]
    return sorted(found, key=lambda made: made.at, reverse=True)


def dropped_sheet(folder: Path, id: str) -> Dropped | None:
    """One that waits, or was kept since yesterday."""
    return _load(folder / WAITING / id) if _ID.fullmatch(id) else None


def _load(path: Path) -> Dropped | None:
    try:
        values = json.loads((path / _STATE).read_text(encoding="utf-8"))
        said = values["choices"]
        said["header_rows"] = tuple(said["header_rows"])
        at = datetime.fromisoformat(values["at"])
        return Dropped(path.name, path, values["name"], values["digest"], at, Choices(**said), values["kept"])
    except (OSError, ValueError, KeyError, TypeError):
        return None  # being written, or taken away just now


def clear_dropped(folder: Path, *, now: datetime) -> None:
    """Take away what is older than a day: a spreadsheet may hold more of patients than a register may."""
    top = folder / WAITING
    for path in top.iterdir() if top.is_dir() else ():
        try:
            made = _load(path)
            at = made.at if made else datetime.fromtimestamp(path.stat().st_mtime)
        except OSError:
            continue
        if now - at > KEPT_FOR:
            shutil.rmtree(path, ignore_errors=True)


def take_away(made: Dropped) -> None:
    """Take away a sheet that waits, and all that was said of it."""
    shutil.rmtree(made.folder, ignore_errors=True)


@contextmanager
def held(made: Dropped) -> Iterator[Dropped]:
    """A sheet as it stands now, and nobody else's until this is over. Raises RegisterError when gone."""
    if not made.folder.is_dir():
        raise gone()
    with locked(made.folder):
        found = _load(made.folder)
        if found is None:
            raise gone()
        yield found


def gone() -> RegisterError:
    what = "it does not wait here any more: it was taken away, or a day is over."
    return RegisterError(Problem("the spreadsheet", what, "Drop it once more."))


def say_of(made: Dropped, choices: Choices) -> Dropped:
    """Keep what was said of a sheet. Only by who holds it."""
    said = replace(made, choices=choices)
    _save(said)
    return said


def mark_kept(made: Dropped, result: Mapping[str, Any]) -> None:
    """The sheet is imported: it goes, and what the import did stays for a day."""
    _save(replace(made, kept=result))
    made.path.unlink(missing_ok=True)
