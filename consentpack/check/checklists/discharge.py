"""What instructions for home should hold (reference standards, section 5.1: AC1 to AC18)."""

from __future__ import annotations

from consentpack.check.checklists.conditions import no_measure, no_wound, nothing_left_in
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
    fields,
    line_tags,
    part,
    said,
    tags,
    ticked,
    unsaid,
    values,
)
from consentpack.check.checklists.shared import (
    AFTERCARE,
    CARE_PARTS,
    CONSENT,
    topics_say,
    warnings_say,
)
from consentpack.library.schema import PERIODS
from consentpack.model import Aftercare

_ED = ListOf(Published("Hoek and others, Ann Emerg Med", "discharge instructions, four domains", "2020", "S"))
_NET = ListOf(Published("Almond and others, BJGP", "safety-netting, a consensus", "2009", "S"))
_RED = ListOf(Published("AHRQ", "Re-Engineered Discharge toolkit", "2013", "S"))
_LEY = ListOf(Published("Ley", "memory for medical information", "1979", "S"))
_CLINICAL = ListOf(Published("common practice, no source", "care of a wound", "undated", "M"))
_TJC = ListOf(Published("US Joint Commission", "PC.04.01.05 and RC.02.04.01", "undated", "S2"))
_GMC = ListOf(Published("GMC", "Guidance for doctors who offer cosmetic interventions", "2016", "S"))
_PIF = ListOf(Published("PIF TICK and EQIP", "quality of health information", "undated", "S"))


def _topics(held: Held) -> list[Aftercare]:
    return [held.library.aftercare[match.id] for match in held.matches.aftercare]


def what_was_done(held: Held) -> Finding:
    printed = values(part(held.of(SHEET), "done-summary"))
    techniques = held.plan.done.techniques if held.plan.done else held.plan.planned
    missing = [each for each in (held.plan.site, held.plan.clinician) if not _in(each, printed)]
    if not any(len(value.split("; ")) == len(techniques) for value in printed):
        missing.append(f"list of {len(techniques)} techniques")
    return lacking(missing, where=f"{AFTERCARE}, your treatment", what="what, where and by whom")


def _in(wanted: str, printed: list[str]) -> bool:
    return any(wanted in value for value in printed)


def expected_course(held: Held) -> Finding:
    missing = topics_say(held, ["What to expect"], "care-expect", _topics(held))
    return lacking(missing, where=f"{AFTERCARE}, what to expect", what="what each topic says to expect")


def signs_by_urgency(held: Held) -> Finding:
    return warnings_say(held, "Signs")


def how_to_get_help(held: Held) -> Finding:
    return warnings_say(held, "What to do")


def medicines(held: Held) -> Finding:
    wanted = ("medicine", "for", "dose", "until", "side-effects", "stop-start")
    found = line_tags(part(held.of(SHEET), "medicines"))
    missing = [f"line “{tag}”" for tag in wanted if tag not in found]
    return lacking(missing, where=f"{AFTERCARE}, your medicines", what=", ".join(wanted))


def follow_up(held: Held) -> Finding:
    found = fields(held.of(SHEET), "appointment")
    have = {line.kind for line in found.lines} | {line.tag for line in found.lines} if found else set()
    wanted = ["date", "time", "where", "with"]
    if held.matches.tissue:
        wanted.append("results")
    missing = [f"line “{each}”" for each in wanted if each not in have]
    return lacking(missing, where=f"{AFTERCARE}, your next visit", what=", ".join(wanted))


def contacts(held: Held) -> Finding:
    clinic = held.clinic
    printed = values(part(held.of(SHEET), "contacts"))
    wanted = (clinic.phone, clinic.phone_out_of_hours, clinic.emergency_number)
    missing = [number for number in wanted if not _in(number, printed)]
    return lacking(missing, where=f"{AFTERCARE}, whom to ring", what=", ".join(wanted))


def wound(held: Held) -> Finding:
    topics = [topic for topic in _topics(held) if topic.id in held.library.field.wound]
    missing = [] if topics else ["topic on the wound"]
    for name, period in zip(CARE_PARTS, PERIODS, strict=True):
        missing += topics_say(held, [f"{period}: do", f"{period}: avoid"], name, topics)
    return lacking(missing, where=AFTERCARE, what=", ".join(topic.id for topic in topics))


