"""Rules about instructions and lists: when exactly, what to do, how many at a time."""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack.advice.forms import as_verb, is_participle, lemmas
from consentpack.advice.grammar import Found
from consentpack.advice.passages import Listing, Passage
from consentpack.model import HouseStyle
from consentpack.readability import words_of

MOST_ITEMS = 7
"""Items of a list. The Suitability Assessment of Materials asks for 3 to 5 under a heading (Doak, Doak
and Root 1996; from memory); a list of 8 is certainly two lists."""
MOST_WORDS = 35
MOST_SENTENCES = 3

_UNITS = r"(?:minute|hour|day|night|week|month)s?"
_VAGUE = re.compile(
    r"\b(?:(?<!as )(?<!how )soon|as soon as (?:possible|you can|practicable)|shortly|promptly|regularly"
    r"|frequently|(?<!as )(?<!how )often|periodically|occasionally|recently"
    r"|(?:for )?(?:a|some) (?:while|time)|(?:for )?a short (?:time|while|period)"
    r"|in due course|from time to time|(?:every )?now and then|at (?:regular )?intervals|in good time"
    r"|(?:as|when|if) (?:and when )?(?:needed|required|necessary|appropriate|directed|tolerated|desired)"
    rf"|(?:for |over |in )?(?:the (?:next|first|coming) )?(?:a few|few|several|some|a couple of) {_UNITS}"
    rf"|(?:for|over|in) the coming {_UNITS}|(?<!how )(?:several|many|a few) times|in the near future"
    r"|at (?:your|the) earliest \w+)\b",
    re.IGNORECASE,
)
_NUMBER = r"(?:\d+|one|two|three|four|five|six|seven|eight|nine|ten|twelve)"
_EXACT = re.compile(
    rf"\b{_NUMBER}\s+(?:more\s+)?(?:seconds?|{_UNITS}|years?|times?)\b|\b(?:once|twice) (?:a|every) \w+"
    r"|\b(?:every|each) (?:day|night|morning|evening|hour)\b|\bdaily\b|\b\d{1,2} ?(?:am|pm)\b",
    re.IGNORECASE,
)
_ASIDE = re.compile(
    r"^(?:if|when|once|because|as)\b[^,]*,"
    r"|\b(?:if|unless|because|whether|who|in case|which|so that|where|as it|as they|and it|and they)\b"
    r"(?! (?:and when )?(?:needed|required|necessary|appropriate|desired)\b).*$",
    re.IGNORECASE,
)
"""Parts of an instruction that say why or in what case, and may stay loose: 'if you often faint'."""
_FINITE = re.compile(
    r"\b(?:am|is|are|was|were|has|have|had|do|does|did|can|may|must|will|should|could|would|might|need|needs)\b",
    re.IGNORECASE,
)
_PRONOUN_VERB = re.compile(r"\b(?:you|we|it|they)\s+\w+", re.IGNORECASE)
_DUTY = re.compile(
    r"\b(?:(?:you|patients?|people) (?:must|should|need to|have to|ought to"
    r"|are (?:advised|asked|encouraged) to)|(?:is|are) to be"
    r"|it is (?:important|essential|vital|best|advisable) to|make sure)\b"
    r"|^(?:please|do not|don't|never|always)\b",
    re.IGNORECASE,
)
_DUTY_DONE = re.compile(r"\b(?:must|should)\s+(?:not\s+)?be\s+(?:\w+ly\s+|then\s+)?(\w+)", re.IGNORECASE)
_NOT_DONE = frozenset(("gone", "healed", "settled", "finished", "better", "swollen", "bruised"))
_LEAD = re.compile(
    r"^(?:please|then|next|also|first|now|always|never|do not|don't|at once|only|instead|just"
    r"|(?!apply\b|rely\b|fly\b)\w+ly\b"
    r"|(?:if|when|once|until|after|before|for|on|in|at|to|every|each|as|from|with|by)\b[^,]*,)\s*",
    re.IGNORECASE,
)


