"""The second stage of a pack: what belongs to the plan, and with which figures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from consentpack.match import match
from consentpack.model import Matches, RateAnswer
from consentpack.pipeline.prepare import Prepared
from consentpack.pipeline.registers import Audit, audit_as_it_stands
from consentpack.rates import Comparing, answer_all, compare_newer

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Decided:
    """What a plan calls for, with the figures of one moment of the audit."""

    matches: Matches
    rates: Mapping[str, RateAnswer]
    beside: tuple[Comparing, ...]
    """Newer techniques beside the established ones, outcome by outcome."""
    audit: Mapping[str, str]
    """What the audit was made from -> its digest."""


def decide(prepared: Prepared, progress: Progress = lambda _: None) -> Decided:
    """Match the plan with the library, and count the audit for what it calls for."""
    progress(f"matching {prepared.plan.reference}")
    matches = matched(prepared)
    progress("counting the audit")
    with audit_as_it_stands(prepared.place) as audit:
        return counted(prepared, matches, audit)


def matched(prepared: Prepared) -> Matches:
    """What belongs to the plan."""
    return match(prepared.plan, prepared.place.library, prepared.place.clinic.care)


def counted(prepared: Prepared, matches: Matches, audit: Audit) -> Decided:
    """What belongs to the plan with the figures of an audit."""
    plan, library, clinic = prepared.plan, prepared.place.library, prepared.place.clinic
    rates = answer_all(plan, library, clinic, matches, audit.source)
    beside = compare_newer(plan, library, clinic, matches, audit.source)
    return Decided(matches, rates, beside, dict(audit.digests))
