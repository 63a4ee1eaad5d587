"""How long documents are, and how long they may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

LIMITS: Mapping[str, str] = {
    "words": "words, all that are read",
    "sides": "sides of paper",
    "large_print_sides": "sides of paper in large print",
    "any_plan_words": "words, where more than one treatment is planned",
    "each_more_words": "words that each further treatment or way of numbing may have",
    "each_circumstance_words": "words that each circumstance of the patient beyond two may have",
    "any_plan_sides": "sides, where more than one treatment is planned",
    "any_plan_large_print_sides": "sides in large print, where more than one treatment is planned",
}
"""What may be limited -> what it is. 0 stands for no limit; where a key for any plan is not there, the one
for one treatment with its anaesthetic holds for every plan, with what each further treatment and circumstance
may have."""

LENGTHS = ("words", "sides", "large_print_sides")
"""What is held against a limit."""

SLOW, USUAL = 175, 238
"""Words a minute, read in silence, English that is no story: most adults read 175 to 300, on average 238
(Brysbaert 2019, doi:10.1016/j.jml.2019.104047; 190 studies)."""


@dataclass(frozen=True)
class LengthTarget:
    """How long one kind of document may be, and where that comes from."""

    document: str
    limits: Mapping[str, int]
    """Some of LIMITS."""
    before_annex: bool = False
    """Whether only what stands before the annex counts; a document without one is then not limited."""
    why: str = ""
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Limits:
    """What one document of one plan in one language may have; 0 for no limit."""

    words: int = 0
    sides: int = 0
    large_print_sides: int = 0
    before_annex: bool = False


@dataclass(frozen=True)
class SectionLength:
    """The words of one section; the first has no heading: title, notice and what leads."""

    id: str
    heading: str
    words: int


@dataclass(frozen=True)
class Length:
    """How long one document is. Where only what is before its annex is limited, that alone is counted."""

    kind: str
    language: str
    words: int
    sections: tuple[SectionLength, ...] = ()
    sides: int | None = None
    """None where it has no Word file of its own, such as a text from elsewhere."""
    filled: float | None = None
    """The same with the last side counted only as far down as it is filled."""
    large_print_sides: int | None = None
    """None where nobody asked for large print."""
    drawn: bool = False
    """Whether the sides are those of a PDF, and not reckoned."""
    annex_words: int = 0
    """Words of the annex, which are not among `words`."""
    limits: Limits = field(default_factory=Limits)

    @property
    def minutes(self) -> tuple[float, float]:
        """At the usual speed, and at the slow one."""
        return self.words / USUAL, self.words / SLOW

    @property
    def limited(self) -> bool:
        """Whether any limit was set for it."""
        return any(getattr(self.limits, name) for name in LENGTHS)

    @property
    def over(self) -> tuple[str, ...]:
        """What is over its limit, of LENGTHS."""
        return tuple(name for name in LENGTHS if 0 < getattr(self.limits, name) < (getattr(self, name) or 0))
