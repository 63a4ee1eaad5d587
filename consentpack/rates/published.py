"""Printed figures: which one fits, and whether the clinic's own is worse."""

from __future__ import annotations

from collections.abc import Iterable

from consentpack.model import Counts, Interval, PublishedRate, Rate
from consentpack.rates.exact_test import LEVEL, greater
from consentpack.rates.intervals import wilson
from consentpack.rates.reliability import reliable


def published_rate(
    rates: Iterable[PublishedRate],
    *,
    outcome: str,
    techniques: tuple[str, ...],
    factors: tuple[str, ...],
    harm: bool,
) -> Rate | None:
    """The printed figure for an outcome that patients may see; None when there is none.

    A figure for people with one of the patient's factors goes before a figure for everybody. Of
    several that fit, whichever technique of the plan they are for, the least favourable is taken: a
    figure that flatters must not be picked. A printed figure must pass the same rule of reliability
    as the clinic's own.
    """
    good = [r for r in rates if r.outcome == outcome and r.quotable and reliable(r.events, r.n).ok]  # type: ignore[arg-type]
    mine = [rate for rate in good if rate.technique in techniques]
    for groups in (factors, ("",)):
        fitting = [rate for rate in mine if rate.factor in groups]
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


def is_worse(counts: Counts, published: Rate, *, harm: bool) -> bool:
    """Whether an exact test finds the clinic's own figure, however thin, worse than the published
    one: a harm seen more, or a benefit seen less."""
    if not counts.watched:
        return False
    own, printed = (counts.events, counts.watched), (published.events, published.n)
    first, second = (own, printed) if harm else (printed, own)
    return greater(*first, *second) < LEVEL
