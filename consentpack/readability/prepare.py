"""Text made ready for scoring: one sentence per full stop, one word per word as it is read aloud.

textstat takes every full stop for the end of a sentence, every line break for none, and drops a dash
or slash so that two words become one. A clinic's text is full of all three. What is written here is
the very text that is handed to it, so that anybody can repeat its number.
"""

from __future__ import annotations

import re
import unicodedata

ABBREVIATIONS = {
    "e.g.": "for example", "i.e.": "that is", "etc.": "and so on", "approx.": "about", "vs.": "against",
    "Dr.": "Doctor", "Mr.": "Mister", "Mrs.": "Missis", "Ms.": "Miz", "Prof.": "Professor", "St.": "Saint",
    "min.": "minutes", "max.": "at most", "hrs.": "hours", "wks.": "weeks",
    "tel.": "telephone",
    "incl.": "including", "a.m.": "am", "p.m.": "pm", "a.k.a.": "also known as",
}  # fmt: skip
"""Written -> as read aloud (SMOG counts abbreviations as they are read: McLaughlin 1969). The stops of
the rest of the text end sentences; these do not."""
_NUMBERED = re.compile(r"\b(No|Fig|nos?|figs?)\.\s*(?=\d)")
"""'No. 5' is a number; 'No.' alone is an answer, and ends its sentence."""
UNITS = {
    "mm": "millimetres", "cm": "centimetres", "m": "metres", "km": "kilometres", "ml": "millilitres",
    "l": "litres", "mg": "milligrams", "g": "grams", "kg": "kilograms", "mcg": "micrograms",
    "µg": "micrograms", "μg": "micrograms", "nm": "nanometres", "°C": "degrees", "°": "degrees",
    "min": "minutes", "mins": "minutes", "h": "hours", "hr": "hours", "hrs": "hours",
}  # fmt: skip
"""Unit after a number -> as read aloud."""
SYMBOLS = {
    "%": " per cent ", "&": " and ", "+": " plus ", "=": " equals ", "×": " times ", "<": " less than ",
    ">": " more than ", "≤": " at most ", "≥": " at least ", "±": " plus or minus ",
}  # fmt: skip

_SYMBOLS = str.maketrans(SYMBOLS)
_FIGURE = re.compile(r"\d")
_ONLY_WORDS = re.compile(r"(?:[A-Za-z’ ,]*[A-Za-z]{2}[.!?] )*[A-Za-z’ ,]*[A-Za-z]{2}[.!?]?\Z")
"""Plain sentences: words, commas and apostrophes, each with one stop at its end. There is one way to read
each, so that no text makes the search long."""
_BEFORE_STOP = re.compile(r"[A-Za-z]+\.")
_MAY_LINK = re.compile(r"://|@|\.\S")
"""What every link has; to look for one at each word takes long."""
_OTHER_STOPS = str.maketrans(
    {"。": ". ", "．": ". ", "؟": "? ", "।": ". ", "！": "! ", "？": "? ", "۔": ". "}
)
"""Stops of other scripts, so that their sentences have a length too."""
_UNSEEN = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]")
_LINK = re.compile(
    r"\b(?:https?://|www\.)\S+"
    r"|(?<![\w.+-])[\w.+-]{1,64}@[\w-]{1,63}(?:\.[\w-]{1,63})+"
    r"|(?<![\w.-])[\w-]{1,63}(?:\.[\w-]{1,63}){0,4}\.(?:org|com|uk|net|gov)\b\S*"
)
"""Lengths are bounded, so that one endless word cannot make the search take minutes."""
_PHONE = re.compile(r"(?<![\d.,])\+?\d(?:[\d ()]|(?<=\d)-(?=\d)){6,}\d(?![\d.,]*\d)")
_DATE = re.compile(r"\b(?:\d{1,2}([./-])\d{1,2}\1(?:\d{4}|\d{2})|\d{4}-\d{2}-\d{2})\b")
_TIME = re.compile(r"\b([01]?\d|2[0-3])[.:]([0-5]\d)(?=\s*(?:am|pm|o’clock|$|\W))")
_THOUSANDS = re.compile(r"(?<=\d)[,\u00a0\u202f](?=\d{3}\b)")
_RANGE = re.compile(r"(?<=\d)\s?[–—-]\s?(?=\d)")
_UNIT = re.compile(rf"(?<=\d)\s?({'|'.join(sorted(map(re.escape, UNITS), key=len, reverse=True))})(?![\w])")
_INITIAL = re.compile(r"\b([A-Z])\.(?=\s*[A-Z][\w.])")
_DOTTED = re.compile(r"\b(?:[A-Za-z]\.){2,}")
_NO_SPACE = re.compile(r"(?<=[a-z)][.!?])(?=[A-Z][a-z])")
_BEFORE_MARK = re.compile(r"\s+(?=[)\].,;:!?]+(?:\s|$))")
_BARE_DECIMAL = re.compile(r"(?<!\S)[.,:]+(?=\w)")
_INNER_STOP = re.compile(r"(?<=\w)[.:·](?=\w)")
_GLUE = re.compile(r"[–—/\-‐‑−_|•~]")
_TRAIL = re.compile(r"(?:…|\.{2,})\s*(?=[a-z])")
_APOSTROPHE = re.compile(r"(?<=\w)[’ʼ](?=\w)")
_MARKS = re.compile(r"[.!?…]*([.!?])[.!?…]*")
SENTENCE = re.compile(r"[^.!?]+[.!?]+[\"”’)\]»]*")


