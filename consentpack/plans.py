"""A plan file: what is intended for one patient, checked against the library and the clinic."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from consentpack.errors import PlanError, Problem, did_you_mean, unread
from consentpack.library import Library
from consentpack.limits import LONGEST_REFERENCE
from consentpack.model import Clinic, Done, Plan
from consentpack.normal import place
from consentpack.strict import Key, TomlText, check_table, dated, load_toml

KEYS: Mapping[str, Key] = {
    "reference": Key(str, "the clinic's own reference for this plan; never a name", most=LONGEST_REFERENCE),
    "prepared": Key(date, "the day of the plan; figures are counted up to it"),
    "language": Key(str, "the patient's language; the clinic's own when left out", False),
    "planned": Key(list, "techniques, the leading one first", refers_to="techniques"),
    "may_become_necessary": Key(
        list, "techniques that may be needed on the day", False, refers_to="techniques"
    ),
    "site": Key(str, "the area, as in the audit"),
    "region": Key(str, "where on the body that is, one of `consentpack library regions`", False),
    "sessions": Key(int, "how many sessions are planned", most=100),
    "condition": Key(str, "what is treated, in the patient's words"),
    "indication": Key(str, "its kind, one of field.toml; it decides which choices are offered", False),
    "reason": Key(str, "why this is planned, in plain words the patient reads"),
    "factors": Key(list, "circumstances of the patient", False, refers_to="factors"),
    "asked": Key(list, "circumstances asked about that are not there", False, refers_to="factors"),
    "reasons": Key(dict, "rule of suitability -> why it is done all the same, and by whom", False),
    "clinician": Key(str, "who will do it"),
    "clinician_role": Key(str, "that person's role"),
    "experience": Key(str, "for a newer technique: how often the clinician has done it", False),
    "treatment_date": Key(date, "the day of the treatment", False),
    "consent_day": Key(date, "the day the form is signed, or is to be", False),
    "consent_taken_by": Key(str, "who takes consent, if not the clinician who treats", False),
    "information_given": Key(date, "the day this information is given", False),
    "interpreter_language": Key(str, "the language of an interpreter, if one helps", False),
    "reader_needs": Key(list, "how the patient reads: large-print, phone", False, ("large-print", "phone")),
    "follow_up": Key(str, "when the next visit is, in words", False),
    "translated": Key(dict, "language -> your own words in it, where it is not yours", False),
    "done": Key(dict, "what was done, where it differs from the plan", False),
}
LARGE_PRINT = "large-print"
"""Of `reader_needs`, and the format that it asks for."""
REASON_KEYS: Mapping[str, Key] = {
    "by": Key(str, "the clinician who answers for it"),
    "why": Key(str, "why it is right for this patient all the same"),
}
DONE_KEYS: Mapping[str, Key] = {
    "date": Key(date, "the day of the treatment"),
    "techniques": Key(list, "what was done", refers_to="techniques"),
}
TRANSLATED_KEYS: Mapping[str, Key] = {
    name: Key(str, f"'{name}' in the patient's language", False)
    for name in ("condition", "site", "reason", "follow_up", "experience", "clinician_role")
}
"""What a patient reads of a plan that no catalogue can hold."""
_IDENTITIES = ("name", "patient", "patient_name", "surname", "born", "date_of_birth", "dob")


@dataclass(frozen=True)
class PlanText:
    """A plan as it was written, wherever it comes from."""

    file: str
    """What messages call it: a file, or what stands for one."""
    data: bytes
    """UTF-8 of TOML."""


def load_plan(path: Path, library: Library, clinic: Clinic) -> Plan:
    """The plan in a file. Raises PlanError with everything that is wrong with it."""
    return check_plan(read_plan(path), library, clinic)


def read_plan(path: Path) -> PlanText:
    """What a plan file holds. Raises PlanError when it is not there or cannot be read."""
    file = shown(path)
    try:
        return PlanText(file, path.read_bytes())
    except FileNotFoundError:
        there = sorted(str(shown(p)) for p in path.parent.glob("*.toml")) if path.parent.is_dir() else []
        fix = did_you_mean(file, there) or (f"Plans here: {', '.join(there)}." if there else "")
        raise PlanError(Problem(file, "there is no such file.", fix)) from None
    except OSError as error:
        raise PlanError(unread(file, error)) from None


def check_plan(written: PlanText, library: Library, clinic: Clinic) -> Plan:
    """The plan that some text means. Raises PlanError with everything that is wrong with it."""
    file = written.file
    try:
        text = written.data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise PlanError(unread(file, error)) from None
    toml = TomlText(file, text)
    data, problems = load_toml(text, file=file)
    data = _with_days(data, clinic.date_order or "")
    if not problems:
        problems = _check(data, toml, library) or _check_site(data, toml, clinic, library)
    if problems:
        raise PlanError(problems)
    return _made(data, file, library, clinic)


def _with_days(data: Mapping[str, Any], order: str) -> dict[str, Any]:
    """A plan's days, of what was done too, however they are written."""
    done = data.get("done")
    found = dated(data, KEYS, order)
    return {**found, "done": dated(done, DONE_KEYS, order)} if isinstance(done, dict) else found


