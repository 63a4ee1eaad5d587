"""Rules about names: abbreviations nobody writes out, and two names for one thing."""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack.advice.forms import as_verb, plural, put_in
from consentpack.advice.grammar import Found
from consentpack.advice.passages import Passage
from consentpack.advice.words import any_of, key_of, listed_as
from consentpack.model import HouseStyle, OneName
from consentpack.readability.counts import familiar

# --- abbreviations ----------------------------------------------------------------------------

_CAPITALS = re.compile(r"\b([A-Z][A-Z&]{1,5})s?\b")
_ROMAN = re.compile(r"[IVX]+$")
_COUNTED = re.compile(r"\b(?:type|grade|class|stage|level|phase|part|factor|group|step|section)s?\b", re.I)
_SHORT_WORDS = frozenset(
    [
        "no",
        "do",
        "if",
        "or",
        "in",
        "on",
        "be",
        "up",
        "us",
        "we",
        "it",
        "go",
        "at",
        "to",
        "as",
        "by",
        "my",
        "me",
        "so",
        "he",
        "of",
        "an",
        "is",
    ]
)


def abbreviation(found_in: list[Passage], style: HouseStyle) -> Iterator[tuple[Passage, Found]]:
    """Capital letters that stand for words nobody wrote out by then; each once."""
    seen: set[str] = set()
    said = ""
    for place, passage in enumerate(found_in):
        said += f" {passage.heading} {passage.text}"
        near = said + " " + " ".join(p.text for p in found_in[place + 1 : place + 2])
        for found in () if _shouted(passage.text) else _CAPITALS.finditer(passage.text):
            short = found.group(1)
            known = short in seen or short in style.abbreviations or short.lower() in style.familiar
            if not known and not _is_no_abbreviation(short, passage.text) and not _written_out(short, near):
                yield passage, Found(found.group(), "Write it out where it first stands, or leave it out.")
            seen.add(short)


def _shouted(text: str) -> bool:
    letters = [c for c in text if c.isalpha()]
    return sum(map(str.isupper, letters)) > len(letters) / 2


def _is_no_abbreviation(short: str, text: str) -> bool:
    """A number in Roman figures, or a word in capitals: 'Do NOT rub'."""
    if _ROMAN.match(short):
        return short != "IV" or bool(_COUNTED.search(text))
    low = short.lower()
    return low in _SHORT_WORDS or (len(low) > 2 and familiar(low))


def _written_out(short: str, said: str) -> bool:
    """'Local anaesthetic (LA)', 'LA (a numbing injection)', 'LA stands for', 'also called LA'."""
    letters = rf"\b{re.escape(short)}s?\b"
    initials = r"\W+(?:(?:of|and|the|for|in)\W+)?".join(rf"{re.escape(c)}\w*" for c in short if c.isalpha())
    begins = rf"\b(?i:{short[0]})\w*(?:\W+\w+){{0,{len(short) + 2}}}?\W*"
    shapes = (
        rf"{letters}\s*\((?!see\b|page\b)[a-z]",
        rf"{letters} (?:stands for|means?)\b",
        rf"{letters}\s*\(\s*(?i:{initials})",
        rf"{begins}\((?:an? |the |or )?{letters}",
        rf"(?i:{initials})\W+(?:called|known as|or)\W+(?:an? |the )?{letters}",
    )
    return any(re.search(shape, said) for shape in shapes)


# --- one name for one thing -------------------------------------------------------------------


def two_names(found_in: list[Passage], style: HouseStyle) -> Iterator[tuple[Passage, Found]]:
    """Several names for one thing: a reader looks for the difference."""
    for name in style.one_name:
        said = [(passage, found, each) for passage in found_in for found, each in _names(passage.text, name)]
        different = {each for _, _, each in said}
        if len(different) < 2:
            continue
        keep = name.use if name.use in different else said[0][2]
        for passage, found, each in said:
            if each != keep:
                yield passage, _one_name(passage.text, found, each, keep)


def _names(text: str, name: OneName) -> Iterator[tuple[re.Match[str], str]]:
    """Each place of a name, with the name as it is listed. 'Visit our page' is no name."""
    every = (name.use, *name.instead_of)
    pattern = any_of(every, plural=True)
    for found in pattern.finditer(text) if pattern else ():
        one_word = " " not in found.group()
        if not (one_word and as_verb(text, found.start(), found.end())):
            yield found, listed_as(key_of(found.group()), set(every))


def _one_name(text: str, found: re.Match[str], each: str, keep: str) -> Found:
    use = plural(keep) if key_of(found.group()) != each else keep
    advice = f"The text also says “{keep}”. Keep to one name for one thing."
    return Found(found.group(), advice, put_in(text, found.start(), found.end(), use))
