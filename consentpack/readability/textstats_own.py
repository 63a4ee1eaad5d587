"""textstat's own numbers for prepared text, and the emptying of what it remembers of it."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from consentpack.readability.pronounced import hand_over


def textstat_grade(prepared: str) -> float:
    """textstat's own Flesch-Kincaid grade of prepared English text."""
    from textstat.backend.metrics import flesch_kincaid_grade  # noqa: PLC0415

    hand_over()
    return float(flesch_kincaid_grade(prepared, "en_US"))


def forget() -> None:
    """Empty textstat's caches of whole texts, and the hyphenation's of words, which has no bound: a
    patient's words must not stay in memory.

    The dictionary and the hyphenation tables stay; loading them takes a while.
    """
    for clear in _clearing():
        clear()


@lru_cache(1)
def _clearing() -> tuple[Callable[[], None], ...]:
    from textstat.backend import counts, metrics, selections, transformations, utils  # noqa: PLC0415

    functions = (
        getattr(room, name)
        for room in (counts, metrics, selections, transformations)
        for name in room.__all__
    )
    caches = tuple(each.cache_clear for each in functions if hasattr(each, "cache_clear"))
    return (utils.get_pyphen("en_US").hd.cache.clear, *caches)


_TEXTSTAT_NAMES = {
    "flesch-kincaid": "flesch_kincaid_grade",
    "smog": "smog_index",
    "fog": "gunning_fog",
    "coleman-liau": "coleman_liau_index",
    "ari": "automated_readability_index",
    "dale-chall": "dale_chall_readability_score",
}


def textstat_value(measure: str, prepared: str) -> float | None:
    """textstat's own number for an English measure; None where it has none."""
    from textstat.backend import metrics  # noqa: PLC0415

    if measure not in _TEXTSTAT_NAMES or not prepared:
        return None
    hand_over()
    function = getattr(metrics, _TEXTSTAT_NAMES[measure])
    arguments = (prepared,) if measure in ("coleman-liau", "ari") else (prepared, "en_US")
    return float(function(*arguments))
