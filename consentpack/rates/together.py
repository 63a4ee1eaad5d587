"""Techniques together, and techniques that may become necessary on the day."""

from __future__ import annotations

from dataclasses import replace

from consentpack.model import Bounds, IfNeeded, Level, Match, Rate
from consentpack.rates.compare import verdict
from consentpack.rates.counting import Counting, alone
from consentpack.rates.reliability import quotable
from consentpack.register import Comparison


def bounds_for(counting: Counting, match: Match, rate: Rate) -> Bounds | None:
    """What may be said of planned techniques together when the figure is for one of them alone.

    None when the figure is for them together, or when no other planned technique brings the outcome
    with a figure of its own.
    """
    base = counting.bases.get(match.id)
    if rate.level != "lead-technique" or (base and len(base.leads) > 1):
        return None
    lead = match.techniques[0]
    planned = counting.together(lead)
    together = [id for id in match.techniques if id in planned]
    parts = []
    for id in together:
        found = counting.figure(match.id, "lead-technique", alone(id))
        if isinstance(found, Rate):
            parts.append((id, found))
    return Bounds(tuple(parts)) if len(parts) > 1 else None


def if_needed_comparisons(counting: Counting, id: str) -> tuple[tuple[Level, Comparison], ...]:
    """What a technique that may become necessary is compared by, from close to distant."""
    together = Comparison(counting.together(id), counting.scope_of(id))
    return ("same-techniques", together), ("lead-technique", alone(id))


def if_needed(counting: Counting, match: Match, rate: Rate) -> tuple[IfNeeded, ...]:
    """Figures with each technique that may become necessary, where there is one to quote.

    Such a technique together with what is planned, or, where that is too thin, by itself.
    """
    found = []
    for id in match.techniques:
        if id in counting.plan.may_become_necessary:
            figure = _with_step(counting, match, id)
            if figure and (figure.events, figure.n) != (rate.events, rate.n):
                said = verdict(*figure.tested, *rate.tested)
                found.append(IfNeeded(id, figure, said))
    return tuple(found)


def _with_step(counting: Counting, match: Match, id: str) -> Rate | None:
    """The figure with a further technique: from the closest comparison that also serves the outcomes of
    which it is a part, or which are a part of it."""
    base = counting.bases.get(match.id)
    parts = base.parts if base else ()
    family = base.outcomes if base and parts else (match.id,)
    for level, plain in if_needed_comparisons(counting, id):
        comparison = replace(plain, parts=parts)
        if all(quotable(counting.counts(each, comparison)).ok for each in family):
            found = counting.figure(match.id, level, comparison)
            return found if isinstance(found, Rate) else None
    return None
