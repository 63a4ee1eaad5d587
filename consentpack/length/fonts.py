"""How wide and how high the letters of a font are beside Arial's.

A font that is not here counts as wide as the widest of the usual plain ones: a side too many that is never
drawn does less harm than one too few.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Font:
    """A font, measured against Arial."""

    width: float = 1.0
    line: float = 1.15
    """Height of a single-spaced line, in sizes of the letters: 1.149 in Liberation Sans."""


ARIAL = Font()
_TIMES = Font(0.93)
"""0.92 on the library's own risks, by Liberation Serif, which has the widths of Times New Roman."""
FONTS: Mapping[str, Font] = {
    **dict.fromkeys(("arial", "helvetica", "liberation sans"), ARIAL),
    **dict.fromkeys(("times new roman", "times", "liberation serif"), _TIMES),
}
UNKNOWN = Font(1.16, 1.25)
"""As wide as DejaVu Sans, which was drawn like Verdana: 1.155 on the same texts."""
SQUARE_LINE = 1.45
"""Chinese fonts bring more room between lines: 1.448 in Noto Sans CJK, 1.32 in Microsoft YaHei (memory)."""


def font_of(name: str) -> Font:
    return FONTS.get(name.strip().lower(), UNKNOWN)
