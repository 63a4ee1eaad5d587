"""Time to think, age and who takes consent: the plan against what the clinic works under.

The numbers come from the library's table of laws and bodies, with their sources; none is a constant
of the program. Local law goes before all of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.model import Clinic, Plan

UNDER_AGE = "under-18"
"""The factor that says the patient is younger than 18."""
ADULT = 18


@dataclass(frozen=True)
class Waited:
    """How long the patient had to think, as far as the plan says."""

    days: int | None
    """None when a day is missing."""
    asked: int
    until: str
    """'consent' or 'treatment': up to what it was counted."""


def waited(plan: Plan, clinic: Clinic) -> Waited:
    """Days from the information to the consent, or to the treatment where that day is not given."""
    end = plan.consent_day or plan.treatment_date
    until = "consent" if plan.consent_day else "treatment"
    days = (end - plan.information_given).days if end and plan.information_given else None
    return Waited(days, clinic.consent.wait_days, until)


def broken(plan: Plan, clinic: Clinic, library: Library) -> list[Problem]:
    """What in the plan does not keep to the clinic's rules; none where the clinic has named no rules."""
    rule = library.rules.get(clinic.consent.rule)
    if rule is None:
        return []
    found = [*_wait(plan, clinic, rule.where), *_days_in_order(plan)]
    if rule.day_between and plan.consent_day and plan.treatment_date == plan.consent_day:
        what = f"consent and treatment are on one day; {rule.where} asks for a day between."
        found.append(Problem(plan.file, what, "Move the treatment to a later day."))
    if UNDER_AGE in plan.factors and clinic.consent.minimum_age >= ADULT:
        what = f"the plan says the patient is under 18; the clinic treats from {clinic.consent.minimum_age}."
        found.append(Problem(plan.file, what, "Do not treat, or ask who may decide under local law."))
    other = plan.consent_taken_by not in ("", plan.clinician)
    if clinic.consent.taken_by == "operator" and other:
        what = f"{plan.consent_taken_by} takes consent, but {plan.clinician} treats."
        fix = f"Under the clinic's rules ({rule.where}) whoever treats takes consent in person."
        found.append(Problem(plan.file, what, fix))
    return found


def _wait(plan: Plan, clinic: Clinic, where: str) -> list[Problem]:
    found = waited(plan, clinic)
    if found.days is None or found.days >= found.asked:
        return []
    what = (
        f"there are {found.days} days between information and {found.until};"
        f" the clinic's rules ask for {found.asked} ({where})."
    )
    return [Problem(plan.file, what, "Move the day, so that the patient has time to think.")]


def undecided(plan: Plan, clinic: Clinic, library: Library) -> tuple[str, ...]:
    """Why a pack is a draft: a day that the rules count from is missing, so nobody can say that they hold."""
    rule = library.rules.get(clinic.consent.rule)
    if rule is None or not clinic.consent.wait_days:
        return ()
    lacking = [] if plan.information_given else ["information_given"]
    lacking += [] if plan.consent_day or plan.treatment_date else ["consent_day or treatment_date"]
    asked = f"{clinic.consent.wait_days} days to think ({rule.where})"
    return tuple(f"the plan lacks {name}: {asked} cannot be checked" for name in lacking)


def _days_in_order(plan: Plan) -> list[Problem]:
    """Information before the plan, consent after the treatment or before the information: a slip or worse."""
    days: list[tuple[str, date | None]] = [
        ("prepared", plan.prepared),
        ("information_given", plan.information_given),
        ("consent_day", plan.consent_day),
        ("treatment_date", plan.treatment_date),
    ]
    known = [(name, day) for name, day in days if day]
    return [
        Problem(plan.file, f"'{later}' ({second}) is before '{earlier}' ({first}).", "Correct the days.")
        for (earlier, first), (later, second) in pairwise(known)
        if second < first
    ]
