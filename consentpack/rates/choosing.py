"""Which own comparison each outcome is told from, rung by rung; those read together from one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from consentpack.model import Match, Rate, Rejected
from consentpack.rates.bases import bases, place, without_thinnest
from consentpack.rates.counting import OWN_RUNGS, Base, Counting

_NOT_TOGETHER = "too few treatments in which all that is read together with it is known"


@dataclass
class Chosen:
    """The closest own figure of each outcome that may be quoted, and what was passed over for it."""

    rejected: dict[str, list[Rejected]]
    own: dict[str, Rate] = field(default_factory=dict)
    counts_at: dict[str, int] = field(default_factory=dict)
    """Outcomes that are told as counts, to stay with what they are read together with -> the rung."""
    barred: set[str] = field(default_factory=set)
    """Gains, or that there was none, that are no share: it would stand beside one of other treatments."""


def choose(counting: Counting, wanted: Sequence[Match]) -> Chosen:
    """What is told of each outcome from the audit."""
    chosen = Chosen({match.id: [] for match in wanted})
    if counting.audit is None:
        nothing = Rejected("same-techniques", "this clinic keeps no audit")
        chosen.rejected = {match.id: [nothing] for match in wanted}
        return chosen
    by_id = {match.id: match for match in wanted}
    for base in bases(counting, wanted):
        _settle(counting, base, by_id, chosen)
    _climb(counting, [match for match in wanted if match.id not in counting.bases], chosen)
    return chosen


def _settle(counting: Counting, base: Base, by_id: dict[str, Match], chosen: Chosen) -> None:
    """One comparison for all of a base; what has too few treatments for any is told by itself."""
    while len(base.outcomes) > 1:
        at = place(counting, base)
        if at is not None:
            counting.bases |= dict.fromkeys(base.outcomes, base)
            for id in base.outcomes:
                _tell(counting, by_id[id], at, chosen)
            return
        base, thin = without_thinnest(counting, base)
        if base.gains:
            chosen.barred.add(thin)


def _tell(counting: Counting, match: Match, at: int, chosen: Chosen) -> None:
    """An outcome from the rung of its base: a share where it may be quoted there, else its counts."""
    for rung, (level, comparison) in enumerate(counting.comparisons(match)[: at + 1]):
        found = counting.figure(match.id, level, comparison)
        if rung == at and isinstance(found, Rate):
            chosen.own[match.id] = found
        elif rung == at:
            chosen.rejected[match.id].append(found)  # type: ignore[arg-type]
            chosen.counts_at[match.id] = at
        elif isinstance(found, Rate):
            chosen.rejected[match.id].append(Rejected(level, _NOT_TOGETHER, found.counts))
        else:
            chosen.rejected[match.id].append(found)


def _climb(counting: Counting, wanted: Sequence[Match], chosen: Chosen) -> None:
    """The closest comparison of each outcome that may be quoted.

    Rung by rung for all outcomes together, so that a more distant comparison is counted only for the
    outcomes that need it.
    """
    for rung in range(OWN_RUNGS):
        open_ = [(m.id, *counting.comparisons(m)[rung]) for m in wanted if m.id not in chosen.own]
        for comparison in dict.fromkeys(each[2] for each in open_):
            counting.count(comparison, [id for id, _, other in open_ if other == comparison])
        for id, level, comparison in open_:
            found = counting.figure(id, level, comparison)
            if not isinstance(found, Rate):
                chosen.rejected[id].append(found)
            elif id in chosen.barred:
                chosen.rejected[id].append(Rejected(level, _NOT_TOGETHER, found.counts))
            else:
                chosen.own[id] = found
