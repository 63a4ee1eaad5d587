"""The values that flow between the stages. All are frozen; none does any work beyond checking
itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from consentpack.tree import Block

# --- the library -----------------------------------------------------------------------------


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
    sections: Mapping[str, tuple[Block, ...]]
    section_lines: Mapping[str, int]
    file: str
    """The file as a person would find it, for messages."""
    title_line: int
    digest: str
    """SHA-256 of the file's text: what an approval is bound to."""

    @property
    def kind_name(self) -> str:
        return type(self).__name__.lower()


@dataclass(frozen=True, kw_only=True)
class Technique(Module):
    """Something a clinician does. Techniques combine."""

    phrase: str
    kind: Literal["release", "adjunct", "anaesthetic"]
    standing: Literal["established", "newer"]
    established_alternative: str = ""
    anaesthetics: tuple[str, ...] = ()
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


@dataclass(frozen=True, kw_only=True)
class Risk(Outcome):
    """An unwanted outcome."""

    group: Literal["expected", "possible", "serious"]


@dataclass(frozen=True, kw_only=True)
class Benefit(Outcome):
    """A hoped-for outcome, counted with the same honesty as a harm."""


@dataclass(frozen=True, kw_only=True)
class Option(Module):
    """Something else that could be done, nothing included."""

    no_treatment: bool = False


@dataclass(frozen=True, kw_only=True)
class Factor(Module):
    """Something about the patient that changes advice or risk."""

    raises: tuple[str, ...] = ()
    aftercare: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Aftercare(Module):
    """One topic of looking after oneself, with instructions by period."""

    order: int


@dataclass(frozen=True, kw_only=True)
class Warning(Module):
    """Signs that need somebody, and whom."""

    tier: Literal["emergency", "same-day", "tell-us"]
    order: int


@dataclass(frozen=True)
class DocumentSection:
    """A section of a document file: prose and directives in order."""

    id: str
    heading: str
    line: int
    blocks: tuple[Block, ...]
    when: str = ""


@dataclass(frozen=True, kw_only=True)
class DocumentPlan(Module):
    """What a document holds, in order."""

    audience: Literal["patient", "clinician"]
    lead: tuple[Block, ...]
    parts: tuple[DocumentSection, ...]


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
class Term:
    """A glossary entry."""

    clinical: str
    plain: str
    explain: str


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

    @property
    def quotable(self) -> bool:
        """Whether patients may see it: counts printed, and read in the source itself."""
        return self.seen == "abstract" and bool(self.n) and self.events is not None


# --- the clinic and the plan -----------------------------------------------------------------


@dataclass(frozen=True)
class Clinic:
    """One clinic's settings, from clinic.toml."""

    name: str
    address: tuple[str, ...]
    phone: str
    phone_out_of_hours: str
    hours: str
    emergency_number: str
    language: str
    target_grade: float
    window_months: int
    site_groups: Mapping[str, str]
    """Site as typed -> the group of sites compared together."""
    skin_groups: Mapping[str, str]
    """Skin type (I to VI) -> the group of skin types compared together."""
    care: Mapping[str, int]
    audit_columns: Mapping[str, str]
    date_order: Literal["day-first", "month-first", "year-first"]
    register_url: str
    invented: bool = False
    """True for the demo: every page then says that clinic and people are invented."""


@dataclass(frozen=True)
class Done:
    """What was done on the day, where it differs from the plan."""

    techniques: tuple[str, ...]
    day: date


@dataclass(frozen=True)
class Plan:
    """What is intended for one patient. Carries the clinic's own reference, never an identity."""

    reference: str
    prepared: date
    language: str
    planned: tuple[str, ...]
    """Technique ids, the leading one first, anaesthetics among them."""
    site: str
    skin_type: str
    sessions: int
    scar: str
    reason: str
    clinician: str
    clinician_role: str
    may_become_necessary: tuple[str, ...] = ()
    factors: tuple[str, ...] = ()
    experience: str = ""
    """The clinician's own words on how often they have done a newer technique."""
    treatment_date: date | None = None
    information_given: date | None = None
    interpreter_language: str = ""
    follow_up: str = ""
    done: Done | None = None
    file: str = ""


