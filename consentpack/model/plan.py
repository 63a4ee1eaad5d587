"""The clinic and the plan for one patient."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from consentpack.model.brand import Brand
from consentpack.model.given import ToldBefore
from consentpack.model.results import ReadingRules


@dataclass(frozen=True)
class WatchRules:
    """How outcomes are watched over time."""

    baseline_until: date
    """Treatments up to this day give the baseline; later ones are watched."""
    odds_ratio: float
    """The change to be found, as a ratio of odds."""
    run_length: int
    """Treatments, on average, until a signal when nothing has changed."""
    limits: float = 99.8
    """Percent of groups expected inside the limits when all are alike: 95 or 99.8."""
    adjust_for: tuple[str, ...] = ()
    """Strata of the field, or 'site', by which the expected number of each treatment differs."""

    @property
    def share(self) -> float:
        """The limits as a share of 1."""
        return self.limits / 100


@dataclass(frozen=True)
class ConsentRules:
    """What the clinic works under, and where it is stricter than that."""

    rule: str = ""
    """Id of a rule of the library; '' when the clinic has named none."""
    wait_days: int = 0
    minimum_age: int = 0
    taken_by: str = ""
    photographs: tuple[str, ...] = ("notes", "teaching", "publication")
    """The purposes for which photographs are asked about, each by itself."""


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
    reading: ReadingRules
    window_months: int
    site_groups: Mapping[str, str]
    """Site as typed -> the group of sites compared together."""
    stratum_groups: Mapping[str, Mapping[str, str]]
    """Stratum -> its value -> the group of values compared together."""
    care: Mapping[str, int]
    audit_columns: Mapping[str, str]
    audit_words: Mapping[str, str]
    """The clinic's own words in the spreadsheet's cells -> technique or outcome ids."""
    list_covers: tuple[str, ...]
    """Outcomes that a list column speaks of."""
    date_order: Literal["day-first", "month-first", "year-first"] | None
    """None where the clinic does not say: a column of its spreadsheet must then tell."""
    register_url: str
    audit_sheet: str = ""
    """The sheet of a workbook on which its treatments stand, as somebody has said; '' for the likeliest."""
    header_rows: tuple[int, ...] = ()
    """The rows of the headers, likewise."""
    length: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    """Kind of document -> limits of its length that the clinic has set itself, of `LIMITS`."""
    consent: ConsentRules = field(default_factory=ConsentRules)
    watch: WatchRules | None = None
    """None when the clinic has not said by which rules."""
    brand: Brand = field(default_factory=Brand)
    """How its papers look."""
    people: tuple[str, ...] = ()
    """Who works at the desk: the names under which things are done there."""
    digests: Mapping[str, str] = field(default_factory=dict)
    """The files that these settings were read from -> SHA-256 of what was read."""
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
    strata: Mapping[str, str]
    """Stratum of the field -> the patient's value, such as an age group."""
    sessions: int
    condition: str
    """What is treated, in the clinician's plain words."""
    reason: str
    clinician: str
    clinician_role: str
    may_become_necessary: tuple[str, ...] = ()
    factors: tuple[str, ...] = ()
    region: str = ""
    """Where on the body, an id of the library's regions."""
    asked: tuple[str, ...] = ()
    """Circumstances that were asked about and are not there."""
    reasons: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Rule of suitability -> 'why' it is done all the same, and 'by' whom that was written."""
    experience: str = ""
    """The clinician's own words on how often they have done a newer technique."""
    indication: str = ""
    """The kind of condition that is treated, one of the field's indications."""
    treatment_date: date | None = None
    information_given: date | None = None
    consent_day: date | None = None
    """The day the form is signed, or is to be."""
    consent_taken_by: str = ""
    """Who holds the talk and takes consent; '' when it is the clinician who treats."""
    interpreter_language: str = ""
    follow_up: str = ""
    reader_needs: tuple[str, ...] = ()
    """'large-print', 'phone': how the patient reads best."""
    translated: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """The clinician's own words in other languages: language tag -> key of the plan -> words."""
    done: Done | None = None
    told_before: ToldBefore | None = None
    """What an older version told otherwise; never in a plan file."""
    file: str = ""