def _abbreviation() -> re.Pattern[str]:
    listed = "|".join(re.escape(each) for each in sorted(ABBREVIATIONS, key=len, reverse=True))
    return re.compile(rf"(?<![\w.])({listed})(\s+(?=[A-Z(“\"])|(?=\W|$))?")


_ABBREVIATION = _abbreviation()
_ENDS_A_SENTENCE = ("etc.", "a.m.", "p.m.", "hrs.", "wks.", "min.")


def prepare(text: str, language: str = "en") -> str:
    """Text as it is scored; ends with a stop; '' when there is nothing to read.

    A telephone number, a link or a date in figures counts as one word, decimal points and times end
    no sentence, units and abbreviations are read aloud (English only), dashes and slashes part words.
    """
    text = unicodedata.normalize("NFC", text)
    if _is_plain(text):
        # most paragraphs: there is nothing in them that can mislead
        return _closed(_APOSTROPHE.sub("'", text) if "’" in text else text)
    return _made_ready(text, language)


def _is_plain(text: str) -> bool:
    return (
        _ONLY_WORDS.match(text) is not None
        and " ," not in text
        and ABBREVIATIONS.keys().isdisjoint(_BEFORE_STOP.findall(text))
    )


def _made_ready(text: str, language: str) -> str:
    """The same for any text, step by step."""
    text = _UNSEEN.sub("", text).translate(_OTHER_STOPS)
    text = _APOSTROPHE.sub("'", text)
    if _MAY_LINK.search(text):
        text = _LINK.sub("link", text)
    if _FIGURE.search(text):
        text = _PHONE.sub("number", _DATE.sub("date", text))
    if language == "en":
        text = _read_aloud(text)
    text = _NO_SPACE.sub(" ", _TRAIL.sub(" ", text))
    text = _INITIAL.sub(r"\1 ", _THOUSANDS.sub("", text))
    text = _DOTTED.sub(lambda found: found.group().replace(".", ""), text)
    text = " ".join(_GLUE.sub(" ", text).replace("…", ".").split())
    text = _MARKS.sub(r"\1", _BEFORE_MARK.sub("", text))
    return _closed(_BARE_DECIMAL.sub("", _INNER_STOP.sub("", text)))


def _closed(text: str) -> str:
    """Text without blanks or marks around it, and with a stop at its end."""
    text = " ".join(text.split()).strip(" :;,").lstrip(".!?:;, ")
    return text if not text or _ended(text) else f"{text}."


def _ended(text: str) -> bool:
    return text.rstrip('"”’)]»')[-1:] in (".", "!", "?")


def _read_aloud(text: str) -> str:
    if _FIGURE.search(text):
        text = _NUMBERED.sub("number ", _TIME.sub(r"\1\2", text))
    text = _ABBREVIATION.sub(_spoken, text)
    if _FIGURE.search(text):
        text = _RANGE.sub(" to ", text)
        text = _UNIT.sub(lambda found: f" {UNITS[found.group(1)]}", text)
    return text.translate(_SYMBOLS)


def _spoken(found: re.Match[str]) -> str:
    """An abbreviation as it is read; its stop stays where a new sentence begins after it."""
    written, after = found.group(1), found.group(2) or ""
    stop = "." if written in _ENDS_A_SENTENCE and after else ""
    return f"{ABBREVIATIONS[written]}{stop}{after}"


def split(prepared: str) -> list[str]:
    """The sentences of prepared text, each with its closing mark."""
    return [each.strip() for each in SENTENCE.findall(prepared)]


def words_of(sentence: str) -> list[str]:
    """The words of prepared text, without marks. A figure is a word."""
    bare = (each.strip("\"“”‘’'()[]«».,;:!?¿¡*") for each in sentence.split())
    # most words are of letters alone, which is asked fast
    return [each for each in bare if each.isalnum() or any(map(str.isalnum, each))]
