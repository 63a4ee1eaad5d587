"""What is the same however it was typed: the one place where references and cells are made alike.

Two texts that look the same on the screen must be the same to a program, or one treatment is counted
twice and a place drops out of its group. Letters and marks are composed (Unicode NFC), signs that
nobody sees (zero-width, soft hyphen, marks of direction: Unicode category Cf) are taken out, and every
run of white space, also a no-break space or a line break, is one space.
"""

from __future__ import annotations

import unicodedata


def plain(text: str) -> str:
    """The text as it looks: for what is kept and shown. Capitals and small letters stay."""
    if text.isascii():  # most cells by far
        return " ".join(text.split())
    seen = "".join(letter for letter in text if unicodedata.category(letter) != "Cf")
    # composing comes last: a sign taken out may bring a letter and its mark together
    return " ".join(unicodedata.normalize("NFC", seen).split())


def folded(text: str) -> str:
    """For comparing: texts that differ in capitals alone are the same here. Never for showing."""
    if text.isascii():
        return plain(text).lower()
    # a letter may fall apart when it is folded, and must then be composed again
    return plain(unicodedata.normalize("NFC", plain(text).casefold()))


def place(text: str) -> str:
    """A treated place, as audit, plans and the clinic's groups all keep it: in small letters."""
    return plain(plain(text).lower())
