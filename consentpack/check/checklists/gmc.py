"""The General Medical Council's guidance on consent (2020), with what is still useful of its 2008
text. Its guidance on cosmetic interventions is in `gmc_cosmetic`."""

from __future__ import annotations

from consentpack.check.checklists.conditions import (
    no_factors,
    none_newer,
)
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
    there,
)
from consentpack.check.checklists.looking import (
    CHOICES,
    declared,
    everything,
    fields,
    line_tags,
    lines,
    modules,
    part,
    prose,
    rows_of,
    signed,
    sources,
    stated,
    ticked,
    to_fill,
    values,
)
from consentpack.check.checklists.shared import (
    CONSENT,
    RECORD,
    each_option_says,
    in_group,
    risks_listed,
)

_G = ListOf(Published("GMC", "Decision making and consent", "2020", "S2"))
_GM = ListOf(Published("GMC", "Decision making and consent", "2020", "M"))
_OLD = ListOf(Published("GMC", "Consent: patients and doctors making decisions together", "2008", "S"))
_OLD_M = ListOf(Published("GMC", "Consent: patients and doctors making decisions together", "2008", "M"))


def condition(held: Held) -> Finding:
    return stated(held.of(FORM), held.plan.condition, where=f"{CONSENT}, first page")


def doing_nothing(held: Held) -> Finding:
    nothing = [m.id for m in held.matches.options if held.library.options[m.id].no_treatment]
    rows = rows_of(part(held.of(FORM), *CHOICES))
    missing = [id for id in nothing if id not in rows] if nothing else ["choice to do nothing"]
    return lacking(missing, where=f"{CONSENT}, other choices", what="the choice to do nothing")


def options_described(held: Held) -> Finding:
    return each_option_says(held, "What it is")


def options_weighed(held: Held) -> Finding:
    return each_option_says(held, "What it may gain", "What can go wrong", "What we do not know")


def reasons(held: Held) -> Finding:
    found = [s for s in sources(part(held.of(FORM), "reason")) if s.file == held.plan.file]
    return there(found, where=f"{CONSENT}, why we plan this", what="reason from the plan")


def up_to_date(held: Held) -> Finding:
    printed = modules(everything(held.of(FORM))) | modules(everything(held.of(SHEET)))
    old = [m.id for _, m in held.library.modules() if m.id in printed and m.review_by < held.plan.prepared]
    missing = [f"review in time of {id}" for id in old]
    return lacking(missing, where=CONSENT, what=f"{len(printed)} modules inside their review dates")


def possible_risks(held: Held) -> Finding:
    return risks_listed(held, in_group(held, "possible"), "possible risks")


def own_circumstances(held: Held) -> Finding:
    printed = modules(part(held.of(FORM), "factors"))
    missing = [m.id for m in held.matches.factors if m.id not in printed]
    return lacking(missing, where=f"{CONSENT}, about you", what="each circumstance of the plan")


def own_worries(held: Held) -> Finding:
    return to_fill(held.of(FORM), "worries", where=f"{CONSENT}, why we plan this")


def serious_risks(held: Held) -> Finding:
    return risks_listed(held, in_group(held, "serious"), "serious risks")


def expected_harms(held: Held) -> Finding:
    return risks_listed(held, in_group(held, "expected"), "expected harms")


def no_threshold(held: Held) -> Finding:
    """Nothing a technique lists is lost on the way to the form, however seldom it is seen."""
    matched = {match.id for match in held.matches.risks}
    missing = [f"{id} (of {t.id})" for t in held.agreed for id in t.risks if id not in matched]
    return lacking(missing, where="risks matched to the plan", what=f"all {len(matched)} risks")


def hopes(held: Held) -> Finding:
    return to_fill(held.of(FORM), "hopes", where=f"{CONSENT}, why we plan this")


def time_to_think(held: Held) -> Finding:
    return ticked(held.of(FORM), "not-yet", where=f"{CONSENT}, your agreement")


def language_help(held: Held) -> Finding:
    wanted = ("language", "how", "name", "signature")
    return signed(held.of(FORM), "interpreter", where=CONSENT, wanted=wanted)


def scope(held: Held) -> Finding:
    wanted = ["only-if", *(["agree-extra"] if held.matches.may_become_necessary else [])]
    agreed = declared(held.of(FORM), *wanted, where=f"{CONSENT}, your decision")
    if not agreed.holds:
        return agreed
    return to_fill(held.of(FORM), "not-wanted", where=f"{CONSENT}, your decision")


def who_does_and_who_talks(held: Held) -> Finding:
    printed = any(held.plan.clinician in value for value in values(everything(held.of(FORM))))
    missing = [] if printed else [f"name {held.plan.clinician} on the first page"]
    talks = fields(held.of(FORM), "clinician")
    if not talks or "name-and-role" not in {line.tag for line in talks.lines}:
        missing.append("line for name and role of who held the talk")
    return lacking(missing, where=CONSENT, what="who does it, and who held the talk")


