"""Whether the ledger is whole: every entry as it was written, in its place, and none taken away."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import OperationalError

from consentpack.ledger import merkle
from consentpack.ledger.entry import FIRST, NAMES, encoded
from consentpack.ledger.heads import Head
from consentpack.ledger.reading import head_of
from consentpack.ledger.tables import ENTRIES, HEAD, is_there

_BATCH = 10_000
MOST_FAULTS = 50
"""No more are told: one entry that is gone can be seen in many places."""


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was written."""

    number: int
    """Of the entry; 0 for the ledger as a whole."""
    what: str


@dataclass(frozen=True)
class Unseen:
    """An entry of which no head is known that was kept elsewhere."""

    number: int
    kind: str
    reference: str
    version: int


@dataclass
class _Reading:
    """What is remembered from one entry to the next."""

    known: Mapping[int, Head] | None
    """None where nobody asks."""
    growing: merkle.Growing = field(default_factory=merkle.Growing)
    digest: str = FIRST
    number: int = 0
    at: str = ""
    key: str = ""
    faults: list[Fault] = field(default_factory=list)
    warnings: list[Fault] = field(default_factory=list)
    unseen: list[Unseen] = field(default_factory=list)
    other_heads: list[int] = field(default_factory=list)
    apart: bool = False
    """Whether the last known head was another than this ledger's."""


@dataclass(frozen=True)
class Whole:
    """What a check of the whole ledger found."""

    size: int
    head: Head | None
    faults: tuple[Fault, ...]
    warnings: tuple[Fault, ...] = ()
    """What may be right and has to be explained: a clock that was set back."""
    other_heads: tuple[int, ...] = ()
    """Sizes of known heads this ledger does not come to, the first after each that it does come to."""
    unseen: tuple[Unseen, ...] = ()
    """Entries no known head ends with, where any are known."""


def check_ledger(connection: Connection, *, known: Mapping[int, Head] | None = None) -> Whole:
    """Work out every digest again, within a snapshot.

    `known` are heads that were kept elsewhere, with each entry that was made, by their size: a ledger that
    lost its end, or was written anew, does not come to them. Reads each entry once.
    """
    try:
        return _checked(connection, known)
    except OperationalError as error:
        if "decode to UTF-8" not in str(error.orig):
            raise
        # the entry has to be named, and whatever else is read here must not fail at it again
        connection.connection.driver_connection.text_factory = _any_text  # type: ignore[union-attr]
        return _checked(connection, known)


def _any_text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _checked(connection: Connection, known: Mapping[int, Head] | None) -> Whole:
    reading = _Reading(known)
    if not is_there(connection):
        return Whole(0, None, tuple(_end(reading, None)))
    reading.faults += _database(connection)
    for row in _rows(connection):
        _entry(reading, row)
        if len(reading.faults) >= MOST_FAULTS:
            break
    heads = connection.execute(select(func.count()).select_from(HEAD)).scalar() or 0
    if heads > 1:
        reading.faults.append(Fault(0, f"it has {heads} heads, and there is one only."))
    kept = head_of(connection)
    return Whole(
        reading.growing.size,
        kept,
        tuple([*reading.faults, *_end(reading, kept)][:MOST_FAULTS]),
        tuple(reading.warnings),
        tuple(reading.other_heads),
        tuple(reading.unseen),
    )


def _database(connection: Connection) -> Iterator[Fault]:
    """What SQLite itself says of the table and its indexes: one that leaves an entry out hides it from
    whoever looks a pack up. PostgreSQL has no such question for who is not its keeper."""
    if connection.dialect.name != "sqlite":
        return
    for table in ("ledger_entries", "ledger_head"):
        for (said,) in connection.exec_driver_sql(f"PRAGMA integrity_check('{table}')"):
            if said != "ok":
                row = re.match(r"row (\d+) ", said)
                yield Fault(int(row[1]) if row else 0, f"the database is damaged: {said}.")


def _rows(connection: Connection) -> Iterator[Sequence[Any]]:
    if connection.dialect.name == "sqlite":
        yield from _sqlite_rows(connection)
        return
    columns = [ENTRIES.c[name] for name in (*NAMES, "digest", "part")]
    query = select(*columns).order_by(ENTRIES.c.number)
    result = connection.execute(query, execution_options={"yield_per": _BATCH})
    for some in result.partitions():
        yield from some