def in_future(plan: Plan, today: date) -> list[Problem]:
    """A plan of a day to come would count figures that are not there yet, and revive nothing: a slip."""
    if plan.prepared <= today:
        return []
    what = f"'prepared' is {plan.prepared}, and today is {today}; figures are counted up to that day."
    return [Problem(plan.file, what, "Write the day on which the plan was made.")]


def reference_in(path: Path) -> str:
    """The reference of a plan file; '' where the file cannot be read, which is said when it is built."""
    try:
        data, _ = load_toml(path.read_text(encoding="utf-8-sig"), file=path.name)
    except (OSError, UnicodeDecodeError):
        return ""
    reference = data.get("reference", "")
    return reference if isinstance(reference, str) else ""


def shown(path: Path) -> str:
    """A file as the user would type it: below the working folder where possible."""
    try:
        return str(path.resolve().relative_to(Path.cwd()))
    except ValueError:
        return str(path)


def _check(data: Mapping[str, Any], toml: TomlText, library: Library) -> list[Problem]:
    problems = [
        Problem(
            toml.where(key),
            f"'{key}' would say who the patient is.",
            "A plan carries only the clinic's own reference. Write the name on the printed page.",
        )
        for key in data
        if key in _IDENTITIES
    ]
    asked = {key: value for key, value in data.items() if key not in _IDENTITIES}
    problems += _before(asked, toml, library)
    asked = {library.field.renamed.get(key, key): value for key, value in asked.items()}
    problems += check_table(asked, keys_of(library), toml=toml)
    problems += _check_of_field(asked, toml, library)
    done = data.get("done")
    if isinstance(done, dict):
        problems += check_table(done, DONE_KEYS, toml=toml, name="done")
        problems += _check_ids(done, DONE_KEYS, toml, library)
    problems += _check_translated(data.get("translated"), toml, library)
    problems += _check_ids(asked, KEYS, toml, library)
    return problems or _check_sense(data, toml, library)


def keys_of(library: Library) -> Mapping[str, Key]:
    """The keys of a plan in a library's field: its strata stand there too, and it says what must be said."""
    strata = library.field.strata.values()
    keys = {**KEYS, **{s.id: Key(str, f"{s.title}: {', '.join(s.values)}", False, s.values) for s in strata}}
    return {**keys, **{id: replace(keys[id], required=True) for id in library.field.plan_keys}}


def _before(data: Mapping[str, Any], toml: TomlText, library: Library, table: str = "") -> list[Problem]:
    """A plan from before a key was renamed: which one, and what to write instead."""
    return [
        Problem(
            toml.where(key, table=table),
            f"'{key}' is called '{name}' now.",
            f"Write {name} = … there. {_ALL}",
        )
        for key, name in library.field.renamed.items()
        if key in data
    ]


_ALL = "`consentpack migrate` does so in all plans."


def _check_of_field(data: Mapping[str, Any], toml: TomlText, library: Library) -> list[Problem]:
    """Indication, region and reasons must be ones that the library has."""
    problems = []
    for key, known in (("indication", library.field.indications), ("region", library.regions)):
        value = data.get(key)
        if isinstance(value, str) and value not in known:
            near = did_you_mean(value, known) or f"There are: {', '.join(known)}."
            problems.append(Problem(toml.where(key), f"there is no {key} '{value}'.", near))
    reasons = data.get("reasons")
    for id, given in reasons.items() if isinstance(reasons, dict) else ():
        if id not in library.suitability:
            near = did_you_mean(id, library.suitability)
            problems.append(Problem(toml.where(id, table="reasons"), f"there is no rule '{id}'.", near))
        elif not isinstance(given, dict):
            what = f"'{id}' under [reasons] should be a table of its own."
            problems.append(Problem(toml.where(id, table="reasons"), what, f"Write [reasons.{id}]."))
        else:
            problems += check_table(given, REASON_KEYS, toml=toml, name=f"reasons.{id}")
    return problems


def _check_translated(tables: Any, toml: TomlText, library: Library) -> list[Problem]:
    """The clinician's words in other languages: a table for each."""
    problems = []
    for tag, words in tables.items() if isinstance(tables, dict) else ():
        if isinstance(words, dict):
            problems += _before(words, toml, library, f"translated.{tag}")
            now = {library.field.renamed.get(key, key): value for key, value in words.items()}
            problems += check_table(now, TRANSLATED_KEYS, toml=toml, name=f"translated.{tag}")
        else:
            what = f"'{tag}' under [translated] should be a table of its own, one for each language."
            problems.append(Problem(toml.where(tag, table="translated"), what, "Write [translated.pl]."))
    return problems


