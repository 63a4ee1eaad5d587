"""The audit: importing, entering, counting and watching."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from consentpack import normal
from consentpack.clinic import SKIN_TYPES, keep_columns
from consentpack.errors import Problem, RegisterError, did_you_mean
from consentpack.files import write_file
from consentpack.locks import locked
from consentpack.match import match
from consentpack.model import Clinic, Plan, RateAnswer
from consentpack.pipeline.place import Workplace
from consentpack.plans import load_plan
from consentpack.rates import AuditSource, answer_all
from consentpack.rates.survey import outcomes_of
from consentpack.register import (
    LARGEST_COUNT,
    BadCell,
    Comparison,
    Due,
    Entry,
    ImportResult,
    Reading,
    Register,
    Tally,
    Treatment,
    Window,
    add_treatment,
    due,
    held_as,
    history,
    import_file,
    is_keepable,
    looks_like_identity,
    open_register,
    open_sheet,
    propose,
    read_outcome,
    record_outcomes,
    set_aside_csv,
    tally,
    undo,
)


def audit_source(clinic: Clinic) -> AuditSource | None:
    """The clinic's register as a source of counts; None when nothing has been imported."""
    register = open_register(clinic.register_url)
    if register is None:
        return None

    def counts(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        with register.connect() as connection:
            return tally(connection, comparison, window, watch_days)

    return counts


def audit_digests(place: Workplace) -> dict[str, str]:
    """Every file that changed the register, by digest; entries by hand by their number."""
    register = open_register(place.clinic.register_url)
    entries = history(register) if register else []
    found = [e for e in entries if not e.undone and e.added + e.updated]
    files = {f"audit: import {e.id}, {e.file_name}": e.file_digest for e in found if e.file_name}
    by_hand = sum(not entry.file_name for entry in found)
    return files | ({"audit: entries by hand": str(by_hand)} if by_hand else {})


@dataclass(frozen=True)
class Audit:
    """The register as it stood at one moment: what is counted, and what it was made from."""

    source: AuditSource | None
    """None when nothing has been imported."""
    digests: Mapping[str, str]


@contextmanager
def audit_as_it_stands(place: Workplace) -> Iterator[Audit]:
    """The register for as long as one pack is counted."""
    yield Audit(audit_source(place.clinic), audit_digests(place))


def reading_of(place: Workplace) -> Reading:
    """How this clinic's spreadsheet is read."""
    clinic = place.clinic
    return Reading(
        date_order=clinic.date_order,
        techniques=frozenset(place.library.techniques),
        outcomes=frozenset(place.library.outcomes),
        skin_types=SKIN_TYPES,
        words=clinic.audit_words,
        list_covers=clinic.list_covers,
    )


def writable_register(place: Workplace) -> Register:
    """The clinic's register, made when it is not there yet."""
    register = open_register(place.clinic.register_url, create=True)
    assert register is not None
    return register


def import_audit(
    place: Workplace, path: Path, *, now: datetime, by: str, dry_run: bool = False
) -> tuple[ImportResult, Path | None]:
    """Import a spreadsheet; the result, and the file of rows set aside (None when there are none).

    A dry run writes neither register nor file.
    """
    if dry_run and open_register(place.clinic.register_url) is None:
        with tempfile.TemporaryDirectory() as folder:  # a dry run leaves nothing behind
            url = f"sqlite:///{folder}/register.sqlite"
            elsewhere = replace(place, clinic=replace(place.clinic, register_url=url))
            writable_register(elsewhere)
            return import_audit(elsewhere, path, now=now, by=by, dry_run=True)
    result = import_file(
        writable_register(place),
        path,
        columns=place.clinic.audit_columns,
        reading=reading_of(place),
        now=now,
        by=by,
        dry_run=dry_run,
    )
    if dry_run:
        return result, None
    aside = path.with_name(f"{path.stem}.set-aside.csv")
    if result.set_aside:
        write_file(aside, set_aside_csv(result))
        return result, aside
    aside.unlink(missing_ok=True)
    return result, None


def plan_rates(place: Workplace, plan_path: Path) -> tuple[Plan, dict[str, RateAnswer]]:
    """The figures one plan would quote."""
    plan = load_plan(plan_path, place.library, place.clinic)
    matches = match(plan, place.library)
    return plan, answer_all(plan, place.library, place.clinic, matches, audit_source(place.clinic))


def existing_register(place: Workplace) -> Register:
    """The clinic's register. Raises RegisterError when nothing has been imported or entered yet."""
    register = open_register(place.clinic.register_url)
    if register is None:
        what = "there is no audit yet."
        fix = "Import one with `consentpack audit import FILE`, or begin with `consentpack audit add`."
        raise RegisterError(Problem("register", what, fix))
    return register


def propose_columns(place: Workplace, path: Path) -> tuple[dict[str, str], list[str]]:
    """A column map for a spreadsheet's headers, to be looked at by somebody of the clinic; and the
    headers that look like an identity, which are left out so that the file goes on being refused."""
    titles = {id: (o.title, o.clinical) for id, o in place.library.outcomes.items()}
    proposed = propose(open_sheet(path).headers, titles)
    identities = [header for header in proposed if looks_like_identity(header)]
    return {h: meaning for h, meaning in proposed.items() if h not in identities}, identities


def save_columns(place: Workplace, columns: Mapping[str, str]) -> Path:
    """Put a column map into clinic.toml; everything else there stays as it was written."""
    with locked(place.folder):
        return keep_columns(place.folder, columns)


def add(
    place: Workplace,
    *,
    case: str,
    session: int,
    day: date,
    techniques: Iterable[str],
    site: str,
    skin_type: str | None,
    now: datetime,
    by: str,
) -> None:
    """Enter a treatment by hand. Raises RegisterError for words the library does not know."""
    names = tuple(sorted(set(techniques)))
    case, site = normal.plain(case), normal.place(site)
    treatment = Treatment(case, session, day, names, site, skin_type, None, {})
    known = place.library.techniques
    problems = _check_typed(case=case, session=session, site=site)
    problems += [
        Problem("techniques", f"there is no technique '{id}'.", did_you_mean(id, known))
        for id in treatment.techniques
        if id not in known
    ]
    if treatment.day > now.date():
        problems.append(Problem("date", f"{treatment.day} is in the future."))
    if problems:
        raise RegisterError(problems)
    register = writable_register(place)
    case = _as_held(register, case, session) or case
    add_treatment(register, replace(treatment, case=case), now=now, by=by)


def _check_typed(*, case: str, session: int, site: str) -> list[Problem]:
    """Nothing may be blank, and no slip of the keyboard so long that no database holds it."""
    typed = {"case": case, "site": site}
    problems = [Problem(name, "is blank; type it.") for name, text in typed.items() if not text]
    for name, text in typed.items():
        if not is_keepable(text):
            problems.append(Problem(name, "holds a character that cannot be kept; type it again."))
    if not 1 <= session <= LARGEST_COUNT:
        problems.append(Problem("session", f"should be from 1 to {LARGEST_COUNT}."))
    return problems


def _as_held(register: Register, case: str, session: int) -> str | None:
    """The case as the register writes it; None when it is not there.

    Raises RegisterError when it is there in other capitals alone: that may be a slip or another case.
    """
    held = held_as(register, case, session)
    if held is not None and normal.plain(held) != case:
        what = f"case '{case}' is in the register as '{held}'."
        fix = "Type it in the same capital and small letters, or give it a reference of its own."
        raise RegisterError(Problem("case", what, fix))
    return held


def record(
    place: Workplace,
    case: str,
    session: int,
    seen: Mapping[str, str],
    *,
    seen_on: date,
    now: datetime,
    by: str,
) -> Treatment:
    """Enter what was seen of a treatment: outcome id -> yes, no or a grade. Raises RegisterError."""
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
    register = existing_register(place)
    case = _as_held(register, case, session) or case
    return record_outcomes(register, case, session, outcomes, seen_on=seen_on, now=now, by=by)


def overdue(place: Workplace, today: date) -> list[Due]:
    """Treatments whose watching time has passed with nothing recorded."""
    library = place.library
    tracked = set(place.clinic.audit_columns.values()) | set(place.clinic.list_covers)
    tracked &= set(library.outcomes)
    days = {id: o.watch_days for id, o in library.outcomes.items() if id in tracked or not tracked}

    def outcomes_of_all(used: frozenset[str]) -> set[str]:
        found = (library.techniques[id] for id in used if id in library.techniques)
        return {outcome for technique in found for outcome in outcomes_of(technique)}

    with existing_register(place).connect() as connection:
        return due(connection, days, today, outcomes_of_all)


def past_imports(place: Workplace) -> list[Entry]:
    """Every import and entry, the oldest first."""
    return history(existing_register(place))


def take_back(place: Workplace) -> tuple[Entry, int, int]:
    """Take the last import or entry back: it, how many treatments went, how many were put back."""
    return undo(existing_register(place))
