"""A column map proposed from a spreadsheet's headers. Somebody of the clinic confirms it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import takewhile
from types import MappingProxyType

from consentpack.normal import plain
from consentpack.register.columns import FIELDS, IGNORE, looks_like_identity, noticed_of

USUAL: Mapping[str, tuple[str, ...]] = {
    "case": ("case", "case no", "case number", "case ref", "reference", "our ref", "ref", "id"),
    "session": ("session", "visit", "visit no", "session no", "treatment no"),
    "date": ("date", "treatment date", "date of treatment", "day"),
    "techniques": ("techniques", "technique", "treatment", "method", "what was done", "what we did"),
    "site": ("site", "area", "place", "location", "where", "treated area"),
    "last_seen": (
        "last seen",
        "last follow up",
        "follow up date",
        "last review",
        "last visit",
        "reviewed on",
    ),
    "retreated": (
        "retreated",
        "re treated",
        "treated again",
        "re treatment",
        "next treatment",
        "repeated on",
    ),
    "outcomes_seen": ("complications", "outcomes", "what was seen", "side effects"),
    "operator": ("operator", "clinician", "done by", "practitioner"),
}
"""Headers clinics use for each field: common practice, no source."""
NEAR = 0.7
_FORM, _STEM, _STEM_SHARE = 0.9, 4, 0.6
"""Two words are forms of one when they begin with the same four letters, and with the greater part."""


def propose(
    headers: Iterable[str],
    outcomes: Mapping[str, tuple[str, ...]],
    more: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
) -> dict[str, str]:
    """Header -> what it seems to hold; 'ignore' when that is not clear or looks like an identity.

    `outcomes` maps outcome id -> the words it goes by, `more` does so for strata and measurements.
    Each field or outcome is proposed once, for the header that fits best.
    """
    headers = [header for header in headers if header]
    words = {field: (field, *USUAL[field]) for field in FIELDS}
    words |= more
    words |= {id: (id, *names) for id, names in outcomes.items()}
    words |= {noticed_of(id): _noticed((id, *names)) for id, names in outcomes.items()}
    fits = sorted(
        (
            (-_fit(header, names), header, meaning)
            for header in headers
            if not looks_like_identity(header)
            for meaning, names in words.items()
        ),
    )
    proposed: dict[str, str] = {}
    for fit, header, meaning in fits:
        if -fit >= NEAR and header not in proposed and meaning not in proposed.values():
            proposed[header] = meaning
    return {header: proposed.get(header, IGNORE) for header in headers}


_NOTICED = ("noticed", "noticed on", "date", "day", "first noticed", "first seen on", "began on")
"""What clinics add to an outcome for the day it was first noticed: common practice, no source."""


def _noticed(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{name} {word}" for name in names for word in _NOTICED)


def _fit(header: str, names: Iterable[str]) -> float:
    """How well a header fits the best of some names, from 0 to 1."""
    return max(alike(words_of(header), words_of(name)) for name in names)


def alike(words: Sequence[str], others: Sequence[str]) -> float:
    """The share of words that two headers have in common.

    Whole words, not letters: by letters 'infected' is nearer to 'injected' than to 'infection'.
    """
    if not words or not others or not _may_be_alike(words, others):
        return 0.0
    best = [max(_same_word(word, other) for other in others) for word in words]
    back = [max(_same_word(word, other) for word in words) for other in others]
    return (sum(best) + sum(back)) / (len(words) + len(others))


def _may_be_alike(words: Sequence[str], others: Sequence[str]) -> bool:
    """Whether any word can be a form of any other: most are compared with hundreds in vain."""
    return not {word[:_STEM] for word in words}.isdisjoint(other[:_STEM] for other in others)


def _same_word(word: str, other: str) -> float:
    """1 for the same word, a little less for another form of it, as 'infected' and 'infection'."""
    if word == other:
        return 1.0
    stem = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(word, other, strict=False)))
    return _FORM if stem >= _STEM and stem >= _STEM_SHARE * max(len(word), len(other)) else 0.0


def words_of(header: str) -> list[str]:
    """Words without case, marks and plural."""
    return list(_words_of(header))


@lru_cache(4096)
def _words_of(header: str) -> tuple[str, ...]:
    return tuple(word.removesuffix("s") for word in re.findall(r"[a-z0-9]+", plain(header).lower()))
