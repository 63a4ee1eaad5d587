"""What each kind of content file may and must hold. `docs/reference/content-format.md` is built
from this table, so that what is written there cannot differ from what is checked here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from consentpack.library.labels import ANSWERS, CARD, IN_SHORT, NOTES
from consentpack.strict import Key


@dataclass(frozen=True)
class Kind:
    """One kind of content file."""

    keys: Mapping[str, Key]
    sections: Mapping[str, bool]
    """Section label -> whether it is required."""
    unscored: tuple[str, ...] = ()
    """Sections that are not scored by themselves: no patient reads them, or they are lines of signs and no
    sentences, and are scored in the paper they stand in."""


COMMON: Mapping[str, Key] = {
    "id": Key(str, "the file's own name without .md"),
    "title": Key(str, "the name a patient reads"),
    "version": Key(str, "the clinic's or the project's own count of versions"),
    "reviewed": Key(date, "the day somebody last checked the facts"),
    "review_by": Key(date, "the day by which they must be checked again"),
    "sources": Key(list, "where the facts come from", required=False, refers_to="sources"),
    "evidence": Key(list, "notes for the clinician on single facts and their marks", required=False),
    "only": Key(str, "the condition under which the module belongs to a plan", required=False),
    "when": Key(dict, "section -> the condition under which it belongs", required=False),
}

_CARE_LISTS: Mapping[str, Key] = {
    "aftercare": Key(list, "aftercare topics it calls for", refers_to="aftercare"),
    "warnings": Key(list, "warning signs it calls for", refers_to="warnings"),
}

PERIODS = ("Tonight", "Tomorrow", "First week", "Later")
"""Periods of the aftercare sheet, in order."""

_CARE_SECTIONS = {"What to expect": False, ANSWERS: False} | {
    f"{period}: {what}": False for period in PERIODS for what in ("do", "avoid")
}

TREATING_SECTIONS = ("What it may gain", "Not good for")
"""Sections that a technique must have unless it only numbs."""

REMOVES_TISSUE, LEAVES_MATERIAL, IS_TEST = "removes-tissue", "leaves-material", "is-test"
TRAITS: Mapping[str, str] = {
    REMOVES_TISSUE: "something is taken off, and the patient is asked what may be done with it",
    LEAVES_MATERIAL: "a product stays in the body, and the patient keeps its name, maker, size and lot",
    IS_TEST: "it finds something out",
}
"""What else is true of a technique, where published lists ask for more in the form."""

UNDER_AGE = "under-18"
"""The factor that calls for a parent's signature."""

TIERS = ("ambulance", "at-once", "same-day", "at-visit")
"""How fast a warning sign asks for somebody: the ambulance; us, day or night; us today; at the visit."""

_SEEN: Mapping[str, Key] = {
    "starts": Key(list, "first and last day on which it usually starts", required=False, days=True),
    "told_with": Key(str, "the outcome in whose row patients read of it", False, refers_to="risks"),
}

