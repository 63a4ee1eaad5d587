"""Rules about how a sentence is built: who does it, no and not, nouns for verbs, length."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from consentpack.advice.forms import inflected, is_participle, like
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


# --- who does it ------------------------------------------------------------------------------

_BETWEEN = (
    r"(?:\w+ly|not|never|also|often|then|usually|always|still|already|first|only|sometimes|all|both|now|best)"
)
_PASSIVE = re.compile(
    r"(?<!there )(?<!there may )(?<!there can )(?<!there will )"  # 'there is reduced feeling'
    rf"\b(?=(am|is|are|was|were|be|been|being)(?:n't)?((?:\s+{_BETWEEN}){{0,2}})\s+([a-z]+)\b"
    r"(\s+by\b(?!\s+(?:\w+ing|hand|mouth|phone|post|email|law|accident|chance|now|then|\d))(?:\s+whom)?)?)",
    re.IGNORECASE,
)
_STATES = frozenset((
    "swollen", "bruised", "blocked", "healed", "infected", "inflamed", "irritated", "damaged", "harmed",
    "stretched", "cracked", "blistered", "crusted", "sunburnt", "sunburned", "burnt", "scarred",
    "tethered", "sunken", "torn", "blurred", "slurred", "lost", "tired", "worried", "pleased",
    "concerned", "interested", "confused", "relaxed", "scared", "frightened", "embarrassed",
    "depressed", "stressed", "satisfied", "surprised", "exhausted", "disappointed", "prepared", "upset",
    "hurt", "called", "named", "supposed", "located", "based", "born", "gone", "married", "stuck",
    "related", "settled", "involved", "attached", "joined", "connected", "finished", "experienced",
    "qualified", "trained", "registered", "insured", "increased", "aged", "wet", "better", "best",
    "bound", "pigmented", "hidden", "unchanged", "well", "shaped", "rested",
))  # fmt: skip
"""Participles that say how something is, not what is done to it."""
_EITHER = frozenset((
    "closed", "covered", "raised", "broken", "limited", "mixed", "left", "held", "set", "fixed", "dressed",
    "numbed", "split", "cut", "spread", "exposed",
))  # fmt: skip
"""States after 'is' ('the arm is raised'), deeds after 'must be' and 'being' ('it must be raised')."""
_DUTY_BEFORE = re.compile(r"\b(?:must|should|to|shall)\s+(?:not\s+|always\s+|never\s+)?$", re.IGNORECASE)
_NOT_AFTER = {
    "made": re.compile(r"\s+(?:of|up|from)\b"),
    "known": re.compile(r"\s+as\b"),
    "used": re.compile(r"\s+to\b(?!\s+\w)|\s+to\s+(?:\w+ing|it|this|that|the|your)\b"),
}
"""What makes a state of a participle: 'made of', 'known as', 'used to it'."""


def passive(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'The area is cleaned': nobody says who does it, or says so last."""
    text = passage.text
    for found in _PASSIVE.finditer(text):
        be, _between, word, by = found.groups()
        if _is_deed(text, found, be.lower(), word.lower()):
            advice = (
                "Put first who or what does it." if by else "Say who does it: “we”, “you”, “your clinician”."
            )
            yield Found(f"{be} … {word}{by or ''}", advice)


_ASKED = re.compile(r"\b(?:tell|ask|know|show|see|is|say)\b.*\b(?:what|how)\b[^,;]*$", re.IGNORECASE)
"""'Tell us what was put in': who did it is not the matter."""


def _is_deed(text: str, found: re.Match[str], be: str, word: str) -> bool:
    after = text[found.end(3) :]
    if word in _STATES or not is_participle(word) or _ASKED.search(text[: found.start()]):
        return False
    if word in _EITHER:
        return be == "being" or (be == "be" and bool(_DUTY_BEFORE.search(text[: found.start()])))
    return not (word in _NOT_AFTER and _NOT_AFTER[word].match(after))


# --- no and not -------------------------------------------------------------------------------

