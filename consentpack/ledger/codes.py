"""Codes by which a paper is found again: short, spelt without letters that look alike.

The alphabet is Douglas Crockford's base 32 (from memory): no I, L, O or U, and those who type them anyway
mean 1, 1 and 0.
"""

from __future__ import annotations

import hashlib
import re

_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LOOK_ALIKE = str.maketrans("ILO", "110")
LENGTH, _HALF = 10, 5
_CODE = re.compile(rf"([{_ALPHABET}]{{{LENGTH}}})([0-9]{{1,3}})?")


def code_from(*parts: str) -> str:
    """A pack's code, such as 'K7QF2-M9XAB', from what nothing else has together. 50 bits of SHA-256."""
    number = int.from_bytes(hashlib.sha256("\0".join(parts).encode()).digest())
    letters = "".join(_ALPHABET[number >> 5 * place & 31] for place in range(LENGTH))
    return _shown(letters)


def document_code(pack: str, number: int) -> str:
    """The code of one document of a pack: 'K7QF2-M9XAB-3'."""
    return f"{pack}-{number}"


def read_code(typed: str) -> tuple[str, int] | None:
    """The pack's code and the document's number in what somebody typed; None where it is no code.

    The number is 0 where only the pack's code was typed.
    """
    pack, _, number = _parted(typed)
    found = _CODE.fullmatch(pack.translate(_LOOK_ALIKE))
    return (_shown(found[1]), int(number or found[2] or 0)) if found else None


def _parted(typed: str) -> tuple[str, str, str]:
    """The letters of the pack's code, and the number after the second hyphen."""
    whole = re.sub(r"[\s\u2010-\u2015]+", "-", typed.strip().upper()).strip("-")
    letters, number = whole, ""
    if found := re.fullmatch(r"(.+-.+)-([0-9]{1,3})", whole):
        letters, number = found[1], found[2]
    return letters.replace("-", ""), "-", number


def in_words(text: str) -> str:
    """The first code that stands in a text; '' where there is none."""
    found = re.search(rf"\b[{_ALPHABET}]{{{_HALF}}}-[{_ALPHABET}]{{{_HALF}}}(-[0-9]{{1,3}})?\b", text)
    return found[0] if found else ""


def _shown(letters: str) -> str:
    return f"{letters[:_HALF]}-{letters[_HALF:]}"
