"""The ladder of comparisons: the closest reliable figure is the one that is quoted.

Same techniques together at the same site and in the same strata; same techniques together; the leading
technique in any combination; a published figure; what was counted, told as counts; none. Each
rung that is passed over leaves its reason. A harm that nobody had is looked for in wider groups.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from consentpack.library import Library
from consentpack.model import Clinic, Match, Matches, Plan, Rate, RateAnswer, Rejected, Seen, Worse
from consentpack.rates.choosing import Chosen, choose
from consentpack.rates.compare import verdict
from consentpack.rates.counted import rungs_of, seen, told_at, wider_than_none
from consentpack.rates.counting import AuditSource, Counting
from consentpack.rates.fits import asked
from consentpack.rates.published import published_rate, told, withheld
from consentpack.rates.reliability import followed_up
from consentpack.rates.together import bounds_for, if_needed, if_needed_comparisons
from consentpack.rates.wholes import within_wholes
from consentpack.rates.worse import worse
from consentpack.register import Comparison


def answer_all(
    plan: Plan, library: Library, clinic: Clinic, matches: Matches, audit: AuditSource | None
) -> dict[str, RateAnswer]:
    """What is known of each matched risk and benefit: outcome id -> answer.

    `audit` is None when nothing has been imported yet.
    """
    wanted = (*matches.risks, *matches.benefits)
    watch_days = {match.id: library.outcome(match.id).watch_days for match in wanted}
    counting = Counting(plan, library, clinic, audit, watch_days)
    chosen = choose(counting, wanted)
    alone = [match for match in wanted if match.id not in counting.bases]
    _count_wider(counting, [match for match in alone if _none_had(library, chosen.own.get(match.id))])
    for id in plan.may_become_necessary if audit else ():
        brought = [match.id for match in wanted if id in match.techniques]
        for _, comparison in if_needed_comparisons(counting, id):
            counting.count(comparison, brought)
    answers = {match.id: _answer(counting, match, chosen) for match in wanted}
    answers = within_wholes(counting, wanted, answers)
    if audit is None:
        return answers
    return {m.id: replace(answers[m.id], without=counting.without(m)) for m in wanted}


def _answer(counting: Counting, match: Match, chosen: Chosen) -> RateAnswer:
    own, rejected = chosen.own.get(match.id), chosen.rejected[match.id]
    sentence = asked(counting.library, match.id)
    fitting = {"techniques": match.techniques, "factors": counting.plan.factors}
    rates = counting.library.published
    printed = published_rate(rates, sentence, **fitting)
    passed_over = (*rejected, *withheld(rates, sentence, **fitting))
    base = counting.bases.get(match.id)
    steps = base.leads if base and len(base.leads) > 1 else ()
    found = RateAnswer(match.id, match.techniques[0], None, rejected=passed_over, steps=steps)
    if match.id in chosen.counts_at:
        held = told_at(counting, match, chosen.counts_at[match.id])
        return _worse_than_own(counting, match, replace(found, seen=held, beside=printed))
    if own and (wide := _pooled(counting, match, own)):
        own, counts = wide
        found = replace(found, pooled=True)
        if own is None:
            return replace(found, seen=counts, beside=printed)
    if own:
        return _worse_than_own(counting, match, _with_own(counting, match, own, printed, found))
    if printed:
        return replace(found, rate=printed, worse=_worse_than_study(counting, match, printed))
    nothing = Rejected("published", "no published figure that may be quoted")
    counts, pooled = seen(counting, match) if counting.audit else (None, False)
    study = told(rates, sentence, **fitting)
    found = replace(found, rejected=(*passed_over, nothing), told=study, seen=counts, pooled=pooled)
    return _worse_than_own(counting, match, found)


def _worse_than_own(counting: Counting, match: Match, answer: RateAnswer) -> RateAnswer:
    """An answer of the clinic's own, with each closer group that is worse than a wider one."""
    shown = answer.rate or answer.seen
    if shown is None:
        return answer
    closer = rungs_of(counting, match, until=shown.level)
    return replace(answer, worse=worse(closer, shown.level, None, harm=match.id in counting.library.risks))


def _worse_than_study(counting: Counting, match: Match, printed: Rate) -> tuple[Worse, ...]:
    harm = match.id in counting.library.risks
    return worse(rungs_of(counting, match), "published", printed, harm=harm) if counting.audit else ()


def _none_had(library: Library, own: Rate | None) -> bool:
    return own is not None and not own.events and own.outcome in library.risks


def _count_wider(counting: Counting, matches: Sequence[Match]) -> None:
    """Count every own comparison of some outcomes, each comparison in one pass."""
    asked: dict[Comparison, list[str]] = {}
    for match in matches:
        for _, comparison in counting.comparisons(match):
            asked.setdefault(comparison, []).append(match.id)
    for comparison, outcomes in asked.items():
        counting.count(comparison, outcomes)


def _pooled(counting: Counting, match: Match, own: Rate) -> tuple[Rate | None, Seen | None] | None:
    """The figure, or the counts, of the widest group to which a harm that none had is fairly pooled;
    None where there is none wider than the closest that is enough."""
    alone = match.id not in counting.bases  # what is read together is not parted for one of them
    at = wider_than_none(counting, match, own) if alone and _none_had(counting.library, own) else None
    if at is None:
        return None
    level, comparison = counting.comparisons(match)[at]
    found = counting.figure(match.id, level, comparison)
    return (found, None) if isinstance(found, Rate) else (None, told_at(counting, match, at))


def _with_own(
    counting: Counting, match: Match, own: Rate, printed: Rate | None, found: RateAnswer
) -> RateAnswer:
    """An answer with the clinic's own figure, and the study beside it."""
    assert own.counts is not None
    warning = followed_up(own.counts).warning
    return replace(
        found,
        rate=own,
        beside=printed,
        verdict=verdict(*own.tested, printed.events, printed.n) if printed else None,
        bounds=bounds_for(counting, match, own),
        if_needed=if_needed(counting, match, own),
        warnings=(warning,) if warning else (),
    )
