"""Looking things up in the ledger, within a snapshot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, select

from consentpack.errors import Problem, RegisterError
from consentpack.ledger.entry import NAMES, Entry, can_be
from consentpack.ledger.heads import Head
from consentpack.ledger.tables import ENTRIES, HEAD, is_there

_COLUMNS = [ENTRIES.c[name] for name in NAMES]
_BATCH = 5000


def head_of(connection: Connection) -> Head | None:
    """The head as it is kept; None before the first entry."""
    if not is_there(connection):
        return None
    row = connection.execute(select(HEAD).order_by(HEAD.c.id)).mappings().first()
    return Head(row["size"], row["root"], row["at"], row["key"], row["signature"]) if row else None


def entries_of(connection: Connection, reference: str) -> tuple[Entry, ...]:
    """All that was entered under a reference, the oldest first."""
    return _found(connection, ENTRIES.c.reference == reference)


def entries_with(connection: Connection, code: str) -> tuple[Entry, ...]:
    """All that was entered of the pack with a code."""
    return _found(connection, ENTRIES.c.code == code)


def entries_of_kind(connection: Connection, kind: str) -> tuple[Entry, ...]:
    """All entries of a kind, the oldest first."""
    return _found(connection, ENTRIES.c.kind == kind)


def entries_saying(connection: Connection, digest: str) -> tuple[Entry, ...]:
    """The entries of packs given that name a digest. Looks through all of them."""
    return _found(connection, (ENTRIES.c.kind == "given") & ENTRIES.c.details.contains(digest))


def entries_with_scan(connection: Connection, digest: str) -> tuple[Entry, ...]:
    """The entries that name a scan by its digest. Looks through all of them."""
    return _found(connection, (ENTRIES.c.kind != "given") & ENTRIES.c.details.contains(digest))


def _found(connection: Connection, condition: ColumnElement[bool]) -> tuple[Entry, ...]:
    if not is_there(connection):
        return ()
    rows = connection.execute(select(*_COLUMNS).where(condition).order_by(ENTRIES.c.number))
    return tuple(_entry(row) for row in rows)


def _entry(row: Sequence[Any]) -> Entry:
    """Raises RegisterError where a damaged database gives back what no entry holds."""
    if not can_be(row):
        what = "it holds what no entry can hold: the database was damaged or changed."
        raise RegisterError(
            Problem(f"ledger, entry {row[0]}", what, "Bring the register back from a backup.")
        )
    return Entry(*row)


def entry_of(connection: Connection, number: int) -> Entry | None:
    """One entry by its number."""
    found = _found(connection, ENTRIES.c.number == number)
    return found[0] if found else None


def references(connection: Connection) -> tuple[str, ...]:
    """Every reference there is an entry of."""
    if not is_there(connection):
        return ()
    query = select(ENTRIES.c.reference).where(ENTRIES.c.reference != "").distinct()
    return tuple(sorted(connection.execute(query).scalars()))


@dataclass(frozen=True)
class Standing:
    """A pack that was given, and what came of it."""

    given: Entry
    later: tuple[Entry, ...] = ()
    """What was entered of this version since, the oldest first."""
    superseded_by: int = 0
    """The version that was given after it; 0 while it is the newest."""

    @property
    def state(self) -> str:
        """What came last. A newer version takes the place of one that nobody answered or was treated by."""
        kinds = [each.kind for each in self.later if each.kind != "differently"]
        if "treated" in kinds:
            return "withdrawn" if "withdrawn" in kinds[kinds.index("treated") :] else "treated"
        return "superseded" if self.superseded_by else kinds[-1] if kinds else "given"

    @property
    def is_open(self) -> bool:
        """Whether somebody may still be treated by it."""
        return self.state in ("given", "signed", "confirmed", "more-time")


def standings(
    connection: Connection, *, reference: str = "", leave_out_damaged: bool = False
) -> Iterator[Standing]:
    """Every pack that was given, in the order of references and versions; of one reference, where named.

    `leave_out_damaged`: for whoever names entries that cannot be read in another way.
    """
    if not is_there(connection):
        return
    query = select(*_COLUMNS).where(ENTRIES.c.version > 0)
    query = query.where(ENTRIES.c.reference == reference) if reference else query
    query = query.order_by(ENTRIES.c.reference, ENTRIES.c.version, ENTRIES.c.number)
    group: list[list[Entry]] = []
    for row in connection.execute(query, execution_options={"yield_per": _BATCH}):
        if leave_out_damaged and not can_be(row):
            continue
        entry = _entry(row)
        if group and group[0][0].reference != entry.reference:
            yield from _standings(group)
            group = []
        if not group or group[-1][0].version != entry.version:
            group.append([])
        group[-1].append(entry)
    if group:
        yield from _standings(group)


def _standings(versions: list[list[Entry]]) -> Iterator[Standing]:
    """Those of one reference; entries without the one that gave the pack are none."""
    found = [each for each in versions if each[0].kind == "given"]
    for position, (given, *later) in enumerate(found):
        after = found[position + 1][0].version if position + 1 < len(found) else 0
        yield Standing(given, tuple(later), after)
