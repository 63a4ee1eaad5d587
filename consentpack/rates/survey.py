"""Every technique beside every outcome it can have: the rate sheet, and watching over time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from consentpack.library import Library
from consentpack.model import Counts, Interval, Rate, Technique, Verdict, WatchRules
from consentpack.rates.compare import verdict
from consentpack.rates.counting import AuditSource, alone
from consentpack.rates.cusum import Signal, signals
from consentpack.rates.fits import asked
from consentpack.rates.funnel import FEWEST, Place, place
from consentpack.rates.intervals import wilson
from consentpack.rates.published import published_rate
from consentpack.rates.reliability import quotable, reliable
from consentpack.register import Comparison, Grouping, Window

SeriesSource = Callable[[Comparison, Window, str, int], Iterable[tuple[date, bool]]]
"""Gives the watched treatments of one outcome in order: day, and whether it was seen."""
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
class Watched:
    """One technique and outcome that was watched over time."""

    technique: str
    outcome: str
    baseline: Counts
    since: int
    """Treatments watched after the baseline."""
    signals: tuple[Signal, ...]


_FIRST_DAY = date(1900, 1, 1)


def watch(
    library: Library, audit: AuditSource, series: SeriesSource, rules: WatchRules, today: date
) -> tuple[list[Watched], list[tuple[str, str]]]:
    """Each technique's harms over time; and those without a baseline to watch them by."""
    baseline_window = Window(_FIRST_DAY, rules.baseline_until)
    later = Window(rules.baseline_until + timedelta(days=1), today)
    watched, without = [], []
    for technique in library.techniques.values():
        days = {id: library.outcome(id).watch_days for id in technique.risks}
        baseline = audit(alone(technique.id), baseline_window, days)
        for outcome, counts in baseline.counts.items():
            share = _rounded(counts)
            if not 0 < share < 1 or not reliable(counts.events, counts.watched).ok:
                without.append((technique.id, outcome))
                continue
            found = list(series(alone(technique.id), later, outcome, days[outcome]))
            crossed = signals(
                found,
                baseline=share,
                odds_ratio=rules.odds_ratio,
                length=rules.run_length,
            )
            watched.append(Watched(technique.id, outcome, counts, len(found), tuple(crossed)))
    return watched, without


def _rounded(counts: Counts) -> float:
    """The share with the outcome to four digits, so that alike baselines share one limit; 0 of nothing."""
    return float(f"{counts.events / counts.watched:.4g}") if counts.watched else 0.0


@dataclass(frozen=True)
class Funnel:
    """One outcome of one technique across operators or sites."""

    technique: str
    outcome: str
    grouping: str
    target: float
    """The figure of all groups together."""
    places: tuple[Place, ...]


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
