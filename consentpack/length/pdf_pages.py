"""How many pages a PDF has, without a library that reads PDFs."""

from __future__ import annotations

import re
import zlib

_PAGE = re.compile(rb"/Type\s*/Page(?![A-Za-z])")
_STREAM = re.compile(rb"<<(?=[^>]*?/ObjStm)(?:[^>]|>(?!>))*>>\s*stream\r?\n")


def pages_in(pdf: bytes) -> int:
    """The pages of a PDF; 0 for what is none, or is locked.

    Each page is an object of the type Page (ISO 32000-1, 7.7.3.3), as it stands or in a packed stream of
    objects (7.5.7).
    """
    found = len(_PAGE.findall(pdf))
    return found + sum(len(_PAGE.findall(_unpacked(pdf, each.end()))) for each in _STREAM.finditer(pdf))


def _unpacked(pdf: bytes, start: int) -> bytes:
    try:
        return zlib.decompressobj().decompress(pdf[start:])
    except zlib.error:
        return b""
