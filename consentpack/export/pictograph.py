"""Pictographs: as many marks as the denominator, the events filled, drawn as SVG and as PNG.

The rules are those of the literature on icon arrays: the whole denominator is shown; events stand
together and are not scattered (Zikmund-Fisher 2012, doi 10.2196/jmir.2030); filling begins at the
bottom left and goes by row, upwards, so that the height is a cue too (the convention of the Michigan
group); no mark is filled in part, since people read it as a whole one (Schapira 2001). Filled and
empty marks differ by being filled, not by colour.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import TYPE_CHECKING

from consentpack.tree import Pictograph

if TYPE_CHECKING:
    from PIL.Image import Image

_COLUMNS = {100: 10, 1000: 40}
_PITCH_MM = {100: 2.2, 1000: 1.5}
"""From mark to mark. One size for one denominator: two pictures side by side have the same scale."""

_GROUP = {100: 5, 1000: 10}
"""Marks in a row or column before a gap: what stands in fives and tens is counted at a glance."""
_GAP = 0.5
"""The gap, as a share of the pitch."""
_MARK, _LINE = 0.8, 0.1
"""Width of a mark and of its line, as shares of the pitch. Thinner lines fade on a fax."""
_MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Mark:
    """One mark. Columns count from the left and rows from the top, as they are drawn."""

    column: int
    row: int
    filled: bool


@dataclass(frozen=True)
class Drawing:
    """What both kinds of file show. The marks stand in the order in which they are filled."""

    columns: int
    rows: int
    pitch_mm: float
    marks: tuple[Mark, ...]
    group: int

    def place(self, index: int) -> float:
        """Where a column or row begins, in pitches, with the gaps before it."""
        return index + _GAP * (index // self.group)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in pitches."""
        return self.place(self.columns - 1) + 1, self.place(self.rows - 1) + 1

    @property
    def size_mm(self) -> tuple[float, float]:
        width, height = self.size
        return width * self.pitch_mm, height * self.pitch_mm


def drawing(pictograph: Pictograph) -> Drawing:
    """The marks of a pictograph, from the bottom left, row by row; from the bottom right if mirrored."""
    total = pictograph.total
    columns = _COLUMNS[total]
    rows = total // columns
    across = [*range(columns)][:: -1 if pictograph.mirrored else 1]
    marks = tuple(
        Mark(across[number % columns], rows - 1 - number // columns, number < pictograph.marked)
        for number in range(total)
    )
    return Drawing(columns, rows, _PITCH_MM[total], marks, _GROUP[total])


def svg(pictograph: Pictograph) -> str:
    """A picture that needs nothing from outside. Its title is what a screen reader says.

    There is no description beside the title: it would be read out as well, and say the same again.
    """
    drawn = drawing(pictograph)
    (width, height), (across, down) = drawn.size_mm, drawn.size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {10 * across:g} {10 * down:g}"><title>{escape(pictograph.alt)}</title>'
        f"{_circles(drawn, filled=True)}{_circles(drawn, filled=False)}</svg>"
    )


def _circles(drawn: Drawing, *, filled: bool) -> str:
    """All marks of one kind, in the order of filling. Lines are drawn half outside a circle's radius."""
    radius = 5 * (_MARK - _LINE)
    circles = "".join(
        f'<circle cx="{10 * column + 5:g}" cy="{10 * row + 5:g}" r="{radius:g}"/>'
        for mark in drawn.marks
        for column, row in [(drawn.place(mark.column), drawn.place(mark.row))]
        if mark.filled == filled
    )
    fill = "currentColor" if filled else "none"  # the colour of the words: white on a dark page
    return f'<g fill="{fill}" stroke="currentColor" stroke-width="{10 * _LINE:g}">{circles}</g>'


def png(pictograph: Pictograph, dpi: int = 300) -> bytes:
    """A picture in black and white for print, the same bytes each time."""
    return _png(pictograph.marked, pictograph.total, pictograph.mirrored, dpi)


@lru_cache(maxsize=256)
def _png(marked: int, total: int, mirrored: bool, dpi: int) -> bytes:
    """The words of a picture are not in its bytes, so one picture serves many figures."""
    from PIL import Image  # noqa: PLC0415 # only needed where a picture is drawn

    drawn = drawing(Pictograph(marked, total, "", mirrored))
    pitch = round(drawn.pitch_mm * dpi / _MM_PER_INCH)
    pitch += pitch % 2  # so that half a pitch is whole pixels
    stamps = {filled: _stamp(pitch, filled=filled) for filled in (True, False)}
    image = Image.new("1", (round(pitch * drawn.size[0]), round(pitch * drawn.size[1])), 1)
    for mark in drawn.marks:
        place = round(pitch * drawn.place(mark.column)), round(pitch * drawn.place(mark.row))
        image.paste(stamps[mark.filled], place)
    stream = io.BytesIO()
    image.save(stream, "PNG", optimize=True, dpi=(dpi, dpi))
    return stream.getvalue()


def _stamp(pitch: int, *, filled: bool) -> Image:
    """One mark, drawn once: stamped copies cannot differ by a pixel."""
    from PIL import Image, ImageDraw  # noqa: PLC0415

    edge = round(pitch * (1 - _MARK) / 2)
    image = Image.new("1", (pitch, pitch), 1)
    box = (edge, edge, pitch - 1 - edge, pitch - 1 - edge)
    line = max(1, round(pitch * _LINE))
    ImageDraw.Draw(image).ellipse(box, fill=0 if filled else 1, outline=0, width=line)
    return image
