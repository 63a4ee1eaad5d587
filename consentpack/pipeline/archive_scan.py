"""Reading an archive whose directory is damaged or cut off: each file has a header of its own before it.

So a copy of which the end is missing still gives back every file that is whole in it. What is found here is
believed no more than the rest: the list's digests decide.
"""

from __future__ import annotations

import io
import os
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path

_SIGN = b"PK\x03\x04"
_HEADER = struct.Struct("<4s5H3L2H")
"""Local file header, APPNOTE.TXT 6.3.10 (PKWARE), 4.3.7: sign, version, flags, method, time, day, CRC-32,
packed size, size, length of the name, length of what follows it."""
_LARGE = 1
"""The kind of extra field that holds sizes over four bytes (4.5.3): size, then packed size."""
_IN_LARGE = 0xFFFFFFFF
_CHUNK = 1 << 20


class Scanned:
    """As much of `zipfile.ZipFile` as is asked for, without a directory."""

    def __init__(self, path: Path, prefixes: tuple[str, ...]):
        self._path = path
        self._starts: dict[str, tuple[zipfile.ZipInfo, int]] = {}
        with open(path, "rb") as stream:
            for info, start in _members(stream, prefixes):
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


def _members(stream: io.BufferedReader, prefixes: tuple[str, ...]) -> Iterator[tuple[zipfile.ZipInfo, int]]:
    """Each file's header, and where its content begins."""
    end, place = stream.seek(0, os.SEEK_END), 0
    while (place := _next_sign(stream, place)) < end:
        info, start = _member(stream, place)
        if info is not None and info.filename.startswith(prefixes):
            yield info, start
            past = start + info.compress_size
            place = past if past <= end and _is_sign(stream, past) else place + len(_SIGN)
        else:
            place += len(_SIGN)


def _is_sign(stream: io.BufferedReader, place: int) -> bool:
    stream.seek(place)
    return stream.read(2) == _SIGN[:2]


def _next_sign(stream: io.BufferedReader, place: int) -> int:
    """Where the next header may begin, from a place on; the end of the file when there is none."""
    stream.seek(place)
    before = b""
    while chunk := stream.read(_CHUNK):
        found = (before + chunk).find(_SIGN)
        if found >= 0:
            return place - len(before) + found
        place += len(chunk)
        before = (before + chunk)[-3:]
    return place


def _member(stream: io.BufferedReader, place: int) -> tuple[zipfile.ZipInfo | None, int]:
    stream.seek(place)
    head = stream.read(_HEADER.size)
    if len(head) < _HEADER.size:
        return None, place
    _, _, flags, method, _, _, crc, packed, size, name_length, more_length = _HEADER.unpack(head)
    name, more = stream.read(name_length), stream.read(more_length)
    try:
        info = zipfile.ZipInfo(name.decode())
    except ValueError:
        return None, place
    if _IN_LARGE in (packed, size):
        size, packed = _large(more, size, packed)
    info.flag_bits, info.compress_type, info.CRC = flags, method, crc
    info.file_size, info.compress_size, info.header_offset = size, packed, place
    return info, place + _HEADER.size + name_length + more_length


def _large(more: bytes, size: int, packed: int) -> tuple[int, int]:
    while len(more) >= 4:
        kind, length = struct.unpack("<2H", more[:4])
        if kind == _LARGE and length >= 16 and len(more) >= 20:
            large: tuple[int, int] = struct.unpack("<2Q", more[4:20])
            return large
        more = more[4 + length :]
    return size, packed
