"""The file of a backup: a zip file that every computer opens, a list of what is in it, and a seal.

Each file of the clinic folder lies under `clinic/`. The list has each file's size and SHA-256, and a digest
of its own. It stands first and last, so that the other serves when one is damaged or cut off. The seal is
the zip file's comment, the SHA-256 of all bytes before it: it finds a changed bit where no file is, too.
"""

from __future__ import annotations

import os
import stat
import struct
import time
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import IO

from consentpack.errors import BackupError, Problem, unread
from consentpack.limits import MOST_LISTED
from consentpack.pipeline.archive_list import Kept, Listed, as_text, from_text
from consentpack.pipeline.archive_scan import Scanned

LIST, AGAIN = "consentpack-backup.json", "consentpack-backup-again.json"
INSIDE = "clinic/"
_SEAL = b"consentpack-backup sha256="
_DIGEST_LETTERS = 64
_CHUNK = 1 << 20
_PACKED = frozenset({".docx", ".xlsx", ".pdf", ".png", ".jpg", ".jpeg", ".zip", ".gz"})
"""Files that are compressed already: once more takes time and saves nothing."""
_FAULTS = (
    zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error, EOFError, OSError,
    NotImplementedError, RuntimeError, ValueError, OverflowError,
)  # fmt: skip
"""What reading a damaged archive raises."""


class Damaged(Exception):
    """A file of an archive is not what the list says; how, as a sentence."""


# --- writing --------------------------------------------------------------------------------------


def kept_of(name: str, path: Path, *, mode: int) -> Kept:
    """One file as the list has it. Raises OSError."""
    digest = sha256()
    with open(path, "rb") as stream:
        there = os.fstat(stream.fileno())
        size = 0
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
            size += len(chunk)
    return Kept(name, size, digest.hexdigest(), stat.S_IMODE(mode), max(0, there.st_mtime_ns))


def write_archive(stream: IO[bytes], listed: Listed, sources: Mapping[str, Path]) -> None:
    """Write an archive, a piece at a time; `sources` maps name -> where its content is.

    Raises OSError; BackupError when a file is not as listed any more.
    """
    writer = _Writer(stream, listed)
    try:
        writer.list_as(LIST)
        for kept in listed.files:
            writer.add(kept, sources[kept.name])
        writer.list_as(AGAIN)
    except BaseException:
        with suppress(Exception):
            writer.close()  # or it would be tried once more when nobody looks
        raise
    writer.close()
    _seal(stream)


class _Writer:
    """A zip file that is being written."""

    def __init__(self, stream: IO[bytes], listed: Listed):
        self._zip = zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED)
        self._list = as_text(listed).encode()

    def list_as(self, name: str) -> None:
        self._zip.writestr(_info(name, time.time(), len(self._list)), self._list)

    def add(self, kept: Kept, source: Path) -> None:
        digest, left = sha256(), kept.size
        info = _info(INSIDE + kept.name, kept.modified / 1e9, kept.size)
        with open(source, "rb") as stream, self._zip.open(info, "w") as target:
            while left >= 0 and (chunk := stream.read(_CHUNK)):
                digest.update(chunk)
                left -= len(chunk)
                target.write(chunk if left >= 0 else b"")
        if left or digest.hexdigest() != kept.sha256:
            what = "this file was changed while it was copied. Nothing was saved."
            raise BackupError(Problem(kept.name, what, "Close it, then do this again."))

    def close(self) -> None:
        self._zip.comment = _SEAL + b"0" * _DIGEST_LETTERS
        self._zip.close()


def _info(name: str, moment: float, size: int) -> zipfile.ZipInfo:
    """An entry with a time that a zip file can hold."""
    day = datetime.fromtimestamp(moment)
    day = day if 1980 <= day.year <= 2107 else datetime(1980, 1, 1)
    info = zipfile.ZipInfo(name, day.timetuple()[:6])
    info.file_size = size
    packed = Path(name).suffix.lower() in _PACKED
    info.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
    info.external_attr = (stat.S_IFREG | 0o600) << 16
    return info


def _seal(stream: IO[bytes]) -> None:
    """Put the digest of all bytes before it at the end of a finished archive, open for both."""
    stream.flush()
    digest, _ = _sums(stream)
    stream.seek(-_DIGEST_LETTERS, os.SEEK_END)
    stream.write(digest.encode())
    stream.flush()


# --- reading --------------------------------------------------------------------------------------


def is_archive(path: Path) -> bool:
    """Whether a file is a backup of ours, by its last bytes."""
    try:
        with open(path, "rb") as stream:
            return _end(stream).startswith(_SEAL)
    except OSError:
        return False


def _end(stream: IO[bytes]) -> bytes:
    length = len(_SEAL) + _DIGEST_LETTERS
    stream.seek(max(0, stream.seek(0, os.SEEK_END) - length))
    return stream.read(length)


