"""What keeps a document over its limits, in words for whoever has to shorten it."""

from __future__ import annotations

from consentpack.errors import Problem
from consentpack.model import SLOW, USUAL, Length

LONGEST_NAMED = 3
"""Sections that are named as the longest."""
_OF = {"words": "words", "sides": "sides of paper", "large_print_sides": "sides of paper in large print"}


def check(length: Length) -> list[Problem]:
    """What of a document is over its limits, with its longest sections. Empty where all is met."""
    return [
        Problem(f"{length.kind}, {length.language}", _what(length, over), _fix(length))
        for over in length.over
    ]


def _what(length: Length, over: str) -> str:
    there, most = getattr(length, over), getattr(length.limits, over)
    where = " before its annex" if length.limits.before_annex else ""
    how = "" if over == "words" else ", as drawn" if length.drawn else ", counted without drawing them"
    return f"there are {there:,} {_OF[over]}{where}{how}; the most allowed is {most:,}."


def _fix(length: Length) -> str:
    longest = sorted(length.sections, key=lambda each: -each.words)[:LONGEST_NAMED]
    named = ", ".join(f"“{each.heading or 'opening'}” {each.words:,}" for each in longest)
    set_own = f"Shorten what it says, or set a limit of your own under [length.{length.kind}] in clinic.toml."
    return f"Most words: {named}.\n  {set_own} With --draft it is made all the same, marked as a draft."


def told(length: Length) -> str:
    """A length in one line, each number beside its limit."""
    parts = [_beside(length.words, length.limits.words, "words", "words" in length.over)]
    if length.sides is not None:
        parts.append(_beside(length.sides, length.limits.sides, "sides", "sides" in length.over))
    if length.large_print_sides is not None:
        over = "large_print_sides" in length.over
        limit = length.limits.large_print_sides
        parts.append(_beside(length.large_print_sides, limit, "in large print", over))
    usual, slow = length.minutes
    annex = f", and an annex of {length.annex_words:,} words" if length.annex_words else ""
    return f"{', '.join(parts)}{annex}; {usual:.1f} minutes at {USUAL} words a minute, {slow:.1f} at {SLOW}"


def _beside(number: int, limit: int, what: str, over: bool) -> str:
    most = f" of {limit:,} allowed" if limit else ""
    return f"{number:,} {what}{most}{' OVER' if over else ''}"
