"""Rules about words: hard everyday words, clinical terms and abbreviations nobody explains."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from consentpack.advice.grammar import Found
from consentpack.advice.passages import Passage
from consentpack.model import HouseStyle, Spoken, Term
from consentpack.readability import words_of

_CAPITALS = re.compile(r"\b[A-Z][A-Z&]{1,5}\b")
_ROMAN = re.compile(r"^[IVX]+$")
_CLINICAL = ("clinical", "drug")


def plain_word(passage: Passage, style: HouseStyle) -> Iterator[Found]:
    """'Commence' for 'start'."""
    pattern = _any_of(tuple(style.plain))
    for found in pattern.finditer(passage.text) if pattern else ():
        plain = style.plain[found.group().lower()]
        instead = passage.text[: found.start()] + like(found.group(), plain) + passage.text[found.end() :]
        yield Found(found.group(), f"Say “{plain}”.", instead)


def jargon(
    found_in: list[Passage], terms: Iterable[Term], spoken: Mapping[str, Spoken], style: HouseStyle
) -> Iterator[tuple[Passage, Found]]:
    """Clinical terms that no sentence near their first use explains; each once."""
    plain = {term.clinical.lower(): term.plain for term in terms}
    hard = {w for w, each in spoken.items() if each.kind in _CLINICAL} - set(style.familiar)
    pattern = _any_of(tuple({*plain, *hard} - set(style.familiar)), plural=True)
    seen: set[str] = set()
    for place, passage in enumerate(found_in):
        for found in pattern.finditer(passage.text) if pattern else ():
            term = _singular(found.group(1).lower(), {*plain, *hard, *style.familiar})
            if term in seen or term in style.familiar:
                continue
            seen.add(term)
            near = " ".join(p.text for p in found_in[max(0, place - 1) : place + 2])
            if not explained(term, near, plain.get(term, "")):
                yield passage, _jargon(passage, found, plain.get(term, ""))


def _jargon(passage: Passage, found: re.Match[str], plain: str) -> Found:
    if not plain:
        return Found(found.group(), "Explain it where it first stands, or use an everyday word.")
    text = passage.text
    instead = text[: found.start()] + like(found.group(), plain) + text[found.end() :]
    return Found(found.group(), f"Say “{plain}”, or explain it where it first stands.", instead)


def explained(term: str, near: str, plain: str) -> bool:
    """Whether the text near a term says what it means."""
    word = rf"{re.escape(term)}s?"
    low = near.lower()
    shapes = (
        rf"\({word}[^)]*\)",
        rf"{word} \([a-z]",
        rf"calls? (?:this|it|that|them|these) (?:an? |the )?{word}",
        rf"(?:called|named|known as|say|word for(?: it)? is)\W+(?:an? |the )?{word}",
        rf"{word}\W+(?:is|are|means|mean)\b (?!not\b)(?:an? |the |when |your )",
        rf"{word}, (?:an?|the|or|which) ",
    )
    main = [w for w in words_of(plain.lower()) if len(w) > 3]
    said = bool(main) and all(w.rstrip("s") in low for w in main)
    return said or any(re.search(shape, low) for shape in shapes)


def abbreviation(found_in: list[Passage], style: HouseStyle) -> Iterator[tuple[Passage, Found]]:
    """Capital letters that stand for words nobody wrote out; each once."""
    seen: set[str] = set()
    whole = " ".join(passage.text for passage in found_in)
    for passage in found_in:
        letters = [c for c in passage.text if c.isalpha()]
        shouted = sum(map(str.isupper, letters)) > len(letters) / 2
        for short in () if shouted else _CAPITALS.findall(passage.text):
            known = short in style.abbreviations or bool(_ROMAN.match(short)) or short in seen
            if not known and not _written_out(short, whole):
                yield passage, Found(short, "Write it out where it first stands, or leave it out.")
            seen.add(short)


def _written_out(short: str, whole: str) -> bool:
    """'Local anaesthetic (LA)' or 'LA (local anaesthetic)' somewhere in the text."""
    initials = r"\W+".join(rf"{re.escape(c)}\w*" for c in short if c.isalpha())
    forms = (rf"{initials}\s*\(\s*{re.escape(short)}\b", rf"\b{re.escape(short)}\s*\(\s*{initials}")
    return any(re.search(form, whole, re.IGNORECASE) for form in forms)


def two_names(found_in: list[Passage], style: HouseStyle) -> Iterator[tuple[Passage, Found]]:
    """Several names for one thing: a reader looks for the difference."""
    for name in style.one_name:
        every = (name.use, *name.instead_of)
        pattern = _any_of(every, plural=True)
        assert pattern is not None
        said = {
            _singular(found.group(1).lower(), set(every))
            for passage in found_in
            for found in pattern.finditer(passage.text)
        }
        if len(said) < 2:
            continue
        keep = name.use if name.use in said else sorted(said)[0]
        for passage in found_in:
            for found in pattern.finditer(passage.text):
                if _singular(found.group(1).lower(), set(every)) != keep:
                    use = like(found.group(), keep)
                    instead = passage.text[: found.start()] + use + passage.text[found.end() :]
                    advice = f"The text also says “{keep}”. Keep to one name for one thing."
                    yield passage, Found(found.group(), advice, instead)


def like(written: str, plain: str) -> str:
    """Plain words with a capital where the hard one had it."""
    return plain[:1].upper() + plain[1:] if written[:1].isupper() else plain


def _singular(word: str, known: set[str]) -> str:
    return word if word in known or not word.endswith("s") else word[:-1]


@lru_cache(32)
def _any_of(words: tuple[str, ...], *, plural: bool = False) -> re.Pattern[str] | None:
    """Any of some words or phrases as whole words, the longest first."""
    if not words:
        return None
    listed = "|".join(re.escape(w).replace(r"\ ", r"\s+") for w in sorted(words, key=len, reverse=True))
    return re.compile(rf"\b((?:{listed}){'s?' if plural else ''})\b", re.IGNORECASE)
