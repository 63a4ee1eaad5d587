"""Closer own groups that are worse than what would be printed in their place: never hidden by distance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from consentpack.model import Counts, Level, Rate, Worse
from consentpack.rates.counted import Rung, rest
from consentpack.rates.exact_test import LEVEL, greater
from consentpack.rates.reliability import loss_warns, quotable


def worse(rungs: Sequence[Rung], shown: Level, published: Rate | None, *, harm: bool) -> tuple[Worse, ...]:
    """Each own group closer than the one shown that is worse than a wider own group or the study.

    `rungs` are the own groups that were counted, from close to distant; `shown` is the level of what
    patients read, 'published' with the study itself in `published`. Worse is a harm seen more, or a gain
    seen less, by Fisher's exact test, one-sided, 5%. A wider own group is tested without the treatments
    of the closer one: two groups that share treatments are no two samples.
    """
    found = []
    for at, close in enumerate(rungs):
        if close.level == shown:
            break
        for than, others in _others(rungs, at, published):
            if is_worse(close.counts, others, harm=harm):
                found.append(_worse(close, than, others, printed=than == shown))
    return tuple(found)


def _others(
    rungs: Sequence[Rung], at: int, published: Rate | None
) -> Iterator[tuple[Level, tuple[int, int]]]:
    """What a closer group is tested against."""
    for wide in rungs[at + 1 :]:
        yield wide.level, rest(wide.counts, rungs[at].counts)
    if published:
        yield "published", (published.events, published.n)


def is_worse(counts: Counts, others: tuple[int, int], *, harm: bool) -> bool:
    """Whether an exact test finds own counts, however thin, worse than others: events and number."""
    events, n = others
    if not counts.watched or n < 1 or not 0 <= events <= n:
        return False
    own = (counts.events, counts.watched)
    first, second = (own, others) if harm else (others, own)
    return greater(*first, *second) < LEVEL


def _worse(close: Rung, than: Level, others: tuple[int, int], *, printed: bool) -> Worse:
    counts = close.counts
    unknown = counts.lost if loss_warns(counts) else 0
    return Worse(close.level, counts, than, others, printed, quotable(counts).why, unknown)
