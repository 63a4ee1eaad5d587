"""What is a sentence to be read, and what is a heading, a name, a contact, a reference, a line to sign.

A wrong guess costs in both ways: a name scored as a sentence makes a form look easy, and a sentence
taken for a label goes unread. So every rule that leaves something out asks for a short line.
"""

from __future__ import annotations

import re
from typing import TypeVar

Place = TypeVar("Place")

BULLET = re.compile(
    r"^\s*(?:[•·●○■□☐☑☒✓✔✗▪▫◦‣⁃➢➤►»§\uf0a7\uf0a8\uf0b7\uf0d8]\s*|o\t\s*|[*–—-](?:\s+|(?=[A-Za-z]))"
    r"|\(?\d{1,2}[.)](?:\s+|(?=[A-Za-z]))|\(?(?:[a-z]|[ivx]{2,4})[.)]\s+)"
)
_NUMBER = re.compile(r"^\s*\(?(?:\d{1,2}|[a-z]|[ivx]{2,4})[.)]")
_CONTACT = re.compile(
    r"\+?\d(?:[\d ()]|-(?=\d)){7,}\d|[^\s@]{1,64}@\S{1,255}\.\w+|\b(?:https?://|www\.)\S+"
    r"|\b(?-i:[A-Z]{1,2}\d[\dA-Z]? \d[A-Z]{2})\b",
    re.IGNORECASE,
)
_BLANK = re.compile(r"_{3,}|\.{5,}|…{2,}")
_SIGN = re.compile(
    r"^\W*(?:(?:the )?(?:patient|client|clinician|doctor|practitioner|witness|parent|guardian|interpreter)"
    r"(?:['’]?s)? )?"
    r"(?:sign(?:ed|ature)?|(?:print(?:ed)? |full )?name|date|time"
    r"|witness(?:ed by)?|d\.?o\.?b\.?|date of birth"
    r"|address|post ?code|tel(?:ephone)?|phone|mobile|e-?mail|fax|opening hours"
    r"|(?:hospital|nhs|gmc|nmc) number"
    r"|relationship|version|form|ref(?:erence)?|page|review date|copyright|©)"
    r"(?: (?:of|no|number|by) ?[^:.!?]{0,40}| \([^)]{1,40}\))?\W*(?::.{0,60}|\d.{0,20})?$",
    re.IGNORECASE,
)
_REFERENCE = re.compile(
    r"\bdoi\b|\bISBN\b|\b(?:19|20)\d\d\s?;\s?\d+"
    r"|^\W*\d{0,2}\W*[A-Z][\w’'-]+,? [A-Z]{1,3}(?:[,.]| et al).*\b(?:19|20)\d\d\b"
)
_TITLED = re.compile(r"\b(?:Dr|Mr|Mrs|Ms|Miss|Prof(?:essor)?|Sister)\.? [A-Z][\w'’.-]*(?: [A-Z][\w'’.-]*)*")
_LABEL = re.compile(r"^[^.!?:]{1,60}:$")
_SOURCES = re.compile(
    r"^\W*[\d.]*\s*(?:references?|sources?|bibliography|literature|further reading)\W*$", re.I
)
_CONTACTS = re.compile(r"^\W*[\d.]*\s*(?:how to )?contacts?\b", re.I)
_ENDED = re.compile(r"[.!?][\"”’')\]»]*$")
_HANGING = re.compile(
    r"(?:[,–-]|\b(?:a|an|and|any|are|as|at|be|but|by|for|from|has|if|in|is|its|may|no|not|of|on|or|our|that"
    r"|the|this|to|was|will|with|your))$",
    re.IGNORECASE,
)
_TELLS = re.compile(
    r"\b(?:please|must|do not|don['’]t|never|should|will|cannot)\b|^\W*(?:keep|avoid|ring|call|stop|no)\b",
    re.I,
)
_TOPIC = re.compile(r"^\W*[\d.)]*\s*(?:what|how|why)\b", re.I)
_ASKS = re.compile(
    r"^\W*[\d.)]*\s*(?:what|how|why|when|who|where|which|is|are|can|could|will|do|does|should|must|may)\b",
    re.I,
)
_SMALL = frozenset(("of", "and", "the", "for", "in", "on", "to", "a", "an", "or", "at", "by", "&", "–", "-"))
HEADING_WORDS = 12
"""A longer line is a sentence, however bold."""
LABEL_WORDS = 5
_BESIDE = 8
"""A line with a number to ring or a blank to fill and no more words than this is no sentence, unless
it ends as one."""
_SENTENCE = 4
"""Words beside a telephone number from which on a line with a full stop is a sentence."""
_NARROW, _SHORT_LIST = 45, 30
"""Characters. A line of running text that was broken to fit the page is longer than the first; lines
that are all shorter than the second are a list."""


