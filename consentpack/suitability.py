"""May this be done at all, for this person, here, together? Rules as data against the facts of a plan.

Three strengths: not together (no pack without a named clinician's written reason), talk first, note.
What nobody asked about is said: a circumstance that was not typed is not a circumstance that is absent.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from consentpack.conditions import Facts, parse
from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.model import STRENGTHS, Factor, Finding, Plan, SuitabilityRule
from consentpack.relevance import facts_about, facts_of


def with_implied(plan: Plan, library: Library) -> Plan:
    """The plan with the circumstances that follow from its other facts, such as an age group.

    They come after those that were named; nobody has to enter one fact twice.
    """
    facts = facts_of(plan, library)
    implied = [
        factor.id
        for factor in library.factors.values()
        if factor.implied_by and factor.id not in plan.factors and parse(factor.implied_by).holds(facts)
    ]
    return replace(plan, factors=(*plan.factors, *implied)) if implied else plan


def findings(plan: Plan, library: Library) -> tuple[Finding, ...]:
    """Every rule that speaks about the plan, the strongest first, in the order of the library."""
    facts = facts_of(plan, library)
    found = [
        Finding(rule, because, *_answered(plan, rule))
        for rule in library.suitability.values()
        if (because := _speaks(rule, plan, library, facts))
    ]
    return tuple(sorted(found, key=lambda each: STRENGTHS.index(each.rule.strength)))


def _speaks(rule: SuitabilityRule, plan: Plan, library: Library, facts: Facts) -> str:
    """Why a rule speaks about a plan; '' where it does not."""
    condition = parse(rule.when)
    if not condition.holds(facts):
        return ""
    if not rule.most:
        return ", ".join(name for name in condition.atoms if name in facts) or condition.text
    over = [
        f"{', '.join(ids)} ({fact}, at most {most} in one visit)"
        for fact, most in rule.most.items()
        if len(ids := _with(fact, plan, library)) > most
    ]
    return "; ".join(over)


def _with(fact: str, plan: Plan, library: Library) -> list[str]:
    """The techniques of a plan, those that may become necessary among them, of which a fact is true."""
    ids = (*plan.planned, *plan.may_become_necessary)
    return [id for id in ids if fact in facts_about(library.techniques[id])]


def _answered(plan: Plan, rule: SuitabilityRule) -> tuple[str, str]:
    given = plan.reasons.get(rule.id, {})
    return given.get("why", ""), given.get("by", "")


def refused(found: Iterable[Finding], plan: Plan) -> list[Problem]:
    """What keeps a plan from becoming a pack, each with what a clinician would have to write."""
    fix = 'If it is right all the same, a clinician writes why: [reasons.{}], by = "…", why = "…".'
    return [
        Problem(plan.file, f"not together: {each.rule.what} ({each.because})", fix.format(each.rule.id))
        for each in found
        if each.stops
    ]


def not_asked(plan: Plan, library: Library) -> tuple[Factor, ...]:
    """Circumstances that the plan neither names nor says were asked about.

    What follows from another fact of the plan needs no question.
    """
    known = {*plan.factors, *plan.asked}
    return tuple(f for id, f in library.factors.items() if id not in known and not f.implied_by)


def would_matter(unasked: Iterable[Factor], plan: Plan, library: Library) -> tuple[Factor, ...]:
    """Of circumstances nobody asked about, those with which a rule would speak that is silent now."""
    facts = facts_of(plan, library)
    silent = [
        rule
        for rule in library.suitability.values()
        if rule.strength != "note" and not _speaks(rule, plan, library, facts)
    ]

    def speaks(factor: Factor) -> bool:
        if_so = replace(plan, factors=(*plan.factors, factor.id))
        then = facts_of(if_so, library)
        asked = (rule for rule in silent if not (then ^ facts).isdisjoint(parse(rule.when).atoms))
        return any(_speaks(rule, if_so, library, then) for rule in asked)

    return tuple(factor for factor in unasked if speaks(factor))
