"""The register as it stood at an earlier moment, so that any figure can be counted again.

A copy is taken back to the moment. Each treatment becomes what the first thing that happened to it since
then has kept of it: an import or entry in `changes`, a taking back in `taken_back`. What was added since
goes. The register itself is only read.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, delete, literal, null, select, union_all, update

from consentpack.errors import Problem, RegisterError
from consentpack.register.follow_up_table import FOLLOW_UPS
from consentpack.register.moment import Moment, moment_of
from consentpack.register.opening import Register
from consentpack.register.provenance import Source, held_from_json
from consentpack.register.schema import (
    CHANGES,
    FIELD_COLUMNS,
    IMPORTS,
    OUTCOME_COLUMNS,
    TAKEN_BACK,
)
from consentpack.register.store import Back, Store
from consentpack.register.talk_back_table import TALK_BACKS
from consentpack.register.then_copied import copied

_BATCH = 2000


def as_it_stood(register: Register, moment: Moment, folder: Path) -> Register:
    """The register as it stood at a moment, to be read: a copy in `folder`, which holds treatment rows and
    must be deleted with it.

    Where nothing has happened since, it is the register itself, for as long as nothing does. What another
    program has changed since is as that left it, and told by `state_of`. Raises RegisterError for a moment
    that the register has not come to, or never stood at, and where an older program's taking back has left
    no trace.
    """
    with register.connect() as connection:
        now = moment_of(connection)
        if now == moment:
            return _Still(register.engine, moment, folder)
        _refuse(connection, moment, now)
        copy, path = copied(connection, folder)
    try:
        with copy.writing() as connection:
            _go_back(connection, moment)
    except BaseException:
        path.unlink()
        raise
    return copy


@dataclass(frozen=True)
class _Still(Register):
    """A register in which nothing has happened since a moment. When something does, a copy is read."""

    moment: Moment
    folder: Path

    @contextmanager
    def connect(self) -> Iterator[Connection]:
        with super().connect() as connection:
            if moment_of(connection) == self.moment:
                yield connection
                return
        with self._copy.connect() as connection:
            yield connection

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """Nothing of an earlier moment can be written: it would be written now."""
        raise RegisterError(Problem("register", "as it stood at an earlier moment it can only be read."))
        yield

    @cached_property
    def _copy(self) -> Register:
        return as_it_stood(Register(self.engine), self.moment, self.folder)


# --- moments that cannot be told ------------------------------------------------------------------


def _refuse(connection: Connection, moment: Moment, now: Moment) -> None:
    if moment.imports > now.imports or moment.undone > now.undone:
        what = f"it was asked for as it stood at {_said(moment)}, and has only come to {_said(now)}."
        fix = "Was it put back from an older copy? What came after that copy is not in it."
        raise RegisterError(Problem("register", what, fix))
    names = ("id", "undone", "undone_number", "undone_after")
    done = connection.execute(select(*(IMPORTS.c[name] for name in names))).all()
    taken = [(row.undone_number, row.undone_after) for row in done if row.undone_number]
    if moment.imports not in (0, *(row.id for row in done)) or not _stood(taken, moment):
        what = f"it never stood at {_said(moment)}: this is another register, or one put back from a copy."
        raise RegisterError(Problem("register", what, "See 'register' under [audit] in clinic.toml."))
    unkept = [row.id for row in done if row.undone and not row.undone_number]
    since = sum(number > moment.undone for number, _ in taken)
    if since != now.undone - moment.undone or any(id > moment.imports for id in unkept):
        numbers = ", ".join(map(str, unkept))
        what = (
            f"how it stood at {_said(moment)} cannot be told: an older consentpack has taken back number "
            f"{numbers} since then, and kept nothing of what that took away."
        )
        raise RegisterError(Problem("register", what, "A copy of the register of that time still tells it."))


def _said(moment: Moment) -> str:
    return f"number {moment.imports} with {moment.undone} taken back"


def _stood(taken: list[tuple[int, int]], moment: Moment) -> bool:
    """Whether what was taken back by a moment was so before its last import, and the rest after it."""
    if moment.undone < 0:
        return False
    return all(
        after <= moment.imports if number <= moment.undone else after >= moment.imports
        for number, after in taken
    )


# --- going back -----------------------------------------------------------------------------------


def _go_back(connection: Connection, moment: Moment) -> None:
    """Make a copy what the register was."""
    store = Store(connection, Source(moment.imports, "file"))
    store.remove_added_after(moment.imports)
    back = _back(connection, moment)
    while batch := list(islice(back, _BATCH)):
        store.put_back(batch)
    later = select(IMPORTS.c.id).where(IMPORTS.c.undone_number > moment.undone)
    connection.execute(delete(TAKEN_BACK).where(TAKEN_BACK.c.import_id.in_(later)))
    connection.execute(delete(CHANGES).where(CHANGES.c.import_id > moment.imports))
    for columns in (OUTCOME_COLUMNS, FIELD_COLUMNS):
        connection.execute(delete(columns).where(columns.c.made_by > moment.imports))
    for table in (TALK_BACKS, FOLLOW_UPS):
        connection.execute(delete(table).where(table.c.import_id > moment.imports))
    connection.execute(delete(IMPORTS).where(IMPORTS.c.id > moment.imports))
    nothing = dict.fromkeys(("undone_at", "undone_by", "undone_number", "undone_after"))
    there = update(IMPORTS).where(IMPORTS.c.undone_number > moment.undone)
    connection.execute(there.values(undone=False, **nothing))


def _back(connection: Connection, moment: Moment) -> Iterator[Back]:
    """What each treatment was that was there and to which something has happened since."""
    rows = connection.execute(_kept(moment), execution_options={"yield_per": _BATCH})
    for _, since in groupby(rows, key=lambda row: (row.case_ref, row.session)):
        first, *others = since
        held = held_from_json(first.before, first.source_row)
        if held.added.entry <= moment.imports:  # else it was not there
            ids = (row.treatment_id for row in (first, *others))
            yield Back(next((id for id in ids if id is not None), None), held, first.row_digest)


def _kept(moment: Moment) -> Select[Any]:
    """All that was kept of treatments since a moment, for each in the order in which it happened."""
    key, kept = ("case_ref", "session"), ("source_row", "row_digest")
    changed = select(
        *(CHANGES.c[name] for name in (*key, *kept, "before")),
        CHANGES.c.import_id.label("place"),
        literal(0).label("turn"),
        null().label("treatment_id"),
    ).where(CHANGES.c.import_id > moment.imports)
    taken = select(
        *(TAKEN_BACK.c[name] for name in (*key, *kept, "was")),
        IMPORTS.c.undone_after,
        IMPORTS.c.undone_number,
        TAKEN_BACK.c.treatment_id,
    )
    taken = taken.join(IMPORTS).where(IMPORTS.c.undone_number > moment.undone)
    every = union_all(changed, taken).subquery()
    return select(every).order_by(*(every.c[name] for name in (*key, "place", "turn")))