def _sqlite_rows(connection: Connection) -> Iterator[Sequence[Any]]:
    """Straight from the driver: a million rows take a third of the time."""
    columns = ", ".join(f'"{name}"' for name in (*NAMES, "digest", "part"))
    raw: Any = connection.connection.driver_connection
    try:
        yield from raw.execute(f"SELECT {columns} FROM ledger_entries ORDER BY number")
    except sqlite3.DatabaseError as error:  # told by the register, as all errors of a database
        raise OperationalError(None, None, error) from None


def _entry(reading: _Reading, row: Sequence[Any]) -> None:
    """One entry, and how it goes on from the one before."""
    number, at, kind, previous, digest, part = row[0], row[1], row[2], row[8], row[9], row[10]
    follows = number == reading.number + 1
    if not follows:
        reading.faults.append(_missing(reading.number + 1, number - 1))
    try:
        found = sha256(b"\x00" + encoded(row[:9])).digest()  # merkle.leaf: it is done a million times
    except (TypeError, ValueError):
        reading.faults.append(Fault(number, "it holds what no entry can hold."))
        reading.number, reading.digest = number, digest
        reading.growing.add(merkle.EMPTY)
        return
    if found.hex() != digest:
        reading.faults.append(Fault(number, "it is not as it was written."))
    elif follows and previous != reading.digest:
        what = f"it is bound to another entry {number - 1} than stands here now: one of the two was replaced."
        reading.faults.append(Fault(number, what))
    if reading.growing.add(found).hex() != part and not reading.faults:
        reading.faults.append(Fault(number, "its place in the tree is not as it was written."))
    if reading.known is not None:
        _seen(reading, row, reading.known)
    if at < reading.at:
        reading.warnings.append(Fault(number, _earlier(at, reading)))
    reading.number, reading.digest, reading.at = number, digest, at
    if kind == "key":
        reading.faults += _key(reading, number, row[7])


def _seen(reading: _Reading, row: Sequence[Any], known: Mapping[int, Head]) -> None:
    """Whether the ledger up to here is what somebody else saw it to be."""
    number = reading.growing.size
    head = known.get(number)
    if head is None:
        if len(reading.unseen) < MOST_FAULTS:
            reading.unseen.append(Unseen(row[0], row[2], row[4], row[5]))
    elif reading.key and head.key != reading.key:
        reading.faults.append(Fault(number, "its receipt is not signed with the clinic's key."))
    elif head.root == reading.growing.root.hex():
        reading.apart = False
    elif not reading.apart and not reading.faults:
        reading.apart = True
        reading.other_heads.append(number)


def _key(reading: _Reading, number: int, details: str) -> Iterator[Fault]:
    """The key that all later heads are signed with. There is one for good."""
    try:
        found = json.loads(details)
    except (ValueError, RecursionError):
        found = {}
    key = str(found.get("key", "")) if isinstance(found, dict) else ""
    if reading.key:
        yield Fault(number, "it names a second key; nobody makes one here.")
    reading.key = reading.key or key


def _earlier(at: str, reading: _Reading) -> str:
    return (
        f"it was entered at {at}, before entry {reading.number} at {reading.at}: the clock was set back, or "
        "somebody dated it back."
    )


def _missing(first: int, last: int) -> Fault:
    """What lacks between two entries that follow each other."""
    if last < first:
        return Fault(last + 1, f"there is more than one entry {last + 1}.")
    return Fault(first, f"entry {first} is missing." if first == last else _gone(first, last))


def _gone(first: int, last: int) -> str:
    return f"entries {first} to {last} are missing."


def _end(reading: _Reading, head: Head | None) -> Iterator[Fault]:
    """Whether the ledger ends where it says, and where others saw it end."""
    size, root = reading.growing.size, reading.growing.root.hex()
    if len(reading.faults) >= MOST_FAULTS:
        return
    for number in reading.other_heads:
        what = "the ledger up to here is not what it was when this entry was made, as its receipt says."
        yield Fault(number, what)
    if head is None and size:
        yield Fault(0, "its head is missing.")
    if head and head.size != size:
        yield Fault(size + 1, f"the ledger has {size} entries, and its head says {head.size}.")
    elif head and head.root != root:
        yield Fault(size, "the head is not that of these entries: it, or the last of them, was changed.")
    elif head and (head.at != reading.at or ((head.key or head.signature) and not head.holds)):
        yield Fault(0, "its head is not as it was written.")
    longest = max(reading.known or (), default=0)
    if longest > size:
        which = _gone(size + 1, longest) if longest > size + 1 else f"entry {longest} is missing."
        yield Fault(size + 1, f"{which} Its receipt is here: the end of the ledger is gone.")
    if head and reading.key and (head.key != reading.key or not head.holds):
        yield Fault(0, "its head is not signed with the clinic's key.")
