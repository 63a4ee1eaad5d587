"""The pronouncing dictionary as a table of counts, in the shape textstat looks words up in.

textstat needs how many syllables a word has, and to know it reads the sounds of 126,000 words: over half
a second and 90 MB whenever the program starts. `pronounced.txt` holds the counts alone, made from that
dictionary; a test compares every word. A dictionary that somebody installs later changes nothing here,
so a text has the same grade on every machine.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from consentpack.readability.grouped import grouped_text, groups

Sounds = list[list[str]]
"""Pronunciations of a word, each a list of sounds; a sound that ends in a digit is a syllable."""

TABLE = Path(__file__).with_name("pronounced.txt")
_HARM = "no text can be scored"


@lru_cache(1)
def pronounced() -> Mapping[str, Sounds]:
    """Every word of the dictionary with its first pronunciation, of which only the syllables are kept."""
    return read_table(TABLE.read_text(encoding="utf-8"))


def read_table(text: str) -> Mapping[str, Sounds]:
    """Raises ContentError when the table is not what was written: half a table would make hard texts
    look easy."""
    found: dict[str, Sounds] = {}
    for syllables, words in groups(text, name=TABLE.name, harm=_HARM):
        shared: Sounds = [["1"] * int(syllables)]  # one for all words, which keeps the table small
        found |= dict.fromkeys(words, shared)
    return found


def table_text(dictionary: Mapping[str, Sounds], about: str) -> str:
    """The table of a dictionary; `about` says where it is from, in lines that begin with '#'."""
    counted = {word: syllables_of(sounds) for word, sounds in dictionary.items()}
    order = map(str, sorted(set(counted.values())))
    return grouped_text({word: str(n) for word, n in counted.items()}, about, order=order)


def syllables_of(sounds: Sounds) -> int:
    """Syllables of the first pronunciation."""
    return sum(sound[-1].isdigit() for sound in sounds[0])


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