def _sums(stream: IO[bytes]) -> tuple[str, str]:
    """The digest of all bytes before the seal's own letters, and those letters."""
    left, digest = max(0, stream.seek(0, os.SEEK_END) - _DIGEST_LETTERS), sha256()
    stream.seek(0)
    while left and (chunk := stream.read(min(_CHUNK, left))):
        digest.update(chunk)
        left -= len(chunk)
    return digest.hexdigest(), stream.read(_DIGEST_LETTERS).decode("latin-1")


class Archive:
    """An archive that is open for reading."""

    def __init__(self, path: Path, opened: zipfile.ZipFile | Scanned, whole: bool):
        self._zip, self.path, self.whole = opened, path, whole
        """`whole`: the seal agrees with every byte."""
        self._members = {info.filename: info for info in opened.infolist()}
        self._times = Counter(info.filename for info in opened.infolist())
        self.listed = self._list()

    def _list(self) -> Listed:
        problems: list[Problem] = []
        for name in (LIST, AGAIN):
            try:
                member = self._member(name, None)
                if member.file_size > MOST_LISTED:
                    raise Damaged(f"it has more than {MOST_LISTED // 10**6} million bytes")
                return from_text(self._zip.read(member), where=f"{self.path.name}, {name}")
            except Damaged as error:
                problems.append(Problem(f"{self.path.name}, {name}", f"{error}."))
            except BackupError as error:
                problems += error.problems
            except _FAULTS as error:
                problems.append(Problem(f"{self.path.name}, {name}", f"it cannot be read ({_kind(error)})."))
        raise BackupError(problems)

    def strangers(self) -> list[Problem]:
        """What is in the archive and not in its list, or there twice. None of it is ever unpacked."""
        known = {LIST, AGAIN, *(INSIDE + kept.name for kept in self.listed.files)}
        what = "it is in the archive and not in its list."
        found = [Problem(_shown(name), what) for name in self._members if name not in known]
        twice = [
            Problem(_shown(name), "it is there twice.") for name, times in self._times.items() if times > 1
        ]
        return found + twice

    def _member(self, name: str, size: int | None) -> zipfile.ZipInfo:
        info = self._members.get(name)
        if info is None:
            raise Damaged("it is not in the archive any more")
        if self._times[name] > 1:
            raise Damaged("it is in the archive twice")
        if stat.S_ISLNK(info.external_attr >> 16):
            raise Damaged("it is a link, and no file")
        if info.flag_bits & 1 or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise Damaged("it is packed in a way of which we know nothing")
        if size is not None and info.file_size != size:
            raise Damaged("it has not the size that the list says")
        return info

    def chunks(self, kept: Kept) -> Iterator[bytes]:
        """The content of one file, a piece at a time. Raises Damaged, at the latest at its end."""
        info, digest, left = self._member(INSIDE + kept.name, kept.size), sha256(), kept.size
        try:
            with self._zip.open(info) as stream:
                while chunk := stream.read(_CHUNK):
                    digest.update(chunk)
                    left -= len(chunk)
                    if left < 0:
                        break
                    yield chunk
        except _FAULTS as error:
            raise Damaged(f"it is damaged ({_kind(error)})") from None
        if left or digest.hexdigest() != kept.sha256:
            raise Damaged("it is damaged: its digest is not that of the list")

    def damaged(self) -> list[Problem]:
        """Each file that is not what the list says."""
        problems = []
        for kept in self.listed.files:
            try:
                for _ in self.chunks(kept):
                    pass
            except Damaged as error:
                problems.append(Problem(_shown(kept.name), f"{error}."))
        return problems


def _kind(error: BaseException) -> str:
    return getattr(error, "strerror", None) or type(error).__name__


def _shown(name: str) -> str:
    """A name as one line of letters, whatever a stranger has put into it."""
    return name.encode("unicode_escape").decode() if not name.isprintable() else name


@contextmanager
def open_archive(path: Path) -> Iterator[Archive]:
    """A backup to read from. Raises BackupError when it is none, or too damaged to know what is in it."""
    try:
        with open(path, "rb") as stream:
            found, said = _sums(stream)
            ours = _end(stream).startswith(_SEAL)
    except OSError as error:
        raise BackupError(unread(str(path), error)) from None
    problems: list[Problem] = []
    for read in (zipfile.ZipFile, partial(Scanned, prefixes=(INSIDE, LIST, AGAIN))):
        try:
            opened = read(path)
        except _FAULTS as error:
            problems = problems or [_no_archive(path, ours, error)]
            continue
        with closing(opened):
            try:
                archive = Archive(path, opened, whole=found == said and ours and not problems)
            except BackupError as error:
                problems = problems or list(error.problems)
                continue
            yield archive
            return
    raise BackupError(problems)


def _no_archive(path: Path, ours: bool, error: BaseException) -> Problem:
    if ours:
        what = f"this backup is damaged so that nothing in it can be found ({_kind(error)})."
        return Problem(str(path), what, "Take another copy of it, or an older backup.")
    what = f"this is no backup of ours, or its end is missing ({_kind(error)})."
    return Problem(str(path), what, "Name a file that `consentpack backup` made, and copy it again whole.")
