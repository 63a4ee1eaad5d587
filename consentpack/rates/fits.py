"""Whether a printed figure fits the sentence that would be said of it.

A number can be right and its use not: counted for each syringe, recalled by those who treated, seen in
people who were already suspected, or judged while the swelling still fills the dip. Our own reasoning
from a clinician's reading of the shipped figures; the thresholds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from consentpack.library import Library
from consentpack.model import PublishedRate
from consentpack.wording import UNITS

SELF_RATED_FROM = 90
"""Days: people's own rating of a gain before this is of hope and swelling as much as of the result."""
FLATTERS = {
    "notes": "it is from old notes, where much is not written down, so it would flatter",
    "reported": "it is as those who treated recall it, so it would flatter",
    "suspects": "it is of people sent for a test because they were suspected, so it is no rate in patients",
}
MISCOUNTED = {
    "part": "it counts only some of those who had it, so the rest cannot be said not to have had it",
    "more": "it counts other things too",
    "other": "it counts something else",
    "one-in": "it is printed as 1 in so many, which is no count",
}


@dataclass(frozen=True)
class Asked:
    """The sentence a figure is wanted for."""

    outcome: str
    harm: bool
    watch_days: int
    """Days after which the outcome is judged."""
    units: Collection[str]
    """What counts as a person, a treatment or a place."""


def asked(library: Library, outcome: str) -> Asked:
    """What a figure of this outcome must fit."""
    units = {*UNITS, *library.field.units} - {*library.field.materials}
    harm = outcome in library.risks
    return Asked(outcome, harm, library.outcome(outcome).watch_days, units)


def unfit(rate: PublishedRate, sentence: Asked) -> str:
    """Why a figure is not printed to patients as a rate, every reason; '' when it fits."""
    return "; ".join(filter(None, (MISCOUNTED.get(rate.counted, ""), misleading(rate, sentence))))


def misleading(rate: PublishedRate, sentence: Asked) -> str:
    """What is against telling a figure even as what was once seen; '' when nothing is.

    A harm counted in part only is no rate, but that it was seen so often is true and matters.
    """
    no_unit = "" if rate.unit in sentence.units else f"{rate.unit} are no people, treatments or places"
    how = FLATTERS.get(rate.looked_for, "") if sentence.harm else _too_early(rate, sentence.watch_days)
    return "; ".join(filter(None, (no_unit, how)))


def _too_early(rate: PublishedRate, watch_days: int) -> str:
    """A gain is only as good as the day it is judged."""
    days = rate.watched_days
    if days is None:
        return "the source does not say when the gain was judged"
    if 2 * days < watch_days:
        return f"the gain was judged at {days} days; it is judged here at {watch_days}"
    if rate.looked_for == "self-rated" and days < SELF_RATED_FROM:
        return f"people rated the gain themselves at {days} days; at least {SELF_RATED_FROM} are needed"
    return ""
