"""Whether the ledger is whole: every entry as it was written, in its place, and none taken away."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Row, select

from consentpack.ledger import merkle
from consentpack.ledger.entry import FIRST, NAMES, encoded
from consentpack.ledger.heads import Head
from consentpack.ledger.reading import head_of
from consentpack.ledger.tables import ENTRIES, is_there

_BATCH = 10_000
MOST_FAULTS = 50
"""No more are told: one entry that is gone can be seen in many places."""


@dataclass(frozen=True)
class Fault:
    """Something that is not as it was written."""

    number: int
    """Of the entry; 0 for the ledger as a whole."""
    what: str


@dataclass
class _Reading:
    """What is remembered from one entry to the next."""

    growing: merkle.Growing = field(default_factory=merkle.Growing)
    digest: str = FIRST
    number: int = 0
    at: str = ""
    key: str = ""
    faults: list[Fault] = field(default_factory=list)


@dataclass(frozen=True)
class Whole:
    """What a check of the whole ledger found."""

    size: int
    head: Head | None
    faults: tuple[Fault, ...]
    warnings: tuple[Fault, ...] = ()
    """What may be right and has to be explained: a clock that was set back."""


def check_ledger(connection: Connection, *, known: Mapping[int, Head] | None = None) -> Whole:
    """Work out every digest again, within a snapshot.

    `known` are heads that were kept elsewhere, such as with the packs that were given, by their size: a
    ledger that lost its end, or was written anew, does not come to them. Reads each entry once.
    """
    reading, known = _Reading(), known or {}
    warnings: list[Fault] = []
    for row in _rows(connection):
        warnings += _entry(reading, row)
        head = known.get(reading.growing.size)
        if head and head.root != reading.growing.root.hex():
            what = "the ledger up to here is not what it was when this entry was made."
            reading.faults.append(Fault(row[0], what))
        if len(reading.faults) >= MOST_FAULTS:
            break
    kept = head_of(connection)
    faults = [*reading.faults, *_end(reading, kept, known)]
    return Whole(reading.growing.size, kept, tuple(faults[:MOST_FAULTS]), tuple(warnings))


def _rows(connection: Connection) -> Iterator[Row[Any]]:
    if not is_there(connection):
        return
    columns = [ENTRIES.c[name] for name in (*NAMES, "digest", "part")]
    query = select(*columns).order_by(ENTRIES.c.number)
    result = connection.execute(query, execution_options={"yield_per": _BATCH})
    for some in result.partitions():
        yield from some


def _entry(reading: _Reading, row: Sequence[Any]) -> Iterable[Fault]:
    """One entry, and how it goes on from the one before."""
    number, at, kind, previous, digest, part = row[0], row[1], row[2], row[8], row[9], row[10]
    if number != reading.number + 1:
        reading.faults.append(Fault(number, _missing(reading.number + 1, number - 1)))
    found = merkle.leaf(encoded(list(row[:9])))
    if found.hex() != digest:
        reading.faults.append(Fault(number, "it is not as it was written."))
    elif previous != reading.digest and number == reading.number + 1:
        what = f"it is bound to another entry {number - 1} than stands here now: one of the two was replaced."
        reading.faults.append(Fault(number, what))
    if reading.growing.add(found).hex() != part and not reading.faults:
        reading.faults.append(Fault(number, "its place in the tree is not as it was written."))
    warnings = [Fault(number, _earlier(at, reading))] if at < reading.at else []
    reading.number, reading.digest, reading.at = number, digest, at
    if kind == "key":
        reading.key = str(_details(row[7]).get("key", ""))
    return warnings


def _details(text: str) -> Mapping[str, Any]:
    try:
        found = json.loads(text)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {}


def _earlier(at: str, reading: _Reading) -> str:
    return (
        f"it was entered at {at}, before entry {reading.number} at {reading.at}: the clock was set back, or "
        "somebody dated it back."
    )


def _missing(first: int, last: int) -> str:
    if last < first:
        return f"there is more than one entry {last}."
    return f"entry {first} is missing." if first == last else f"entries {first} to {last} are missing."


def _end(reading: _Reading, head: Head | None, known: Mapping[int, Head]) -> Iterator[Fault]:
    """Whether the ledger ends where it says, and where others saw it end."""
    size, root = reading.growing.size, reading.growing.root.hex()
    if len(reading.faults) >= MOST_FAULTS:
        return
    if head is None and size:
        yield Fault(0, "its head is missing.")
    if head and head.size != size:
        yield Fault(head.size, f"the ledger has {size} entries, and its head says {head.size}.")
    elif head and head.root != root:
        yield Fault(size, "the head is not that of these entries: the last of them were changed.")
    longest = max(known, default=0)
    if longest > size:
        what = f"the ledger has {size} entries, and a pack was given with entry {longest}: its end is gone."
        yield Fault(longest, what)
    if head and reading.key and (head.key != reading.key or not head.holds):
        yield Fault(0, "its head is not signed with the clinic's key.")
