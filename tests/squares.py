"""Reads the squares of codes off our papers, by a program that knows nothing of the one that made them."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass

import zxingcpp
from PIL import Image

POINTS = 72
PATH = re.compile(r'<svg [^>]*class="code".*?</svg>', re.S)


@dataclass(frozen=True)
class Square:
    """One square on a page: what it says, and the corners of its dark part as shares of the page."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


def squares_in(image: Image.Image) -> list[Square]:
    """Every QR code of a picture. Barcodes of other kinds would be a fault."""
    found = zxingcpp.read_barcodes(image)
    assert {each.format for each in found} <= {zxingcpp.BarcodeFormat.QRCode}
    made = []
    for each in found:
        place = each.position
        across = [corner.x for corner in (place.top_left, place.top_right, place.bottom_left)]
        down = [corner.y for corner in (place.top_left, place.top_right, place.bottom_left)]
        width, height = image.size
        made.append(
            Square(
                each.text, min(across) / width, min(down) / height, max(across) / width, max(down) / height
            )
        )
    return made


def texts_in(image: Image.Image) -> list[str]:
    return [square.text for square in squares_in(image)]


def in_word(content: bytes) -> list[str]:
    """What the pictures of a Word file say to a camera."""
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        pictures = [file.read(name) for name in file.namelist() if name.startswith("word/media/")]
    return [text for data in pictures for text in texts_in(Image.open(io.BytesIO(data)).convert("L"))]


def in_page(page: str, *, scale: int = 8) -> list[str]:
    """What the squares of an HTML page say: its dark modules drawn anew, one by one."""
    return [text for svg in PATH.findall(page) for text in texts_in(_drawn(svg, scale))]


def _drawn(svg: str, scale: int) -> Image.Image:
    side = int(re.search(r'viewBox="0 0 (\d+) \1"', svg)[1])  # type: ignore[index]
    image = Image.new("L", (side * scale, side * scale), 255)
    dark = re.findall(r"M(\d+) (\d+)h1v1h-1z", svg)
    assert dark
    for column, row in dark:
        image.paste(
            0, (int(column) * scale, int(row) * scale, *(scale * (int(n) + 1) for n in (column, row)))
        )
    return image