SCHEMA: Mapping[str, Kind] = {
    "techniques": Kind(
        keys={
            "phrase": Key(str, "plain words that finish 'We plan to use …'"),
            "kind": Key(str, "what it is for, a kind of field.toml"),
            "standing": Key(str, "how well it is established", allowed=("established", "newer")),
            "established_alternative": Key(
                str, "for a newer technique: the established one", False, refers_to="techniques"
            ),
            "anaesthetics": Key(list, "what may numb the area for it", False, refers_to="techniques"),
            "risks": Key(list, "what it may cause", refers_to="risks"),
            "benefits": Key(list, "what it may gain", refers_to="benefits"),
            "indications": Key(list, "the kinds of condition it is meant for, of field.toml", False),
            "traits": Key(
                list, "what else is true of it: what the form asks about, or a trait of field.toml", False
            ),
            "waits": Key(dict, "care setting -> the setting whose time it needs, if longer", False),
            "options": Key(list, "what could be done instead", False, refers_to="options"),
            **_CARE_LISTS,
        },
        sections={
            "What it is": True,
            "What happens on the day": True,
            "How it feels": True,
            "What it may gain": False,
            "How sure we are": True,
            "Recovery": True,
            "Before you come": False,
            "Not good for": False,
        },
    ),
    "risks": Kind(
        keys={
            "clinical": Key(str, "the clinical term"),
            "group": Key(str, "its place in the form", allowed=("expected", "possible", "serious")),
            "watch_days": Key(int, "days one must look to say that it did not happen"),
            "signs": Key(list, "warning signs that may come of it", False, refers_to="warnings"),
            "part_of": Key(
                str, "the outcome of which it is a kind: counted in it too", False, refers_to="risks"
            ),
            **_SEEN,
        },
        sections={
            "What you may notice": True,
            "How long it lasts": True,
            "What is done about it": True,
            "In your diary": False,
        },
    ),
    "benefits": Kind(
        keys={
            "clinical": Key(str, "the clinical term"),
            "watch_days": Key(int, "days one must look to say that it did not happen"),
            "starts": _SEEN["starts"],
        },
        sections={"What you may notice": True, "How long it lasts": True, "In your diary": False},
    ),
    "options": Kind(
        keys={
            "no_treatment": Key(bool, "true for the choice to do nothing", required=False),
            "indications": Key(list, "the kinds of condition it is a choice for; all when left out", False),
            "techniques": Key(
                list, "techniques it stands for; no choice where one is planned", False, (), "techniques"
            ),
        },
        sections={
            "What it is": True,
            "What it may gain": True,
            "What can go wrong": True,
            "What we do not know": True,
        },
    ),
    "factors": Kind(
        keys={
            "raises": Key(list, "risks that are higher", refers_to="risks"),
            "implied_by": Key(str, "the condition under which it is true without being named", False),
            **_CARE_LISTS,
        },
        sections={
            "What this changes": True,
            "What to do before": True,
            "For the clinician": True,
        },
        unscored=("For the clinician",),
    ),
    "aftercare": Kind(
        keys={
            "order": Key(int, "place inside a period, small numbers first"),
            "check_hours": Key(
                list, "hours after the treatment at which one looks; makes a card to tick", False, hours=True
            ),
        },
        sections={**_CARE_SECTIONS, NOTES: False, CARD: False},
    ),
    "warnings": Kind(
        keys={
            "tier": Key(str, "how fast to act", allowed=TIERS),
            "short": Key(str, "the sign in a few words that finish 'if you have …'"),
            "order": Key(int, "place inside its tier, small numbers first"),
            "beside": Key(
                str, "the warning in whose row of the short sheet it stands", False, refers_to="warnings"
            ),
        },
        sections={"Signs": True, "What to do": True, IN_SHORT: False},
        unscored=("On the sheet",),
    ),
    "documents": Kind(
        keys={
            "audience": Key(str, "who reads it", allowed=("patient", "clinician")),
            "about": Key(str, "what it speaks of; what is planned without it", False, ("planned", "done")),
            "order": Key(int, "its place in the pack, lower first; last without it", required=False),
            "language": Key(
                str, "whose language it is in; its reader's without it", False, ("patient", "clinic")
            ),
            "close": Key(bool, "set in closer lines, as a paper of a few sides", required=False),
            "new_side": Key(list, "headings of the sections that begin a side of paper", required=False),
            "scored": Key(bool, "whether it must meet a reading target; when patients read it", False),
            "annex_from": Key(str, "the heading from which on it is an annex, on a side of its own", False),
            "one_sheet": Key(bool, "true where it must fit on one sheet of paper, front and back", False),
        },
        sections={},
    ),
}

