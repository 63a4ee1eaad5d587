"""The same document gives the same bytes: no clock, no order of chance.

python-docx would pack a file with the hour it was written in. Here its parts are taken unpacked and
packed once, which is also half of the time that writing a file takes.
"""

from __future__ import annotations

import struct
import zlib
from functools import lru_cache
from typing import Any, cast

from docx.document import Document as WordDocument
from docx.opc.pkgwriter import PackageWriter

_FIRST = ("[Content_Types].xml", "_rels/.rels")
_PACKED = (".png", ".jpeg")
"""Pictures are as small already as they can be made."""
_SAME = ("word/theme/", "word/settings", "word/webSettings", "word/fontTable", "word/styles", "docProps/app")
"""Parts that every document of a clinic shares: packed once. No patient's document is among them."""
_DAY = 0x0021
"""1 January 1980, the first day a ZIP archive can name."""
_STORED, _DEFLATED = 0, 8
_ENTRY = "HHHHHLLLHH"
"""Version, flags, method, time, day, check sum, packed and whole size, lengths of name and extra field:
what stands before a part and again in the list at the end (PKWARE APPNOTE 4.3.7 and 4.3.12)."""


class _Parts(dict[str, bytes]):
    """Takes the parts that python-docx would have packed."""

    def write(self, name: str, content: bytes) -> None:
        self[name.removeprefix("/")] = content


def saved(document: WordDocument) -> bytes:
    """A Word document as bytes with fixed dates and order."""
    package, writer = document.part.package, cast(Any, PackageWriter)
    parts = _Parts()
    kept = package.parts
    for part in kept:
        part.before_marshal()
    writer._write_content_types_stream(parts, kept)
    writer._write_pkg_rels(parts, package.rels)
    writer._write_parts(parts, kept)
    return archive(parts)


def archive(parts: dict[str, bytes]) -> bytes:
    """Some files as a ZIP archive."""
    made, listed = bytearray(), bytearray()
    for name in sorted(parts, key=lambda name: (name not in _FIRST, name)):
        method, packed = _packed(name, parts[name])
        label, sum_ = name.encode(), zlib.crc32(parts[name])
        entry = (20, 0, method, 0, _DAY, sum_, len(packed), len(parts[name]), len(label), 0)
        listed += struct.pack(f"<LH{_ENTRY}HHHLL", 0x02014B50, 20, *entry, 0, 0, 0, 0, len(made)) + label
        made += struct.pack(f"<L{_ENTRY}", 0x04034B50, *entry) + label + packed
    ending = (0x06054B50, 0, 0, len(parts), len(parts), len(listed), len(made), 0)
    return bytes(made + listed + struct.pack("<LHHHHLLH", *ending))


def _packed(name: str, content: bytes) -> tuple[int, bytes]:
    if name.endswith(_PACKED):
        return _STORED, content
    return _DEFLATED, _same(content) if name.startswith(_SAME) else _deflated(content)


def _deflated(content: bytes) -> bytes:
    packing = zlib.compressobj(6, zlib.DEFLATED, -zlib.MAX_WBITS)
    return packing.compress(content) + packing.flush()


_same = lru_cache(maxsize=32)(_deflated)