def activities(held: Held) -> Finding:
    nodes = part(held.of(SHEET), "when-you-can")
    topics = [topic for topic in _topics(held) if topic.sections.get("When you can")]
    missing = [] if topics else ["topic that says when one can do things again"]
    printed = said(held, nodes)
    missing += [line for topic in topics for line in unsaid(printed, topic, "When you can")]
    return lacking(missing, where=f"{AFTERCARE}, when you can", what=f"answers of {len(topics)} topics")


def helper_and_language(held: Held) -> Finding:
    missing = [] if "helper" in line_tags(part(held.of(SHEET), "what-was-used")) else ["line “helper”"]
    language = held.plan.interpreter_language
    if language and not _in(language, values(part(held.of(SHEET), "done-summary"))):
        missing.append(f"interpreter for {language}")
    return lacking(missing, where=f"{AFTERCARE}, your treatment", what="who is there, and help with language")


def questions_and_teach_back(held: Held) -> Finding:
    asked = "questions" in line_tags(part(held.of(SHEET), "follow-up"))
    missing = [] if asked else ["line “questions” in the sheet"]
    told = "teach-back" in tags(part(held.of(NOTES), "record-checklist"))
    missing += [] if told else ["tick box “teach-back” in the record"]
    return lacking(missing, where="aftercare sheet and record", what="a line to ask, and teach-back")


def copy_to_doctor(held: Held) -> Finding:
    return ticked(held.of(FORM), "gp-letter", where=f"{CONSENT}, who helps")


def can_be_read(held: Held) -> Finding:
    hard = [f"easy words in the {score.kind}" for score in held.scores if score.over]
    grades = ", ".join(f"{score.kind} {score.grade:.1f}" for score in held.scores if score.grade is not None)
    return lacking(hard, where="reading grade", what=grades)


def product_card(held: Held) -> Finding:
    missing = [] if "products" in line_tags(part(held.of(SHEET), "what-was-used")) else ["line “products”"]
    return lacking(missing, where=f"{AFTERCARE}, your treatment", what="name, maker, size and lot")


def dated(held: Held) -> Finding:
    printed = values(part(held.of(SHEET), "about-this-document"))
    wanted = (held.clinic.name, held.of(SHEET).issued)
    missing = [each for each in wanted if each not in printed]
    missing += [] if held.of(SHEET).labels.get("version") else ["version"]
    return lacking(missing, where=f"{AFTERCARE}, about this sheet", what="who, when and which version")


DISCHARGE = Checklist(
    "instructions",
    "Instructions for home",
    (
        _ED.machine("AC1", "What was done", what_was_done, where="aftercare sheet"),
        _LEY.person("AC2", "Why each instruction matters"),
        _NET.machine("AC3", "What to expect, with times", expected_course, where="aftercare sheet"),
        _NET.machine("AC4", "Warning signs by urgency", signs_by_urgency, where="aftercare sheet"),
        _NET.machine("AC5", "How and how fast to get help", how_to_get_help, where="aftercare sheet"),
        _NET.person("AC6", "The expected course does not keep anybody from ringing"),
        _RED.machine("AC7", "Medicines: what, why, how much, until when", medicines, where="aftercare sheet"),
        _RED.machine("AC8", "Follow-up: when, where, with whom; results", follow_up, where="aftercare sheet"),
        _RED.machine("AC9", "Whom to ring at any hour", contacts, where="aftercare sheet"),
        _CLINICAL.machine(
            "AC10", "Wound, dressing and washing", wound, unless=no_wound, where="aftercare sheet"
        ),
        _RED.machine("AC11", "When to do things again", activities, where="aftercare sheet"),
        _RED.person("AC12", "Food and drink"),
        _RED.machine(
            "AC13", "Who is there, and help with language", helper_and_language, where="aftercare sheet"
        ),
        _RED.machine(
            "AC14", "Room for questions; said back", questions_and_teach_back, where="aftercare sheet"
        ),
        _RED.machine("AC15", "A copy to the patient's own doctor", copy_to_doctor),
        _TJC.machine("AC16", "Written so that it can be understood", can_be_read, unless=no_measure),
        _GMC.machine(
            "AC17",
            "What stays in: name, maker, size, lot",
            product_card,
            unless=nothing_left_in,
            where="aftercare sheet",
        ),
        _PIF.machine("AC18", "Version, date and author", dated, where="aftercare sheet"),
    ),
)
