"""The elements of the model consent form for patients with capacity, and of the reference guide to
consent, both of the UK Department of Health."""

from __future__ import annotations

from consentpack.check.checklists.conditions import (
    no_extra_steps,
    no_numbing,
    none_newer,
    nothing_removed,
    of_age,
)
from consentpack.check.checklists.item import (
    FORM,
    NOTES,
    Checklist,
    Finding,
    Held,
    ListOf,
    Published,
    lacking,
    there,
)
from consentpack.check.checklists.looking import (
    declared,
    fields,
    modules,
    part,
    prose,
    signed,
    stated,
    ticked,
    to_fill,
    values,
)
from consentpack.check.checklists.shared import (
    CONSENT,
    RECORD,
    benefits_listed,
    each_option_says,
    each_technique_says,
    in_group,
    risks_listed,
)

_FORM = ListOf(Published("UK Department of Health", "model consent form 1", "2009", "S2"))
_FORM_M = ListOf(Published("UK Department of Health", "model consent form 1", "2009", "M"))
_GUIDE = ListOf(Published("UK Department of Health", "reference guide to consent, 2nd ed.", "2009", "S2"))
_GUIDE_S = ListOf(Published("UK Department of Health", "reference guide to consent, 2nd ed.", "2009", "S"))


def name_and_birth(held: Held) -> Finding:
    return signed(held.of(FORM), "patient", where=f"{CONSENT}, signatures", wanted=("name", "born"))


def own_number(held: Held) -> Finding:
    return stated(held.of(FORM), held.plan.reference, where=f"{CONSENT}, first page")


def professional(held: Held) -> Finding:
    who = f"{held.plan.clinician}, {held.plan.clinician_role}"
    return stated(held.of(FORM), who, where=f"{CONSENT}, first page")


def special_needs(held: Held) -> Finding:
    return to_fill(held.of(FORM), "support", where=f"{CONSENT}, why we plan this")


def explained(held: Held) -> Finding:
    treating = [held.library.techniques[match.id] for match in held.matches.techniques]
    return each_technique_says(held, "what-happens", treating, "What it is")


def benefits(held: Held) -> Finding:
    return benefits_listed(held)


def risks(held: Held) -> Finding:
    return risks_listed(held, in_group(held, "expected", "possible", "serious"), "risks")


def extra_procedures(held: Held) -> Finding:
    nodes = part(held.of(FORM), "may-become-necessary")
    missing = [m.id for m in held.matches.may_become_necessary if m.id not in modules(nodes)]
    return lacking(missing, where=f"{CONSENT}, if we need to do more", what="each extra step")


def alternatives(held: Held) -> Finding:
    return each_option_says(held, "What it is", "What it may gain", "What can go wrong")


def concerns(held: Held) -> Finding:
    return to_fill(held.of(FORM), "worries", where=f"{CONSENT}, why we plan this")


def leaflet(held: Held) -> Finding:
    return to_fill(held.of(FORM), "leaflets", where=f"{CONSENT}, signatures")


def anaesthesia(held: Held) -> Finding:
    numbing = [held.library.techniques[match.id] for match in held.matches.anaesthetics]
    return each_technique_says(held, "anaesthetics", numbing, "What it is")


def professional_signs(held: Held) -> Finding:
    wanted = ("signature", "date", "name-and-role")
    return signed(held.of(FORM), "clinician", where=f"{CONSENT}, signatures", wanted=wanted)


def contact(held: Held) -> Finding:
    found = any(held.clinic.phone in value for value in values(part(held.of(FORM), "contacts")))
    return there(found, where=f"{CONSENT}, whom to ring", what=f"the number {held.clinic.phone}")


def interpreter(held: Held) -> Finding:
    found = fields(held.of(FORM), "interpreter")
    missing = [] if found and found.statement else ["statement of the interpreter"]
    return lacking(missing, where=CONSENT, what="statement of the interpreter")


def copy_offered(held: Held) -> Finding:
    return ticked(held.of(FORM), "no-copy", where=f"{CONSENT}, signatures")


def agrees(held: Held) -> Finding:
    return ticked(held.of(FORM), "agree", where=f"{CONSENT}, your agreement")


def who_may_change(held: Held) -> Finding:
    return declared(held.of(FORM), "who", where=f"{CONSENT}, your agreement")


def numbing_discussed(held: Held) -> Finding:
    return declared(held.of(FORM), "numbing", where=f"{CONSENT}, your agreement")


def only_if_needed(held: Held) -> Finding:
    return declared(held.of(FORM), "only-if", where=f"{CONSENT}, your agreement")


def not_wanted(held: Held) -> Finding:
    return to_fill(held.of(FORM), "not-wanted", where=f"{CONSENT}, your agreement")


