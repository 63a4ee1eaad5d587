"""A whole PO file against its originals, with the line of each text that is not as it should be."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as Entry

from consentpack.errors import Problem
from consentpack.translate.languages import Language
from consentpack.translate.parity import Finding, Pair, findings

_ACCEPTED = re.compile(r"accepted: *([a-z ,]+?) *[–—-] *\S")
"""A translator's comment such as 'accepted: negations – said with “refuse”'. Without a reason it is none."""


def check_catalogue(
    catalog: Catalog, path: Path, language: Language, clinical: Iterable[str]
) -> list[Problem]:
    """Everything that differs between originals and translations. `clinical` are the words of the trade."""
    terms = {
        word.casefold(): str(found.string)
        for word in clinical
        if (found := catalog.get(word)) and found.string
    }
    return [
        Problem(
            f"{path}, line {entry.lineno}", f"“{_short(pair.source)}” ({found.check}): {found.what}.", _FIX
        )
        for entry in catalog
        if entry.id and not entry.fuzzy
        for pair, found in _differing(entry, language, terms)
    ]


_FIX = "Mend it, or say why it is right in a translator's comment: “accepted: CHECK – reason”."


def _differing(entry: Entry, language: Language, terms: Mapping[str, str]) -> Iterator[tuple[Pair, Finding]]:
    accepted = accepted_in(entry.user_comments)
    for pair in pairs_of(entry):
        yield from ((pair, found) for found in findings(pair, language, terms, accepted=accepted))


def pairs_of(entry: Entry) -> list[Pair]:
    """An entry's original with each of its translations; none where it has none."""
    if not isinstance(entry.id, tuple | list):
        return [Pair(str(entry.id), str(entry.string))] if entry.string else []
    forms = entry.string if isinstance(entry.string, tuple | list) else (entry.string,)
    return [Pair(str(entry.id[1]), str(form), plural=True) for form in forms if form]


def accepted_in(comments: Iterable[str]) -> tuple[str, ...]:
    """The checks that a translator's comments accept, each with a reason."""
    found = (_ACCEPTED.search(comment) for comment in comments)
    return tuple(name.strip() for match in found if match for name in match[1].split(","))


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:59]}…"
