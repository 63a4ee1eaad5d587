"""The pronouncing dictionary as a table of counts, in the shape textstat looks words up in.

textstat needs how many syllables a word has, and to know it reads the sounds of 126,000 words: over half
a second and 90 MB whenever the program starts. `pronounced.txt` holds the counts alone, made from that
dictionary; a test compares every word. A dictionary that somebody installs later changes nothing here,
so a text has the same grade on every machine.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from consentpack.errors import ContentError, Problem

Sounds = list[list[str]]
"""Pronunciations of a word, each a list of sounds; a sound that ends in a digit is a syllable."""

TABLE = Path(__file__).with_name("pronounced.txt")
_DIGEST = "# sha256 of what follows: "
_GROUP = "= "
"""Begins the line that says how many syllables the words after it have."""


@lru_cache(1)
def pronounced() -> Mapping[str, Sounds]:
    """Every word of the dictionary with its first pronunciation, of which only the syllables are kept."""
    return read_table(TABLE.read_text(encoding="utf-8"))


def read_table(text: str) -> Mapping[str, Sounds]:
    """Raises ContentError when the table is not what was written: half a table would make hard texts
    look easy."""
    said, _, body = text.partition(_DIGEST)[2].partition("\n")
    if said != _digest(body):
        what = "the table of syllables is damaged, so no text can be scored."
        raise ContentError(Problem(TABLE.name, what, "Install consentpack again."))
    found: dict[str, Sounds] = {}
    for group in body.split(_GROUP)[1:]:
        syllables, _, words = group.partition("\n")
        shared: Sounds = [["1"] * int(syllables)]  # one for all words, which keeps the table small
        found |= dict.fromkeys(words.split(), shared)
    return found


def table_text(dictionary: Mapping[str, Sounds], about: str) -> str:
    """The table of a dictionary; `about` says where it is from, in lines that begin with '#'."""
    groups: defaultdict[int, list[str]] = defaultdict(list)
    for word, sounds in sorted(dictionary.items()):
        groups[syllables_of(sounds)].append(word)
    lines = [line for n, words in sorted(groups.items()) for line in (f"{_GROUP}{n}", *words)]
    body = "".join(f"{line}\n" for line in lines)
    return f"{about}{_DIGEST}{_digest(body)}\n{body}"


def syllables_of(sounds: Sounds) -> int:
    """Syllables of the first pronunciation."""
    return sum(sound[-1].isdigit() for sound in sounds[0])


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode("utf-8")).hexdigest()


@lru_cache(1)
def hand_over() -> None:
    """Let textstat count syllables by the table, and words that are not in it by patterns that are read
    one by one. Its numbers stay the same; only the loading goes.

    Whoever asks textstat for a number calls this first.
    """
    from textstat.backend.counts import _count_syllables as counter  # noqa: PLC0415 - slow to load

    from consentpack.readability import hyphens  # noqa: PLC0415

    hyphens.hand_over()

    own = counter.get_cmudict
    counter.get_cmudict = lambda language: pronounced() if language[:2] == "en" else own(language)
