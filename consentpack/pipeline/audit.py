"""The audit: importing, entering, counting and watching."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from consentpack import normal
from consentpack.errors import Problem, RegisterError, did_you_mean
from consentpack.match import match
from consentpack.model import Plan, RateAnswer
from consentpack.pipeline.kept_answers import keep_answers, with_kept
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.registers import (
    audit_as_it_stands,
    existing_register,
    refuse_none,
    writable_register,
)
from consentpack.pipeline.set_aside import AsideFile
from consentpack.plans import load_plan
from consentpack.rates import answer_all
from consentpack.register import (
    CELL_LETTERS,
    LARGEST_COUNT,
    BadCell,
    Checked,
    Entry,
    ImportResult,
    Reading,
    Told,
    Treatment,
    Wanted,
    add_treatment,
    check_register,
    history,
    import_file,
    is_keepable,
    open_register,
    read_outcome,
    record_outcomes,
    repair_register,
    stratum_value,
    technique_ids,
    undo,
    values_of,
)


def reading_of(place: Workplace) -> Reading:
    """How this clinic's spreadsheet is read."""
    clinic = place.clinic
    return Reading(
        date_order=clinic.date_order,
        # what was done stays done, also while somebody is rewriting the module
        techniques=frozenset(place.library.techniques) | place.library.not_in_use("techniques"),
        outcomes=frozenset(place.library.outcomes) | place.library.not_in_use("risks", "benefits"),
        strata=place.library.field.strata,
        measurements=place.library.field.measurements,
        words=clinic.audit_words,
        list_covers=clinic.list_covers,
        names=_names(place),
    )


def _names(place: Workplace) -> dict[str, tuple[str, ...]]:
    """What each id is called beside, in the headers and cells of a spreadsheet."""
    library, medicine = place.library, place.library.field
    names: dict[str, tuple[str, ...]] = {id: (t.title,) for id, t in library.techniques.items()}
    names |= {id: (o.title, o.clinical) for id, o in library.outcomes.items()}
    names |= {id: each.called for id, each in medicine.strata.items()}
    return names | {id: each.called for id, each in medicine.measurements.items()}


def import_audit(
    place: Workplace,
    path: Path,
    *,
    now: datetime,
    by: str,
    dry_run: bool = False,
    overwrite_by_hand: bool = False,
    wanted: Wanted | None = None,
) -> tuple[ImportResult, Path | None]:
    """Import a spreadsheet; the result, and the file of rows set aside (None when there are none).

    `wanted` names the sheet and the rows of the headers; it is kept in clinic.toml for the next file. What it
    leaves open is as clinic.toml says, or is found; the result says where. A dry run writes neither register
    nor file. Raises KeptError when the rows are in the register and what should follow, such as the file of
    rows set aside, could not be put in its place.
    """
    refuse_none(place.clinic)
    if dry_run and open_register(place.clinic.register_url) is None:
        with tempfile.TemporaryDirectory() as folder:  # a dry run leaves nothing behind
            elsewhere = replace(place.clinic, register_url=f"{folder}/register.sqlite")
            open_register(elsewhere.register_url, create=True)
            there = replace(place, clinic=elsewhere)
            return import_audit(there, path, now=now, by=by, dry_run=True, wanted=wanted)
    aside = AsideFile(path)
    try:
        result = import_file(
            writable_register(place),
            path,
            columns=place.clinic.audit_columns,
            reading=reading_of(place),
            now=now,
            by=by,
            dry_run=dry_run,
            overwrite_by_hand=overwrite_by_hand,
            wanted=with_kept(place, wanted),
            before_commit=aside.prepare,
        )
    except BaseException:
        aside.drop()
        raise
    if dry_run:
        return result, None
    shown = aside.show()
    if wanted:
        keep_answers(place, wanted, result.place)
    return result, shown


def plan_rates(place: Workplace, plan_path: Path) -> tuple[Plan, dict[str, RateAnswer]]:
    """The figures one plan would quote."""
    plan = load_plan(plan_path, place.library, place.clinic)
    matches = match(plan, place.library)
    with audit_as_it_stands(place) as audit:
        return plan, answer_all(plan, place.library, place.clinic, matches, audit.source)


