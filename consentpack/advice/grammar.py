"""Rules about how a sentence is built: who does it, no and not, nouns for verbs, length."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from consentpack.advice.passages import Passage
from consentpack.model import HouseStyle
from consentpack.readability import words_of

LONGEST_SENTENCE = 20
"""Words. One idea a sentence, 15 to 20 words at most: common advice of plain-language guides (from
memory); a family-medicine review asks for few ideas at a time."""


@dataclass(frozen=True)
class Found:
    """What a rule found in one sentence."""

    found: str
    advice: str
    instead: str = ""
    """The whole sentence as it could read; '' where only a person can say."""


_BE = r"am|is|are|was|were|be|been|being|gets?|got|getting"
_BETWEEN = r"(?:\w+ly|not|never|also|often|then|usually|always|still|already|first|only|sometimes|all|both)"
_PASSIVE = re.compile(rf"\b({_BE})((?:\s+{_BETWEEN}){{0,2}})\s+([a-z]+)\b(\s+by\b)?", re.IGNORECASE)
_STATES = frozenset((
    "swollen", "bruised", "closed", "blocked", "healed", "infected", "inflamed", "raised", "tired",
    "worried", "pleased", "concerned", "interested", "called", "named", "used", "allowed", "supposed",
    "located", "born", "gone", "broken", "married", "dressed", "stuck", "limited", "mixed", "related",
    "settled", "sunken", "torn", "prone", "set", "red", "dead", "felt", "scarred", "tethered", "left",
    "cold", "hot", "wet", "dry", "open", "upset", "hurt", "better", "sore", "bound", "held",
))  # fmt: skip
"""Participles that say how something is, not what is done to it."""


def passive(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'The area is cleaned': nobody says who does it."""
    for be, _between, word, by in _PASSIVE.findall(passage.text):
        low = word.lower()
        if is_participle(low) and (by or low not in _STATES):
            yield Found(f"{be} … {word}", "Say who does it: “we”, “you”, “your clinician”.")


@lru_cache(5000)
def is_participle(low: str) -> bool:
    """Whether a word is the past participle of a verb ('cleaned', 'taken')."""
    import lemminflect  # noqa: PLC0415 - its tables take a third of a second

    lemmas = lemminflect.getAllLemmas(low).get("VERB", ())
    return any(low in lemminflect.getAllInflections(lemma, "VERB").get("VBN", ()) for lemma in lemmas)


_NEGATED = re.compile(
    r"\bnot\s+(un(?:common|usual|likely|able|safe|wise|necessary|known)"
    r"|impossible|insignificant|infrequent|abnormal)\b",
    re.IGNORECASE,
)
_OPPOSITE = {
    "uncommon": "common", "unusual": "usual", "unlikely": "likely", "unable": "able", "unsafe": "safe",
    "unwise": "wise", "unnecessary": "needed", "unknown": "known", "impossible": "possible",
    "insignificant": "important", "infrequent": "common", "abnormal": "normal",
}  # fmt: skip
_UNLESS = re.compile(r"^(?:please )?(?:do not|don't|never)\s+(.+?)\s+unless\s+(.+)$", re.IGNORECASE)
_TWICE = re.compile(
    r"\b(?:not|never|cannot|can't|don't|won't|no one|nobody|nothing|neither)\b(?! only\b)[^.,;]*?"
    r"\b(?:not|never|unless|without|nothing|nobody|no one|fail to|none)\b",
    re.IGNORECASE,
)


def double_negative(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'Not uncommon', 'do not … unless': two turns where none is needed."""
    text = passage.text
    unless = _UNLESS.match(text)
    if unless:
        said, when = unless.groups()
        instead = f"{said[:1].upper()}{said[1:]} only if {when}"
        yield Found("do not … unless", "Say when it may be done: “only if …”.", instead)
        return
    found = _NEGATED.search(text)
    if found and (plain := _OPPOSITE.get(found.group(1).lower())):
        instead = text[: found.start()] + plain + text[found.end() :]
        yield Found(found.group(), f"Say “{plain}”.", instead)
    elif twice := _TWICE.search(text):
        yield Found(
            " … ".join((twice.group().split()[0], twice.group().split()[-1])),
            "Say it once, without a second no.",
        )


_LIGHT = (
    r"(?:perform(?:ed|s)?|carr(?:y|ied) out|undertak(?:e|en)|ma[dk]e|conduct(?:ed)?|provide|give|undergo)"
)


def noun_for_verb(passage: Passage, style: HouseStyle) -> Iterator[Found]:
    """'The removal of the pad': a deed hidden in a noun."""
    if not style.verbs:
        return
    nouns = "|".join(sorted(style.verbs, key=len, reverse=True))
    text = passage.text
    for found in re.finditer(rf"\b(?:(the|an?|any)\s+)?({nouns})\s+of\b(?=\s+\w)", text, re.IGNORECASE):
        verb = style.verbs[found.group(2).lower()]
        doing = gerund(verb)
        doing = doing.capitalize() if found.group()[0].isupper() else doing
        instead = f"{text[: found.start()]}{doing}{text[found.end() :]}"
        yield Found(found.group(), f"Use the verb: “{verb}”.", instead)
    light = re.search(rf"\b{_LIGHT}\s+(?:an?|the|any)?\s*({nouns})\b(?!\s+of\b)", text, re.IGNORECASE)
    if light:
        yield Found(light.group(), f"Use the verb: “{style.verbs[light.group(1).lower()]}”.")


@lru_cache(500)
def gerund(verb: str) -> str:
    """'put in' -> 'putting in'."""
    import lemminflect  # noqa: PLC0415

    first, _, rest = verb.partition(" ")
    found = lemminflect.getInflection(first, tag="VBG")
    return f"{found[0] if found else first + 'ing'} {rest}".strip()


_SPLIT = re.compile(r";\s+|,\s+(?:and|but|so)\s+", re.IGNORECASE)


def long_sentence(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """More than 20 words: too much to hold at once."""
    count = len(words_of(passage.text))
    if count > LONGEST_SENTENCE:
        yield Found(f"{count} words", "Make two sentences of it.", _in_two(passage.text))


def _in_two(text: str) -> str:
    """The sentence parted where it joins two thoughts, nearest to its middle; '' where it does not."""
    places = [
        found
        for found in _SPLIT.finditer(text)
        if len(text[: found.start()].split()) > 3 and len(text[found.end() :].split()) > 3
    ]
    if not places:
        return ""
    middle = min(places, key=lambda found: abs(found.start() - len(text) / 2))
    first, second = text[: middle.start()].rstrip(" ,;"), text[middle.end() :]
    joiner = middle.group().strip(" ,;").lower()
    begin = "But " if joiner == "but" else "So " if joiner == "so" else ""
    return f"{first}. {begin}{second if begin else second[:1].upper() + second[1:]}"
