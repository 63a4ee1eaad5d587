"""What the library holds: modules, settings, terms, printed figures, sign-offs."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from consentpack.tree import Block


@dataclass(frozen=True, kw_only=True)
class Module:
    """One approved-as-a-whole piece of content: one file."""

    id: str
    title: str
    version: str
    reviewed: date
    review_by: date
    sources: tuple[str, ...] = ()
    evidence: tuple[str, ...] = ()
    only: str = ""
    """The condition under which it belongs to a plan; '' for always."""
    when: Mapping[str, str] = field(default_factory=dict)
    """Section -> the condition under which it belongs."""
    sections: Mapping[str, tuple[Block, ...]]
    file: str
    """The file as a person would find it, for messages."""
    title_line: int
    digest: str
    """SHA-256 of the file's text: what an approval is bound to."""


@dataclass(frozen=True, kw_only=True)
class Technique(Module):
    """Something a clinician does. Techniques combine."""

    phrase: str
    kind: str
    """What it is for, one of the kinds of its field."""
    standing: Literal["established", "newer"]
    established_alternative: str = ""
    anaesthetics: tuple[str, ...] = ()
    indications: tuple[str, ...] = ()
    """The kinds of condition it is meant for."""
    traits: tuple[str, ...] = ()
    """What else is true of it, of `library.schema.TRAITS`."""
    waits: Mapping[str, str] = field(default_factory=dict)
    """Care setting -> the setting whose time this technique needs, where that is longer."""
    risks: tuple[str, ...] = ()
    benefits: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    aftercare: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Outcome(Module):
    """What may follow a treatment and is counted in the audit."""

    clinical: str
    watch_days: int
    """How long one must look to be able to say that it did not happen, in days."""
    starts: tuple[int, int] = (0, 0)
    """First and last day after the treatment on which it usually starts; its question stands on those."""
    signs: tuple[str, ...] = ()
    """Warning signs that may come of it, told where they are told once."""
    told_with: str = ""
    """The outcome in whose row patients read of it, where they cannot tell the two apart."""


@dataclass(frozen=True, kw_only=True)
class Risk(Outcome):
    """An unwanted outcome."""

    group: Literal["expected", "possible", "serious"]
    part_of: str = ""
    """The outcome of which it is a kind: whoever had this had that, so that it is never seen more."""


@dataclass(frozen=True, kw_only=True)
class Benefit(Outcome):
    """A hoped-for outcome, counted with the same honesty as a harm."""


@dataclass(frozen=True, kw_only=True)
class Option(Module):
    """Something else that could be done, nothing included."""

    no_treatment: bool = False
    indications: tuple[str, ...] = ()
    """The kinds of condition it is a choice for; every kind when empty."""
    techniques: tuple[str, ...] = ()
    """The techniques it stands for: where one of them is planned, it is no other choice."""


@dataclass(frozen=True, kw_only=True)
class Factor(Module):
    """Something about the patient that changes advice or risk."""

    raises: tuple[str, ...] = ()
    implied_by: str = ""
    """The condition under which it is true without being named in the plan."""
    aftercare: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Aftercare(Module):
    """One topic of looking after oneself, with instructions by period."""

    order: int
    check_hours: tuple[int, ...] = ()
    """Hours after the treatment at which one looks, for a topic with a card to tick."""


@dataclass(frozen=True, kw_only=True)
class Warning(Module):
    """Signs that need somebody, and whom."""

    tier: Literal["ambulance", "at-once", "same-day", "at-visit"]
    """How fast to act."""
    order: int
    short: str
    """The sign in a few words, to be named elsewhere: its one telling stays here."""
    beside: str = ""
    """The warning in whose row of the short sheet it stands, where that belongs to the plan too."""


@dataclass(frozen=True)
class DocumentSection:
    """A section of a document file: prose and directives in order."""

    id: str
    heading: str
    line: int
    blocks: tuple[Block, ...]


LAST = 1000
"""The place of a document that names none: after those that do."""