def add(
    place: Workplace,
    *,
    case: str,
    session: int,
    day: date,
    techniques: Iterable[str],
    site: str,
    strata: Mapping[str, str],
    now: datetime,
    by: str,
) -> None:
    """Enter a treatment by hand. Raises RegisterError for words the library does not know."""
    names, problems = _techniques(place, techniques)
    case, site = normal.plain(case), normal.place(site)
    of_patient, wrong = _strata(place, strata)
    problems += wrong
    treatment = Treatment(case, session, day, names, site, None, {}, strata=of_patient)
    problems += _check_typed(case=case, session=session, site=site)
    if treatment.day > now.date():
        problems.append(Problem("date", f"{treatment.day} is in the future."))
    if problems:
        raise RegisterError(problems)
    add_treatment(writable_register(place), treatment, now=now, by=by)


def _techniques(place: Workplace, typed: Iterable[str]) -> tuple[tuple[str, ...], list[Problem]]:
    """The ids of techniques as they were typed: by id, by name, or in the clinic's own words."""
    found, problems, reading = set[str](), [], reading_of(place)
    for word in typed:
        try:
            found |= set(technique_ids(word, reading))
        except BadCell:
            near = did_you_mean(word, reading.techniques)
            problems.append(Problem("techniques", f"there is no technique '{word}'.", near))
    return tuple(sorted(found)), problems


def _strata(place: Workplace, typed: Mapping[str, str]) -> tuple[dict[str, str], list[Problem]]:
    """What was typed of each stratum, as the field writes it."""
    known, found, problems = place.library.field.strata, {}, []
    for id, word in typed.items():
        if id not in known:
            fix = did_you_mean(id, known) or f"There is: {', '.join(known)}."
            problems.append(Problem("stratum", f"there is no stratum '{id}'.", fix))
            continue
        try:
            found[id] = stratum_value(known[id], normal.plain(word))
        except BadCell as error:
            problems.append(Problem(id, f"'{word}' {error}."))
    return found, problems


def _check_typed(*, case: str, session: int, site: str) -> list[Problem]:
    """Nothing may be blank, and no slip of the keyboard so long that no database holds it."""
    typed = {"case": case, "site": site}
    problems = [Problem(name, "is blank; type it.") for name, text in typed.items() if not text]
    for name, text in typed.items():
        if not is_keepable(text):
            problems.append(Problem(name, "holds a character that cannot be kept; type it again."))
        if len(text) > CELL_LETTERS:
            problems.append(Problem(name, f"is longer than {CELL_LETTERS} characters."))
    if not 1 <= session <= LARGEST_COUNT:
        problems.append(Problem("session", f"should be from 1 to {LARGEST_COUNT}."))
    return problems


def record(
    place: Workplace,
    case: str,
    session: int,
    seen: Mapping[str, str],
    *,
    seen_on: date,
    now: datetime,
    by: str,
    diary: bool = False,
    noticed_on: date | Mapping[str, date] | None = None,
    retreated_on: date | None = None,
) -> Treatment:
    """Enter what was seen of a treatment: outcome id -> yes, no or a grade. Raises RegisterError.

    `diary` says that it comes out of the patient's diary. `noticed_on` and `retreated_on` are as in
    `record_outcomes`.
    """
    case = normal.plain(case)
    outcomes, problems = {}, _check_typed(case=case, session=session, site="-")
    for id, word in seen.items():
        if id not in place.library.outcomes:
            near = did_you_mean(id, place.library.outcomes)
            problems.append(Problem("outcome", f"there is no outcome '{id}'.", near))
            continue
        try:
            grade = read_outcome(word)
        except BadCell as error:
            problems.append(Problem(id, f"'{word}' {error}."))
            continue
        if grade is not None:
            outcomes[id] = grade
    if problems:
        raise RegisterError(problems)
    return record_outcomes(
        existing_register(place),
        case,
        session,
        outcomes,
        seen_on=seen_on,
        now=now,
        by=by,
        kind="diary" if diary else "entry",
        noticed_on=noticed_on,
        retreated_on=retreated_on,
    )


def past_imports(place: Workplace) -> list[Entry]:
    """Every import and entry, the oldest first."""
    return history(existing_register(place))


def values(place: Workplace, case: str, session: int) -> list[Told]:
    """Every value the outcomes of one treatment have had, and where it came from."""
    return values_of(existing_register(place), case, session)


def take_back(
    place: Workplace, *, now: datetime, by: str, number: int | None = None
) -> tuple[Entry, int, int]:
    """Take an import or entry back: it, how many treatments went, how many were put back.

    Without a number of the history, the last one by the same person.
    """
    return undo(existing_register(place), now=now, by=by, number=number)


def check(place: Workplace, *, repair: bool = False) -> Checked:
    """Whether the register still is what this program wrote; what figures are counted from is first built
    anew from the rows, where that is asked for."""
    register = existing_register(place)
    if repair:
        repair_register(register)
    return check_register(register)
