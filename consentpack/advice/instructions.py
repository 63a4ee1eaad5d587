"""Rules about instructions and lists: when exactly, what to do, how many at a time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from consentpack.advice.grammar import Found
from consentpack.advice.passages import Listing, Passage
from consentpack.model import HouseStyle
from consentpack.readability import words_of

MOST_ITEMS = 7
"""Items of a list. The Suitability Assessment of Materials asks for 3 to 5 under a heading (Doak, Doak
and Root 1996; from memory); a list of 8 is certainly two lists."""
MOST_WORDS = 35
MOST_SENTENCES = 3

_VAGUE = re.compile(
    r"\b(?:soon|shortly|promptly|regularly|frequently|often|periodically|occasionally|recently"
    r"|(?:for )?(?:a|some) (?:while|time)|(?:for )?a short (?:time|while|period)"
    r"|in due course|from time to time"
    r"|as (?:needed|required|necessary|appropriate|directed)|when (?:needed|necessary|appropriate)"
    r"|(?:for )?(?:a few|several|some) (?:minutes|hours|days|weeks|months)|at intervals|in good time)\b",
    re.IGNORECASE,
)
_EXACT = re.compile(r"\d")
_FINITE = re.compile(
    r"\b(?:am|is|are|was|were|has|have|had|do|does|did|can|may|must|will|should|could|would|might|need|needs)\b",
    re.IGNORECASE,
)
_PRONOUN_VERB = re.compile(r"\b(?:you|we|it|they)\s+\w+", re.IGNORECASE)
_LEAD = re.compile(
    r"^(?:please|then|next|also|first|now|always|never|do not|don't|at once|only|instead"
    r"|(?:if|when|once|until|after|before|for|on|in|at|to|every|each|as|from|with|by)\b[^,]*,)\s*",
    re.IGNORECASE,
)


def vague_time(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'Regularly', 'for a few days': nobody can follow it to the hour."""
    if not passage.instructs or _EXACT.search(passage.text):
        return
    for found in _VAGUE.finditer(passage.text):
        yield Found(found.group(), "Say how long, how often or by when: “for 2 days”, “every 4 hours”.")


def no_verb(passage: Passage, _: HouseStyle) -> Iterator[Found]:
    """'No exercise': an instruction that does not say what to do."""
    if passage.instructs and passage.in_list and passage.first and not tells(passage.text):
        yield Found(passage.text, "Begin with what to do: “Keep …”, “Do not …”, “Ring …”.")


def tells(text: str) -> bool:
    """Whether a sentence says what to do or what happens: it has a verb where one belongs."""
    if _FINITE.search(text) or _PRONOUN_VERB.search(text):
        return True
    rest, before = text, ""
    while rest != before:
        before, rest = rest, _LEAD.sub("", rest, count=1)
    clauses = [rest, *re.split(r",\s+|\band\b|\bor\b|\bthen\b|;", rest)]
    return any((words := words_of(clause)) and is_base_verb(words[0].lower()) for clause in clauses)


_RATHER_NOUNS = frozenset((
    "no", "not", "cold", "hot", "warm", "loose", "light", "heavy", "hard", "soft", "gentle", "alcohol",
    "sun", "exercise", "pain", "swelling", "make", "up", "plenty", "extra", "regular", "daily",
    "showers", "baths", "contact", "sport", "sports", "water", "food", "fluids", "clothes", "dressing",
    "bandage", "cream", "massage", "shower", "bath", "work", "heat", "ice", "pillow", "plaster",
    "sauna", "smoke", "smoking", "swimming",
))  # fmt: skip
"""Words that could be verbs and, first in an instruction, are meant as things."""


@lru_cache(5000)
def is_base_verb(low: str) -> bool:
    """Whether a word is a verb in the form of an order ('keep')."""
    import lemminflect  # noqa: PLC0415

    return low not in _RATHER_NOUNS and low in lemminflect.getAllLemmas(low).get("VERB", ())


def crowded_list(listing: Listing) -> Iterator[tuple[str, str, Found]]:
    """Place, text and finding for a list that is too long or has items that are."""
    if len(listing.items) > MOST_ITEMS and not listing.numbered:
        first = listing.items[0][1]
        advice = f"Part it under headings of its own, {MOST_ITEMS} points at most each."
        yield listing.source, first, Found(f"a list of {len(listing.items)} points", advice)
    for source, text, words, sentences in listing.items:
        if words > MOST_WORDS or sentences > MOST_SENTENCES:
            size = f"a point of {words} words in {sentences} sentences"
            yield source, text, Found(size, "Make two points of it, one idea each.")
