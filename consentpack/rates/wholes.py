"""No part above its whole: what is told of the two cannot contradict itself on any form."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from consentpack.model import Match, RateAnswer, Rejected, Worse
from consentpack.rates.bases import parts_among
from consentpack.rates.counting import Counting

Answers = dict[str, RateAnswer]


def within_wholes(counting: Counting, wanted: Sequence[Match], answers: Answers) -> Answers:
    """Answers in which no part is told as more than its whole.

    Told from one comparison it never is. Where they had to be told from different ones and it would be,
    the number that cannot be right for this clinic gives way, and the form points to the other: a part to
    the clinic's own count of the whole, which holds it; a whole known from a study to its part, which is
    the least that the whole can be.
    """
    found, by_id = dict(answers), {match.id: match for match in wanted}
    for part, whole in _with_all_above(dict(parts_among(counting.library, answers))):
        found[part], found[whole] = _in_order(found[part], found[whole])
        found[part], found[whole] = _closer(counting, by_id[whole], found[part], found[whole])
    return found


def _with_all_above(up: dict[str, str]) -> list[tuple[str, str]]:
    """Each part with its whole, with what that is a part of, and so on."""
    found = []
    for part in up:
        above, seen = up[part], {part}
        while above and above not in seen:
            found.append((part, above))
            seen.add(above)
            above = up.get(above, "")
    return found


def share(answer: RateAnswer) -> float | None:
    """The share that is told first, between 0 and 1; None where no number is."""
    if answer.rate:
        return answer.rate.proportion
    if answer.seen:
        return answer.seen.events / answer.seen.n
    return answer.told.percent / 100 if answer.told else None


def _in_order(part: RateAnswer, whole: RateAnswer) -> tuple[RateAnswer, RateAnswer]:
    less, more = share(part), share(whole)
    if less is None or more is None:
        return part, whole
    if part.beside and part.beside.proportion > more:
        part = replace(part, beside=None, verdict=None)
    if less <= more:
        return _steps_in_order(part, whole), whole
    if whole.seen or (whole.rate and whole.rate.level != "published"):
        return _silent(part, f"above {whole.outcome}, of which it is a part", counted_in=whole.outcome), whole
    return part, _silent(whole, f"below {part.outcome}, which is a part of it", at_least=part.outcome)


def _steps_in_order(part: RateAnswer, whole: RateAnswer) -> RateAnswer:
    """A part without what a step on the day would make of it where the whole is not told with that step."""
    with_step = {each.technique: each.rate.proportion for each in whole.if_needed}
    kept = [each for each in part.if_needed if each.rate.proportion <= with_step.get(each.technique, -1)]
    return replace(part, if_needed=tuple(kept))


def _silent(answer: RateAnswer, why: str, *, counted_in: str = "", at_least: str = "") -> RateAnswer:
    """An answer without a number, that points to another. What was not told stays for the clinician."""
    shown = answer.rate or answer.seen
    level = shown.level if shown else "published"
    number = f"{shown.events} of {shown.n}" if shown else "a study's figure"
    rejected = (*answer.rejected, Rejected(level, f"{number} would be {why}"))
    worse = tuple(replace(each, printed=False) for each in answer.worse)
    silent = RateAnswer(answer.outcome, answer.technique, None, rejected, worse=worse)
    return replace(silent, counted_in=counted_in, at_least=at_least)


def _closer(
    counting: Counting, match: Match, part: RateAnswer, whole: RateAnswer
) -> tuple[RateAnswer, RateAnswer]:
    """Where the count of a closer group is told of a part, that of its whole in the same group is too."""
    thin = part.own_worse
    if thin is None or (whole.own_worse and whole.own_worse.level == thin.level):
        return part, whole
    base = counting.bases.get(match.id)
    together = base is not None and part.outcome in base.outcomes
    if not together and _fits_below(thin, whole):
        return part, whole
    comparison = dict(counting.comparisons(match))[thin.level]
    counts = counting.counts(match.id, comparison)
    if not together and (not counts.watched or counts.events / counts.watched < _share_of(thin)):
        return replace(part, worse=tuple(replace(each, printed=False) for each in part.worse)), whole
    beside = Worse(thin.level, counts, thin.than, (0, 0), printed=True, found=False)
    return part, replace(whole, worse=(beside, *whole.worse))


def _fits_below(thin: Worse, whole: RateAnswer) -> bool:
    """Whether a part's closer count can stand beside what is told of its whole: it is no more than that, in
    whole numbers of 100 as both are read, or the whole has no number and points to its part."""
    closer = whole.own_worse
    told = [share(whole), _share_of(closer) if closer else None]
    return all(each is None or 100 * _share_of(thin) <= math.floor(100 * each) for each in told)


def _share_of(thin: Worse) -> float:
    return thin.counts.events / thin.counts.watched
