"""The rows of a ledger changed by somebody who knows the program, and made to fit as far as they can.

`fit` says how far: not at all; the digest of the changed entry; or everything that follows from it: numbers,
digests, parts and the head. What nobody without them can make to fit are the receipts.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, bindparam, create_engine, event, insert, text
from sqlalchemy.pool import NullPool

from consentpack.ledger import merkle
from consentpack.ledger.entry import FIRST, NAMES, encoded
from consentpack.ledger.tables import ENTRIES, HEAD

Row = dict[str, Any]
FITS = ("not", "own", "all")
ODD = ('{"day": [', "[]", "null", "{}", '{"documents": 1}', '{"documents": {"a": []}, "day": {}}', "[" * 9000)
"""Details that cannot be understood, or that are something else than they should be."""


@dataclass(frozen=True)
class Rows:
    """All that the tables of the ledger hold."""

    entries: tuple[Row, ...]
    head: tuple[Row, ...]


@dataclass(frozen=True)
class Changed:
    """What was done, and the entries that have to be named; 0 for the ledger as a whole."""

    how: str
    rows: Rows
    numbers: tuple[int, ...]


def engine_of(url: str) -> Engine:
    """The database as somebody opens it who leaves the program aside."""
    engine = create_engine(url, poolclass=NullPool)  # a kept connection would be closed by nobody
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", lambda raw, _: setattr(raw, "text_factory", bytes.decode))
    return engine


def rows_of(connection: Connection) -> Rows:
    entries = connection.execute(ENTRIES.select().order_by(ENTRIES.c.number)).mappings()
    return Rows(tuple(map(dict, entries)), tuple(map(dict, connection.execute(HEAD.select()).mappings())))


def unlock(connection: Connection) -> None:
    """Whoever wants to change the ledger takes away first what stops a slip of the hand."""
    on = " ON ledger_entries" if connection.dialect.name == "postgresql" else ""
    for what in ("UPDATE", "DELETE", "TRUNCATE"):
        connection.execute(text(f"DROP TRIGGER IF EXISTS ledger_kept_{what}{on}"))


def put(connection: Connection, rows: Rows) -> None:
    """Let the tables hold this and nothing else."""
    for table, held in ((ENTRIES, rows.entries), (HEAD, rows.head)):
        connection.execute(table.delete())
        if held:
            connection.execute(insert(table), list(held))


def set_raw(connection: Connection, number: int, column: str, value: str) -> None:
    """One cell by an expression of SQLite, which keeps what no program would write."""
    where = f'UPDATE ledger_entries SET "{column}" = {value} WHERE number = :n'
    connection.execute(text(where).bindparams(bindparam("n", number)))


def fitted(entries: Sequence[Row], fit: str, changed: Sequence[int], head: Sequence[Row]) -> Rows:
    """Rows made to fit after some of them, by place, were changed."""
    if fit == "not":
        return Rows(tuple(entries), tuple(head))
    found, previous, growing = [], FIRST, merkle.Growing()
    for place, old in enumerate(entries):
        row = dict(old)
        if fit == "all":
            row |= {"number": place + 1, "previous": previous}
        if fit == "all" or place in changed:
            row["digest"] = merkle.leaf(encoded([row[name] for name in NAMES])).hex()
        if fit == "all":
            row["part"] = growing.add(bytes.fromhex(row["digest"])).hex()
        previous = row["digest"]
        found.append(row)
    if fit == "own" or not found:
        return Rows(tuple(found), tuple(head) if found else ())
    new = {**head[0], "size": len(found), "root": growing.root.hex(), "at": found[-1]["at"]}
    return Rows(tuple(found), (new,))


# --- one way of changing them each ------------------------------------------------------------------


def edited(rows: Rows, rng: random.Random) -> Changed:
    fit, place = rng.choice(FITS), rng.randrange(len(rows.entries))
    entries = [dict(each) for each in rows.entries]
    field = rng.choice([*NAMES[1:8], "details", *(("previous", "digest", "part") if fit == "not" else ())])
    entries[place][field] = other(field, entries[place][field], rng)
    return Changed(f"{field} edited, fit: {fit}", fitted(entries, fit, [place], rows.head), (place + 1,))


def other(field: str, old: Any, rng: random.Random) -> Any:
    """Another value of a field."""
    if isinstance(old, int):
        return old + rng.choice((1, -1, 5, 2_000_000))
    if field == "kind":
        return rng.choice([kind for kind in ("given", "signed", "treated", "key", "x", "") if kind != old])
    if field == "details" and rng.random() < 0.5:
        return rng.choice([odd for odd in ODD if odd != old])
    place = rng.randrange(len(old) + 1)
    new = old[:place] + rng.choice(("0", "Z", "Ä", " ", "\\", '"', "🙂")) + old[place + rng.choice((0, 1)) :]
    return new if new != old else old + "x"


def backdated(rows: Rows, rng: random.Random) -> Changed:
    """Also so that no clock seems to have been set back."""
    fit, place = rng.choice(FITS), rng.randrange(len(rows.entries))
    entries = [dict(each) for each in rows.entries]
    before = entries[place - 1]["at"] if place else "2026-11-01T00:00:00Z"
    at = rng.choice((before, "2026-11-02T09:00:00Z"))
    if at == entries[place]["at"]:
        at = "2020-01-01T00:00:00Z"
    entries[place]["at"] = at
    return Changed(f"backdated, fit: {fit}", fitted(entries, fit, [place], rows.head), (place + 1,))


def removed(rows: Rows, rng: random.Random) -> Changed:
    fit, place = rng.choice(("not", "all")), rng.randrange(len(rows.entries))
    entries = [each for number, each in enumerate(rows.entries) if number != place]
    return Changed(f"removed, fit: {fit}", fitted(entries, fit, [], rows.head), (place + 1,))


def inserted(rows: Rows, rng: random.Random) -> Changed:
    """One that never was, between two that were or at the end."""
    fit, place = rng.choice(FITS), rng.randrange(len(rows.entries) + 1)
    entries = [dict(each) for each in rows.entries]
    new = {**rng.choice(entries), "by": "Dr Never", "kind": rng.choice(("signed", "treated", "given"))}
    entries.insert(place, new)
    for number, each in enumerate(entries):
        each["number"] = number + 1
    return Changed(f"inserted, fit: {fit}", fitted(entries, fit, [place], rows.head), (place + 1,))


def swapped(rows: Rows, rng: random.Random) -> Changed:
    fit = rng.choice(FITS)
    one, two = sorted(rng.sample(range(len(rows.entries)), 2))
    entries = [dict(each) for each in rows.entries]
    entries[one], entries[two] = entries[two], entries[one]
    entries[one]["number"], entries[two]["number"] = one + 1, two + 1
    return Changed(f"two swapped, fit: {fit}", fitted(entries, fit, [one, two], rows.head), (one + 1,))


def truncated(rows: Rows, rng: random.Random) -> Changed:
    fit, kept = rng.choice(("not", "all")), rng.randrange(len(rows.entries))
    return Changed(f"truncated, fit: {fit}", fitted(rows.entries[:kept], fit, [], rows.head), (kept + 1,))


def other_head(rows: Rows, rng: random.Random) -> Changed:
    head = dict(rows.head[0])
    field = rng.choice(("size", "root", "at", "key", "signature", "none", "two"))
    if field == "none":
        return Changed("head removed", Rows(rows.entries, ()), (0,))
    if field == "two":
        return Changed("two heads", Rows(rows.entries, (head, {**head, "id": 2, "size": 1})), (0,))
    head[field] = other(field, head[field], rng)
    size = len(rows.entries)
    return Changed(f"head's {field} edited", Rows(rows.entries, (head,)), (0, size, size + 1))


WAYS: tuple[Callable[[Rows, random.Random], Changed], ...] = (
    edited, edited, edited, edited, backdated, removed, inserted, swapped, truncated, other_head,
)  # fmt: skip


def raw_cells(rng: random.Random, size: int) -> Iterator[tuple[str, int, str, str]]:
    """What only SQLite keeps: bytes for text, text that is no UTF-8, numbers with a fraction, NUL."""
    while True:
        column = rng.choice([*NAMES[1:], "digest", "part"])
        value = rng.choice(("X'00ff41'", "CAST(X'ff4180' AS TEXT)", "CAST(X'610062' AS TEXT)", "X''", "1.5"))
        if column == "version" or value != "1.5":
            yield f"{column} is {value}", rng.randrange(size) + 1, column, value
