"""Contrast of two colours, as WCAG 2.2 defines it (relative luminance, contrast ratio)."""

from __future__ import annotations

LEAST_CONTRAST = 4.5
"""Words on their ground: WCAG 2.2, success criterion 1.4.3."""


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours of six hex digits: 1 to 21, in either order."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def darker(colour: str) -> str:
    """The same hue, only as much darker as white paper needs."""
    for share in range(100, -1, -1):
        shade = mixed(colour, "000000", share)
        if contrast(shade, "FFFFFF") >= LEAST_CONTRAST:
            return shade
    raise AssertionError("black passes")


def mixed(colour: str, other: str, percent: int) -> str:
    """`percent` of a colour in another one."""
    parts = zip(_channels(colour), _channels(other), strict=True)
    return "".join(f"{(a * percent + b * (100 - percent)) // 100:02X}" for a, b in parts)


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(part / 255) for part in _channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(part: float) -> float:
    return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)


def _channels(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour))
