"""Treatments and outcomes entered one by one, for a clinic without a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Literal

from sqlalchemy import Connection, select

from consentpack.errors import Problem, RegisterError
from consentpack.normal import plain
from consentpack.register.cells import LARGEST_COUNT
from consentpack.register.history import not_there
from consentpack.register.opening import Register
from consentpack.register.provenance import Held, read_held
from consentpack.register.schema import treatments
from consentpack.register.spelling import held_as
from consentpack.register.store import Store
from consentpack.register.treatment import Treatment

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
    noticed_on: date | Mapping[str, date] | None = None,
    retreated_on: date | None = None,
) -> Treatment:
    """Record what was seen of one treatment on a day; the treatment as it is then.

    Outcomes not named stay as they were, and an earlier day never shortens how long was watched. `kind`
    says whether it comes out of the patient's diary. `noticed_on` is the day on which what was seen was
    first noticed, or that of each by its outcome; `retreated_on` that on which the same place was treated
    again. Raises RegisterError when
    there is no such treatment, or a day is before it, in the future, or noticed after it was seen.
    """
    _refuse_session(session)
    days = _Days(seen_on, _each_noticed(noticed_on, outcomes), retreated_on)
    days.refuse_future(now.date(), outcomes)
    with register.writing() as connection:
        id = _id_of(connection, case, session)
        if id is None:
            raise RegisterError(not_there(case, session))
        before = read_held(connection, [id])[id]
        store = Store.begin(connection, at=now, by=by, kind=kind, file="", digest="")
        after = _seen(before, outcomes, days, store)
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


def _each_noticed(on: date | Mapping[str, date] | None, outcomes: Mapping[str, int]) -> Mapping[str, date]:
    """The day on which each outcome that was seen was first noticed, of those that have one."""
    if not isinstance(on, date):
        return on or {}
    if not any(outcomes.values()):
        what = "a day on which something was first noticed needs something that was seen."
        raise RegisterError(Problem("register", what, "Write OUTCOME=yes, or leave the day out."))
    return {name: on for name, grade in outcomes.items() if grade}


@dataclass(frozen=True)
class _Days:
    """The days of one entry."""

    seen: date
    noticed: Mapping[str, date]
    retreated: date | None

    def refuse_future(self, today: date, outcomes: Mapping[str, int]) -> None:
        for day in self._all:
            if day > today:
                raise RegisterError(Problem("register", f"{day} is in the future."))
        for name, day in self.noticed.items():
            if day > self.seen:
                what = f"it cannot be first noticed on {day} and seen before, on {self.seen}."
                raise RegisterError(Problem("register", what))
            if not outcomes.get(name):
                what = f"a day on which '{name}' was first noticed needs that it was seen."
                raise RegisterError(Problem("register", what, "Write OUTCOME=yes, or leave the day out."))

    @property
    def _all(self) -> tuple[date, ...]:
        return (self.seen, *self.noticed.values(), *([self.retreated] if self.retreated else ()))

    def after(self, treated: date) -> tuple[int, dict[str, int], int | None]:
        """Days from the treatment to each. Raises RegisterError for one before it."""
        for day in self._all:
            if day < treated:
                what = f"{day} is before the day of the treatment, {treated}."
                raise RegisterError(Problem("register", what))
        noticed = {name: (day - treated).days for name, day in self.noticed.items()}
        retreated = None if self.retreated is None else (self.retreated - treated).days
        return (self.seen - treated).days, noticed, retreated


def _seen(before: Held, outcomes: Mapping[str, int], days: _Days, store: Store) -> Held:
    old = before.treatment
    looked, noticed, retreated = days.after(old.day)
    after = replace(
        old,
        watched_days=max(looked, old.watched_days or 0),
        outcomes={**old.outcomes, **outcomes},
        noticed=_noticed(old, outcomes, noticed),
        retreated_days=old.retreated_days if retreated is None else retreated,
    )
    source = replace(store.source, looked=looked)
    return replace(
        before,
        treatment=after,
        sources={**before.sources, **dict.fromkeys(outcomes, source)},
        watched_by_hand=max(looked, before.watched_by_hand or 0),
        source_row=None,
    )


def _noticed(old: Treatment, outcomes: Mapping[str, int], days: Mapping[str, int]) -> dict[str, int]:
    """When each outcome was first noticed: what is seen once more was first noticed when it was."""
    gone = {name for name, grade in outcomes.items() if not grade}
    kept = {name: days for name, days in old.noticed.items() if name not in gone}
    return {**kept, **days}
