"""Which modules belong in a pack, and why."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Match:
    """One module that belongs in the pack, and why."""

    id: str
    why: str
    techniques: tuple[str, ...] = ()
    """The techniques that bring it, in the order of the plan."""
    only_if_needed: bool = False
    """True when only a technique that may become necessary brings it."""


@dataclass(frozen=True)
class Wait:
    """One time of the aftercare, where a technique of the plan needs longer than the usual."""

    setting: str
    longest: str
    """The care setting whose time is printed instead."""
    because: str
    """The technique that asks for it."""


@dataclass(frozen=True)
class Matches:
    """Everything a plan calls for, each with its reason."""

    techniques: tuple[Match, ...]
    anaesthetics: tuple[Match, ...]
    may_become_necessary: tuple[Match, ...]
    newer: tuple[Match, ...]
    risks: tuple[Match, ...]
    benefits: tuple[Match, ...]
    options: tuple[Match, ...]
    established: tuple[Match, ...]
    """Established techniques offered beside newer ones."""
    factors: tuple[Match, ...]
    aftercare: tuple[Match, ...]
    warnings: tuple[Match, ...]
    diary: tuple[Match, ...] = ()
    """Outcomes of what was done, for the patient's diary."""
    tissue: tuple[Match, ...] = ()
    """Techniques that take something off, planned, possible or done."""
    waits: tuple[Wait, ...] = ()
    """Times that are longer than the usual; of several techniques the longest counts."""
