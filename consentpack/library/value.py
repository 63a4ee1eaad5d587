"""The checked library as one value."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from consentpack.errors import Problem
from consentpack.model import (
    Aftercare,
    Benefit,
    CareSetting,
    ConsentRule,
    DocumentPlan,
    EaseRules,
    Factor,
    Field,
    HouseStyle,
    LengthTarget,
    Module,
    Option,
    Outcome,
    PublishedRate,
    ReadingTarget,
    Region,
    Risk,
    Spoken,
    SuitabilityRule,
    Technique,
    Term,
    Tick,
    WaitRule,
    Warning,
)

KINDS: Mapping[str, type[Module]] = {
    "techniques": Technique,
    "risks": Risk,
    "benefits": Benefit,
    "options": Option,
    "factors": Factor,
    "aftercare": Aftercare,
    "warnings": Warning,
    "documents": DocumentPlan,
}
"""Folder name under content/ -> what its files become."""


@dataclass(frozen=True)
class Library:
    """Everything content/ says, checked: every id named anywhere is here."""

    techniques: Mapping[str, Technique]
    risks: Mapping[str, Risk]
    benefits: Mapping[str, Benefit]
    options: Mapping[str, Option]
    factors: Mapping[str, Factor]
    aftercare: Mapping[str, Aftercare]
    warnings: Mapping[str, Warning]
    documents: Mapping[str, DocumentPlan]
    settings: Mapping[str, CareSetting]
    terms: tuple[Term, ...]
    published: tuple[PublishedRate, ...]
    syllables: Mapping[str, Spoken]
    """Words with their syllables, which go before the dictionary's."""
    style: HouseStyle
    targets: Mapping[str, ReadingTarget]
    rules: Mapping[str, ConsentRule]
    """What laws and bodies ask about consent, by name."""
    field: Field
    """What the field of medicine adds: kinds, indications, traits, strata."""
    regions: Mapping[str, Region]
    suitability: Mapping[str, SuitabilityRule]
    """What may not be done, or only after talking of it, in order."""
    waits: Mapping[str, WaitRule]
    """Times of the aftercare that are longer under a condition."""
    sources: Mapping[str, Mapping[str, Any]]
    """Source id -> its CSL-JSON item."""
    digests: Mapping[str, str]
    """Every file that was read -> SHA-256 of its text."""
    ticks: Mapping[str, Tick] = dataclasses.field(default_factory=dict)
    """Lines of the form that a patient ticks, by tag."""
    lengths: Mapping[str, LengthTarget] = dataclasses.field(default_factory=dict)
    """How long each kind of document may be."""
    longer: Mapping[str, float] = dataclasses.field(default_factory=dict)
    """Language -> how many of its words say what one English word says, where that is more."""
    ease: EaseRules = dataclasses.field(default_factory=EaseRules)
    """The score beside the grade, and rare words that may stand."""
    set_aside: Mapping[str, tuple[Problem, ...]] = dataclasses.field(default_factory=dict)
    """'folder/id' of modules that cannot be used -> why; none in a library that was asked for whole."""

    without: frozenset[str] = frozenset()
    """'folder/id' of what the clinic has switched off, with what only that had named."""

    shipped_field: str = ""
    """The name of the shipped field it is of, where that is not the usual one."""

    def not_in_use(self, *folders: str) -> frozenset[str]:
        """Ids of modules of some folders that are set aside or switched off."""
        named = (name.partition("/") for name in (*self.set_aside, *self.without))
        return frozenset(id for folder, _, id in named if folder in folders)

    def kind(self, folder: str) -> Mapping[str, Module]:
        """The modules of one folder, by id."""
        found: Mapping[str, Module] = getattr(self, folder)
        return found

    def modules(self) -> Iterator[tuple[str, Module]]:
        """Every module with the folder it belongs to."""
        for folder in KINDS:
            for module in self.kind(folder).values():
                yield folder, module

    def outcome(self, id: str) -> Outcome:
        """A risk or a benefit by id."""
        return self.risks.get(id) or self.benefits[id]

    @property
    def outcomes(self) -> Mapping[str, Outcome]:
        """Risks and benefits together: what an audit may count."""
        return {**self.risks, **self.benefits}

    @property
    def anaesthetics(self) -> tuple[str, ...]:
        """Ids of the techniques that numb."""
        return tuple(t.id for t in self.techniques.values() if not self.treats(t))

    @property
    def treating(self) -> tuple[str, ...]:
        """Ids of the techniques that treat, which is all the others."""
        return tuple(t.id for t in self.techniques.values() if self.treats(t))

    def treats(self, technique: Technique) -> bool:
        """Whether a technique treats, rather than numbs for one that does."""
        return self.field.kinds[technique.kind].role == "treats"
