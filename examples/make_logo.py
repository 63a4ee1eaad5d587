"""Draws the sign of Hazel Street, a clinic that does not exist: two leaves on one stem.

    python examples/make_logo.py [OUT.png]

INVENTED, like the clinic. Drawn from formulas, with nothing but Python: the same script gives the same
bytes, since nothing in the picture is compressed in a way that another machine would do otherwise.
"""

from __future__ import annotations

import math
import struct
import sys
import zlib
from pathlib import Path

OUT = Path(__file__).parent / "hazel-street" / "logo.png"
SIZE = 180
"""Pixels on each side: 300 to the inch at 15 mm."""
GREEN, WHITE = (0x1F, 0x5A, 0x3C), (255, 255, 255)
SHADES = 4
"""From white to green: the soft edge of a shape. Two bits for each pixel."""
FINE = 4
"""Each pixel is looked at in so many places each way."""
STEM = 0.035
LEAVES = ((0.30, 0.42, 0.34, math.radians(62)), (0.68, 0.36, 0.30, math.radians(118)))
"""Middle, half length and direction of each leaf; the picture is 1 by 1, its y downwards."""
VEIN = 0.012


def in_leaf(x: float, y: float, leaf: tuple[float, float, float, float]) -> bool:
    """Inside a pointed oval, and not on its middle vein."""
    across, down, half, turned = leaf
    along = (x - across) * math.cos(turned) + (y - down) * math.sin(turned)
    beside = (y - down) * math.cos(turned) - (x - across) * math.sin(turned)
    if abs(along) >= half:
        return False
    width = 0.52 * half * math.cos(math.pi / 2 * along / half)
    return VEIN < abs(beside) < width


def in_stem(x: float, y: float) -> bool:
    """On the stem: a curve from between the leaves to the foot."""
    return 0.56 < y < 0.96 and abs(x - 0.5 - 0.05 * math.sin(3 * (y - 0.6))) < STEM / 2


def shade(column: int, row: int) -> int:
    """How much of a pixel is drawn: 0 to SHADES - 1."""
    places = [(n + 0.5) / FINE for n in range(FINE)]
    points = [((column + a) / SIZE, (row + b) / SIZE) for a in places for b in places]
    hits = sum(in_stem(x, y) or any(in_leaf(x, y, leaf) for leaf in LEAVES) for x, y in points)
    return round(hits / len(points) * (SHADES - 1))


def line(row: int) -> bytes:
    """One line of the picture: no filter, four pixels in a byte."""
    pixels = [shade(column, row) for column in range(SIZE)]
    fours = (pixels[n : n + 4] for n in range(0, SIZE, 4))
    return b"\0" + bytes(a << 6 | b << 4 | c << 2 | d for a, b, c, d in fours)


def chunk(kind: bytes, content: bytes) -> bytes:
    """A piece of a PNG: length, kind, content, check sum."""
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))


def stored(content: bytes) -> bytes:
    """Content as a zlib stream that is not compressed (RFC 1950, RFC 1951 3.2.4)."""
    head = struct.pack("<BHH", 1, len(content), len(content) ^ 0xFFFF)
    return b"\x78\x01" + head + content + struct.pack(">I", zlib.adler32(content))


def make() -> bytes:
    """The sign as a PNG with four colours."""
    head = struct.pack(">IIBBBBB", SIZE, SIZE, 2, 3, 0, 0, 0)
    steps = [n / (SHADES - 1) for n in range(SHADES)]
    colours = [[round(w + (g - w) * step) for g, w in zip(GREEN, WHITE, strict=True)] for step in steps]
    palette = bytes(part for colour in colours for part in colour)
    picture = b"".join(line(row) for row in range(SIZE))
    parts = ((b"IHDR", head), (b"PLTE", palette), (b"IDAT", stored(picture)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(kind, content) for kind, content in parts)


def main() -> None:
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else OUT
    out.parent.mkdir(parents=True, exist_ok=True)
    out.write_bytes(make())
    print(f"{out}: an invented clinic's sign")


if __name__ == "__main__":
    main()
