"""Figures that others have printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

LOOKED_FOR = (
    "examined", "photographed", "asked", "self-rated", "notes", "reported", "suspects", "not-said",
)  # fmt: skip
"""How a source looked for an outcome. `notes`: in old notes; `reported`: as those who treated recall it;
`suspects`: in people who were sent because they were thought to have it."""
COUNTED = ("it", "part", "more", "other", "one-in")
"""What a printed number counts: the outcome itself; only some of those who had it (a gain over 70%);
other things too; something else; or '1 in so many', which is no count."""


@dataclass(frozen=True)
class PublishedRate:
    """A printed figure, with its mark. Counts are None when the source prints no usable ones."""

    id: str
    technique: str
    outcome: str
    factor: str
    """Only for people with this factor; '' for everybody."""
    events: int | None
    n: int | None
    unit: str
    population: str
    follow_up: str
    source: str
    seen: Literal["abstract", "secondary", "memory"]
    caveat: str
    percent: float | None = None
    """As the source prints it; it may stand without a count."""
    watched_days: int | None = None
    """Days until the source looked: of "6 to 8 months" the first, of "up to" the last. None: not said."""
    looked_for: str = "not-said"
    """How the source looked for it: one of LOOKED_FOR."""
    counted: str = "it"
    """What its number counts, beside the outcome's name: one of COUNTED."""

    @property
    def quotable(self) -> bool:
        """Whether it can be a rate for patients: counts printed, and read in the source itself."""
        return self.seen == "abstract" and bool(self.n) and self.events is not None

    @property
    def readable(self) -> bool:
        """Whether patients may read of it at all: as a rate, or as a percentage without its count."""
        return self.quotable or (self.seen == "abstract" and bool(self.percent))
