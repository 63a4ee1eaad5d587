"""What the short aftercare sheet holds of a plan: which marked sentences, and what gives way to what.

It is decided by the English words, so that every language has the same sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from consentpack.assemble.context import Context
from consentpack.library.labels import ALWAYS, ANSWERS, IN_SHORT
from consentpack.library.schema import PERIODS
from consentpack.model import Module, Technique, Warning
from consentpack.tree import Inline

MOST_WORDS = 470
"""English words of all signs, names of treatments, marked sentences and activities together, so that the
sheet keeps to its 650 words and two sides. Over it marked sentences go: of the parts in `GIVES`, and in each
the last in the order of the topics. What is marked 'always' stays."""
MOST_OF = {"avoid": 34, "rows": 50, "do": 45, "expect": 48, "tonight": 85}
"""English words of each of these parts: one of them may not fill a side."""
LEAST = {"avoid": 0, "rows": 8, "do": 0, "expect": 1, "tonight": 3}
"""Sentences or rows that each part keeps, so that a full sheet lacks nothing whole."""
MOST_WHEN_FULL = 465
LEAST_WHEN_FULL = {"avoid": 0, "rows": 6, "do": 0, "expect": 1, "tonight": 1}
"""The same for a plan with so many signs that they alone fill a side."""
MOST_WHEN_FULLEST = 455
LEAST_WHEN_FULLEST = {**LEAST_WHEN_FULL, "rows": 4}
"""And where even so little is too much beside what has to be said strongly."""
_ACTIVITY = re.compile(r"\*\*([^*]+)\*\*: ")
_PLACEHOLDER = re.compile(r"\{\{.*?\}\}")


_TONIGHT, *_AFTER = PERIODS
GIVES: Mapping[str, tuple[str, ...]] = {
    "avoid": tuple(f"{period}: avoid" for period in _AFTER),
    "rows": (ANSWERS,),
    "do": tuple(f"{period}: do" for period in _AFTER),
    "expect": ("What to expect",),
    "tonight": (f"{_TONIGHT}: do", f"{_TONIGHT}: avoid"),
}
"""Part of the sheet -> the sections its sentences come from; of too many the first part gives first."""


@dataclass(frozen=True)
class Point:
    """One marked sentence of a module."""

    item: Inline
    module: Module

    @property
    def words(self) -> int:
        """English words; of a row of the table those of the activity, in bold."""
        activity = _ACTIVITY.match(self.item.text)
        return words_in(activity.group(1) if activity else self.item.text)


def words_in(text: str) -> int:
    """Words of an English text; a time that is filled in is two."""
    return len(_PLACEHOLDER.sub("2 days", text).split())


def points(ctx: Context, labels: Sequence[str]) -> list[Point]:
    """The marked sentences of the plan's topics under some labels, in the order of the topics."""
    topics = [ctx.library.aftercare[match.id] for match in ctx.matches.aftercare]
    return [point for topic in topics for label in labels for point in marked(topic, label)]


def marked(module: Module, label: str) -> Iterator[Point]:
    for block in module.sections.get(label, ()):
        yield from (Point(item, module) for item in block.items if item.sheet is not None)


def chosen(ctx: Context) -> dict[str, list[Point]]:
    """The marked sentences that the sheet prints, by part: the last one of a part goes first.

    Each part keeps its `LEAST`; only where that is still too much they give way too.
    """
    kept = {part: points(ctx, labels) for part, labels in GIVES.items()}
    names = sum(words_in(technique.title) for technique in treatments_of(ctx))
    signs = sum(map(length_of, _signs_told(ctx))) + names
    stages = (
        (MOST_WORDS, LEAST),
        (MOST_WHEN_FULL, LEAST_WHEN_FULL),
        (MOST_WHEN_FULLEST, LEAST_WHEN_FULLEST),
    )
    for most, least in stages:
        for part, found in kept.items():
            for point in reversed(list(found)):
                total = signs + sum(map(_words_of, kept.values()))
                fits = total <= most and _words_of(found) <= MOST_OF[part]
                if not fits and point.item.sheet != ALWAYS and len(found) > least[part]:
                    found.remove(point)
    return kept


def _words_of(found: Sequence[Point]) -> int:
    return sum(point.words for point in found)


def treatments_of(ctx: Context) -> list[Technique]:
    """What treats, of what was done, or is planned."""
    done, techniques = ctx.plan.done, ctx.library.techniques
    found = [techniques[id] for id in (done.techniques if done else ctx.plan.planned)]
    return [technique for technique in found if ctx.library.treats(technique)]


def _signs_told(ctx: Context) -> list[Warning]:
    return [w for tier in ("ambulance", "at-once", "same-day") for w in of_tier(ctx, tier)]


def of_tier(ctx: Context, tier: str) -> list[Warning]:
    found = (ctx.library.warnings[match.id] for match in ctx.matches.warnings)
    return [warning for warning in found if warning.tier == tier]


def length_of(warning: Warning) -> int:
    """Words of what the sheet says of a sign, in English."""
    lines = [item.text for block in warning.sections.get(IN_SHORT, ()) for item in block.items]
    return sum(map(words_in, lines or [warning.title])) + _words_of(list(marked(warning, "What to do")))
