"""How wide words are drawn, in thousandths of the size of their letters.

Arial's widths are those of Helvetica (Adobe's font metrics files AFM; here as they stand in Liberation Sans,
which was made to the same widths). Arabic letters are those of DejaVu Sans, which is wider than Arial's own
and is what LibreOffice takes where Arial has none. Chinese signs fill their square in every font. A letter
that is not here counts as a whole square: rather too wide than too narrow.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import lru_cache

_REGULAR = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 "
    "556 556 278 278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 "
    "778 667 778 722 667 611 722 667 944 667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 "
    "556 556 222 222 500 222 833 556 556 556 556 333 500 278 556 500 722 500 500 500 334 260 334 584 "
)
_BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 "
    "556 556 333 333 584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 "
    "667 778 722 667 611 722 667 944 667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 "
    "611 278 278 556 278 889 611 611 611 611 389 556 333 611 556 778 556 556 500 389 280 389 584 "
)
"""From the space to the tilde."""
_OTHERS: Mapping[tuple[int, int], str] = {
    (222, 278): "łſ‘’‚", (260, 280): "¦", (278, 278): "\u00a0ı", (278, 333): "ŧ", (292, 385): "ľ",
    (333, 333): "¡¨\u00ad²³´·¸¹\u2010\u2011‹›", (333, 500): "“”„", (334, 479): "ŀ", (350, 350): "•",
    (365, 365): "º", (370, 370): "ª", (375, 479): "ť", (400, 400): "°", (444, 556): "ĳ", (500, 500): "↑↓",
    (500, 556): "ĸ", (513, 513): "₫", (537, 556): "¶", (549, 549): "±÷≤≥", (552, 552): "¯",
    (556, 556): "¢£¤¥§«»‒–†‡€", (556, 611): "ðþđħĿŁŋ", (576, 576): "µ", (584, 584): "¬×\u2212",
    (604, 604): "●", (604, 708): "ŉ", (611, 611): "¿ßøŦ", (615, 719): "ď", (656, 711): "ơ", (667, 667): "Þ",
    (669, 724): "ư",
    (722, 722): "ÐĐĦ", (723, 723): "Ŋ", (735, 785): "Ĳ", (737, 737): "©®", (778, 778): "Ø", (834, 834): "¼½¾",
    (854, 830): "Ư", (857, 853): "Ơ", (889, 889): "æ", (944, 944): "œ", (1000, 1000): "ÆŒ—―…‰←→",
    (200, 200): "\u202f\u2009",
}  # fmt: skip
"""Regular and bold -> letters. An accent makes no letter wider, so those with one are not here."""
_ARABIC: Mapping[tuple[int, int], str] = {
    (302, 761): "ن", (302, 833): "ئي", (302, 982): "بتث", (305, 305): "آأإا", (331, 757): "ل",
    (461, 536): "ه", (470, 470): "ء", (482, 532): "عغ", (506, 834): "ق", (506, 1035): "ف", (517, 517): "ؤو",
    (525, 525): "دذ",
    (536, 536): "ة", (552, 552): "رز", (552, 843): "ك", (578, 666): "م", (646, 646): "جحخ", (820, 949): "طظ",
    (833, 833): "ى", (867, 1225): "صض", (892, 1275): "سش",
}  # fmt: skip
"""Inside a word and at its end -> letters: they have another form there."""
_ARABIC_BOLD = 1.15
_SQUARE = 1000
_HORN, _HORN_WIDTH = "\u031b", 132
"""The one mark that makes a letter wider, in Vietnamese."""
_NO_WIDTH = ("Cf", "Mn", "Me")
_AFTER_A_WORD = ".,;:!?()«»،؛؟\u200e\u200f"
"""What does not join the letter before it."""


def _table(bold: bool) -> dict[str, int]:
    letters = map(chr, range(ord(" "), ord("~") + 1))
    found = dict(zip(letters, map(int, (_BOLD if bold else _REGULAR).split()), strict=True))
    return found | {letter: both[bold] for both, some in _OTHERS.items() for letter in some}


_WIDTHS = (_table(False), _table(True))
_INNER = {letter: inner for (inner, _), some in _ARABIC.items() for letter in some}
_LAST = {letter: last for (_, last), some in _ARABIC.items() for letter in some}


@lru_cache(1 << 15)
def width_of(word: str, *, bold: bool = False) -> int:
    """The width of a word without spaces in it, in thousandths of the size of its letters."""
    table = _WIDTHS[bold]
    try:
        return sum(map(table.__getitem__, word))
    except KeyError:
        last = len(word.rstrip(_AFTER_A_WORD)) - 1
        return sum(_letter(letter, bold, index == last) for index, letter in enumerate(word))


@lru_cache(4096)
def _letter(letter: str, bold: bool, last: bool) -> int:
    table = _WIDTHS[bold]
    if letter in table:
        return table[letter]
    if letter in _INNER:
        return round((_LAST if last else _INNER)[letter] * (_ARABIC_BOLD if bold else 1))
    if unicodedata.category(letter) in _NO_WIDTH:
        return 0
    base, *marks = list(unicodedata.normalize("NFD", letter))
    return table.get(base, _SQUARE) + (_HORN_WIDTH if _HORN in marks else 0)


def is_square(letter: str) -> bool:
    """Whether it is a Chinese or Japanese sign, before which and after which a line may end."""
    return "\u2e80" <= letter <= "\u9fff" or "\uac00" <= letter <= "\ud7ff" or "\uff00" <= letter <= "\uffef"
