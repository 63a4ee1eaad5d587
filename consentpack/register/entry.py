"""Treatments and outcomes entered one by one, for a clinic without a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Literal

from sqlalchemy import Connection, select

from consentpack.errors import Problem, RegisterError
from consentpack.normal import plain
from consentpack.register.cells import LARGEST_COUNT
from consentpack.register.history import not_there
from consentpack.register.opening import Register
from consentpack.register.provenance import Held, read_held
from consentpack.register.rows import Treatment
from consentpack.register.schema import treatments
from consentpack.register.spelling import held_as
from consentpack.register.store import Store

EntryKind = Literal["entry", "diary"]


def add_treatment(register: Register, treatment: Treatment, *, now: datetime, by: str) -> None:
    """Record a new treatment.

    Raises RegisterError when case and session are there already, in whatever spelling: it is looked for
    under the lock of the writing, or two people could enter one treatment twice.
    """
    _refuse_session(treatment.session)
    with register.writing() as connection:
        if _id_of(connection, treatment.case, treatment.session) is not None:
            what = f"case {plain(treatment.case)}, session {treatment.session} is in the register already."
            fix = "Record what was seen with `consentpack audit outcome`."
            raise RegisterError(Problem("register", what, fix))
        store = Store.begin(connection, at=now, by=by, kind="entry", file="", digest="")
        store.add([Held(treatment, store.source, watched_by_hand=treatment.watched_days)])
        store.finish(rows_read=1, set_aside=0)


def record_outcomes(
    register: Register,
    case: str,
    session: int,
    outcomes: Mapping[str, int],
    *,
    seen_on: date,
    now: datetime,
    by: str,
    kind: EntryKind = "entry",
) -> Treatment:
    """Record what was seen of one treatment on a day; the treatment as it is then.

    Outcomes not named stay as they were, and an earlier day never shortens how long was watched. `kind`
    says whether it comes out of the patient's diary. Raises RegisterError when there is no such
    treatment, or the day is before it or in the future.
    """
    _refuse_session(session)
    if seen_on > now.date():
        raise RegisterError(Problem("register", f"{seen_on} is in the future."))
    with register.writing() as connection:
        id = _id_of(connection, case, session)
        if id is None:
            raise RegisterError(not_there(case, session))
        before = read_held(connection, [id])[id]
        store = Store.begin(connection, at=now, by=by, kind=kind, file="", digest="")
        after = _seen(before, outcomes, seen_on, store)
        if after.digest == before.digest:
            store.unchanged = 1
        else:
            store.change({id: (before, after)})
        store.finish(rows_read=1, set_aside=0)
        return after.treatment


def _id_of(connection: Connection, case: str, session: int) -> int | None:
    """The treatment's number; None when it is not there. Raises as `held_as` does."""
    table = treatments({})
    same = (table.c.case_ref == held_as(connection, case, session), table.c.session == session)
    found: int | None = connection.execute(select(table.c.id).where(*same)).scalar()
    return found


def _refuse_session(session: int) -> None:
    """A number that no database can keep must not get as far as one; an import refuses the same."""
    if not 1 <= session <= LARGEST_COUNT:
        raise RegisterError(Problem("session", f"should be from 1 to {LARGEST_COUNT}."))


def _seen(before: Held, outcomes: Mapping[str, int], seen_on: date, store: Store) -> Held:
    old = before.treatment
    if seen_on < old.day:
        what = f"{seen_on} is before the day of the treatment, {old.day}."
        raise RegisterError(Problem("register", what))
    looked = (seen_on - old.day).days
    after = replace(
        old, watched_days=max(looked, old.watched_days or 0), outcomes={**old.outcomes, **outcomes}
    )
    source = replace(store.source, looked=looked)
    return replace(
        before,
        treatment=after,
        sources={**before.sources, **dict.fromkeys(outcomes, source)},
        watched_by_hand=max(looked, before.watched_by_hand or 0),
        source_row=None,
    )
