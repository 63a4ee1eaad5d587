"""Colours of text and ground, and the contrast between them; and the letters a theme names."""

from __future__ import annotations

import colorsys
import re
from typing import Any

from consentpack.readers.ooxml import W, kind

WHITE = "FFFFFF"
_HEX = re.compile(r"[0-9A-Fa-f]{6}")
_THEME = {
    "text1": "dk1", "text2": "dk2", "background1": "lt1", "background2": "lt2", "dark1": "dk1",
    "dark2": "dk2", "light1": "lt1", "light2": "lt2", "hyperlink": "hlink", "followedHyperlink": "folHlink",
}  # fmt: skip
"""Word's names for the theme's colours (ECMA-376 part 1, 17.18.97) -> the theme's own."""
HIGHLIGHTS = {
    "black": "000000", "blue": "0000FF", "cyan": "00FFFF", "green": "00FF00", "magenta": "FF00FF",
    "red": "FF0000", "yellow": "FFFF00", "white": "FFFFFF", "darkBlue": "000080", "darkCyan": "008080",
    "darkGreen": "008000", "darkMagenta": "800080", "darkRed": "800000", "darkYellow": "808000",
    "darkGray": "808080", "lightGray": "C0C0C0",
}  # fmt: skip
"""ECMA-376 part 1, 17.18.40."""


def contrast(one: str, other: str) -> float:
    """From 1 (the same) to 21 (black on white), by the definition of WCAG 2.1."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(share) for share in _shares(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share: float) -> float:
    return share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4


def _shares(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4))
    return red, green, blue


def _hex(shares: tuple[float, ...]) -> str:
    return "".join(f"{round(255 * share):02X}" for share in shares)


class Theme:
    """The colours and letters of a file's theme."""

    def __init__(self, root: Any):
        scheme = next((e for e in root.iter() if kind(e) == "clrScheme"), ()) if root is not None else ()
        self.colours = {
            kind(entry): entry[0].get("lastClr") or entry[0].get("val") for entry in scheme if len(entry)
        }

        fonts = [e for e in root.iter() if kind(e) in ("majorFont", "minorFont")] if root is not None else []
        self.fonts = {kind(e)[:5]: e[0].get("typeface", "") for e in fonts if len(e)}
        """'major' for headings, 'minor' for text -> the name of the letters."""

    def font(self, element: Any) -> str:
        """The name of the Latin letters a w:rFonts gives."""
        themed = self.fonts.get(element.get(f"{W}asciiTheme", "")[:5])
        return str(themed or element.get(f"{W}ascii", ""))

    def colour(self, element: Any, name: str = "val", prefix: str = "theme") -> str:
        """The colour an element's attributes give; '' for none or automatic. A theme's goes first."""
        themed = element.get(f"{W}{prefix}{'Color' if prefix == 'theme' else ''}", "")
        found = self.colours.get(_THEME.get(themed, themed)) if themed else None
        if found and _HEX.fullmatch(found):
            return _shaded(found, *(_share(element, f"{prefix}{change}") for change in ("Tint", "Shade")))
        plain = element.get(f"{W}{name}", "")
        return plain.upper() if _HEX.fullmatch(plain) else ""

    def ground(self, shading: Any) -> str:
        """The colour of a w:shd (17.3.5); '' where it lets through what is behind."""
        fill = self.colour(shading, "fill", "themeFill")
        pattern, ink = shading.get(f"{W}val", "clear"), self.colour(shading, "color") or "000000"
        if pattern == "solid":
            return ink
        if re.fullmatch(r"pct\d\d?", pattern):
            part = int(pattern[3:]) / 100
            pairs = zip(_shares(ink), _shares(fill or WHITE), strict=True)
            return _hex(tuple(part * a + (1 - part) * b for a, b in pairs))
        return fill


def _share(element: Any, name: str) -> float:
    """An attribute from 00 to FF as a share of 1; 1 where there is none."""
    said = element.get(f"{W}{name}", "")
    return int(said, 16) / 255 if re.fullmatch(r"[0-9A-Fa-f]{2}", said) else 1.0


def _shaded(colour: str, tint: float, shade: float) -> str:
    """A theme's colour made lighter or darker (17.3.2.6)."""
    hue, light, full = colorsys.rgb_to_hls(*_shares(colour))
    light = light * shade * tint + 1 - tint
    return _hex(colorsys.hls_to_rgb(hue, light, full))
