"""Reading an archive whose directory is damaged or cut off: each file has a header of its own before it.

So a copy of which the end is missing still gives back every file that is whole in it. What is found here is
believed no more than the rest: the list's digests decide.
"""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Iterator
from mmap import ACCESS_READ, mmap
from pathlib import Path

from consentpack.limits import MOST_SAVED_FILES

_SIGN = b"PK\x03\x04"
_HEADER = struct.Struct("<4s5H3L2H")
"""Local file header, APPNOTE.TXT 6.3.10 (PKWARE), 4.3.7: sign, version, flags, method, time, day, CRC-32,
packed size, size, length of the name, length of what follows it."""
_LARGE = 1
"""The kind of extra field that holds sizes over four bytes (4.5.3): size, then packed size."""
_IN_LARGE = 0xFFFFFFFF
_MOST_TRIES = 20 * MOST_SAVED_FILES
"""Places that look like a header. A Word file holds some twenty of its own."""


class Scanned:
    """As much of `zipfile.ZipFile` as is asked for, without a directory."""

    def __init__(self, path: Path, prefixes: tuple[str, ...]):
        self._path = path
        self._starts: dict[str, tuple[zipfile.ZipInfo, int]] = {}
        with open(path, "rb") as stream, mmap(stream.fileno(), 0, access=ACCESS_READ) as data:
            for info, start in _members(data, prefixes):
                self._starts.setdefault(info.filename, (info, start))

    def infolist(self) -> list[zipfile.ZipInfo]:
        return [info for info, _ in self._starts.values()]

    def open(self, info: zipfile.ZipInfo) -> zipfile.ZipExtFile:
        stream = open(self._path, "rb")  # noqa: SIM115 - closed with what reads from it
        stream.seek(self._starts[info.filename][1])
        return zipfile.ZipExtFile(stream, "r", info, close_fileobj=True)

    def read(self, info: zipfile.ZipInfo) -> bytes:
        with self.open(info) as stream:
            return stream.read()

    def close(self) -> None:
        """Nothing is open between two files."""


def _members(data: mmap, prefixes: tuple[str, ...]) -> Iterator[tuple[zipfile.ZipInfo, int]]:
    """Each file's header, and where its content begins."""
    place = 0
    for _ in range(_MOST_TRIES):
        place = data.find(_SIGN, place)
        if place < 0:
            return
        info, start = _member(data, place)
        place += len(_SIGN)
        if info is not None and info.filename.startswith(prefixes):
            yield info, start
            past = start + info.compress_size
            if data[past : past + 2] == _SIGN[:2]:  # or its size is damaged, and the next may begin before
                place = past


def _member(data: mmap, place: int) -> tuple[zipfile.ZipInfo | None, int]:
    head = data[place : place + _HEADER.size]
    if len(head) < _HEADER.size:
        return None, place
    _, _, flags, method, _, _, crc, packed, size, name_length, more_length = _HEADER.unpack(head)
    name_from = place + _HEADER.size
    start = name_from + name_length + more_length
    try:
        info = zipfile.ZipInfo(data[name_from : name_from + name_length].decode())
    except ValueError:
        return None, place
    if _IN_LARGE in (packed, size):
        size, packed = _large(data[start - more_length : start], size, packed)
    info.flag_bits, info.compress_type, info.CRC = flags, method, crc
    info.file_size, info.compress_size, info.header_offset = size, packed, place
    return info, start


def _large(more: bytes, size: int, packed: int) -> tuple[int, int]:
    while len(more) >= 4:
        kind, length = struct.unpack("<2H", more[:4])
        if kind == _LARGE and length >= 16 and len(more) >= 20:
            large: tuple[int, int] = struct.unpack("<2Q", more[4:20])
            return large
        more = more[4 + length :]
    return size, packed
