"""What was seen in treatments that do not count, because nobody could watch them to the end.

It is told to the clinician, and it makes a figure worse, never better.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from consentpack.library import Library
from consentpack.model import Counts
from consentpack.rates.exact_test import LEVEL, greater
from consentpack.register import Tally


def hidden(counts: Counts) -> bool:
    """Whether a harm's figure would be better than what has been seen.

    That it was seen outside and never inside; or more outside by an exact test (one-sided, 5%). Outside are
    then also those of which nothing is written down: a clinic that notes at once what it sees, and that there
    was nothing only at the end, would else always find more outside. Their share can only grow.
    """
    events, n = counts.outside_events, counts.outside + counts.blank
    if counts.counted_in or not events:
        return False
    if not counts.events:
        return True
    return greater(events, n, counts.events, counts.watched) < LEVEL


def counted_in(counts: Counts) -> Counts:
    """The counts with those outside in them."""
    return replace(
        counts,
        events=counts.events + counts.outside_events,
        watched=counts.watched + counts.outside,
        counted_in=True,
    )


def told_counts(
    tally: Tally, library: Library, outcomes: Iterable[str], parts: Iterable[tuple[str, str]] = ()
) -> dict[str, Counts]:
    """The counts of outcomes that are told: by days where they are known, a gain only when it can be judged,
    and a harm with what was seen outside where that would be hidden.

    `parts` are (part, whole) of them: the two are counted alike, or a part could exceed its whole.
    """
    judged = {*library.benefits, *library.field.may_not_work}
    found = {}
    for id in outcomes:
        counts = tally.counts[id] if id in judged else tally.dated.get(id, tally.counts[id])
        early = id in library.benefits and not tally.timed
        found[id] = Counts(0, 0, counts.due, 0) if early else counts
    worse = {id for id, counts in found.items() if id not in judged and hidden(counts)}
    for family in families(parts):
        worse |= family if worse & family else set()
    return {id: counted_in(counts) if id in worse else counts for id, counts in found.items()}


def families(parts: Iterable[tuple[str, str]]) -> list[frozenset[str]]:
    """Wholes with all their parts, from (part, whole)."""
    found: list[frozenset[str]] = []
    for pair in map(frozenset, parts):
        touching = [family for family in found if family & pair]
        found = [family for family in found if family not in touching]
        found.append(pair.union(*touching))
    return found
