"""What is kept of treatments just before an import is taken back: without it, a figure that was counted
in the meantime could never be counted again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, insert, select, union

from consentpack.register.moment import moment_of
from consentpack.register.provenance import Held, read_held
from consentpack.register.schema import CHANGES, TAKEN_BACK, field_columns, treatments

_BATCH = 2000


def keep(connection: Connection, id: int) -> dict[str, int]:
    """Keep all that taking back an import will change or take out; what is written of it in `imports`."""
    ids, more = _touched(connection, id), field_columns(connection)
    for start in range(0, len(ids), _BATCH):
        held = read_held(connection, ids[start : start + _BATCH], more)
        connection.execute(insert(TAKEN_BACK), list(_rows(id, held)))
    now = moment_of(connection)
    return {"undone_number": now.undone + 1, "undone_after": now.imports}


def _touched(connection: Connection, id: int) -> list[int]:
    """The treatments in the register that an import added or changed."""
    table = treatments({})
    together = (table.c.case_ref == CHANGES.c.case_ref) & (table.c.session == CHANGES.c.session)
    changed = select(table.c.id).join(CHANGES, together).where(CHANGES.c.import_id == id)
    added = select(table.c.id).where(table.c.added_by == id)
    return list(connection.execute(union(changed, added)).scalars())


def _rows(entry: int, found: dict[int, Held]) -> Iterator[dict[str, Any]]:
    for id, held in found.items():
        yield {
            "import_id": entry,
            "case_ref": held.treatment.case,
            "session": held.treatment.session,
            "treatment_id": id,
            "was": held.as_json(),
            "source_row": held.source_row,
            "row_digest": held.odd_digest,
        }
