"""The same document gives the same bytes: no clock, no order of chance.

python-docx would pack a file with the hour it was written in. Here its parts are taken unpacked and
packed once; what all documents of a clinic share is packed once for all of them.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from docx.document import Document as WordDocument
from docx.opc.pkgwriter import PackageWriter

_FIRST = ("[Content_Types].xml", "_rels/.rels")
_PACKED = (".png", ".jpeg")
"""Pictures are as small already as they can be made."""
_DAY = 0x0021
"""1 January 1980, the first day a ZIP archive can name."""
_STORED, _DEFLATED = 0, 8
_ENTRY = "HHHHHLLLHH"
"""Version, flags, method, time, day, check sum, packed and whole size, lengths of name and extra field:
what stands before a part and again in the list at the end (PKWARE APPNOTE 4.3.7 and 4.3.12)."""


@dataclass(frozen=True)
class Packed:
    """A part as it stands in the archive."""

    content: bytes
    method: int
    check_sum: int
    size: int
    """Before it was packed."""


def packed(name: str, content: bytes) -> Packed:
    check_sum, size = zlib.crc32(content), len(content)
    if name.endswith(_PACKED):
        return Packed(content, _STORED, check_sum, size)
    packing = zlib.compressobj(6, zlib.DEFLATED, -zlib.MAX_WBITS)
    return Packed(packing.compress(content) + packing.flush(), _DEFLATED, check_sum, size)


def archive(parts: Mapping[str, Packed]) -> bytes:
    """Packed parts as a ZIP archive."""
    made, listed = bytearray(), bytearray()
    for name in sorted(parts, key=lambda name: (name not in _FIRST, name)):
        part, label = parts[name], name.encode()
        sizes = len(part.content), part.size
        entry = (20, 0, part.method, 0, _DAY, part.check_sum, *sizes, len(label), 0)
        listed += struct.pack(f"<LH{_ENTRY}HHHLL", 0x02014B50, 20, *entry, 0, 0, 0, 0, len(made)) + label
        made += struct.pack(f"<L{_ENTRY}", 0x04034B50, *entry) + label + part.content
    ending = (0x06054B50, 0, 0, len(parts), len(parts), len(listed), len(made), 0)
    return bytes(made + listed + struct.pack("<LHHHHLLH", *ending))


class _Parts(dict[str, bytes]):
    """Takes the parts that python-docx would have packed."""

    def write(self, name: str, content: bytes) -> None:
        self[name.removeprefix("/")] = content


def parts_of(document: WordDocument) -> dict[str, bytes]:
    """Name -> content of every part of a package, unpacked, as python-docx writes it."""
    package, writer = document.part.package, cast(Any, PackageWriter)
    parts = _Parts()
    kept = package.parts
    for part in kept:
        part.before_marshal()
    writer._write_content_types_stream(parts, kept)
    writer._write_pkg_rels(parts, package.rels)
    writer._write_parts(parts, kept)
    return parts
