"""Printed figures: which one fits, and whether the clinic's own is worse."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.model import Counts, Interval, PublishedRate, Rate
from consentpack.rates.intervals import chance_of_at_least, wilson
from consentpack.rates.reliability import reliable

WORSE_LEVEL = 0.05
"""One-sided level of the exact test of an own figure against the published one."""


def published_rate(
    rates: Iterable[PublishedRate],
    *,
    outcome: str,
    techniques: tuple[str, ...],
    factors: tuple[str, ...],
    harm: bool,
) -> Rate | None:
    """The printed figure for an outcome that patients may see; None when there is none.

    The first technique of the plan that has one decides; a figure for people with one of the
    patient's factors goes before a figure for everybody. Of several that fit, the least favourable
    is taken: a figure that flatters must not be picked. A printed figure must pass the same rule of
    reliability as the clinic's own.
    """
    good = [r for r in rates if r.outcome == outcome and r.quotable and reliable(r.events, r.n).ok]  # type: ignore[arg-type]
    for technique in techniques:
        for groups in (factors, ("",)):
            fitting = [r for r in good if r.technique == technique and r.factor in groups]
            if fitting:
                worst = max if harm else min
                return _as_rate(worst(fitting, key=lambda r: (r.events or 0) / (r.n or 1)))
    return None


def _as_rate(found: PublishedRate) -> Rate:
    events, n = found.events or 0, found.n or 0
    interval: Interval = wilson(events, n)
    return Rate(
        outcome=found.outcome,
        events=events,
        n=n,
        interval=interval,
        level="published",
        unit=found.unit,
        who=found.population,
        source=found.source,
        follow_up=found.follow_up,
        caveat=found.caveat,
    )


def is_worse(counts: Counts, published: Rate) -> bool:
    """Whether an exact test finds the clinic's own figure, however thin, above the published one."""
    if not counts.events:
        return False
    chance = chance_of_at_least(counts.events, counts.watched, published.proportion)
    return chance < WORSE_LEVEL