# --- rates -----------------------------------------------------------------------------------

Level = Literal["same-site-and-skin", "same-techniques", "lead-technique", "published"]
LEVELS: tuple[Level, ...] = ("same-site-and-skin", "same-techniques", "lead-technique", "published")
"""From the closest comparison to the most distant."""


@dataclass(frozen=True)
class Interval:
    """A 95% interval of a proportion, each end between 0 and 1."""

    low: float
    high: float

    @property
    def width(self) -> float:
        return self.high - self.low


@dataclass(frozen=True)
class Counts:
    """What the register holds for one outcome in one comparison. Counts of treatments."""

    events: int
    watched: int
    """Treatments where the outcome was seen, or that were watched long enough to say it was not."""
    due: int
    """Treatments long enough ago that the watching time has passed."""
    due_watched: int
    """Of `due`, those that were watched long enough or in which the outcome was seen."""

    def __post_init__(self) -> None:
        if not 0 <= self.events <= self.watched:
            raise ValueError(f"{self.events} events among {self.watched} treatments")
        if not 0 <= self.due_watched <= self.due:
            raise ValueError(f"{self.due_watched} of {self.due} treatments followed up")

    @property
    def completeness(self) -> float | None:
        """Share of the due treatments that were followed up; None when none is due yet."""
        return self.due_watched / self.due if self.due else None


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

    def __post_init__(self) -> None:
        if self.n < 1 or not 0 <= self.events <= self.n:
            raise ValueError(f"{self.events} of {self.n} is no rate")
        if self.level != "published" and not (self.first and self.last and self.counts):
            raise ValueError("an own figure needs its period and its follow-up")

    @property
    def proportion(self) -> float:
        return self.events / self.n


@dataclass(frozen=True)
class Rejected:
    """A closer comparison that could not be used, with the reason in words."""

    level: Level
    why: str
    counts: Counts | None = None


@dataclass(frozen=True)
class RateAnswer:
    """What is known of one outcome for one plan."""

    outcome: str
    technique: str
    """The planned technique the figure is for (the first that carries the outcome)."""
    rate: Rate | None
    """None: we do not have a reliable figure."""
    rejected: tuple[Rejected, ...] = ()
    beside: Rate | None = None
    """The published figure beside an own one."""
    own_worse: Rejected | None = None
    """A thin own figure that an exact test finds worse than the published one that is quoted."""
    warnings: tuple[str, ...] = ()


# --- matches ---------------------------------------------------------------------------------


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


# --- readability -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Sentence:
    """One scored sentence and where it was written."""

    text: str
    source: str
    grade: float
    words: int


@dataclass(frozen=True)
class SectionScore:
    """The grade of one section; `grade` is None when it is too short to score."""

    id: str
    heading: str
    words: int
    sentences: int
    grade: float | None


@dataclass(frozen=True)
class Score:
    """Readability of one document."""

    kind: str
    words: int
    sentences: int
    grade: float | None
    target: float
    sections: tuple[SectionScore, ...]
    measure: str = "Flesch-Kincaid grade"

    @property
    def over(self) -> tuple[str, ...]:
        """Ids of what is over the target; '' stands for the whole document."""
        hard = [s.id for s in self.sections if s.grade is not None and s.grade > self.target]
        whole = [""] if self.grade is None or self.grade > self.target else []
        return tuple(whole + hard)


# --- approvals -------------------------------------------------------------------------------


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


@dataclass(frozen=True)
class ApprovalState:
    """How one module stands on one day."""

    module: str
    version: str
    state: Literal["approved", "changed", "expired", "never approved"]
    approval: Approval | None = None
    file: str = field(default="")