def capacity(held: Held) -> Finding:
    return ticked(held.of(NOTES), "capacity", where=f"{RECORD}, what was talked about")


def may_decline(held: Held) -> Finding:
    return declared(held.of(FORM), "refuse", "change-mind", where=f"{CONSENT}, your agreement")


def talk_recorded(held: Held) -> Finding:
    missing = [
        t for t in ("questions", "notes") if t not in line_tags(part(held.of(NOTES), "record-checklist"))
    ]
    kinds = {line.kind for line in lines(part(held.of(NOTES), "record-signatures"))}
    missing += [kind for kind in ("signature", "date") if kind not in kinds]
    return lacking(missing, where=RECORD, what="what was asked and answered, by whom and when")


def reviewed_before(held: Held) -> Finding:
    return signed(held.of(FORM), "confirm", where=f"{CONSENT}, on the day of treatment")


def newer_named(held: Held) -> Finding:
    printed = modules(part(held.of(FORM), "newer"))
    missing = [m.id for m in held.matches.newer if m.id not in printed]
    return lacking(missing, where=f"{CONSENT}, a newer treatment", what="each newer technique by name")


def roles(held: Held) -> Finding:
    return to_fill(held.of(FORM), "other-doctors", "other-staff", where=f"{CONSENT}, who helps")


def students(held: Held) -> Finding:
    return ticked(held.of(FORM), "students", where=f"{CONSENT}, who helps")


def second_opinion(held: Held) -> Finding:
    said = prose(held.of(FORM), "who-helps-and-what-it-costs")
    return there(said, where=f"{CONSENT}, who helps", what="words on asking another clinician")


def bills(held: Held) -> Finding:
    return to_fill(held.of(FORM), "cost", "further-cost", where=f"{CONSENT}, what it costs")


def interests(held: Held) -> Finding:
    return to_fill(held.of(FORM), "interests", where=f"{CONSENT}, what it costs")


CONSENT_2020 = Checklist(
    "gmc-consent",
    "Decision making and consent (GMC)",
    (
        _G.machine("G1", "The condition is stated", condition),
        _G.person("G2", "What is not sure about condition or outlook, and further tests"),
        _G.machine("G3", "The choices, with doing nothing always among them", doing_nothing),
        _G.machine("G4", "For each choice: what it is and involves", options_described),
        _G.machine("G5", "For each choice: gains, harms and what is not known", options_weighed),
        _G.machine("G6", "The reason for what is recommended", reasons),
        _G.machine("G7", "The information is up to date", up_to_date),
        _GM.machine("G8", "Recognised risks that anyone would want to know", possible_risks),
        _GM.machine("G9", "How the patient's own health changes it", own_circumstances, unless=no_factors),
        _GM.machine("G10", "A place for what this patient would find weighty", own_worries),
        _G.machine("G11", "Every risk of serious harm, however unlikely", serious_risks),
        _GM.machine("G12", "Harms that are expected", expected_harms),
        _G.machine("G13", "No risk is dropped for being rare", no_threshold),
        _G.machine("G14", "A place for what matters to the patient", hopes),
        _G.machine("G15", "More time to think is a choice", time_to_think),
        _GM.machine("G16", "Help with language", language_help),
        _GM.person("G17", "Questions were answered honestly and in full"),
        _G.machine("G18", "How far the agreement goes, with what is not wanted", scope),
        _G.machine("G19", "Who does it, and who held the talk", who_does_and_who_talks),
        _G.machine("G20", "Capacity is noted", capacity, where="record"),
        _GM.machine("G21", "The patient may decline, or have second thoughts later", may_decline),
        _GM.machine(
            "G22", "The record: what was asked and answered, who, when", talk_recorded, where="record"
        ),
        _G.person("G23", "The form is not taken for the talk"),
        _GM.machine("G24", "The decision is looked at again before the start", reviewed_before),
        _GM.person("G25", "How things are put does not push"),
        _OLD.person("G26 own results", "Whether gains and risks depend on who treats"),
        _OLD.machine("G26 newer", "Whether it is innovative", newer_named, unless=none_newer),
        _OLD_M.machine("G26 roles", "Who else takes part, with their roles", roles),
        _OLD_M.machine("G26 students", "Students only if the patient says so", students),
        _OLD_M.machine("G26 second opinion", "The right to a second opinion", second_opinion),
        _OLD_M.machine("G26 bills", "What has to be paid", bills),
        _OLD_M.machine("G26 interests", "Interests of the clinic", interests),
        _OLD_M.person("G26 elsewhere", "Better choices that are offered elsewhere"),
    ),
)
