"""PNG and JPEG by their first bytes: kind and size. No picture is decoded here."""

from __future__ import annotations

import struct
from dataclasses import dataclass

MOST_PIXELS = 3000
LEAST_PIXELS = 60
"""On each side. Fewer would be blurred at the size it is printed."""
WIDEST = 8
"""Times as wide as high, or as high as wide: a longer strip would not fit beside an address."""

_PNG = b"\x89PNG\r\n\x1a\n"
_JPEG = b"\xff\xd8\xff"
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""JPEG markers that begin a frame and so hold its size (ITU-T T.81, table B.1)."""


@dataclass
class PictureError(Exception):
    """A file that cannot be the logo; `what` finishes a sentence that begins with its name."""

    what: str
    fix: str = ""


def size_of(data: bytes) -> tuple[int, int]:
    """Width and height in pixels. Raises PictureError for what is no PNG or JPEG, or of no fit size."""
    if data.startswith(_PNG):
        size = _png(data)
    elif data.startswith(_JPEG):
        size = _jpeg(data)
    else:
        raise PictureError("is neither a PNG nor a JPEG picture.", "Save the logo as PNG, not as SVG or GIF.")
    if size is None:
        raise PictureError("is a broken picture.", "Open it in a picture program and save it again.")
    width, height = size
    if not (min(size) >= LEAST_PIXELS and max(size) <= MOST_PIXELS):
        what = f"is {width} by {height} pixels; each side should have from {LEAST_PIXELS} to {MOST_PIXELS}."
        raise PictureError(what)
    if max(size) > WIDEST * min(size):
        raise PictureError(f"is {width} by {height} pixels: too long a strip.", "Take the mark alone.")
    return size


def _png(data: bytes) -> tuple[int, int] | None:
    """From the IHDR chunk; the file must have its end, or half of a logo would be printed."""
    if len(data) < 33 or data[12:16] != b"IHDR" or b"IEND" not in data[-12:]:
        return None
    width, height = struct.unpack(">II", data[16:24])
    return width, height


def _jpeg(data: bytes) -> tuple[int, int] | None:
    """From the first frame header, hopping over the segments before it."""
    place = 2
    while place + 9 < len(data) and data[place] == 0xFF:
        marker = data[place + 1]
        if marker in _FRAMES:
            height, width = struct.unpack(">HH", data[place + 5 : place + 9])
            return width, height
        if marker == 0xFF:  # a filling byte
            place += 1
        else:
            place += 2 + int.from_bytes(data[place + 2 : place + 4], "big")
    return None
