"""The code of a document as a square that a camera reads: a QR code (ISO/IEC 18004)."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import Any

QUIET = 4
"""Modules of white paper on each side, without which a camera does not find it (ISO/IEC 18004, 9.1)."""
DPI = 600
"""What office printers print. A module is a whole number of their dots, so that all are as wide."""
MOST_DOTS = 11
"""Of a module: 0.47 mm, by which the square of a code is 13.5 mm wide with its quiet zone."""
UNPRINTABLE_MM = 4.3
"""What printers leave white at the edge of the paper: a sixth of an inch (common practice, no source)."""
_MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Symbol:
    """The square of one code."""

    code: str

    @cached_property
    def _made(self) -> Any:
        import segno  # noqa: PLC0415 - no working copy needs it

        # at least M: a fold or a spot of tea takes no more than 15 in 100 of it
        return segno.make(self.code, micro=False, error="m")

    @property
    def modules(self) -> int:
        """How many dark and light squares stand along one side, without the quiet zone."""
        return int(self._made.symbol_size(border=0)[0])

    @property
    def side(self) -> int:
        """The same with the quiet zone."""
        return self.modules + 2 * QUIET

    def dots_in(self, margin_mm: float) -> int:
        """Dots of a module where the square stands in a margin: its white edge at the text, its dark part
        where printers reach."""
        room = (margin_mm - UNPRINTABLE_MM) / _MM_PER_INCH * DPI
        return max(1, min(MOST_DOTS, int(room / (QUIET + self.modules))))

    def size_mm(self, dots: int) -> float:
        """How wide the square is on paper, with its quiet zone."""
        return self.side * dots * _MM_PER_INCH / DPI

    def png(self, dots: int) -> bytes:
        """A picture in black and white, the same bytes each time."""
        stream = io.BytesIO()
        self._made.save(stream, kind="png", scale=dots, border=QUIET, dpi=DPI)
        return stream.getvalue()

    def svg(self, label: str) -> str:
        """A picture that needs nothing from outside, dark on white in a dark page too. `label` is said in
        its place."""
        rows = enumerate(self._made.matrix, QUIET)
        dark = "".join(
            f"M{column} {row}h1v1h-1z" for row, line in rows for column, on in enumerate(line, QUIET) if on
        )
        side = self.side
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="code" role="img" viewBox="0 0 {side} {side}" '
            f'shape-rendering="crispEdges"><title>{escape(label)}</title>'
            f'<path fill="#fff" d="M0 0h{side}v{side}H0z"/><path fill="#000" d="{dark}"/></svg>'
        )
