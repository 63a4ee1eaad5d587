"""When a figure is reliable enough to be quoted."""

from __future__ import annotations

from dataclasses import dataclass

from consentpack.model import Counts
from consentpack.rates.intervals import exact

# National Center for Health Statistics data presentation standards for proportions
# (Parker et al. 2017, Vital Health Stat 2(175)), in the order they are applied.
FEWEST = 30
NARROW_WIDTH = 0.05
WIDE_WIDTH = 0.30
RELATIVE_WIDTH = 1.30

# "5 and 20" (Sackett, as quoted by Schulz and Grimes): under 5% lost brings little bias, over 20%
# threatens the finding.
LOSS_WARNS = 5
LOSS_BLOCKS = 20
"""Percent of the due treatments."""


@dataclass(frozen=True)
class Verdict:
    """Whether a figure may be quoted; `why` finishes a sentence when it may not."""

    ok: bool
    why: str = ""
    warning: str = ""


def reliable(events: int, n: int) -> Verdict:
    """The NCHS 2017 rule for proportions, with the exact interval."""
    if n < FEWEST:
        return Verdict(False, f"only {n} treatments; at least {FEWEST} are needed")
    width, p = exact(events, n).width, events / n
    if width <= NARROW_WIDTH:
        return Verdict(True)
    if width >= WIDE_WIDTH:
        return Verdict(False, f"{events} of {n} leaves the true figure too open (±{width / 2:.0%})")
    if width > RELATIVE_WIDTH * p:
        return Verdict(False, f"{events} of {n} leaves the true figure too open for so few events")
    return Verdict(True)


def followed_up(counts: Counts) -> Verdict:
    """The 5-and-20 rule on treatments whose watching time has passed."""
    completeness = counts.completeness
    if completeness is None:
        return Verdict(False, "no treatment is long enough ago to have been watched in full")
    said = f"{counts.lost} of {counts.due} treatments were not followed up ({1 - completeness:.0%})"
    # whole numbers: 1 - 0.8 is not quite 0.2 to a computer
    if counts.lost * 100 > LOSS_BLOCKS * counts.due:
        return Verdict(False, f"{said}; over {LOSS_BLOCKS}% is too many to judge")
    return Verdict(True, warning=said if loss_warns(counts) else "")


def loss_warns(counts: Counts) -> bool:
    """Whether so many of the due treatments were lost that the figure is not said without it: 5% itself
    is such."""
    return counts.due > 0 and counts.lost * 100 >= LOSS_WARNS * counts.due


def quotable(counts: Counts) -> Verdict:
    """Both rules on an own figure."""
    if not counts.watched:
        return Verdict(False, "no treatment was watched for this")
    number, follow_up = reliable(counts.events, counts.watched), followed_up(counts)
    return follow_up if number.ok else number
