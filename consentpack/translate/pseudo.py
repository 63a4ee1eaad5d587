"""A made-up language to try layout and completeness with: accents show what was not translated, length
what does not fit, and direction what does not turn.

Marks and values are left alone, so that every check which holds for a language holds for it.
"""

from __future__ import annotations

import re

from babel.messages.catalog import Catalog

_LEFT_ALONE = re.compile(r"\{\{.*?\}\}|\{[a-z]+\}|\*\*|\]\([^)]*\)")
_ACCENTS = str.maketrans("aAcCdDeEgGhHiIjJlLnNoOrRsStTuUwWyYzZ", "åÅçÇđĐéÉğĞĥĤîÎĵĴłŁñÑöÖŕŔšŠţŢûÛŵŴýÝžŽ")
_ENDS = re.compile(r"[.:?!”)]*$")
LONGER = 0.4
"""How much longer: German and Polish labels are up to this much longer than English ones (W3C, Text size
in translation, after IBM's table)."""
_RIGHT_TO_LEFT = "\u05d0\u05d1\u05d2\u05d3\u05d4\u05d5\u05d6\u05d7\u05d8\u05d9\u05db\u05dc\u05de"
"""Hebrew letters: a script that runs from right to left and that every font set has."""


def pseudo(text: str, *, mirrored: bool = False) -> str:
    """A text in the made-up language: accented and longer, or in letters from right to left."""
    parts = _LEFT_ALONE.split(text)
    alone = [*_LEFT_ALONE.findall(text), ""]
    made = [_mirrored(part) if mirrored else part.translate(_ACCENTS) for part in parts]
    extra = max(1, round(LONGER * sum(c.isalpha() for part in parts for c in part)) // 5)
    words = " ".join(["\u05d0\u05d1\u05d2\u05d3" if mirrored else "łöñğ"] * extra)
    whole = "".join(part + left for part, left in zip(made, alone, strict=True))
    end = _ENDS.search(whole)
    assert end  # it may be empty, and always matches
    return f"{whole[: end.start()]} {words}{end[0]}" if text.strip() else text


def _mirrored(part: str) -> str:
    letters = (_RIGHT_TO_LEFT[ord(c.lower()) % 13] if c.isascii() and c.isalpha() else c for c in part)
    return "".join(letters)


def fill(catalog: Catalog, *, mirrored: bool = False) -> None:
    """Translate every text of a catalogue into the made-up language."""
    for message in catalog:
        if isinstance(message.id, tuple | list):
            message.string = tuple(
                pseudo(message.id[1], mirrored=mirrored) for _ in range(catalog.num_plurals)
            )
        elif message.id:
            message.string = pseudo(message.id, mirrored=mirrored)
