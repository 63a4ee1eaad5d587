"""Bytes to text, as Windows, browsers and old editors have written it."""

from __future__ import annotations

import codecs
import re

from consentpack.errors import Problem, ReadError
from consentpack.limits import OverLimit, check_text

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_CHARSET = re.compile(rb"""(?:charset|encoding)=\s*["']?\s*([\w-]+)""", re.IGNORECASE)
_WESTERN = ("iso-8859-1", "iso8859-1", "latin-1", "latin1", "us-ascii", "ascii")
"""Browsers read these as Windows-1252 (WHATWG Encoding Standard, labels), for that is what is written."""
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
_SAVE = "Open it in the program that made it and save it as text in UTF-8, or as .docx."


def decode(data: bytes, file: str, *, declares: bool = False) -> str:
    """Text of bytes, with line ends as '\\n'. `declares`: an HTML file may say how it is written.

    UTF-8 where it fits, then what the file says of itself, then Windows-1252. Raises ReadError for
    an empty file and for one that is no text.
    """
    if not data:
        raise empty(file)
    for name in _names(data, declares):
        try:
            text = data.decode(name)
        except (LookupError, ValueError):  # a name such as 'hex' or 'undefined' is no way to write text
            continue
        if not _CONTROL.search(text):
            _check_length(text, file)
            return text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n").replace("\f", "\n")
    raise ReadError(Problem(file, f"this is {known_kind(data) or 'no text file'}.", _SAVE))


def _check_length(text: str, file: str) -> None:
    try:
        check_text(text)
    except OverLimit as error:
        raise too_large(error, file) from None


def too_large(error: OverLimit, file: str) -> ReadError:
    """What to say of a file that is larger or deeper than any form."""
    fix = "Save the words of the form alone as .txt, or in several files."
    return ReadError(Problem(file, f"{error}.", fix))


def empty(file: str) -> ReadError:
    """What to say of a file of no bytes."""
    fix = "Look whether it was copied or saved to its end."
    return ReadError(Problem(file, "the file is empty (0 bytes).", fix))


def _names(data: bytes, declares: bool) -> list[str]:
    """The encodings to try, in order."""
    marked = next((name for bom, name in _BOMS if data.startswith(bom)), "")
    if marked:
        return [marked]
    if wide := _wide(data):
        return [wide]
    found = _CHARSET.search(data[:2048]) if declares else None
    declared = found.group(1).decode().lower() if found else ""
    return ["utf-8", "cp1252" if declared in _WESTERN else declared or "cp1252", "cp1252"]


def _wide(data: bytes) -> str:
    """UTF-16 without its mark shows as a nought in nearly every second byte."""
    sample = data[:2000]
    even, odd = sample[::2].count(0), sample[1::2].count(0)
    if max(even, odd) < len(sample) * 0.3 or min(even, odd) > len(sample) * 0.05:
        return ""
    return "utf-16-le" if odd > even else "utf-16-be"


_KINDS = (
    (b"%PDF", "a PDF file"),
    (b"{\\rtf", "a rich-text file (.rtf)"),
    (b"PK\x03\x04", "a zip file, such as Word or LibreOffice writes"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"<!doctype html", "a web page (.html)"),
    (b"<html", "a web page (.html)"),
)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def known_kind(data: bytes) -> str:
    """What a file is by its first bytes, whatever its name says; '' when they tell nothing."""
    if data.startswith(_OLE):
        locked = "EncryptedPackage".encode("utf-16-le") in data
        return "locked with a password" if locked else "an old Word file (.doc) or other old Office file"
    start = data[:64].lstrip().lower()
    return next((kind for begins, kind in _KINDS if start.startswith(begins.lower())), "")