PATIENT_DIRECTIVES: Mapping[str, str] = {
    "decision": "what is decided, in a frame: by what and for what, and what else there is",
    "gains-and-costs": "gains and what is seen most, side by side, and serious harms by name",
    "plan-facts": "how the area is numbed, when it is done and by whom",
    "happens-in-short": "what is planned and how it is numbed, without the steps of the day",
    "tell-us-if": "circumstances that would change what may be done, and those that are known",
    "figures-panel": "every figure out of 100 as a picture, side by side, with one line of source",
    "serious-harms": "every serious harm, a line each, with its figure and what may last",
    "harms-without-figure": "harms of which nothing was counted, by name",
    "choices-in-line": "choices side by side, the planned one first, a line each",
    "told-then": "which version was given before, and when",
    "told-now": "each figure that has changed since, then and now",
    "plan-summary": "what is planned, as labelled facts",
    "reason": "why this is planned, in the clinician's words from the plan",
    "what-happens": "each planned technique: what it is and what happens on the day",
    "anaesthetics": "each planned way of numbing the area",
    "benefits": "what the treatment may gain, with figures",
    "how-sure": "how much is known about each planned technique",
    "figures-explained": "how to read the figures of this form",
    "risk-table": "what can go wrong, with figures, in three groups; in short what there is no room for",
    "harms-in-full": "the harms that the booklet tells in short",
    "choices-in-full": "the other choices that the booklet has no room for",
    "steps-in-full": "the steps of the day, where the booklet has no room for them",
    "numbing-in-full": "the steps of numbing, where the booklet has no room for them",
    "gains-in-full": "gains with their figures at length, where the booklet has harms and gains in short",
    "figures-explained-in-full": "how to read figures in sentences, where the booklet has them in short",
    "studies-in-full": "the studies that figures are from, where the booklet has no room for them",
    "how-sure-in-full": "how much is known of those techniques for which the booklet has no room",
    "goes-with": "what the paper behind the booklet is for; nothing where nothing moved there",
    "may-become-necessary": "techniques that may be needed on the day, and what they change",
    "newer": "newer techniques named as newer, with the established one beside",
    "options": "other choices side by side, no treatment first",
    "factors": "the patient's own circumstances",
    "before-you-come": "what to arrange before the visit, of treatment and numbing",
    "not-good-for": "when the planned techniques do not fit",
    "my-own-words": "lines for what the patient hopes for, fears, and needs to follow the talk",
    "around-care": "lines on who else helps, what it costs and who gains",
    "mark-one": "yes, not yet or no: one is marked",
    "not-wanted": "a line for what the patient does not want",
    "apart": "what is agreed to by itself: more on the day, who is there and who is told, photographs",
    "agreement": "tick boxes of the agreement",
    "signatures": "signatures of patient and clinician, with date and time",
    "interpreter": "statement of the interpreter",
    "witness": "signature of a witness for a patient who cannot sign",
    "parent": "signature of a parent, where the patient is under age",
    "confirm": "where the patient signs again on the day of treatment",
    "withdrawal": "where a patient signs who changes their mind",
    "contacts": "whom to ring, in and out of hours",
    "words-explained": "clinical words of the document in plain words",
    "figure-sources": "where the figures come from",
    "about-this-document": "who made it, when its words were checked, and by when they must be again",
    "paid-by": "a line for who paid for the making of the form",
    "emergency-signs": "the box of emergency signs",
    "at-once-signs": "signs to ring the clinic about at once, day or night",
    "same-day-signs": "signs to ring about the same day",
    "tell-us-signs": "signs to tell about at the next visit",
    "done-summary": "what was done, or is planned",
    "what-was-used": "lines for the products used, and who is with the patient",
    "care-tonight": "aftercare for the first evening",
    "care-tomorrow": "aftercare for the next day",
    "care-first-week": "aftercare for the first week",
    "care-later": "aftercare after the first week",
    "care-expect": "the normal course with its times",
    "when-you-can": "a table of when one may do what again",
    "diary": "questions to answer day by day until the next visits",
    "medicines": "lines for the clinic to fill in about medicines",
    "follow-up": "the next visit",
    "contents": "the headings of the document, in order",
    "emergency-in-short": "the emergency signs, a row for each kind of thing one sees, under one number",
    "numbers": "the clinic's numbers, large",
    "number-to-ask": "the clinic's number by day, in a line",
    "at-once-in-short": "signs to ring the clinic about at once, in a line or two each",
    "same-day-in-short": "signs to ring about the same day, a line each",
    "tell-us-in-short": "what to tell at the next visit, a line each",
    "expect-in-short": "the normal course, in the sentences marked for the short sheet",
    "tonight-in-short": "the first evening, in the sentences marked for the short sheet",
    "do-and-do-not": "what to do and not to do in the days after, side by side",
    "timeline": "when one may do what again: a row for each thing, a column for each time",
    "visit-in-short": "the next visit, and lines to fill in",
    "treatment-in-short": "what was done or is planned, and lines for what was used",
    "check-times": "a table to tick at each time at which one has to look",
    "check-how": "how to look",
    "talk-back": "questions made from the plan's own papers, with where each answer stands and three marks",
}
"""Parts that a patient may read."""

CLINICIAN_DIRECTIVES: Mapping[str, str] = {
    "record-plan": "the plan as the clinic keeps it",
    "record-techniques": "techniques with standing and reason",
    "record-figures": "each figure with counts, interval, period, closeness and source",
    "record-beside": "newer techniques beside established ones: difference and ratio",
    "record-rejected": "closer comparisons that could not be used, and why",
    "record-alerts": "what the clinician should see before the talk, grouped and sorted by weight",
    "record-matter": "the few figures that matter most",
    "record-notes": "every note for the clinician in full",
    "record-factors": "the patient's circumstances, for the clinician",
    "record-readability": "the readability result of the patient's documents",
    "record-modules": "modules, versions and approvals",
    "record-done": "what was done on the day",
    "record-diary": "which line of the diary is which outcome of the register",
    "record-checklist": "what was discussed, to tick",
    "record-checklists": "how the documents stand to published checklists",
    "record-signatures": "who held the discussion, and when",
}
"""Parts for the clinic alone: they name approvals and raw counts, and nobody translates them."""

DIRECTIVES: Mapping[str, str] = {**PATIENT_DIRECTIVES, **CLINICIAN_DIRECTIVES}
"""Directives of document files; each must be built by the assembler (a test holds to it)."""

PLAN_FACTS: Mapping[str, str] = {
    "numbing": "an anaesthetic is planned",
    "may-become-necessary": "the plan names techniques that may become necessary",
    "newer": "a newer technique is planned or may become necessary",
    "factors": "the plan names circumstances of the patient",
    "several-visits": "more than one visit is planned",
    "told-before": "an older version was given, and something it told has changed since",
    "check-times": "an aftercare topic of it has `check_hours`: times at which one has to look",
}
"""What a condition may ask of a plan as a whole, as 'plan:newer'."""

PLACEHOLDERS: Mapping[str, str] = {
    "clinic.name": "the clinic's name",
    "clinic.phone": "number in opening hours",
    "clinic.phone_out_of_hours": "number at night and at weekends",
    "clinic.hours": "opening hours",
    "clinic.emergency_number": "the ambulance",
    "plan.site": "the area to be treated",
    "plan.sessions": "how many sessions are planned",
    "plan.reference": "the clinic's own reference",
    "plan.condition": "what is treated, in plain words",
}
"""Bare placeholders of prose; `care.NAME` of settings.toml comes on top."""
