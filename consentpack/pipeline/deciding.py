"""The second stage of a pack: what belongs to the plan, and with which figures."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from consentpack.errors import SuitabilityError
from consentpack.library import Library
from consentpack.match import match
from consentpack.model import Chosen, DocumentPlan, Factor, Finding, Matches, Plan, RateAnswer
from consentpack.pipeline.prepare import Prepared
from consentpack.pipeline.registers import Audit, audit_as_it_stands
from consentpack.rates import Comparing, answer_all, compare_newer
from consentpack.rates.shrinking import Shrunken, shrunken_all
from consentpack.register import Moment
from consentpack.relevance import facts_of, narrow
from consentpack.suitability import findings, not_asked, refused, would_matter

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Seen:
    """The library as one plan sees it, and whether what is planned may be done."""

    planned: Library
    """Without what does not concern who reads the form."""
    done: Library
    """Without what does not concern who looks after themselves: by what was done, where that is known."""
    chosen: tuple[Chosen, ...]
    """Why each conditional piece is in or out."""
    findings: tuple[Finding, ...]
    not_asked: tuple[Factor, ...]
    """Circumstances nobody has said anything about."""

    def of(self, document: DocumentPlan) -> Library:
        """The library a document is made from."""
        return self.done if document.about == "done" else self.planned


def seen_by(plan: Plan, library: Library, *, refuse: bool = True) -> Seen:
    """What concerns a plan. Raises SuitabilityError where it must not be done and nobody wrote why, unless
    the plan is only looked at."""
    found = findings(plan, library)
    if refuse and (problems := refused(found, plan)):
        raise SuitabilityError(problems)
    planned = narrow(library, facts_of(plan, library))
    done = narrow(library, facts_of(plan, library, done=True))
    chosen = tuple(dict.fromkeys((*planned.chosen, *done.chosen)))
    return Seen(planned.library, done.library, chosen, found, not_asked(plan, library))


@dataclass(frozen=True)
class Decided:
    """What a plan calls for, with the figures of one moment of the audit."""

    seen: Seen
    matches: Matches
    rates: Mapping[str, RateAnswer]
    beside: tuple[Comparing, ...]
    """Newer techniques beside the established ones, outcome by outcome."""
    audit: Mapping[str, str]
    """What the audit was made from -> its digest."""
    shrunken: Mapping[str, Shrunken]
    """Outcome -> the closest group's figure drawn towards the wider group."""
    moment: Moment | None = None
    """Where the register stood; None for a clinic that keeps no audit."""


def decide(prepared: Prepared, progress: Progress = lambda _: None) -> Decided:
    """Match the plan with the library, and count the audit for what it calls for."""
    progress(f"matching {prepared.plan.reference}")
    seen = seen_by(prepared.plan, prepared.place.library)
    for each in seen.findings:
        if each.rule.strength != "note":
            progress(f"{'talk first' if not each.by else f'decided by {each.by}'}: {each.rule.what}")
    if matter := would_matter(seen.not_asked, prepared.plan, prepared.place.library):
        progress(f"not asked, and a rule depends on it: {', '.join(factor.id for factor in matter)}")
        # named first wherever there is no room to name them all
        first = {factor.id for factor in matter}
        ordered = sorted(seen.not_asked, key=lambda factor: factor.id not in first)
        seen = replace(seen, not_asked=tuple(ordered))
    matches = matched(prepared, seen)
    progress("counting the audit")
    with audit_as_it_stands(prepared.place) as audit:
        return counted(prepared, seen, matches, audit)


def matched(prepared: Prepared, seen: Seen) -> Matches:
    """What belongs to the plan."""
    return match(prepared.plan, seen.planned, prepared.place.clinic.care, afterwards=seen.done)


def counted(prepared: Prepared, seen: Seen, matches: Matches, audit: Audit) -> Decided:
    """What belongs to the plan with the figures of an audit."""
    plan, library, clinic = prepared.plan, prepared.place.library, prepared.place.clinic
    rates = answer_all(plan, library, clinic, matches, audit.source)
    beside = compare_newer(plan, library, clinic, matches, audit.source)
    shrunken = shrunken_all(plan, library, clinic, matches, rates, audit.parts)
    return Decided(seen, matches, rates, beside, dict(audit.digests), shrunken, audit.moment)
