"""What was imported and entered, and taking the last of it back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, RowMapping, delete, func, select, update

from consentpack.errors import Problem, RegisterError
from consentpack.register.rows import from_json
from consentpack.register.schema import CHANGES, IMPORTS, Register, treatments
from consentpack.register.store import Store


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


def history(register: Register) -> list[Entry]:
    """Every import and entry, the oldest first; those taken back are marked."""
    with register.connect() as connection:
        rows = connection.execute(select(IMPORTS).order_by(IMPORTS.c.id)).mappings()
        return [_entry(row) for row in rows]


def _entry(row: RowMapping | Mapping[str, object]) -> Entry:
    values = dict(row)
    values["read"] = values.pop("rows_read")
    return Entry(**values)


def undo(register: Register) -> tuple[Entry, int, int]:
    """Take the last import or entry back: it, how many treatments went, how many were put back.

    Raises RegisterError when there is nothing to take back.
    """
    with register.writing() as connection:
        last = select(func.max(IMPORTS.c.id)).where(~IMPORTS.c.undone)
        row = connection.execute(select(IMPORTS).where(IMPORTS.c.id == last.scalar_subquery()))
        found = row.mappings().one_or_none()
        if found is None:
            raise RegisterError(Problem("register", "there is nothing to take back."))
        table = treatments({})
        gone = connection.execute(delete(table).where(table.c.added_by == found["id"])).rowcount
        restored = _restore(connection, found["id"])
        connection.execute(update(IMPORTS).where(IMPORTS.c.id == found["id"]).values(undone=True))
        return _entry(found), gone, restored


def _restore(connection: Connection, import_id: int) -> int:
    """Put changed treatments back as they were before an import."""
    query = select(CHANGES.c.source_row, CHANGES.c.before).where(CHANGES.c.import_id == import_id)
    before = [(row.source_row, from_json(row.before)) for row in connection.execute(query)]
    connection.execute(delete(CHANGES).where(CHANGES.c.import_id == import_id))
    Store(connection, import_id, keep_changes=False).put(before)
    return len(before)
