"""How many treatments are still needed for a figure of its own."""

from __future__ import annotations

from dataclasses import dataclass

from consentpack.model import Counts
from consentpack.rates.reliability import FEWEST, LOSS_BLOCKS, followed_up, reliable

MOST = 1_000_000
"""Beyond this no clinic gets; the search ends."""


@dataclass(frozen=True)
class Needed:
    """What is missing until a figure may be quoted; nothing of either: it may."""

    treatments: int
    """More that are watched, if the outcome goes on being seen as often as so far."""
    looks: int
    """Treatments already done that are to be followed up, since too many of those due were lost."""

    @property
    def said(self) -> str:
        """In words; '' where nothing is missing."""
        parts = []
        if self.treatments:
            parts.append(f"about {self.treatments} more treatments")
        if self.looks:
            parts.append(f"{self.looks} of those due to be followed up")
        return " and ".join(parts) + " needed for a figure of its own" if parts else ""


def needed(counts: Counts) -> Needed:
    """What an own figure lacks by the rule of reliability and the rule of follow-up.

    Our own reasoning: the share seen so far is taken to stay. It is itself uncertain, so this is a guide.
    """
    looks = 0 if followed_up(counts).ok else max(0, counts.lost - counts.due * LOSS_BLOCKS // 100)
    return Needed(_more(counts.events, counts.watched), looks)


def _more(events: int, n: int) -> int:
    if not n:
        return FEWEST
    if _enough(events, n, n):
        return 0
    low, high = n, max(2 * n, FEWEST)
    while not _enough(events, n, high):
        low, high = high, 2 * high
        if high > MOST:
            return MOST
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _enough(events, n, middle) else (middle, high)
    return high - n


def _enough(events: int, n: int, number: int) -> bool:
    """Whether so many treatments would do, with the outcome in the same share of them."""
    return reliable(round(events * number / n), number).ok