def _check_ids(
    data: Mapping[str, Any], keys: Mapping[str, Key], toml: TomlText, library: Library
) -> list[Problem]:
    problems = []
    for name, key in keys.items():
        if not key.refers_to or not isinstance(data.get(name), list):
            continue
        known = library.kind(key.refers_to)
        for id in data[name]:
            if isinstance(id, str) and (wrong := library.set_aside.get(f"{key.refers_to}/{id}")):
                what = f"'{id}' cannot be used: its module has a mistake, or names one that has."
                problems += [Problem(toml.where(name, id), what), *wrong]
            elif isinstance(id, str) and f"{key.refers_to}/{id}" in library.without:
                what = f"'{id}' is switched off in this clinic."
                fix = "Take it out of the plan, or out of [library] without in clinic.toml."
                problems.append(Problem(toml.where(name, id), what, fix))
            elif isinstance(id, str) and id not in known:
                what = f"there is no {key.refers_to[:-1]} '{id}'."
                fix = f"{did_you_mean(str(id), known)} `consentpack library list` shows all {len(known)}."
                problems.append(Problem(toml.where(name, str(id)), what, fix.strip()))
    return problems


def _check_sense(data: Mapping[str, Any], toml: TomlText, library: Library) -> list[Problem]:
    """What is wrong although every word is known."""
    problems = []
    planned, maybe = data["planned"], data.get("may_become_necessary", [])
    if not planned or not library.treats(library.techniques[planned[0]]):
        what = "the first planned technique should be the leading one, not an anaesthetic."
        problems.append(Problem(toml.where("planned"), what, "Name the treatment first."))
    for id in maybe:
        if id in planned:
            what = f"'{id}' is planned and may become necessary; it can be only one."
            problems.append(Problem(toml.where("may_become_necessary", id), what))
    problems += _check_anaesthetics(planned, toml, library)
    newer = [id for id in (*planned, *maybe) if library.techniques[id].standing == "newer"]
    if newer and "experience" not in data:
        what = f"'{newer[0]}' is a newer technique, so the patient must be told your experience."
        fix = 'Add experience = "…": how often you have done it, in plain words.'
        problems.append(Problem(toml.where("planned", newer[0]), what, fix))
    return problems


def _check_site(data: Mapping[str, Any], toml: TomlText, clinic: Clinic, library: Library) -> list[Problem]:
    """A slip in the site would quietly compare with treatments elsewhere. What the plan's own region is
    called is none, however near it is to the name of another place."""
    site = data["site"]
    region = library.regions.get(data.get("region", ""))
    known = {*clinic.site_groups, *map(place, region.words if region else ())}
    near = did_you_mean(place(site), clinic.site_groups)
    if place(site) in known or not near:
        return []
    what = f"'{site}' is not among the sites of [groups.sites] in clinic.toml."
    return [Problem(toml.where("site"), what, f"{near} Add it there if it is a site of its own.")]


def _check_anaesthetics(planned: Iterable[str], toml: TomlText, library: Library) -> list[Problem]:
    """An anaesthetic must suit every technique it is planned with, where they name what suits."""
    problems = []
    techniques = [library.techniques[id] for id in planned]
    for numbing in (t for t in techniques if not library.treats(t)):
        for technique in techniques:
            if technique.anaesthetics and numbing.id not in technique.anaesthetics:
                what = f"'{numbing.id}' is not among the anaesthetics for '{technique.id}'."
                fix = f"It lists: {', '.join(technique.anaesthetics)}."
                problems.append(Problem(toml.where("planned", numbing.id), what, fix))
    return problems


def _made(data: Mapping[str, Any], file: str, library: Library, clinic: Clinic) -> Plan:
    done = data.get("done")
    words = ("experience", "consent_taken_by", "interpreter_language", "follow_up")
    return Plan(
        reference=data["reference"],
        prepared=data["prepared"],
        language=data.get("language", clinic.language),
        planned=tuple(data["planned"]),
        may_become_necessary=tuple(data.get("may_become_necessary", ())),
        site=place(data["site"]),
        strata={id: data[id] for id in library.field.strata if id in data},
        region=data.get("region", ""),
        indication=data.get("indication", ""),
        asked=tuple(data.get("asked", ())),
        reasons=data.get("reasons", {}),
        sessions=data["sessions"],
        condition=data["condition"],
        reason=data["reason"],
        factors=tuple(data.get("factors", ())),
        reader_needs=tuple(data.get("reader_needs", ())),
        clinician=data["clinician"],
        clinician_role=data["clinician_role"],
        treatment_date=data.get("treatment_date"),
        information_given=data.get("information_given"),
        consent_day=data.get("consent_day"),
        done=Done(tuple(done["techniques"]), done["date"]) if done else None,
        file=file,
        translated=data.get("translated", {}),
        **{word: data.get(word, "") for word in words},
    )