@dataclass(frozen=True, kw_only=True)
class DocumentPlan(Module):
    """What a document holds, in order."""

    audience: Literal["patient", "clinician"]
    about: Literal["planned", "done"] = "planned"
    """What it speaks of: what is planned, or what was done where that is known."""
    lead: tuple[Block, ...]
    parts: tuple[DocumentSection, ...]
    order: int = LAST
    """Its place in the pack: lower goes first."""
    language: Literal["patient", "clinic", ""] = ""
    """Whose language it is in; '' for that of its reader."""
    close: bool = False
    """Whether it is set in closer lines, as a paper of a few sides."""
    new_side: tuple[str, ...] = ()
    """Headings of the sections that begin a side of paper."""
    scored: bool | None = None
    """Whether it has to meet a reading target; None: when patients read it."""
    one_sheet: bool = False
    """Whether it has to fit on one sheet of paper, front and back."""
    annex_from: str = ""
    """The heading with which its annex begins, which reaches to its end; '' without one."""

    @property
    def in_annex(self) -> frozenset[str]:
        """Ids of the sections of its annex."""
        headings = [part.heading for part in self.parts]
        first = headings.index(self.annex_from) if self.annex_from in headings else len(headings)
        return frozenset(part.id for part in self.parts[first:])

    @property
    def in_clinics_language(self) -> bool:
        """Whether it is in the clinic's own language, whatever the patient's is."""
        return (self.language or self.audience) != "patient"

    @property
    def must_be_easy(self) -> bool:
        """Whether it is scored, and kept from patients where it is too hard."""
        return self.audience == "patient" if self.scored is None else self.scored


MINUTES: Mapping[str, int] = {
    "minutes": 1, "hours": 60, "days": 24 * 60, "weeks": 7 * 24 * 60, "months": 30 * 24 * 60,
}  # fmt: skip
"""Unit of a care setting -> how long it is, to put times in order."""


@dataclass(frozen=True)
class CareSetting:
    """A number on which published advice differs, so that the clinic sets it."""

    name: str
    value: int
    unit: Literal["minutes", "hours", "days", "weeks", "months"]
    lowest: int
    highest: int
    why: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True)
class ConsentRule:
    """What a law or body asks about time to think, age and who takes consent."""

    id: str
    where: str
    wait_days: int
    """Days between the information and the consent, or the treatment where that is not known."""
    day_between: bool
    """Whether treatment may not be on the day of the consent."""
    minimum_age: int
    taken_by: Literal["operator", "trained"]
    """'operator': only whoever does the treatment; 'trained': also somebody trained for it."""
    why: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Tick:
    """A line of the form that a patient ticks, or that signing says."""

    tag: str
    words: str
    file: str
    line: int


@dataclass(frozen=True)
class Term:
    """A glossary entry."""

    clinical: str
    plain: str
    explain: str

    def stands_in(self, text: str) -> bool:
        """Whether the clinical word, or its plural, stands in a text in small letters."""
        word = self.clinical.lower()
        # most do not: a plain search for the letters is many times faster than one for a whole word
        return word in text and bool(re.search(rf"\b{re.escape(word)}s?\b", text))


@dataclass(frozen=True)
class Spoken:
    """A word with its syllables as it is said ('pa-ra-cet-a-mol')."""

    word: str
    syllables: int
    kind: str
    """'clinical', 'drug', 'british' or 'everyday'."""
    said: str


@dataclass(frozen=True)
class OneName:
    """Several names for one thing, of which a text should keep to one."""

    use: str
    instead_of: tuple[str, ...]


@dataclass(frozen=True)
class HouseStyle:
    """How the library writes."""

    plain: Mapping[str, str] = field(default_factory=dict)
    """Hard everyday word -> plain word."""
    verbs: Mapping[str, str] = field(default_factory=dict)
    """Noun made of a verb -> the verb."""
    abbreviations: Mapping[str, str] = field(default_factory=dict)
    """Abbreviations every reader knows -> what they stand for."""
    familiar: Mapping[str, str] = field(default_factory=dict)
    """Clinical words that need no explanation -> why."""
    one_name: tuple[OneName, ...] = ()


@dataclass(frozen=True)
class Approval:
    """A named clinician's sign-off of one module in one language, bound to a digest."""

    module: str
    language: str
    digest: str
    by: str
    role: str
    day: date
    until: date
    grade: float | None = None
    """The reading grade of the text that was read, to see later which way it has gone."""


@dataclass(frozen=True)
class ApprovalState:
    """How one module stands on one day."""

    module: str
    version: str
    state: Literal["approved", "changed", "expired", "never approved", "needs another person"]
    approval: Approval | None = None
    file: str = field(default="")
    until: date | None = None
    """The last day it holds; None when it does not."""