def vague_time(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'Regularly', 'for a few days': nobody can follow it to the hour."""
    fragment = passage.instructs and passage.in_list and not tells(passage.text)
    if _EXACT.search(passage.text) or not (fragment or orders(passage.text)):
        return
    for found in _VAGUE.finditer(_ASIDE.sub("", passage.text)):
        yield Found(found.group(), "Say how long, how often or by when: “for 2 days”, “every 4 hours”.")


def no_verb(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'No exercise': an instruction that does not say what to do."""
    own = passage.instructs and passage.in_list and passage.first and not passage.text.endswith("?")
    if own and not tells(passage.text):
        yield Found(passage.text, "Begin with what to do: “Keep …”, “Do not …”, “Ring …”.")


def tells(text: str) -> bool:
    """Whether a sentence says what to do or what happens: it has a verb where one belongs."""
    return bool(_FINITE.search(text) or _PRONOUN_VERB.search(text)) or _has_order(text) or _says(text)


def orders(text: str) -> bool:
    """Whether a sentence tells somebody to do something."""
    done = _DUTY_DONE.search(text)
    told = done and is_participle(done.group(1).lower()) and done.group(1).lower() not in _NOT_DONE
    return bool(_DUTY.search(text) or told) or (_has_order(text) and not _says(text))


def _has_order(text: str) -> bool:
    """'Keep it dry', 'At night, sleep on 2 pillows', 'For 2 days put the pad on'."""
    rest, before = text, ""
    while rest != before:
        before, rest = rest, _LEAD.sub("", rest, count=1)
    starts = re.match(r"[a-z'-]+", rest, re.IGNORECASE)
    if starts and _begins_order(rest, starts, led="," in text[: len(text) - len(rest)]):
        return True
    return any(_is_order(rest, found) for found in re.finditer(r"\b[a-z]+\b", rest))


def _begins_order(rest: str, found: re.Match[str], *, led: bool) -> bool:
    """Whether the first word is an order; `led` where words before it call for one ('at night, sleep')."""
    low, after = found.group().lower(), rest[found.end() :]
    if low not in lemmas(low, "VERB") or re.match(r"\s+of\b", after):
        return False
    if led or low not in _RATHER_NOUNS:
        return True
    return as_verb(rest, 0, found.end()) or bool(re.match(r"\s+\w+ly\b", after))


def _is_order(text: str, found: re.Match[str]) -> bool:
    """A verb with its object further on: 'for 2 days put the pad on', but not 'we put the pad on'."""
    own = not re.search(r"\b(?:we|you|they|i|to|can|may|will|who|not)\b[^,]*$", text[: found.start()], re.I)
    after = text[found.end() :]
    return (
        found.group() in _OFTEN_VERBS and own and bool(re.match(r"\s+(?:the|your|it|an?|this|them)\b", after))
    )


def _says(text: str) -> bool:
    """'The wound heals', 'rest often helps': a thing, and what it does."""
    if re.match(r"\w+\s+(?:often|usually|sometimes|regularly)\s+\w+s\b", text, re.IGNORECASE):
        return True
    later = [word.lower() for word in words_of(text)[1:]]
    return any(word.endswith("s") and lemmas(word, "VERB") and not lemmas(word, "NOUN") for word in later)


_OFTEN_VERBS = frozenset(("put", "keep", "take", "use", "wash", "hold", "press", "cover", "change", "ring"))
_RATHER_NOUNS = frozenset((
    "no", "not", "cold", "hot", "warm", "loose", "light", "heavy", "hard", "soft", "gentle", "alcohol",
    "sun", "exercise", "pain", "swelling", "make", "up", "plenty", "extra", "regular", "daily",
    "showers", "baths", "contact", "sport", "sports", "water", "food", "fluids", "clothes", "dressing",
    "bandage", "cream", "massage", "shower", "bath", "work", "heat", "ice", "pillow", "plaster",
    "sauna", "smoke", "smoking", "swimming", "perfume", "travel", "pressure", "weight", "dust", "soap", "oil",
    "towel", "fever", "bruise", "tea", "coffee", "hair", "face", "skin", "salt", "sugar", "spice", "swim",
    "alternative", "clean", "dry", "cool", "open", "slow", "pool", "hat", "sleep", "rest", "walk", "diet",
    "head", "arm", "leg", "hand",
))  # fmt: skip
"""Words that could be verbs and, first in an instruction, are meant as things: unless an object follows."""


def crowded_list(listing: Listing) -> Iterator[tuple[str, str, Found]]:
    """Place, text and finding for a list that is too long or has items that are."""
    if len(listing.items) > MOST_ITEMS and not listing.numbered:
        first = listing.items[0][1]
        advice = f"Part it under headings of its own, {MOST_ITEMS} points at most each."
        yield listing.source, first, Found(f"a list of {len(listing.items)} points", advice)
    for source, text, words, sentences in listing.items:
        if words > MOST_WORDS or sentences > MOST_SENTENCES:
            size = f"a point of {words} words in {sentences} sentence{'s' if sentences > 1 else ''}"
            yield source, text, Found(size, "Make two points of it, one idea each.")