def patient_signs(held: Held) -> Finding:
    return signed(held.of(FORM), "patient", where=f"{CONSENT}, signatures", wanted=("signature", "date"))


def witness(held: Held) -> Finding:
    wanted = ("name", "signature", "date")
    return signed(held.of(FORM), "witness", where=f"{CONSENT}, if you cannot sign", wanted=wanted)


def parent(held: Held) -> Finding:
    wanted = ("name", "signature", "date")
    return signed(held.of(FORM), "parent", where=f"{CONSENT}, if you cannot sign", wanted=wanted)


def confirmed(held: Held) -> Finding:
    return signed(held.of(FORM), "confirm", where=CONSENT, wanted=("signature", "date"))


def withdrawn(held: Held) -> Finding:
    return signed(held.of(FORM), "withdrawal", where=CONSENT, wanted=("signature", "date"))


def capacity(held: Held) -> Finding:
    return ticked(held.of(NOTES), "capacity", where=f"{RECORD}, what was talked about")


def photographs(held: Held) -> Finding:
    return ticked(held.of(FORM), "photo-none", where=f"{CONSENT}, apart from the treatment")


def stop_at_any_time(held: Held) -> Finding:
    said = prose(held.of(FORM), "changing-your-mind")
    return there(said, where=CONSENT, what="words under “changing your mind”")


def tissue(held: Held) -> Finding:
    return to_fill(held.of(FORM), "tissue", where=f"{CONSENT}, what we take off")


def innovative(held: Held) -> Finding:
    nodes = part(held.of(FORM), "newer")
    missing = [m.id for m in held.matches.newer if m.id not in modules(nodes)]
    return lacking(missing, where=f"{CONSENT}, a newer treatment", what="each newer technique by name")


MODEL_FORM = Checklist(
    "uk-model-form",
    "Model consent form and reference guide (UK)",
    (
        _FORM.machine("F1", "A place for the patient's names and date of birth", name_and_birth),
        _FORM.machine("F2", "The patient's own number", own_number),
        _FORM.person("F3", "The patient's sex, where it is needed to tell patients apart"),
        _FORM.machine("F4", "The responsible professional with job title", professional),
        _FORM.machine("F5", "A place for special needs of language or communication", special_needs),
        _FORM.machine("F6", "Each procedure with a short plain explanation", explained),
        _FORM.machine("F7", "The benefits that are intended", benefits),
        _FORM.machine("F8", "Risks that are serious, frequent or cannot be avoided", risks),
        _FORM.machine(
            "F9", "Extra procedures that may become necessary", extra_procedures, unless=no_extra_steps
        ),
        _FORM.machine("F10", "Alternatives with their benefits and risks, no treatment too", alternatives),
        _FORM.machine("F11", "A place for the patient's own concerns", concerns),
        _FORM.machine("F12", "A place for the leaflets that were given", leaflet),
        _FORM_M.machine("F13", "The kind of anaesthesia", anaesthesia, unless=no_numbing),
        _FORM_M.machine("F14", "Signature, date, name and title of the professional", professional_signs),
        _FORM_M.machine("F15", "Whom to contact to talk about it later", contact),
        _FORM_M.machine("F16", "A statement of the interpreter", interpreter),
        _FORM_M.machine("F17", "Copy taken, yes or no", copy_offered),
        _FORM_M.machine("F18", "The patient states agreement", agrees),
        _FORM_M.machine("F19", "The patient knows who will do it may change", who_may_change),
        _FORM_M.machine(
            "F20", "The patient could talk about the anaesthesia", numbing_discussed, unless=no_numbing
        ),
        _FORM_M.machine("F21", "More is done only to save life or prevent serious harm", only_if_needed),
        _FORM_M.machine("F22", "A place for procedures the patient does not want", not_wanted),
        _FORM_M.machine("F23", "Signature and date of the patient", patient_signs),
        _FORM_M.machine("F24", "A witness for a patient who cannot sign", witness),
        _FORM_M.machine("F25", "A parent's signature for a young person", parent, unless=of_age),
        _FORM_M.machine("F26, D3", "Consent is confirmed on the day", confirmed),
        _FORM_M.person("F27", "An advance decision of the patient is known and kept to"),
        _FORM_M.machine("F28", "A place to sign for withdrawing", withdrawn),
        _GUIDE_S.machine("D1", "Capacity and free choice are noted", capacity, where="record"),
        _GUIDE.machine("D2", "Photographs under a heading of their own", photographs),
        _GUIDE.machine("D4", "Consent can be withdrawn at any time, even during", stop_at_any_time),
        _GUIDE.machine("D5", "What happens to tissue that is taken off", tissue, unless=nothing_removed),
        _GUIDE.machine("D6", "Newer treatment is named as such", innovative, unless=none_newer),
        _GUIDE.person("D7", "A signature is treated as evidence, not as proof, of consent"),
    ),
)
