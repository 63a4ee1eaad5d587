"""HTML as strings: text that cannot break out of its place, and strings for style rules."""

from __future__ import annotations

import re
from html import escape

from consentpack.direction import parts
from consentpack.export._ringing import Ringing

_DROPPED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff"  # no place in HTML
    "\u202a-\u202e\u2066-\u2069]"  # one without its end would turn round the words after it
)
_SPACES = re.compile("[\t\r\n\u2028\u2029]+")
_SAFE_LINK = re.compile(r"(?:https?://|mailto:|tel:|#to-)", re.I)


def clean(words: str) -> str:
    """Words without control characters, on one line."""
    return _SPACES.sub(" ", _DROPPED.sub("", words))


def plain(words: str) -> str:
    """Words where there can be no elements: in a title or an attribute."""
    return escape(clean(words))


def attribute(words: str) -> str:
    """Words as the value of an attribute, with its quotes."""
    return f'"{plain(words)}"'


NOTHING_RINGS = Ringing()


def text(words: str, *, rtl: bool = False, ringing: Ringing = NOTHING_RINGS, short: bool = False) -> str:
    """Words as HTML. What runs against the document's direction is isolated, and what rings is a link.

    Without the first a telephone number in an Arabic line is drawn with its groups in the wrong order, and an
    Arabic name in an English line takes the number after it along.
    """
    words = clean(words)
    direction = "ltr" if rtl else "rtl"
    found = []
    for part, foreign in parts(words, rtl=rtl):
        made = "".join(link(escape(piece), href) for piece, href in ringing.parts(part, short=short))
        found.append(f'<bdi dir="{direction}">{made}</bdi>' if foreign else made)
    return "".join(found)


def link(made: str, href: str) -> str:
    """Words already made into HTML, as a link; the bare words where the address might run a script."""
    return f"<a href={attribute(href)}>{made}</a>" if _SAFE_LINK.match(href) else made


def place_in_page(section: str) -> str:
    """The address of a section within its page; '' for none."""
    return f"#to-{section}" if section else ""


def place_here(section: str) -> str:
    """Where such an address leads to. It stands inside what is opened, so that a browser opens it."""
    return f'<span class="led" id={attribute(place_in_page(section)[1:])}></span>'


def css_string(words: str) -> str:
    """A string for a style rule. Everything but letters and digits as its number: `</style>` stays words."""
    letters = (c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in clean(words))
    return f'"{"".join(letters)}"'
