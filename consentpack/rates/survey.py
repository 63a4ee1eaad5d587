"""Every technique beside every outcome it can have: the rate sheet, and groups side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from consentpack.library import Library
from consentpack.model import Counts, Interval, Rate, Technique, Verdict
from consentpack.rates.compare import verdict
from consentpack.rates.counting import alone
from consentpack.rates.fits import asked
from consentpack.rates.funnel import FEWEST, Place, place
from consentpack.rates.intervals import wilson
from consentpack.rates.published import published_rate
from consentpack.rates.reliability import quotable
from consentpack.register import Comparison, Grouping

GroupSource = Callable[[Grouping, Comparison, str], Mapping[str, tuple[int, int]]]
"""Gives events and watched treatments of one outcome for each operator or site."""

GROUPINGS: tuple[Grouping, ...] = ("operator", "site")


@dataclass(frozen=True)
class Line:
    """One line of the rate sheet: one technique and one outcome, in any combination."""

    technique: str
    outcome: str
    counts: Counts
    interval: Interval | None
    """None when nothing was watched."""
    quotable: bool
    why_not: str
    published: Rate | None
    verdict: Verdict | None


def outcomes_of(technique: Technique) -> tuple[str, ...]:
    """What a technique may cause or gain."""
    return (*technique.risks, *technique.benefits)


def survey(library: Library, each: Mapping[frozenset[str], Mapping[str, Counts]]) -> list[Line]:
    """The rate sheet: every technique with each outcome it can have, in any combination.

    `each` gives the counts of every outcome for every combination of techniques.
    """
    lines = []
    for technique in library.techniques.values():
        mine = [counts for used, counts in each.items() if technique.id in used]
        for outcome in outcomes_of(technique):
            counts = sum((found[outcome] for found in mine), Counts(0, 0, 0, 0))
            lines.append(_line(library, technique.id, outcome, counts))
    return lines


def _line(library: Library, technique: str, outcome: str, counts: Counts) -> Line:
    said = quotable(counts)
    printed = published_rate(library.published, asked(library, outcome), techniques=(technique,), factors=())
    both = printed and counts.watched
    return Line(
        technique=technique,
        outcome=outcome,
        counts=counts,
        interval=wilson(counts.events, counts.watched) if counts.watched else None,
        quotable=said.ok,
        why_not=said.why,
        published=printed,
        verdict=verdict(counts.events, counts.watched, printed.events, printed.n) if both else None,  # type: ignore[union-attr]
    )


@dataclass(frozen=True)
class Funnel:
    """One outcome of one technique across operators or sites."""

    technique: str
    outcome: str
    grouping: str
    target: float
    """The figure of all groups together."""
    places: tuple[Place, ...]
    adjusted_for: tuple[str, ...] = ()
    """What each group's own expected number was adjusted for."""


def funnels(library: Library, groups: GroupSource) -> Iterator[Funnel]:
    """Operators and sites side by side, where an event was seen and two groups can be placed."""
    for technique in library.techniques.values():
        for outcome in technique.risks:
            for grouping in GROUPINGS:
                found = groups(grouping, alone(technique.id), outcome)
                counted = {name: (k, n) for name, (k, n) in found.items() if n}
                events = sum(k for k, _ in counted.values())
                large = [n for _, n in counted.values() if n >= FEWEST]
                if len(large) > 1 and events:
                    target = events / sum(n for _, n in counted.values())
                    places = (place(name, k, n, target) for name, (k, n) in counted.items())
                    yield Funnel(technique.id, outcome, grouping, target, tuple(places))
