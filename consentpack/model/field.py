"""What a field of medicine adds to people, treatments, outcomes and time: words, places, rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class TechniqueKind:
    """A kind of technique, by what it is for."""

    id: str
    meaning: str
    role: Literal["treats", "numbs"]


@dataclass(frozen=True)
class Stratum:
    """Something about people on which treatments are compared, beside place and techniques."""

    id: str
    title: str
    """Its name for clinicians, in small letters: 'age group'."""
    values: tuple[str, ...]
    meaning: str
    synonyms: tuple[str, ...] = ()
    """What clinics call its column in a spreadsheet."""
    sources: tuple[str, ...] = ()
    numbered: bool = False
    """Whether a number may be typed for the value in that place: 2 for the second."""

    @property
    def called(self) -> tuple[str, ...]:
        """Every name its column may have."""
        return (self.id, self.title, *self.synonyms)


@dataclass(frozen=True)
class Measurement:
    """A number that is kept of each treatment, such as the size of an instrument."""

    id: str
    title: str
    """Its name for clinicians, in small letters: 'gauge of the instrument'."""
    usual: tuple[float, ...] = ()
    """The least and the most that are usual, both included; () when nothing is unusual."""
    why: str = ""
    """What 'usual' rests on."""
    unit: str = ""
    """What may stand behind the number in a cell: 'G'."""
    whole: bool = False
    """Whether only whole numbers from 1 are right."""
    synonyms: tuple[str, ...] = ()
    """What clinics call its column in a spreadsheet."""

    @property
    def called(self) -> tuple[str, ...]:
        """Every name its column may have."""
        return (self.id, self.title, *self.synonyms)

    def is_usual(self, value: float) -> bool:
        return not self.usual or self.usual[0] <= value <= self.usual[1]


@dataclass(frozen=True)
class Field:
    """One field of medicine, as content/field.toml says."""

    name: str = ""
    kinds: Mapping[str, TechniqueKind] = field(default_factory=dict)
    indications: Mapping[str, str] = field(default_factory=dict)
    """Kind of condition that is treated -> what it is, for clinicians."""
    traits: Mapping[str, str] = field(default_factory=dict)
    """What may be true of a technique -> what that means."""
    strata: Mapping[str, Stratum] = field(default_factory=dict)
    measurements: Mapping[str, Measurement] = field(default_factory=dict)
    sentences: Mapping[str, str] = field(default_factory=dict)
    """What forms say in the words of this field: no_promise, and closest (with {total} and {time})."""
    units: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    """What its published figures count -> the phrases for one and for many, with {number}."""
    materials: tuple[str, ...] = ()
    """Units that are what was used, such as syringes: a rate of these is no rate for a patient."""
    sample: Mapping[str, str] = field(default_factory=dict)
    """What a plan for nobody in particular says: site, condition, reason, clinician_role."""
    renamed: Mapping[str, str] = field(default_factory=dict)
    """Keys of older plans of this field -> how they are called now."""
    renamed_keys: Mapping[str, str] = field(default_factory=dict)
    """The same for keys of older modules."""
    renamed_groups: Mapping[str, str] = field(default_factory=dict)
    """The same for what older settings group, in [groups.…]."""
    plan_keys: tuple[str, ...] = ()
    """Which of region, indication and the strata every plan must say."""
    topics: tuple[str, ...] = ()
    """Aftercare topics that every technique that treats must call for, so that every sheet has them."""
    wound: tuple[str, ...] = ()
    """Aftercare topics on a wound, its dressing and washing."""
    may_not_work: tuple[str, ...] = ()
    """Outcomes that say a treatment did not bring what was hoped for; each technique carries one."""
    checklists: tuple[str, ...] = ()
    """The published checklists that apply."""
    nothing_in: tuple[str, ...] = ()
    """Tables that it lacks because it has nothing in them."""


@dataclass(frozen=True)
class Region:
    """A place on the body, and what follows from it."""

    id: str
    title: str
    """Plain words inside a sentence: 'the cheek'."""
    within: str = ""
    """The larger region it belongs to."""
    words: tuple[str, ...] = ()
    """Places a clinic may write that lie in it: 'left cheek'."""
    drawn: str = ""
    """Where it lies on the outline of a body, as `area` reads it; '' where it cannot be pointed at."""
    nerves: str = ""
    """Nerves at risk here, for the clinician."""
    supply: str = ""
    """What its blood supply means for healing and for injections, for the clinician."""
    sources: tuple[str, ...] = ()

    @property
    def area(self) -> tuple[int, ...]:
        """Its middle, across and down, and half its width and height, on an outline of 300 by 300."""
        words = self.drawn.split()
        return tuple(map(int, words)) if all(word.isdecimal() for word in words) else ()


@dataclass(frozen=True)
class WaitRule:
    """A time of the aftercare that is longer under a condition, such as stitches on the trunk."""

    id: str
    when: str
    setting: str
    longer: str
    """The care setting whose time counts instead."""
    why: str
    sources: tuple[str, ...] = ()


Strength = Literal["not-together", "talk-first", "note"]
STRENGTHS: tuple[Strength, ...] = ("not-together", "talk-first", "note")
"""How a rule of suitability binds, the strongest first."""


@dataclass(frozen=True)
class SuitabilityRule:
    """Whether something may be done for this person, here, together."""

    id: str
    when: str
    """The condition under which it speaks."""
    strength: Strength
    what: str
    """What the clinician should know, a sentence."""
    why: str
    """What it rests on, with marks."""
    most: Mapping[str, int] = field(default_factory=dict)
    """'kind:surface' -> how many techniques with this fact one visit may hold; it speaks above that."""
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finding:
    """A rule of suitability that speaks about a plan."""

    rule: SuitabilityRule
    because: str
    """The facts of the plan that made it speak."""
    reason: str = ""
    """Why a named clinician does it all the same; '' where nobody has said so."""
    by: str = ""

    @property
    def stops(self) -> bool:
        """Whether there is no pack because of it."""
        return self.rule.strength == "not-together" and not (self.reason and self.by)


@dataclass(frozen=True)
class Chosen:
    """Whether one conditional piece of content belongs to a plan, and why."""

    file: str
    line: int
    what: str
    """Its first words, or the name of the section or module."""
    condition: str
    stays: bool
    why: str
