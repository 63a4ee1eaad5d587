"""How a clinic's papers look: values that have been checked, ready for an exporter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Paper = Literal["A4", "Letter"]


@dataclass(frozen=True)
class Logo:
    """A picture for the head of page one."""

    data: bytes
    width: int
    """In pixels, as the height."""
    height: int
    alt: str
    """What it shows, for people who cannot see it."""


@dataclass(frozen=True)
class TextStyle:
    """What is taken of one style of a designer's Word file. Empty or 0: as we have it."""

    font: str = ""
    size: int = 0
    """In half-points, as Word counts."""
    colour: str = ""
    bold: bool | None = None
    before: int | None = None
    """Space above, in twentieths of a point, as the space below and the height of a line."""
    after: int | None = None
    line: int | None = None


@dataclass(frozen=True)
class Brand:
    """One clinic's look. Without anything, the plain look of consentpack."""

    logo: Logo | None = None
    colour: str = ""
    """Six hex digits. Words in it on white, and white words on it, are at least 4.5 to 1."""
    fonts: tuple[str, ...] = ()
    """The font that is preferred, then what may stand for it where it is not installed."""
    paper: Paper = "A4"
    letterhead: tuple[str, ...] = ()
    """Lines of the address for the head of page one."""
    styles: tuple[tuple[str, TextStyle], ...] = ()
    """A style's name in Word -> what is taken of it."""
    files: tuple[tuple[str, str], ...] = ()
    """The files in the clinic folder that this was read from, each with the SHA-256 of what was read."""
