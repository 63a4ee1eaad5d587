"""Which reading target a document has: the clinic's own for its kind or language, or a published one."""

from __future__ import annotations

from collections.abc import Mapping

from consentpack.model import ReadingRules, ReadingTarget
from consentpack.readability.measures import measures_for
from consentpack.signs import root

OWN = "the clinic's own target"


def target_for(
    kind: str, language: str, rules: ReadingRules, known: Mapping[str, ReadingTarget]
) -> ReadingTarget | None:
    """The target of one kind of document in one language.

    What the clinic set for the kind goes before what it set for all, and both before the default of
    the language. A grade or a target for another language does not carry over: then the default of
    this one counts. None where no measure was made for the language.
    """
    made = measures_for(language)
    if not made:
        return None
    for chosen in (rules.languages.get(root(language)), rules.documents.get(kind), rules.target):
        found = _chosen(chosen, language, known)
        if found is not None:
            return found
    fitting = [each for each in known.values() if each.language == root(language)]
    return next((each for each in fitting if each.default), None)


def _chosen(
    chosen: str | float | None, language: str, known: Mapping[str, ReadingTarget]
) -> ReadingTarget | None:
    if isinstance(chosen, str):
        found = known.get(chosen)
        return found if found and found.language == root(language) else None
    if chosen is None or root(language) != "en":
        return None
    return ReadingTarget("own", "flesch-kincaid", float(chosen), OWN)