def ended(text: str) -> bool:
    """Whether a line ends as a sentence does."""
    return bool(_ENDED.search(text.rstrip()))


def is_numbered(text: str) -> bool:
    """Whether a typed bullet is a number or letter."""
    return bool(_NUMBER.match(text))


def is_label(text: str) -> bool:
    """'Risks:' on its own line."""
    return bool(_LABEL.match(text)) and len(text.split()) <= LABEL_WORDS and not is_to_sign(text)


def is_to_sign(text: str) -> bool:
    """A line for a name, a date or a signature. A long statement with a blank in it is to be read."""
    rest = _BLANK.sub(" ", text)
    short = len(rest.split()) <= _BESIDE
    return bool(_SIGN.match(rest)) or (rest != text and short and not ended(rest.strip(" .")))


def is_contact(text: str) -> bool:
    """A telephone number, address or link with few words beside it."""
    rest = _CONTACT.sub(" ", text)
    if rest == text:
        return False
    words = [word for word in rest.split() if any(map(str.isalnum, word))]
    return len(words) < _SENTENCE or (len(words) <= _BESIDE and not ended(text))


def is_name(text: str) -> bool:
    """'Dr A. Quill, lead clinician'."""
    rest = _TITLED.sub(" ", text, count=1)
    words = rest.replace(",", " ").split()
    return rest != text and (len(words) < 3 or (len(words) < 5 and not ended(text)))


def is_all_names(text: str) -> bool:
    """A short line in which every word has a capital: a name, a place, a street."""
    words = text.split()
    capital = all(word[0].isupper() or not word[0].isalpha() for word in words if word not in _SMALL)
    return len(words) <= 6 and capital and not ended(text) and not _TELLS.search(text)


def is_prose(text: str, heading: str = "", *, in_row: bool = False) -> bool:
    """Whether words are to be scored. `in_row`: a point of a list or a cell, where 'Hair Loss' is said
    to the reader and is no name."""
    if _SOURCES.match(heading) or is_to_sign(text) or is_contact(text) or is_name(text):
        return False
    if _CONTACTS.match(heading) and len(text.split()) <= _BESIDE and not ended(text):
        return False
    return not (_REFERENCE.search(text) or (not in_row and is_all_names(text)))


def is_handmade_heading(text: str) -> bool:
    """Whether a line that stands out (bold, capitals, alone) is a heading and no shouted sentence."""
    short = 0 < len(text.split()) <= HEADING_WORDS and not is_to_sign(text) and not is_contact(text)
    if text.rstrip().endswith("?"):
        return short and bool(_ASKS.match(text))
    told = _TELLS.search(text) and len(text.split()) > 2 and not _TOPIC.match(text)
    return short and text.rstrip()[-1:] not in tuple(".!;,。！；，؛،।") and not told


def joined(pieces: list[tuple[Place, str]]) -> list[tuple[Place, str]]:
    """Lines put together again where a break only fits the text to the page, with the place of the first."""
    pieces = [(place, text.strip()) for place, text in pieces if text.strip()]
    listed = len(pieces) > 2 and all(len(text) < _SHORT_LIST for _, text in pieces)
    found: list[tuple[Place, str]] = []
    last = ""
    for place, text in pieces:
        if found and runs_on(last, text, listed=listed):
            found[-1] = (found[-1][0], f"{found[-1][1]} {text}")
        else:
            found.append((place, text))
        last = text
    return found


def runs_on(before: str, after: str, *, listed: bool = False) -> bool:
    """Whether one line goes on in the next."""
    if BULLET.match(after) or ended(before) or before.endswith(":"):
        return False
    if is_to_sign(before) or is_to_sign(after) or is_contact(after):
        return False
    if _HANGING.search(before):
        return True
    return not listed and (after[:1].islower() or len(before) >= _NARROW)


def without_blanks(text: str) -> str:
    """Words without the blanks to fill in: a row of dots must not end a sentence."""
    if not _BLANK.search(text):
        return text
    return re.sub(r"\s+(?=[,;:.])|,(?=\s+,)", "", " ".join(_BLANK.sub(" ", text).split()))
