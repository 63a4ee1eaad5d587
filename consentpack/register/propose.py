"""A column map proposed from a spreadsheet's headers. Somebody of the clinic confirms it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping

from consentpack.register.columns import FIELDS, IGNORE, looks_like_identity

_USUAL: Mapping[str, tuple[str, ...]] = {
    "case": ("case", "case no", "case number", "case ref", "reference", "our ref", "ref", "id"),
    "session": ("session", "visit", "visit no", "session no", "treatment no"),
    "date": ("date", "treatment date", "date of treatment", "day"),
    "techniques": ("techniques", "technique", "treatment", "method", "what was done", "what we did"),
    "site": ("site", "area", "place", "location", "where", "treated area"),
    "skin_type": ("skin type", "phototype", "skin"),
    "last_seen": (
        "last seen",
        "last follow up",
        "follow up date",
        "last review",
        "last visit",
        "reviewed on",
    ),
    "outcomes_seen": ("complications", "outcomes", "what was seen", "side effects"),
    "operator": ("operator", "clinician", "done by", "practitioner"),
    "gauge": ("gauge", "needle gauge", "g"),
    "volume_ml": ("ml", "volume", "volume ml", "ml injected", "filler ml"),
}
"""Headers clinics use for each field: common practice, no source."""
_NEAR = 0.7


def propose(headers: Iterable[str], outcomes: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """Header -> what it seems to hold; 'ignore' when that is not clear or looks like an identity.

    `outcomes` maps outcome id -> the words it goes by. Each field or outcome is proposed once, for
    the header that fits best.
    """
    headers = [header for header in headers if header]
    words = {field: (field, *_USUAL[field]) for field in FIELDS}
    words |= {id: (id, *names) for id, names in outcomes.items()}
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
        if -fit >= _NEAR and header not in proposed and meaning not in proposed.values():
            proposed[header] = meaning
    return {header: proposed.get(header, IGNORE) for header in headers}


def _fit(header: str, names: Iterable[str]) -> float:
    """How well a header fits the best of some names, from 0 to 1."""
    header = _plain(header)
    return max(difflib.SequenceMatcher(None, header, _plain(name)).ratio() for name in names)


def _plain(words: str) -> str:
    """Words without case, marks and plural, in order of the alphabet."""
    found = re.findall(r"[a-z0-9]+", words.lower())
    return " ".join(sorted(word.removesuffix("s") for word in found))