_OPPOSITE = {
    "uncommon": "common", "unusual": "usual", "unlikely": "likely", "unable": "able", "unsafe": "safe",
    "unwise": "wise", "unnecessary": "needed", "unknown": "known", "impossible": "possible",
    "insignificant": "important", "infrequent": "common", "infrequently": "often", "abnormal": "normal",
    "uncomfortable": "", "unexpected": "expected", "unreasonable": "fair", "unhelpful": "helpful",
    "improbable": "likely", "inadvisable": "", "unaware": "aware", "irreversible": "", "harmless": "",
    "painless": "", "risk-free": "", "dissimilar": "like", "unheard of": "",
}  # fmt: skip
"""What 'not' turns round -> the plain word; '' where the plain word would say too much."""
_NEGATED = re.compile(rf"\b(?:not|never|\w+n't)\s+(?:an?\s+)?({'|'.join(_OPPOSITE)})\b", re.IGNORECASE)
_UNLESS = re.compile(r"^(?:please )?(?:do not|don't|never)\s+([^,]+?),?\s+unless\s+(.+)$", re.IGNORECASE)
_TIED = re.compile(
    r"\b(?:any\w*|either|ever|yet|at all|until|for|before|within|after|not|and)\b", re.IGNORECASE
)
"""Words that 'only if' would turn into nonsense or into another instruction ('do not peel for 4 weeks
unless')."""
_TWICE = re.compile(
    r"\b(?:not|never|cannot|no one|nobody|nothing|neither|no|\w+n't)\b"
    r"(?! only\b| just\b| need to\b| have to\b| later\b| more than\b)"
    r"(?:(?!\b(?:and|or|but|if|because|when|whether|so|while)\b)[^.,;:])*?"
    r"\b(?:not|never|unless|without|nothing|nobody|no one|fail to|none|\w+n't)\b",
    re.IGNORECASE,
)


