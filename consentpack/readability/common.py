"""How common an English word is: its Zipf value, from a table that is shipped.

The Zipf scale is the logarithm (base 10) of how often a word stands in a billion words: 'the' is over 7,
words of 4 stand ten times in a million, words of 2 once in ten million (van Heuven, Mandera, Keuleers and
Brysbaert 2014, Q J Exp Psychol 67:1176; from memory). `common.txt` holds the values of the package wordfreq,
which counts words of books, news, subtitles and the web up to 2021 and is no longer changed by its maker.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from consentpack.readability.counts import familiar, regular_of
from consentpack.readability.grouped import groups

TABLE = Path(__file__).with_name("common.txt")
LOWEST = 2.0
"""The rarest words in the table; there are nearly a hundred thousand."""
UNLISTED = 1.5
"""Zipf value of a word that is not in the table: rarer than all in it, by our own choice of how much."""
RARE = 4.0
"""Below this a word is rare: under ten times in a million words. The makers of the scale call words below 4
low in frequency (van Heuven 2014; from memory)."""

_CLOSED_CLASSES = (
    "a an the this that these those what which whose i you he she it we they me him her us them my your",
    "his its our their mine yours hers ours theirs myself yourself himself herself itself ourselves",
    "yourselves themselves who whom and or but nor so yet if when while because although though unless",
    "until since whether as than of in to for with on at by from up about into over after under above",
    "below between through during before against among within without toward towards upon off out down",
    "near around across behind beyond along per via be is am are was were been being do does did done",
    "doing have has had having can could will would shall should may might must ought don't doesn't",
    "didn't can't won't isn't aren't wasn't weren't haven't hasn't not no there here then also very too",
    "just only some any each every all both few more most other such own same how why where",
)
FUNCTION_WORDS = frozenset(word for line in _CLOSED_CLASSES for word in line.split())
"""The closed classes of English grammar: articles, pronouns, prepositions, conjunctions, helping verbs. All
other words are content words."""


@lru_cache(1)
def _table() -> Mapping[str, float]:
    found: dict[str, float] = {}
    for value, words in groups(
        TABLE.read_text(encoding="utf-8"), name=TABLE.name, harm="rare words look common"
    ):
        found |= dict.fromkeys(words, float(value))
    return found


@lru_cache(8192)
def bare(word: str) -> str:
    """A word as it is looked up: small letters, no possessive."""
    return word.lower().strip("'").removesuffix("'s")


@lru_cache(8192)
def zipf(word: str) -> float:
    """The Zipf value of one word as it is written; UNLISTED where the table has none."""
    return _table().get(bare(word), UNLISTED)


@lru_cache(8192)
def has_content(word: str) -> bool:
    """Whether a word is a content word: no figure, and of no closed class."""
    low = bare(word)
    return low not in FUNCTION_WORDS and any(map(str.isalpha, low)) and not low[:1].isdigit()


_TAKES_ES = ("s", "x", "z", "ch", "sh", "o")


def forms_of(low: str) -> tuple[str, ...]:
    """What a word is a regular form of: 'gapes' of 'gape', and not of 'gap'."""
    return tuple(form for form in regular_of(low) if low != f"{form}es" or form.endswith(_TAKES_ES))


@lru_cache(8192)
def rare(word: str) -> bool:
    """Whether a content word is rare: neither it nor the word it is a regular form of is common, and it is
    not on the list of words that four of five children of about ten know (Dale and Chall)."""
    low = bare(word)
    return (
        has_content(word) and all(zipf(form) < RARE for form in (low, *forms_of(low))) and not familiar(low)
    )
