"""The General Medical Council's guidance for doctors who offer cosmetic interventions (2016)."""

from __future__ import annotations

from consentpack.check.checklists.conditions import no_numbing, nothing_left_in, of_age
from consentpack.check.checklists.gmc import hopes, time_to_think
from consentpack.check.checklists.item import (
    FORM,
    NOTES,
    SHEET,
    Checklist,
    Finding,
    Held,
    ListOf,
    Published,
    lacking,
)
from consentpack.check.checklists.looking import (
    declared,
    line_tags,
    part,
    signed,
    stated,
    ticked,
    to_fill,
    values,
)
from consentpack.check.checklists.shared import CONSENT, RECORD, risks_listed

_K = ListOf(Published("GMC", "Guidance for doctors who offer cosmetic interventions", "2016", "S"))
_K2 = ListOf(Published("GMC", "Guidance for doctors who offer cosmetic interventions", "2016", "S2"))
_KM = ListOf(Published("GMC", "Guidance for doctors who offer cosmetic interventions", "2016", "M"))


def seeks_consent_in_person(held: Held) -> Finding:
    return to_fill(held.of(FORM), "does-it", where=f"{CONSENT}, signatures")


def aftermath(held: Held) -> Finding:
    if not held.plan.follow_up:
        return Finding(False, "the plan names no follow_up")
    return stated(held.of(FORM), held.plan.follow_up, where=f"{CONSENT}, first page")


def wellbeing(held: Held) -> Finding:
    return ticked(held.of(NOTES), "wellbeing", where=f"{RECORD}, what was talked about")


def numbing_risks(held: Held) -> Finding:
    numbing = [held.library.techniques[match.id] for match in held.matches.anaesthetics]
    return risks_listed(held, dict.fromkeys(id for t in numbing for id in t.risks), "risks of numbing")


def may_disappoint(held: Held) -> Finding:
    return declared(held.of(FORM), "no-promise", where=f"{CONSENT}, your agreement")


def change_of_mind(held: Held) -> Finding:
    return declared(held.of(FORM), "change-mind", where=f"{CONSENT}, your agreement")


def own_doctor(held: Held) -> Finding:
    return ticked(held.of(FORM), "gp-letter", "gp-no-letter", where=f"{CONSENT}, who helps")


def products(held: Held) -> Finding:
    missing = [] if "products" in line_tags(part(held.of(SHEET), "what-was-used")) else ["products"]
    missing += [] if "materials" in line_tags(part(held.of(NOTES), "record-done")) else ["materials"]
    return lacking(missing, where="aftercare sheet and record", what="lines for products, maker and lot")


def out_of_hours(held: Held) -> Finding:
    wanted = held.clinic.phone_out_of_hours
    missing = [
        f"{wanted} in the {document.kind}"
        for document in (held.of(FORM), held.of(SHEET))
        if not any(wanted in value for value in values(part(document, "contacts")))
    ]
    return lacking(missing, where="whom to ring", what=f"{wanted} in both")


def open_about_money(held: Held) -> Finding:
    return to_fill(held.of(FORM), "cost", "interests", where=f"{CONSENT}, what it costs")


def under_age(held: Held) -> Finding:
    return signed(held.of(FORM), "parent", where=f"{CONSENT}, if you cannot sign")


COSMETIC_2016 = Checklist(
    "gmc-cosmetic",
    "Cosmetic interventions (GMC)",
    (
        _K.machine("K1", "Who does it seeks consent in person", seeks_consent_in_person),
        _K.machine("K2", "The patient is asked what outcome they hope for", hopes),
        _K.person("K3", "If it is unlikely to help: say so, and do not do it"),
        _K.machine("K4", "Vulnerability and free choice are thought of", wellbeing, where="record"),
        _K.machine("K5", "Follow-up is told at the outset", aftermath),
        _K.person("K6", "What stays in: how long it lasts, and its removal", unless=nothing_left_in),
        _K.person("K7", "Choices with less risk, from other practitioners too"),
        _K.machine("K8", "The risks of numbing too", numbing_risks, unless=no_numbing),
        _K2.machine("K9", "It may not meet what is hoped for", may_disappoint),
        _K2.machine("K10", "Enough time: more of it is a choice", time_to_think),
        _KM.machine("K11", "The patient can change their mind at any point", change_of_mind),
        _KM.machine("K12", "The patient's own doctor: asked, and a refusal noted", own_doctor),
        _K.machine("K13", "Products by name, size, lot and maker", products, where="aftercare sheet"),
        _KM.machine("K14", "Whom to ring out of hours", out_of_hours, where="aftercare sheet"),
        _K.person("K15", "No claims that cannot be justified, nothing that rushes"),
        _K.machine("K16", "Fees and interests are open", open_about_money),
        _K.machine("K17", "Extra care for the under-18s", under_age, unless=of_age),
    ),
)