def double_negative(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'Not uncommon', 'do not … unless': two turns where none is needed."""
    text = passage.text
    if unless := _UNLESS.match(text):
        yield Found("do not … unless", "Say when it may be done: “only if …”.", _only_if(*unless.groups()))
    elif found := _NEGATED.search(text):
        plain = _OPPOSITE[found.group(1).lower()]
        advice = f"Say “{plain}”." if plain else "Say what it is, not what it is not."
        yield Found(found.group(), advice, _without_not(text, found, plain))
    elif twice := _TWICE.search(text):
        words = re.split(r"\s+", twice.group())
        end = "fail to" if twice.group().lower().endswith("fail to") else words[-1]
        yield Found(f"{words[0]} … {end}", "Say it once, without a second no.")


def _only_if(said: str, when: str) -> str:
    """'Do not rub it unless we say so' -> 'Rub it only if we say so'; '' where that would be nonsense."""
    tied = _TIED.search(said) or re.search(r"\bnot\b|n't\b", when)
    return "" if tied else f"{like('A', said)} only if {when}"


def _without_not(text: str, found: re.Match[str], plain: str) -> str:
    """The sentence said the plain way round; '' after an article or a contracted not."""
    plainly = plain and found.group().lower().startswith("not ") and " " not in found.group()[4:]
    return text[: found.start()] + plain + text[found.end() :] if plainly else ""


# --- nouns for verbs --------------------------------------------------------------------------

_LIGHT = (
    r"(?:perform(?:ed|s|ing)?|carr(?:y|ied|ies|ying) out|undertak(?:e|es|en|ing)|ma[dk]es?|making"
    r"|conduct(?:ed|s|ing)?|provid(?:e|es|ed|ing)|gives?|giving|undergo(?:es|ing)?)"
)
_DETERMINER = r"(?:an?|the|any|your|our|some|its|their|this)"
_DONE = r"(?:performed|carried out|undertaken|made|conducted|provided)"
_FITS_BEFORE = re.compile(
    r"(?:^|\b(?:after|before|by|for|of|with|without|from|on|in|through|despite|following|prior to|due to"
    r"|lead to|leads to|require|requires|recommend|avoid|include|includes|and|or|than|as)\s+)$",
    re.IGNORECASE,
)
"""Where a gerund may stand: 'before removing', but not 'during removing' or 'careful removing'."""
_PASSES_OBJECT = re.compile(r"(?:a|an|\d+|up)\b|.*\b(?:by|to)\b", re.IGNORECASE)
"""'a reduction of 20 per cent', 'exposure of the arm to sun': a verb would need another build."""


def noun_for_verb(passage: Passage, style: HouseStyle) -> Iterator[Found]:
    """'The removal of the pad': a deed hidden in a noun."""
    if not style.verbs:
        return
    nouns = "|".join(sorted(map(re.escape, style.verbs), key=len, reverse=True))
    text = passage.text
    for found in re.finditer(rf"\b(?:(the|an?|any)\s+)?({nouns})\s+of\s+(?=\w)", text, re.IGNORECASE):
        verb = style.verbs[found.group(2).lower()]
        yield Found(found.group().strip(), _use(verb), _with_gerund(text, found, verb))
    seldom = "|".join(sorted(map(re.escape, set(style.verbs) - set(style.familiar)), key=len, reverse=True))
    given = rf"\b{_LIGHT}\s+(?:{_DETERMINER}\s+)?(?:\w+\s+)?({seldom})\b(?!\s+of\b)"
    done = rf"\b({seldom})\b(?!\s+of\b)(?:\s+\w+){{1,3}}?\s+{_DONE}\b"
    if seldom and (light := re.search(rf"{given}|{done}", text, re.IGNORECASE)):
        noun = (light.group(1) or light.group(2)).lower()
        yield Found(light.group(), _use(style.verbs[noun]))


def _use(verb: str) -> str:
    return f"Use the verb: “{verb.replace(', ', '” or “')}”."


def _with_gerund(text: str, found: re.Match[str], verb: str) -> str:
    """'Before the removal of the pad' -> 'Before removing the pad'; '' where a gerund cannot stand."""
    before, after = text[: found.start()], text[found.end() :]
    clause = re.split(r"[.,;]|\b(?:is|are|can|may|will|must|should)\b", after)[0]
    if "," in verb or not _FITS_BEFORE.search(before) or _PASSES_OBJECT.match(clause):
        return ""
    return before + like(found.group()[:1], inflected(verb, "VBG")) + " " + after


# --- length -----------------------------------------------------------------------------------

_SPLIT = re.compile(r";\s+|,\s+(?:and|but|so(?! that\b))\s+", re.IGNORECASE)
_CONDITION = re.compile(
    r"^(?:if|when|once|until|unless|while|before|after|as|although|because|for|in|on|at)\b", re.IGNORECASE
)
"""Beginnings that count for all of a sentence: parted, the second half would hold without the 'if'."""
_CLAUSE = re.compile(
    r"(?:(?:then|also|please)\s+)?(?:(?:you|we|they|it|he|she|i|there|this|that|these|those|some|most)\b"
    r"|(?:the|an?|your|our|its|their)\s+(?:\w+\s+){1,4}?(?:is|are|was|were|can|may|will|must|should|ha[sd]|have|do|does)\b"
    r"|(?:do not|don't|never(?! an?\b| the\b| on\b))\b)",
    re.IGNORECASE,
)


def long_sentence(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """More than 20 words: too much to hold at once."""
    count = len(words_of(passage.text))
    if count > LONGEST_SENTENCE:
        yield Found(f"{count} words", "Make two sentences of it.", _in_two(passage.text))


def _in_two(text: str) -> str:
    """The sentence parted where it joins two thoughts, nearest to its middle; '' where it does not."""
    places = [found for found in _SPLIT.finditer(text) if _parts_well(text, found)]
    if not places or _CONDITION.match(text) or text.endswith("?"):
        return ""
    middle = min(places, key=lambda found: abs(found.start() - len(text) / 2))
    first, second = text[: middle.start()].rstrip(" ,;"), text[middle.end() :]
    joiner = middle.group().strip(" ,;").lower()
    begin = {"but": "But ", "so": "So "}.get(joiner, "")
    return f"{first}. {begin}{second if begin else second[:1].upper() + second[1:]}"


def _parts_well(text: str, found: re.Match[str]) -> bool:
    """Whether both halves are sentences, and not the end of a row of things or inside brackets."""
    first, second = text[: found.start()], text[found.end() :]
    row = "and" in found.group() and re.search(r",\s", first)
    inside = first.count("(") > first.count(")") or first.count('"') % 2
    long = len(first.split()) > 3 and len(second.split()) > 3
    return bool(long and not row and not inside and _CLAUSE.match(second))
