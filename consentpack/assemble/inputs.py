"""What goes into a document, and what is known of it when it is made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from consentpack.catalogues import Catalogue, Status
from consentpack.library import Library
from consentpack.model import (
    ApprovalState,
    Clinic,
    Factor,
    Finding,
    Given,
    ItemResult,
    Length,
    Matches,
    Module,
    Plan,
    RateAnswer,
    Score,
)
from consentpack.rates import Comparing
from consentpack.rates.shrinking import Shrunken
from consentpack.tree import Document


@dataclass(frozen=True)
class Inputs:
    """What every document of a pack is made from. One value for all of them; nothing is added to it."""

    plan: Plan
    library: Library
    clinic: Clinic
    matches: Matches
    rates: Mapping[str, RateAnswer]
    catalogue: Catalogue
    """The language they are made in."""
    beside: tuple[Comparing, ...] = ()
    """Newer techniques beside the established ones, outcome by outcome."""
    checked: tuple[str, ...] = ()
    """Who has approved the translation as a whole."""
    findings: tuple[Finding, ...] = ()
    """What the rules of suitability say of the plan."""
    not_asked: tuple[Factor, ...] = ()
    """Circumstances the plan says nothing of."""
    moved: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Document -> what it has no room for, and the one behind it tells at length: outcomes, choices, and how
    much is known of a technique."""
    shrunken: Mapping[str, Shrunken] = field(default_factory=dict)
    """Outcome -> the closest group's figure drawn towards the wider group, for the record."""
    given: Given | None = None
    """As what the pack is given; None for a working copy."""
    codes: Mapping[str, str] = field(default_factory=dict)
    """Kind of document -> what it is found again by; empty for a working copy."""


@dataclass(frozen=True)
class Judgement:
    """What was found of the documents once they were made; the record says it."""

    states: Mapping[str, ApprovalState] = field(default_factory=dict)
    scores: tuple[Score, ...] = ()
    lengths: tuple[Length, ...] = ()
    """Of the patient's documents."""
    checklists: tuple[ItemResult, ...] = ()
    """How the documents stand to published checklists."""
    documents: tuple[Document, ...] = ()
    """The documents themselves, before this judgement was written into any."""
    draft: tuple[str, ...] = ()
    """Why patients may not have them yet."""


@dataclass(frozen=True)
class Printed:
    """What went into one document, or a part of it."""

    used: Mapping[str, Module] = field(default_factory=dict)
    """File -> module whose words were printed."""
    texts: tuple[str, ...] = ()
    """Every piece of library text that was printed, in English, to find the clinical words in it."""
    left: tuple[str, ...] = ()
    """Keys of the plan whose words were printed in another language than the patient's."""
    lacking: Mapping[str, Status] = field(default_factory=dict)
    """English text -> how its translation stands, where patients may not have that."""

    def __or__(self, other: Printed) -> Printed:
        return Printed(
            {**self.used, **other.used},
            (*self.texts, *other.texts),
            tuple(dict.fromkeys((*self.left, *other.left))),
            {**self.lacking, **other.lacking},
        )
