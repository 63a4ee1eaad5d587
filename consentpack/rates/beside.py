"""Newer techniques beside the established ones that are offered instead, by the clinic's own audit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from consentpack.library import Library
from consentpack.model import Clinic, Matches, Plan
from consentpack.rates.compare import Comparing
from consentpack.rates.counting import AuditSource, own_rate, window_of, without
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
    yield from pairs(newer, other.id, watch, audit, window)


def pairs(
    first: str, second: str, watch: Mapping[str, int], audit: AuditSource, window: Window
) -> Iterator[Comparing]:
    """Two techniques beside each other for some outcomes."""
    a, b = (audit(without(id, other), window, watch) for id, other in ((first, second), (second, first)))
    for id, days in watch.items():
        counts = a.counts[id], b.counts[id]
        rates = None
        if all(each.watched for each in counts):
            first_rate, second_rate = (own_rate(t, id, "lead-technique", days=days) for t in (a, b))
            rates = (first_rate, second_rate)
        yield Comparing(first, second, id, *counts, rates)
