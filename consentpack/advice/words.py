"""Rules about words: hard everyday words, and clinical terms that nobody explains."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from consentpack.advice.forms import (
    VERB_TAGS,
    as_verb,
    countable,
    inflected,
    lemmas,
    plural,
    put_in,
    singular,
)
from consentpack.advice.grammar import Found
from consentpack.advice.passages import Passage
from consentpack.model import HouseStyle, Spoken, Term
from consentpack.readability import words_of

# --- hard everyday words ----------------------------------------------------------------------

_PERFECT = re.compile(r"\b(?:am|is|are|was|were|be|been|being|has|have|had)\s+(?:\w+ly\s+|not\s+)?$", re.I)
_DOER = re.compile(r"\b(?:have|has|had|you|we|they|who|it|which|patients|people)\s+$", re.IGNORECASE)
_DOING = re.compile(
    r"(?:^|\b(?:by|for|without|when|while|after|before|from|am|is|are|was|were|be|stop|start|keep)\s+)$",
    re.IGNORECASE,
)
_THE = re.compile(r"\b(?:the|an?|your|our|this|these|any|no)\s+(?:\w+ly\s+)?$", re.IGNORECASE)
_IS = re.compile(r"\b(?:am|is|are|was|were|be|been|being)\s+(?:\w+ly\s+|not\s+)?$", re.IGNORECASE)
_NO_PASSIVE = ("got", "had")
_JOINERS = ("but", "so", "and", "or")


def plain_word(passage: Passage, style: HouseStyle) -> Iterator[Found]:
    """'Commence' for 'start', in every form: 'commenced' for 'started'."""
    text = passage.text
    known = _plain_forms(tuple(style.plain.items()))
    pattern = any_of(tuple(known))
    for found in pattern.finditer(text) if pattern else ():
        hard, tag = known[key_of(found.group())]
        if tag and not _is_that_verb(text, found, tag):
            continue
        plain = style.plain[hard]
        if plain == "but" and not text.startswith(",", found.end()):  # 'however the wound was made'
            continue
        said = inflected(plain, _tag_here(text, found, tag)) if tag not in ("", "VB", "NNS") else plain
        said = plural(plain) if tag == "NNS" else said
        advice = f"Say “{said.replace(', ', '” or “')}”."
        yield Found(found.group(), advice, _swapped(text, found, said))


@lru_cache(8)
def _plain_forms(plain: tuple[tuple[str, str], ...]) -> dict[str, tuple[str, str]]:
    """Every form of the hard words -> the word as listed and the form's tag ('' for no verb or noun)."""
    forms: dict[str, tuple[str, str]] = {}
    for hard, easy in plain:
        first = easy.split()[0].strip(",") if easy.strip() else ""
        if hard in lemmas(hard, "VERB") and lemmas(first, "VERB") and first != "first":
            forms |= {inflected(hard, tag): (hard, tag) for tag in VERB_TAGS} | {hard: (hard, "VB")}
        elif hard in lemmas(hard, "NOUN") and lemmas(first, "NOUN") and not lemmas(hard, "ADJ"):
            forms |= {plural(hard): (hard, "NNS"), hard: (hard, "")}
    # a word listed itself goes before a form of another
    return forms | {hard: forms.get(hard, (hard, "")) for hard, _ in plain}


def _is_that_verb(text: str, found: re.Match[str], tag: str) -> bool:
    """Whether a word is the verb it could be: 'to contact', but not 'contact sport'."""
    low, before = key_of(found.group()), text[: found.start()]
    noun, other = bool(lemmas(low, "NOUN")), bool(lemmas(low, "ADJ") or lemmas(f"{low}ly", "ADV"))
    if tag in ("VBD", "VBN") and _THE.search(before):  # 'the established way' is no deed
        return False
    if tag == "NNS" or not (noun or other):
        return True
    if tag == "VB":
        return as_verb(text, found.start(), found.end())
    return bool((_DOING if tag == "VBG" else _DOER).search(before)) or (tag == "VBZ" and not noun)


def _tag_here(text: str, found: re.Match[str], tag: str) -> str:
    """Past form or participle: they look alike in 'was obtained' and 'we obtained'."""
    if tag not in ("VBD", "VBN"):
        return tag
    return "VBN" if _PERFECT.search(text[: found.start()]) else "VBD"


def _swapped(text: str, found: re.Match[str], said: str) -> str:
    """The sentence with the plain word; a joining word only where a clause begins."""
    end = found.end()
    if said in _NO_PASSIVE and _IS.search(text[: found.start()]):  # 'consent was got'
        return ""
    if said in _JOINERS:
        if found.start() and not text[: found.start()].endswith("; "):
            return ""
        end += text[end:].startswith(",")
    return put_in(text, found.start(), end, said)


# --- clinical terms ---------------------------------------------------------------------------

