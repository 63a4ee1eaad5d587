"""What a consent form must hold in US hospitals, and what a well-designed one may hold: the
interpretive guidelines to 42 CFR 482.24(c)(4)(v) and 482.51(b)(2)."""

from __future__ import annotations

from consentpack.check.checklists.item import (
    FORM,
    Checklist,
    Finding,
    Held,
    ListOf,
    Published,
    lacking,
    there,
)
from consentpack.check.checklists.looking import fields, modules, part, signed, stated, to_fill
from consentpack.check.checklists.shared import CONSENT, in_group, risks_listed

_US = ListOf(Published("US CMS", "State Operations Manual, appendix A", "2024", "S2"))


def facility(held: Held) -> Finding:
    found = held.clinic.name in held.of(FORM).clinic_name
    return there(found, where=f"{CONSENT}, head of each page", what="name of the clinic")


def procedure(held: Held) -> Finding:
    printed = modules((*part(held.of(FORM), "what-happens"), *part(held.of(FORM), "anaesthetics")))
    missing = [f"technique {t.id}" for t in held.techniques if t.id not in printed]
    return lacking(missing, where=f"{CONSENT}, what will happen", what="each technique by name")


def practitioner(held: Held) -> Finding:
    return stated(held.of(FORM), held.plan.clinician, where=f"{CONSENT}, first page")


def explained(held: Held) -> Finding:
    found = fields(held.of(FORM), "clinician")
    what = "statement of the clinician that it was explained"
    return there(found and found.statement, where=f"{CONSENT}, signatures", what=what)


def patient_signs(held: Held) -> Finding:
    return signed(held.of(FORM), "patient", where=f"{CONSENT}, signatures", wanted=("signature",))


def date_and_time(held: Held) -> Finding:
    return signed(held.of(FORM), "patient", where=f"{CONSENT}, signatures", wanted=("date", "time"))


def who_talked(held: Held) -> Finding:
    return signed(held.of(FORM), "clinician", where=f"{CONSENT}, signatures", wanted=("name-and-role",))


def witness(held: Held) -> Finding:
    return signed(held.of(FORM), "witness", where=f"{CONSENT}, if you cannot sign")


def risks(held: Held) -> Finding:
    return risks_listed(held, in_group(held, "expected", "possible", "serious"), "risks")


def other_doctors(held: Held) -> Finding:
    return to_fill(held.of(FORM), "other-doctors", where=f"{CONSENT}, who helps")


def other_staff(held: Held) -> Finding:
    return to_fill(held.of(FORM), "other-staff", where=f"{CONSENT}, who helps")


MINIMUM = Checklist(
    "us-minimum",
    "Elements of a consent form (US)",
    (
        _US.machine("U1", "Minimum: name of the facility", facility),
        _US.machine("U2", "Minimum: the specific procedure", procedure),
        _US.machine("U3", "Minimum: the practitioner who does it", practitioner),
        _US.machine("U4", "Minimum: statement that it was explained, with risks and choices", explained),
        _US.machine("U5", "Minimum: signature of the patient", patient_signs),
        _US.machine("U6", "Minimum: date and time of signing", date_and_time),
        _US.machine("U7", "Well designed: who held the talk", who_talked),
        _US.machine("U8", "Well designed: date, time and signature of a witness", witness),
        _US.machine("U9", "Well designed: the material risks as a list", risks),
        _US.machine("U10", "Well designed: other doctors who take part, and their tasks", other_doctors),
        _US.machine("U11", "Well designed: others who take part, and their tasks", other_staff),
    ),
)
