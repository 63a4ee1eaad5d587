"""What was imported and entered, taking some of it back, and every value an outcome has had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, RowMapping, delete, select, tuple_, update

from consentpack.errors import Problem, RegisterError
from consentpack.register.opening import Register
from consentpack.register.provenance import Held, Kind, Source, held_from_json, read_held
from consentpack.register.schema import CHANGES, IMPORTS, OUTCOME_SOURCES, treatments
from consentpack.register.spelling import held_as
from consentpack.register.store import Store
from consentpack.register.taking_back import keep
from consentpack.register.talk_back_table import KIND as TALK_BACK


@dataclass(frozen=True)
class Entry:
    """One import or entry by hand."""

    id: int
    at: datetime
    by: str
    kind: str
    file_name: str
    file_digest: str
    read: int
    added: int
    updated: int
    unchanged: int
    set_aside: int
    undone: bool
    undone_at: datetime | None = None
    undone_by: str | None = None
    """Nobody knows of what an older program took back."""


def history(register: Register) -> list[Entry]:
    """Every import and entry, the oldest first; those taken back are marked."""
    with register.connect() as connection:
        return entries(connection)


def entries(connection: Connection) -> list[Entry]:
    """The history, within a snapshot."""
    rows = connection.execute(select(IMPORTS).order_by(IMPORTS.c.id)).mappings()
    return [_entry(row) for row in rows]


def _entry(row: RowMapping | Mapping[str, object]) -> Entry:
    values = dict(row)
    values["read"] = values.pop("rows_read")
    for name in ("undone_number", "undone_after"):
        del values[name]
    return Entry(**values)


def undo(register: Register, *, now: datetime, by: str, number: int | None = None) -> tuple[Entry, int, int]:
    """Take an import or entry back: it, how many treatments went, how many were put back.

    Without a `number` of the history, the last one of treatments by the same person: what a colleague has
    entered since is not theirs to lose. Raises RegisterError when there is no such entry, or when a later one
    has changed the same treatments.
    """
    with register.writing() as connection:
        found = _chosen(connection, by, number)
        _refuse_later(connection, found["id"])
        numbers = keep(connection, found["id"])
        restored = _restore(connection, found["id"])
        gone = _remove(connection, found["id"])
        taken_back = {"undone": True, "undone_at": now, "undone_by": by} | numbers
        connection.execute(update(IMPORTS).where(IMPORTS.c.id == found["id"]).values(taken_back))
        return _entry(found), gone, restored


def _chosen(connection: Connection, by: str, number: int | None) -> RowMapping:
    """The entry to be taken back."""
    rows = connection.execute(select(IMPORTS).order_by(IMPORTS.c.id.desc())).mappings().all()
    # who takes back "my last" means treatments: a talk marked since is not what they lose
    there = [row for row in rows if not row["undone"] and (number or row["kind"] != TALK_BACK)]
    asked = [row for row in there if (row["by"] == by if number is None else row["id"] == number)]
    if asked:
        return asked[0]
    if number is not None:
        done = any(row["id"] == number for row in rows)
        what = f"number {number} is taken back already." if done else f"there is no number {number}."
        raise RegisterError(Problem("register", what, "`consentpack audit history` lists them."))
    if not there:
        raise RegisterError(Problem("register", "there is nothing to take back."))
    what = (
        f"there is nothing of '{by}' to take back. The last is number {there[0]['id']}, by {there[0]['by']}."
    )
    fix = f"To take that one back: `consentpack audit undo --number {there[0]['id']}`."
    raise RegisterError(Problem("register", what, fix))


def _refuse_later(connection: Connection, id: int) -> None:
    """What a later entry was built upon must not be pulled from under it."""
    table = treatments({})
    changed = select(CHANGES.c.case_ref, CHANGES.c.session).where(CHANGES.c.import_id == id)
    added = select(table.c.case_ref, table.c.session).where(table.c.added_by == id)
    key = tuple_(CHANGES.c.case_ref, CHANGES.c.session)
    later = select(CHANGES.c.import_id).join(IMPORTS).where(CHANGES.c.import_id > id, ~IMPORTS.c.undone)
    later = later.where(key.in_(changed) | key.in_(added)).distinct().order_by(CHANGES.c.import_id.desc())
    found = [str(number) for number in connection.execute(later).scalars()]
    if found:
        what = (
            f"number {id} cannot be taken back: later ones changed the same treatments ({', '.join(found)})."
        )
        fix = f"Take those back first, beginning with `consentpack audit undo --number {found[0]}`."
        raise RegisterError(Problem("register", what, fix))


def _remove(connection: Connection, id: int) -> int:
    """Take out the treatments that an import added."""
    table = treatments({})
    ours = select(table.c.id).where(table.c.added_by == id)
    connection.execute(delete(OUTCOME_SOURCES).where(OUTCOME_SOURCES.c.treatment_id.in_(ours)))
    return connection.execute(delete(table).where(table.c.added_by == id)).rowcount


def _restore(connection: Connection, id: int) -> int:
    """Put changed treatments back as they were before an import.

    What something else had changed by then is told by its digest again, or it would pass for our own.
    """
    table = treatments({})
    together = (table.c.case_ref == CHANGES.c.case_ref) & (table.c.session == CHANGES.c.session)
    query = select(CHANGES, table.c.id, table.c.row_digest.label("now")).join(table, together)
    rows = connection.execute(query.where(CHANGES.c.import_id == id)).mappings().all()
    before = {row["id"]: held_from_json(row["before"], row["source_row"]) for row in rows}
    odd = {row["id"]: row["row_digest"] for row in rows if row["row_digest"]}
    changed = {row["id"] for row in rows if odd.get(row["id"], before[row["id"]].digest) != row["now"]}
    if changed:
        Store(connection, Source(id, "file")).write({key: before[key] for key in changed}, odd)
    return len(before)


@dataclass(frozen=True)
class Told:
    """One value of one outcome: what it is or was, and where it came from."""

    outcome: str
    grade: int | None
    """None: not recorded."""
    kind: Kind
    entry: int
    at: datetime
    by: str
    looked: int | None
    replaced: bool
    """True when another value has come in its place."""
    noticed: int | None = None
    """Days from the treatment until it was first noticed, where that is known."""


def values_of(register: Register, case: str, session: int) -> list[Told]:
    """Every value the outcomes of one treatment have had, the oldest first.

    Values that were taken back are not among them. Raises RegisterError when there is no such treatment.
    """
    with register.connect() as connection:
        table = treatments({})
        held = held_as(connection, case, session)
        same = (table.c.case_ref == held, table.c.session == session)
        id = connection.execute(select(table.c.id).where(*same)).scalar()
        if held is None or id is None:
            raise RegisterError(not_there(case, session))
        entries = {row["id"]: row for row in connection.execute(select(IMPORTS)).mappings()}
        states = [*_before(connection, held, session), read_held(connection, [id])[id]]
        found = dict.fromkeys(_told(states, entries))
    return sorted(found, key=lambda each: (each.outcome, each.entry))


def not_there(case: str, session: int) -> Problem:
    """What is said when there is no such treatment."""
    what = f"there is no case {case}, session {session} in the register."
    return Problem("register", what, "Add it with `consentpack audit add`.")


def _before(connection: Connection, case: str, session: int) -> list[Held]:
    """What a treatment was before each change that was not taken back."""
    query = select(CHANGES).join(IMPORTS).where(~IMPORTS.c.undone)
    query = query.where(CHANGES.c.case_ref == case, CHANGES.c.session == session)
    rows = connection.execute(query.order_by(CHANGES.c.import_id))
    return [held_from_json(row.before, row.source_row) for row in rows]


def _told(states: Sequence[Held], entries: Mapping[int, RowMapping]) -> Iterator[Told]:
    now = states[-1]
    for state in states:
        for name, grade in state.treatment.outcomes.items():
            source = state.source(name)
            entry = entries[source.entry]
            day = state.treatment.noticed.get(name)
            still = now.treatment.outcomes.get(name) == grade and now.source(name) == source
            still &= now.treatment.noticed.get(name) == day
            what = (name, grade, source.kind, source.entry, entry["at"], entry["by"], source.looked)
            yield Told(*what, not still, day)
