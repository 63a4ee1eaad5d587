"""The list inside a backup: every file with size and digest, what was left out, and what made it."""

from __future__ import annotations

import json
import os
import re
import unicodedata
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict, dataclass
from hashlib import sha256
from typing import Any

from consentpack.errors import BackupError, Problem
from consentpack.limits import MOST_SAVED_BYTES, MOST_SAVED_FILES

FORMAT = 1
_DRIVE = re.compile(r"[A-Za-z]:")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_LONGEST_PART = 255
"""Bytes of one name on a disk: NAME_MAX of POSIX's usual file systems."""


@dataclass(frozen=True)
class Kept:
    """One file of a clinic folder, as it is in a backup."""

    name: str
    """Its place in the clinic folder, with '/'."""
    size: int
    sha256: str
    mode: int
    """Its permission bits."""
    modified: int
    """When it was last changed, in nanoseconds since 1970."""


@dataclass(frozen=True)
class LeftOut:
    """What of a clinic folder is not in a backup."""

    name: str
    why: str


@dataclass(frozen=True)
class KeptRegister:
    """The register, as it is in a backup: one of its files."""

    file: str
    kind: str
    """The database it was copied from."""
    schema: int
    rows: Mapping[str, int]
    digest: str
    """The state of the register; '' where an older program made it."""
    edited: int
    """Treatments that another program had changed before."""


@dataclass(frozen=True)
class Listed:
    """All that the list of a backup says."""

    program: str
    """The version of consentpack."""
    made: str
    """Day and time, ISO 8601."""
    files: tuple[Kept, ...]
    folders: Mapping[str, int]
    """Folder -> its permission bits."""
    left_out: tuple[LeftOut, ...] = ()
    register: KeptRegister | None = None

    @property
    def size(self) -> int:
        """Bytes of all files."""
        return sum(kept.size for kept in self.files)


def as_text(listed: Listed) -> str:
    """The list as JSON, with its own digest."""
    content = {"format": FORMAT, **asdict(listed)}
    return json.dumps({"sha256": _digest(content), "list": content}, indent=1, ensure_ascii=True)


def _digest(content: Any) -> str:
    plain = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return sha256(plain.encode()).hexdigest()


def from_text(text: bytes, *, where: str) -> Listed:
    """The list that some bytes are. Raises BackupError when they are none, or it is not safe to follow."""
    try:
        data = json.loads(text)
        content = data["list"]
        agrees = data["sha256"] == _digest(content)
        number = content.pop("format")
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BackupError(Problem(where, "the list of this backup cannot be read.")) from None
    if not agrees:
        raise BackupError(Problem(where, "the list of this backup is damaged: its digest does not agree."))
    if number != FORMAT:
        what = f"a newer consentpack made this backup, format {number}; this one knows {FORMAT}."
        raise BackupError(Problem(where, what, "Use the newer consentpack."))
    try:
        listed = _made(content)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise BackupError(Problem(where, "the list of this backup is not as we write it.")) from None
    if problems := too_much(listed) or unsafe((kept.name for kept in listed.files), listed.folders):
        raise BackupError(problems)
    return listed


def _made(content: Mapping[str, Any]) -> Listed:
    names = {each["name"] for each in content["files"]}
    return Listed(
        program=str(content["program"]),
        made=str(content["made"]),
        files=tuple(_kept(**each) for each in content["files"]),
        folders={str(name): _whole(mode) for name, mode in content["folders"].items()},
        left_out=tuple(LeftOut(str(each["name"]), str(each["why"])) for each in content["left_out"]),
        register=_register(content["register"], names),
    )


def _register(content: Mapping[str, Any] | None, names: Collection[str]) -> KeptRegister | None:
    if content is None:
        return None
    found = KeptRegister(**content)
    if found.file not in names or type(found.schema) is not int or not isinstance(found.digest, str):
        raise ValueError
    return found


def _kept(*, name: str, size: int, sha256: str, mode: int, modified: int) -> Kept:
    if not isinstance(name, str) or not _DIGEST.fullmatch(sha256):
        raise ValueError
    return Kept(name, _whole(size), sha256, _whole(mode), _whole(modified))


def _whole(number: Any) -> int:
    if type(number) is not int or not 0 <= number < 1 << 63:
        raise ValueError
    return number


def too_much(listed: Listed) -> list[Problem]:
    """Whether there is more than we take in or give out."""
    problems = []
    if len(listed.files) > MOST_SAVED_FILES:
        what = f"there are {len(listed.files):,} files; a backup holds at most {MOST_SAVED_FILES:,}."
        problems.append(Problem("the clinic folder", what))
    if listed.size > MOST_SAVED_BYTES:
        what = f"there are {listed.size:,} bytes; a backup holds at most {MOST_SAVED_BYTES:,}."
        problems.append(Problem("the clinic folder", what))
    return problems


def unsafe(files: Iterable[str], folders: Iterable[str] = ()) -> list[Problem]:
    """Names that could lead out of a folder, or of which one would take another's place."""
    files, folders = list(files), list(folders)
    problems = [Problem(repr(name), f"{why}.") for name in [*files, *folders] if (why := _unsafe(name))]
    taken = set(files)
    for name in files:
        if any(above in taken for above in _above(name)):
            problems.append(Problem(repr(name), "it lies in what is a file and no folder."))
    if len(taken) < len(files):
        twice = sorted({name for name in files if files.count(name) > 1}) if len(files) < 10_000 else ["…"]
        problems += [Problem(repr(name), "this name is there twice.") for name in twice]
    return problems + [Problem(repr(n), "this is a file and a folder.") for n in folders if n in taken]


def _unsafe(name: str) -> str:
    """Why a name must not be followed, as the beginning of a sentence; '' when it may."""
    parts = name.split("/")
    if name.startswith("/") or _DRIVE.match(name):
        return "this is the name of a place outside the folder"
    if any(part in ("", ".", "..") for part in parts):
        return "this name leads out of the folder, or nowhere"
    if "\\" in name or any(ord(letter) < 32 or letter == "\x7f" for letter in name):
        return "a name with such a sign means something else on another computer"
    if any(0xD800 <= ord(letter) < 0xE000 for letter in name):
        return "the letters of this name cannot be read"
    return "this name is too long" if max(map(len, map(os.fsencode, parts))) > _LONGEST_PART else ""


def _above(name: str) -> Iterable[str]:
    parts = name.split("/")
    return ("/".join(parts[:number]) for number in range(1, len(parts)))


def alike(names: Iterable[str]) -> list[tuple[str, ...]]:
    """Names that are one file on some disks: they differ in capitals, or in how a mark is typed."""
    found = defaultdict(list)
    for name in names:
        found[unicodedata.normalize("NFC", name).casefold()].append(name)
    return [tuple(same) for same in found.values() if len(same) > 1]
