"""Own counts that are told as counts, and a count of none that is pooled as widely as is fair."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from consentpack.model import Counts, Interval, Level, Match, Rate, Seen
from consentpack.rates.counting import OWN_RUNGS, Counting, over
from consentpack.rates.exact_test import LEVEL, greater
from consentpack.rates.intervals import wilson
from consentpack.rates.over_time import estimate
from consentpack.rates.reliability import FEWEST, followed_up, loss_warns, quotable


@dataclass(frozen=True)
class Rung:
    """One own comparison of an outcome, counted."""

    level: Level
    counts: Counts


def rungs_of(counting: Counting, match: Match, *, until: Level = "lead-technique") -> list[Rung]:
    """The own comparisons of an outcome, counted, from the closest to that of a level, it included."""
    found = []
    for level, comparison in counting.comparisons(match):
        found.append(Rung(level, counting.counts(match.id, comparison)))
        if level == until:
            break
    return found


def spread(counts: Counts) -> Interval:
    """How far the true share may lie: Wilson's 95% interval.

    Where too many were lost to judge, from the lower limit as if none of the lost had it to the upper
    as if all had: the worst case of Horowitz and Manski 2000 (JASA 95:77) [M]. Raises ValueError when
    nothing was watched.
    """
    events, n, lost = counts.events, counts.watched, counts.lost
    if followed_up(counts).ok:
        return wilson(events, n)
    return Interval(wilson(events, n + lost).low, wilson(events + lost, n + lost).high)


def rest(wide: Counts, close: Counts) -> tuple[int, int]:
    """Events and treatments of a wider group that are not of a closer one within it.

    The two share no treatment, so that a test of one against the other is a test of two samples.
    """
    (events, n), (fewer, less) = wide.inside, close.inside
    return events - fewer, n - less


def fairly_pooled(rungs: Sequence[Rung], start: int) -> int:
    """The widest group a count of none may be pooled to: its place among the rungs.

    Fair is a wider group that was followed up, and of which the exact test (one-sided, 5%) does not
    find that the others had it more often: where they had, it would be told of people unlike the
    patient. A gain is never pooled: that could only flatter.
    """
    close, found = rungs[start].counts, start
    for at in range(start + 1, len(rungs)):
        wide = rungs[at].counts
        events, n = rest(wide, close)
        alike = n < 1 or greater(events, n, close.events, close.watched) >= LEVEL
        if alike and wide.watched > rungs[found].counts.watched and followed_up(wide).ok:
            found = at
    return found


def seen(counting: Counting, match: Match) -> tuple[Seen | None, bool]:
    """What is told of an outcome none of whose own groups may be quoted, and whether it was pooled.

    The closest group with enough treatments that were followed up; where there is none, the widest.
    None when nothing was counted, and for a gain that nobody could yet have judged.
    """
    harm = match.id in counting.library.risks
    rungs = rungs_of(counting, match)
    counted = [at for at, rung in enumerate(rungs) if _tellable(rung.counts, harm=harm)]
    if not counted:
        return None, False
    most = max(counted, key=lambda at: (rungs[at].counts.watched, -at))
    start = next((at for at in counted if _enough(rungs[at].counts)), most)
    if rungs[start].counts.events or not harm:
        return told_at(counting, match, start), False
    wide = fairly_pooled(rungs, start)
    return told_at(counting, match, wide), wide != start


def told_at(counting: Counting, match: Match, at: int) -> Seen:
    """The counts of an own comparison, to be told. Raises ValueError when nothing was watched."""
    level, comparison = counting.comparisons(match)[at]
    tally, counts = counting.known(match.id, comparison)
    assert tally.first and tally.last  # what was watched was done on some day
    return Seen(
        outcome=match.id,
        level=level,
        counts=counts,
        interval=spread(counts),
        why=quotable(counts).why,
        first=tally.first,
        last=tally.last,
        unknown=counts.lost if loss_warns(counts) else 0,
        over=over(tally, counts),
        risk=estimate(counts.curve),
    )


def wider_than_none(counting: Counting, match: Match, own: Rate) -> int | None:
    """Where a harm that none had in the quoted group is to be told of instead; None: where it is.

    All own comparisons must have been counted.
    """
    rungs = rungs_of(counting, match)
    start = next(at for at in range(OWN_RUNGS) if rungs[at].level == own.level)
    wide = fairly_pooled(rungs, start)
    return None if wide == start else wide


def _enough(counts: Counts) -> bool:
    return counts.watched >= FEWEST and followed_up(counts).ok


def _tellable(counts: Counts, *, harm: bool) -> bool:
    """A harm that was seen is told whenever; a gain only where somebody has looked long enough."""
    return bool(counts.watched) and (harm or bool(counts.due_watched))
