"""Counts, intervals and figures."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from typing import Literal

from consentpack.model.curve import Curve, Estimate, Over
from consentpack.model.interval import Interval

Level = Literal["closest", "same-techniques", "lead-technique", "published"]
LEVELS: tuple[Level, ...] = ("closest", "same-techniques", "lead-technique", "published")
"""From the closest comparison to the most distant."""


@dataclass(frozen=True)
class Counts:
    """What the register holds for one outcome in one comparison. Counts of treatments."""

    events: int
    watched: int
    """Treatments whose watching time is over and that were watched for all of it, and those of `outside`
    where they are counted in. With days: also those in which it was seen, or that were done again, before
    the end."""
    due: int
    """Treatments long enough ago that the watching time has passed."""
    due_watched: int
    """Of `due`, those that were watched long enough."""
    days_watched: int = 0
    """Days of watching time that were watched, all treatments together."""
    days_possible: int = 0
    """Days that could have been watched by now."""
    outside_events: int = 0
    outside: int = 0
    """Treatments with something written down whose watching time is not over, or that were not watched for
    all of it; and those of them in which the outcome was seen."""
    blank: int = 0
    """Treatments of which nothing is written down."""
    counted_in: bool = False
    """Whether those outside are in `events` and `watched`, because a figure without them would be better than
    what has been seen."""
    curve: Curve | None = None
    """Where the day is known on which each was first seen."""

    def __post_init__(self) -> None:
        if not 0 <= self.events <= self.watched:
            raise ValueError(f"{self.events} events among {self.watched} treatments")
        if not 0 <= self.due_watched <= self.due:
            raise ValueError(f"{self.due_watched} of {self.due} treatments followed up")

    @property
    def completeness(self) -> float | None:
        """Share of the due treatments that were followed up; None when none is due yet."""
        return self.due_watched / self.due if self.due else None

    @property
    def person_time(self) -> float | None:
        """Clark's C: watched days as a share of the days that could have been watched by now.

        Clark, Altman and De Stavola 2002 (Lancet 359:1309). None when no day has passed yet.
        """
        return self.days_watched / self.days_possible if self.days_possible else None

    def __add__(self, other: Counts) -> Counts:
        """The counts of two groups of treatments that share none."""
        curve = self.curve + other.curve if self.curve and other.curve else None
        sums = {name: getattr(self, name) + getattr(other, name) for name in _NUMBERS}
        return Counts(**sums, counted_in=self.counted_in or other.counted_in, curve=curve)

    @property
    def inside(self) -> tuple[int, int]:
        """Events and watched treatments without those outside."""
        if not self.counted_in:
            return self.events, self.watched
        return self.events - self.outside_events, self.watched - self.outside

    @property
    def lost(self) -> int:
        """Due treatments that nobody watched long enough."""
        return self.due - self.due_watched

    @property
    def best_and_worst(self) -> tuple[float, float] | None:
        """The figure if none, and if all, of the lost had had the outcome. None without treatments."""
        n = self.watched + self.lost
        return (self.events / n, (self.events + self.lost) / n) if n else None


_NUMBERS = tuple(each.name for each in fields(Counts) if each.name not in ("counted_in", "curve"))


@dataclass(frozen=True)
class Rate:
    """A figure that may be quoted. It cannot exist without its counts, period and source."""

    outcome: str
    events: int
    n: int
    interval: Interval
    level: Level
    unit: str
    """What one of the n is: 'treatments', 'people', 'syringes' …"""
    who: str
    """In whom, in plain words."""
    source: str
    """'own audit' or the id of a published source."""
    first: date | None = None
    last: date | None = None
    """Period of an own figure."""
    follow_up: str = ""
    counts: Counts | None = None
    """For own figures: follow-up completeness."""
    caveat: str = ""
    watched_days: int | None = None
    """For published figures: days until the study looked; None when it does not say."""
    over: Over = "watching time"
    """For own figures: over what time they were counted."""
    risk: Estimate | None = None
    """For own figures with days: the estimate whose share is told. `events` and `n` are its treatments."""

    def __post_init__(self) -> None:
        if self.n < 1 or not 0 <= self.events <= self.n:
            raise ValueError(f"{self.events} of {self.n} is no rate")
        if self.level != "published" and not (self.first and self.last and self.counts):
            raise ValueError("an own figure needs its period and its follow-up")

    @property
    def proportion(self) -> float:
        return float(self.risk.share) if self.risk else self.events / self.n

    @property
    def ratio(self) -> tuple[int, int]:
        """The share that is told, as two whole numbers."""
        return self.risk.share.as_integer_ratio() if self.risk else (self.events, self.n)

    @property
    def tested(self) -> tuple[int, int]:
        """Events and number as a test takes them."""
        return self.risk.tested if self.risk else (self.events, self.n)


@dataclass(frozen=True)
class Rejected:
    """A closer comparison that could not be used, with the reason in words."""

    level: Level
    why: str
    counts: Counts | None = None


@dataclass(frozen=True)
class Seen:
    """Own counts that are told as counts, where a share of 100 would say more than they can carry."""

    outcome: str
    level: Level
    counts: Counts
    interval: Interval
    """How far the true share may lie; where too many were lost, as if none or all of the lost had it."""
    why: str
    """Why no share is quoted, for the clinician."""
    first: date
    last: date
    """Period of the treatments."""
    unknown: int = 0
    """Treatments that nobody watched long enough, where they are so many that patients are told."""
    over: Over = "watching time"
    risk: Estimate | None = None
    """With days: the estimate for the clinician, beside the counts that patients read."""

    def __post_init__(self) -> None:
        if not self.counts.watched:
            raise ValueError("nothing was watched, so nothing can be told")

    @property
    def events(self) -> int:
        return self.counts.events

    @property
    def n(self) -> int:
        return self.counts.watched


@dataclass(frozen=True)
class Told:
    """A harm a study saw that is no reliable rate: it is told as what was seen, and never as a rate.

    Silence would say that nothing is known of it, while the same study's gains are quoted.
    """

    unit: str
    who: str
    source: str
    follow_up: str
    watched_days: int | None
    caveat: str
    percent: float
    """From 0 to 100, as printed; of a count it is worked out."""
    events: int | None = None
    n: int | None = None
    """None: the study prints no count."""
    few: bool = True
    """Whether it is too few to be sure."""


Verdict = Literal["agrees", "higher", "lower", "cannot tell", "mixed"]
"""How one figure stands to another. 'higher' and 'lower' only where every method that is printed says so."""


@dataclass(frozen=True)
class Worse:
    """A closer own group, however thin, that an exact test finds worse than another figure."""

    level: Level
    counts: Counts
    than: Level
    """The wider own group, or 'published'."""
    others: tuple[int, int]
    """Events and number of what it was tested against: of a wider own group those outside the closer one."""
    printed: bool
    """Whether that other figure is the one patients read; then they read of this too."""
    why: str = ""
    """Why the closer group is not quoted itself."""
    unknown: int = 0
    """Treatments of it that nobody watched long enough, where patients are told."""
    found: bool = True
    """Whether it is worse; else it is told because a part of it is, and the two are read together."""


@dataclass(frozen=True)
class Bounds:
    """What may be said of techniques together when only each by itself has a figure.

    At least the largest of the single figures, at most their sum: true whatever the techniques have
    to do with each other. Multiplying would need them to have nothing to do with each other.
    """

    parts: tuple[tuple[str, Rate], ...]
    """Technique id -> its own figure."""

    @property
    def low(self) -> float:
        return max(rate.proportion for _, rate in self.parts)

    @property
    def high(self) -> float:
        return min(1.0, sum(rate.proportion for _, rate in self.parts))


@dataclass(frozen=True)
class IfNeeded:
    """The figure with a technique that may become necessary."""

    technique: str
    rate: Rate
    verdict: Verdict
    """How it stands to the figure without."""


@dataclass(frozen=True)
class RateAnswer:
    """What is known of one outcome for one plan."""

    outcome: str
    technique: str
    """The planned technique the figure is for (the first that carries the outcome)."""
    rate: Rate | None
    """None: no figure may be quoted as so many in every 100."""
    rejected: tuple[Rejected, ...] = ()
    beside: Rate | None = None
    """The published figure beside an own one."""
    verdict: Verdict | None = None
    """How the own figure stands to the published one beside it."""
    seen: Seen | None = None
    """Without a rate: what the clinic has counted. Without this too, and `told`, nothing is known."""
    pooled: bool = False
    """Whether more treatments than the closest that are enough were counted, because none was seen there."""
    told: Told | None = None
    """Without a rate: a harm that a study saw in too few, or told without its count."""
    counted_in: str = ""
    """Without a number: the outcome of which it is a part, and whose own figure holds it."""
    at_least: str = ""
    """Without a number: the part of it whose figure is the least it can be."""
    steps: tuple[str, ...] = ()
    """The techniques of the widest own comparison, where it is of several together."""
    worse: tuple[Worse, ...] = ()
    """Closer own groups that are worse than a wider one or a study, from the closest."""
    bounds: Bounds | None = None
    """For techniques together, when the figure is for one of them alone."""
    if_needed: tuple[IfNeeded, ...] = ()
    warnings: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    """What the closest comparison was made without, and why, for the record."""

    @property
    def own_worse(self) -> Worse | None:
        """The closest own group that is worse than what is printed: patients read its count."""
        return next((each for each in self.worse if each.printed), None)