_CLINICAL = ("clinical", "drug")
_MAY_FOLLOW = re.compile(
    r"\W*$|[.,;:)?!]|\s+(?:is|are|was|were|can|may|might|will|could|has|have|or|and|but|if|when|in|on|at"
    r"|to|by|for|from|with|than|that|which|who|happens?|occurs?|forms?|does|do|after|before|under|near"
    r"|as|because|means?)\b"
)
"""What may stand after a term so that a phrase can take its place: 'an adrenaline pen' is one thing."""


_HAS_ARTICLE = re.compile(
    r"\b(?:an?|the|your|our|any|this|that|each|every|no|one|another)\s+(?:\w+\s+){0,2}$", re.IGNORECASE
)


def jargon(
    found_in: list[Passage], terms: Iterable[Term], spoken: Mapping[str, Spoken], style: HouseStyle
) -> Iterator[tuple[Passage, Found]]:
    """Clinical terms that no sentence near their first use explains; each once."""
    plain = {term.clinical.lower(): term.plain for term in terms}
    hard = {word for word, each in spoken.items() if each.kind in _CLINICAL}
    known = {*plain, *hard, *style.familiar}
    pattern = any_of(tuple(sorted(known)), plural=True)
    seen = set(style.familiar)
    for place, passage in enumerate(found_in):
        for found in pattern.finditer(passage.text) if pattern else ():
            term = listed_as(key_of(found.group()), known)
            short = (
                found.group().rstrip("s").isupper() and term not in plain
            )  # the rule of abbreviations has these
            if term in seen or short:
                continue
            seen.add(term)
            near = " ".join((passage.heading, *(p.text for p in found_in[max(0, place - 1) : place + 2])))
            if not explained(term, near, plain.get(term, "")):
                yield passage, _jargon(passage.text, found, term, plain.get(term, ""))


def listed_as(word: str, known: set[str]) -> str:
    """The word as it is listed: the singular where there is one."""
    one = singular(word)
    return one if one in known else word[:-1] if word.endswith("s") and word[:-1] in known else word


def _jargon(text: str, found: re.Match[str], term: str, plain: str) -> Found:
    if not plain:
        return Found(found.group(), "Explain it where it first stands, or use an everyday word.")
    many = key_of(found.group()) != term
    fits = _MAY_FOLLOW.match(text, found.end()) and not (many and re.search(r"\b(?:its|that)\b", plain))
    said = plural(plain) if many else plain
    bare = not many and countable(plain) and not _HAS_ARTICLE.search(text[: found.start()])
    instead = put_in(text, found.start(), found.end(), said) if fits and not bare else ""
    return Found(found.group(), f"Say “{said}”, or explain it where it first stands.", instead)


_NO_MEANING = (
    r"(?!(?:\w+ ){0,3}(?:risks?|complications?|problems?|possibility|side effects?|concerns?"
    r"|contraindications?|options?|choice|reason|chance|not|common|rare|likely|must|treatments?)\b)"
)
"""'A haematoma is a known risk' says nothing of what it is."""


_WORD_FOR = r"(?:word|name|term)s? for(?: it| this| that)? (?:is|are)"


def explained(term: str, near: str, plain: str) -> bool:
    """Whether the text near a term says what it means."""
    word = rf"{re.escape(term)}(?:e?s)?"
    low = near.lower()
    shapes = (
        rf"\([^)]*\b{word}\b[^)]*\)",
        rf"{word} \((?!see |page |if |or |and )[a-z]",
        rf"(?:calls?|names?) (?:this|it|that|them|these|such \w+) (?:an? |the )?{word}",
        rf"(?:called|named|known as|say|{_WORD_FOR})\W+(?:an? |the )?{word}",
        rf"\b(?:this|that|it|these) (?:is|are) (?:an? |the )?(?:\w+ ){{0,3}}{word}[.,]",
        rf"{word}\W+(?:means?\b|(?:is|are)\b (?:an? |the |when |where |your ){_NO_MEANING})",
        rf"{word}, (?:an?|the|which (?:is|are|means?)|that is|or) (?!if\b){_NO_MEANING}",
        rf", (?:or|that is) (?:an? )?{word}\b",
        rf"{word}, which (?!may\b|can\b|could\b|is a (?:known )?(?:risk|complication)\b)",
    )
    main = [w for w in words_of(plain.lower()) if len(w) > 3]
    said = bool(main) and all(w.rstrip("s") in low for w in main)
    return said or any(re.search(shape, low) for shape in shapes)


# --- looking words up --------------------------------------------------------------------------


def key_of(written: str) -> str:
    """Words as they are listed: small letters, one space between."""
    return " ".join(written.lower().split())


@lru_cache(64)
def any_of(words: tuple[str, ...], *, plural: bool = False) -> re.Pattern[str] | None:
    """Any of some words or phrases as whole words, the longest first."""
    if not words:
        return None
    listed = "|".join(re.escape(w).replace(r"\ ", r"\s+") for w in sorted(words, key=len, reverse=True))
    return re.compile(rf"\b(?:{listed}){'(?:e?s)?' if plural else ''}\b", re.IGNORECASE)
