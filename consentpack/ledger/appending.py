"""Adding to the ledger: one entry at a time, bound to the one before."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from consentpack.errors import Problem, RegisterError
from consentpack.ledger import merkle
from consentpack.ledger.entry import FIRST, NAMES, Entry, can_be, moment, written
from consentpack.ledger.heads import Head, Signer
from consentpack.ledger.reading import head_of
from consentpack.ledger.tables import ENTRIES, HEAD, make


def append(
    connection: Connection,
    *,
    kind: str,
    by: str,
    now: datetime,
    reference: str = "",
    version: int = 0,
    code: str = "",
    details: Mapping[str, Any] | None = None,
    signer: Signer | None = None,
) -> tuple[Entry, Head]:
    """Add an entry inside a transaction that writes: it, and the head of the ledger with it.

    Raises RegisterError, with nothing added, when the ledger's end is not as this program left it: what was
    taken away must not be hidden under a new entry.
    """
    make(connection)
    try:
        growing, last = _end(connection)
    except (TypeError, ValueError, AttributeError):  # a damaged database gives back anything
        raise RegisterError(_not_as_left()) from None
    entry = Entry(
        number=growing.size + 1,
        at=moment(now),
        kind=kind,
        by=by,
        reference=reference,
        version=version,
        code=code,
        details=written(details or {}),
        previous=last.digest.hex() if last else FIRST,
    )
    if not can_be(tuple(entry.as_row().values())):
        what = "a name or word of it holds letters that cannot be kept. Nothing was entered."
        raise RegisterError(Problem(kind, what, "Type it again without signs that show as boxes."))
    part = growing.add(entry.digest)
    head = Head(growing.size, growing.root.hex(), entry.at)
    head = signer.signed(head) if signer else head
    row = {**entry.as_row(), "digest": entry.digest.hex(), "part": part.hex()}
    connection.execute(insert(ENTRIES), row)
    connection.execute(delete(HEAD))
    connection.execute(insert(HEAD), {"id": 1, **vars(head)})
    return entry, head


def _end(connection: Connection) -> tuple[merkle.Growing, Entry | None]:
    """The tree as it stands, and the last entry. Reads as many rows as the number has digits in base two."""
    head = head_of(connection)
    size = head.size if head else 0
    numbers = merkle.ends(size)
    rows = connection.execute(select(ENTRIES).where(ENTRIES.c.number.in_(numbers))).mappings().all()
    parts = {row["number"]: row["part"] for row in rows}
    newest = connection.execute(select(ENTRIES.c.number).order_by(ENTRIES.c.number.desc()).limit(1)).scalar()
    if sorted(parts) != numbers or (newest or 0) != size:
        raise RegisterError(_not_as_left())
    growing = merkle.Growing([bytes.fromhex(parts[number]) for number in numbers], size)
    if head and growing.root.hex() != head.root:
        raise RegisterError(_not_as_left())
    last = next((Entry(*(row[name] for name in NAMES)) for row in rows if row["number"] == size), None)
    return growing, last


def _not_as_left() -> Problem:
    what = "the end of the ledger is not as this program left it. Nothing was entered."
    return Problem("ledger", what, "`consentpack verify` says where. Bring the register back from a backup.")
