"""The look of a clinic's papers: [brand] of clinic.toml, checked.

What would make a leaflet hard to read is refused here, with the figure that was measured, and never
mended in silence: the clinic must know that its paper does not look as its designer meant it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any

from consentpack.brand.colours import LEAST_CONTRAST, contrast, darker
from consentpack.brand.designer import BaseError, styles_of
from consentpack.brand.pictures import PictureError, size_of
from consentpack.errors import Problem
from consentpack.model import Brand, Logo
from consentpack.strict import Key

KEYS: Mapping[str, Key] = {
    "logo": Key(str, "a PNG or JPEG file in the clinic folder, for the head of page one", required=False),
    "logo_alt": Key(str, "what the logo shows, for people who cannot see it", required=False),
    "colour": Key(str, "colour of headings and lines, as #RRGGBB", required=False),
    "font": Key(list, "font names: the one you prefer, then what may stand for it", required=False),
    "paper": Key(str, "size of the paper; A4 without it", required=False, allowed=("A4", "Letter")),
    "address": Key(bool, "true to print the clinic's address at the head of page one", required=False),
    "base": Key(str, "a designer's Word file in the clinic folder: its styles are taken", required=False),
}

LARGEST_LOGO = 300_000
"""Bytes. Every document of every pack carries the logo, and packs are sent by e-mail."""
LARGEST_BASE = 2_000_000
MOST_FONTS = 4
LONGEST_ALT = 150
"""A screen reader says it on each first page."""

_COLOUR = re.compile(r"#[0-9A-Fa-f]{6}")
_FONT = re.compile(r"[^\W_][\w &'.-]{0,60}")

Where = Callable[[str], str]
"""Key -> its place in clinic.toml."""


def read_brand(table: Mapping[str, Any], folder: Path, where: Where) -> tuple[Brand, list[Problem]]:
    """The checked look, and everything that is wrong with it. `table` has passed `KEYS` already."""
    problems = [*_check_colour(table, where), *_check_fonts(table, where)]
    logo, wrong = _logo(table, folder, where)
    problems += wrong
    files = [(table["logo"], sha256(logo.data).hexdigest())] if logo else []
    styles: tuple[Any, ...] = ()
    if "base" in table:
        data, wrong = _file(table, "base", folder, where, most=LARGEST_BASE)
        problems += wrong
        if data:
            files.append((table["base"], sha256(data).hexdigest()))
            try:
                styles = styles_of(data)
            except BaseError as error:
                problems.append(Problem(where("base"), f"'{table['base']}' {error.what}", error.fix))
    brand = Brand(
        logo=logo,
        colour=table.get("colour", "").lstrip("#").upper(),
        fonts=tuple(table.get("font", ())),
        paper=table.get("paper", "A4"),
        styles=styles,
        files=tuple(files),
    )
    return brand, problems


def _check_colour(table: Mapping[str, Any], where: Where) -> list[Problem]:
    if "colour" not in table:
        return []
    colour = table["colour"]
    if not _COLOUR.fullmatch(colour):
        what = f"'colour' should be # and six hex digits, such as #1B3A4B; it is '{colour}'."
        return [Problem(where("colour"), what)]
    found = contrast(colour[1:], "FFFFFF")
    if found >= LEAST_CONTRAST:
        return []
    what = (
        f"'colour' is {colour}: its contrast with white is {found:.2f} to 1, and words need {LEAST_CONTRAST}"
        " to 1 (WCAG 1.4.3). White words on it would be as hard to read."
    )
    better = darker(colour[1:])
    fix = f"Take a darker shade of it, such as #{better} ({contrast(better, 'FFFFFF'):.2f} to 1)."
    return [Problem(where("colour"), what, fix)]


def _check_fonts(table: Mapping[str, Any], where: Where) -> list[Problem]:
    fonts = table.get("font", [])
    problems = []
    if len(fonts) > MOST_FONTS:
        problems.append(Problem(where("font"), f"'font' names {len(fonts)} fonts; {MOST_FONTS} is the most."))
    for font in fonts:
        if not _FONT.fullmatch(font):
            what = f"'{font[:60]}' is no font's name: letters, digits, spaces, full stops and hyphens."
            problems.append(Problem(where("font"), what, "Write it as Word's list of fonts has it."))
    return problems


def _logo(table: Mapping[str, Any], folder: Path, where: Where) -> tuple[Logo | None, list[Problem]]:
    alt = table.get("logo_alt", "")
    if "logo" not in table:
        wrong = [Problem(where("logo_alt"), "'logo_alt' is there and 'logo' is not.")] if alt else []
        return None, wrong
    problems = []
    if not alt:
        fix = 'Add a line such as logo_alt = "Two hazel leaves, the sign of Hazel Street".'
        what = "the logo has no 'logo_alt': people who cannot see it would not know what it is."
        problems.append(Problem(where("logo"), what, fix))
    elif len(alt) > LONGEST_ALT:
        what = f"'logo_alt' has {len(alt)} characters; {LONGEST_ALT} is the most."
        problems.append(Problem(where("logo_alt"), what, "Say only what the logo is."))
    data, wrong = _file(table, "logo", folder, where, most=LARGEST_LOGO)
    problems += wrong
    if not data:
        return None, problems
    try:
        width, height = size_of(data)
    except PictureError as error:
        return None, [*problems, Problem(where("logo"), f"'{table['logo']}' {error.what}", error.fix)]
    return Logo(data, width, height, alt), problems


def _file(
    table: Mapping[str, Any], key: str, folder: Path, where: Where, *, most: int
) -> tuple[bytes, list[Problem]]:
    """The bytes of a file that a key names, or b'' and why not. Only the clinic's own folder is read."""
    name = table[key]
    path = folder / name
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
        size = path.stat().st_size if inside else 0
        data = path.read_bytes() if inside and size <= most else b""
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        reason = getattr(error, "strerror", "") or str(error)
        return b"", [Problem(where(key), f"the file '{name}' cannot be read ({reason}).")]
    if not inside:
        what = f"'{key}' should be a file in the clinic folder; '{name}' is outside it."
        return b"", [Problem(where(key), what, "Copy it into the folder, so that the folder is whole.")]
    if size > most:
        what = f"the file '{name}' has {size // 1000} kB; {most // 1000} kB is the most."
        return b"", [Problem(where(key), what, "Save it smaller: every document carries it.")]
    if not data:
        return b"", [Problem(where(key), f"the file '{name}' is empty.")]
    return data, []
