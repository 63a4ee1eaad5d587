"""Treatments and outcomes entered one by one, for a clinic without a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import select

from consentpack.errors import Problem, RegisterError
from consentpack.register.rows import Treatment
from consentpack.register.schema import Register, treatments
from consentpack.register.store import Store, read_treatments


def add_treatment(register: Register, treatment: Treatment, *, now: datetime, by: str) -> None:
    """Record a new treatment. Raises RegisterError when case and session are there already."""
    with register.writing() as connection:
        store = Store.begin(connection, at=now, by=by, kind="entry", file="", digest="")
        store.put([(None, treatment)])
        if store.updated or store.unchanged:
            what = f"case {treatment.case}, session {treatment.session} is in the register already."
            fix = "Record what was seen with `consentpack audit outcome`."
            raise RegisterError(Problem("register", what, fix))
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
) -> Treatment:
    """Record what was seen of one treatment on a day; the treatment as it is then.

    Outcomes not named stay as they were. Raises RegisterError when there is no such treatment, or
    the day is before it or in the future.
    """
    if seen_on > now.date():
        raise RegisterError(Problem("register", f"{seen_on} is in the future."))
    with register.writing() as connection:
        table = treatments({})
        same = (table.c.case_ref == case, table.c.session == session)
        id = connection.execute(select(table.c.id).where(*same)).scalar()
        if id is None:
            what = f"there is no case {case}, session {session} in the register."
            raise RegisterError(Problem("register", what, "Add it with `consentpack audit add`."))
        before = read_treatments(connection, [id])[id]
        after = _seen(before, outcomes, seen_on)
        store = Store.begin(connection, at=now, by=by, kind="entry", file="", digest="")
        store.put([(None, after)])
        store.finish(rows_read=1, set_aside=0)
        return after


def _seen(before: Treatment, outcomes: Mapping[str, int], seen_on: date) -> Treatment:
    if seen_on < before.day:
        what = f"{seen_on} is before the day of the treatment, {before.day}."
        raise RegisterError(Problem("register", what))
    looked = max((seen_on - before.day).days, before.watched_days or 0)
    return replace(before, watched_days=looked, outcomes={**before.outcomes, **outcomes})
