"""Newer techniques beside the established ones that are offered instead, by the clinic's own audit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from consentpack.library import Library
from consentpack.model import Clinic, Matches, Plan
from consentpack.rates.compare import Comparing
from consentpack.rates.counting import AuditSource, own_rate, window_of, without
from consentpack.rates.outside import told_counts
from consentpack.register import Window


def compare_newer(
    plan: Plan, library: Library, clinic: Clinic, matches: Matches, audit: AuditSource | None
) -> tuple[Comparing, ...]:
    """Each newer technique of a plan beside its established one, outcome by outcome.

    Only where both figures may be quoted: a difference is no better than its parts. Each is of the
    treatments that used one technique and not the other, whatever else was done.
    """
    if audit is None:
        return ()
    return tuple(
        found
        for match in matches.newer
        for found in _pairs(match.id, plan, library, clinic, audit)
        if found.quotable
    )


def _pairs(
    newer: str, plan: Plan, library: Library, clinic: Clinic, audit: AuditSource
) -> Iterator[Comparing]:
    technique = library.techniques[newer]
    other = library.techniques[technique.established_alternative]
    theirs = {*other.risks, *other.benefits}
    both = [id for id in (*technique.risks, *technique.benefits) if id in theirs]
    watch = {id: library.outcome(id).watch_days for id in both}
    window = window_of(plan.prepared, clinic.window_months)
    yield from pairs(newer, other.id, watch, library, audit, window)


def pairs(
    first: str, second: str, watch: Mapping[str, int], library: Library, audit: AuditSource, window: Window
) -> Iterator[Comparing]:
    """Two techniques beside each other for some outcomes."""
    a, b = (audit(without(id, other), window, watch) for id, other in ((first, second), (second, first)))
    ours, theirs = (told_counts(tally, library, watch) for tally in (a, b))
    for id, days in watch.items():
        counts = ours[id], theirs[id]
        rates = None
        if all(each.watched for each in counts):
            first_rate, second_rate = (
                own_rate(t, id, "lead-technique", days=days, counts=c)
                for t, c in zip((a, b), counts, strict=True)
            )
            rates = (first_rate, second_rate)
        yield Comparing(first, second, id, *counts, rates)
