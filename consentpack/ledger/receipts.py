"""A receipt: one entry, the head of its day, and the few digests that lead from one to the other.

It is kept with what was given and can be checked without the ledger, by anybody, with nothing but SHA-256.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from consentpack.ledger import merkle
from consentpack.ledger.entry import NAMES, Entry, can_be, quoted
from consentpack.ledger.heads import Head
from consentpack.ledger.tables import ENTRIES

RECEIPT = "receipt.json"
_DIGEST = 32


@dataclass(frozen=True)
class Receipt:
    """One entry and the proof that it is in the ledger."""

    entry: Entry
    head: Head
    path: tuple[bytes, ...]

    @property
    def proves(self) -> bool:
        """Whether the entry is in the ledger of that head, whose signature holds where it has one.

        The head an entry was added with has the time of the entry; without a key nothing else holds it.
        """
        if self.head.size == self.entry.number and self.head.at != self.entry.at:
            return False
        inside = merkle.leads_to(
            bytes.fromhex(self.head.root),
            content=self.entry.content,
            index=self.entry.number - 1,
            size=self.head.size,
            path=self.path,
        )
        return inside and (not (self.head.key or self.head.signature) or self.head.holds)

    def as_json(self) -> str:
        """As it is kept. The path is base64 of its digests one after the other: 640 bytes for a million."""
        path = base64.b64encode(b"".join(self.path)).decode()
        entry, head = _lines(self.entry.as_row()), _lines(vars(self.head))
        return f'{{\n "entry": {{{entry}\n }},\n "head": {{{head}\n }},\n "path": "{path}"\n}}\n'


def _lines(fields: Mapping[str, Any]) -> str:
    """As `json.dumps` with an indent of 1 writes them, which takes five times as long: a check of all that
    was given does this for every receipt."""
    written = (f'\n  "{name}": {_value(each)}' for name, each in fields.items())
    return ",".join(written)


def _value(each: Any) -> str:
    return quoted(each) if isinstance(each, str) else json.dumps(each)


def receipt_in(text: bytes) -> Receipt | None:
    """What `as_json` wrote, to the letter; None where this is anything else, or was touched."""
    try:
        found = json.loads(text)
        entry = Entry(**{name: found["entry"][name] for name in NAMES})
        head = Head(**found["head"])
        joined = base64.b64decode(found["path"], validate=True)
        path = tuple(joined[start : start + _DIGEST] for start in range(0, len(joined), _DIGEST))
        receipt = Receipt(entry, head, path)
        whole = _has_kinds(receipt) and receipt.as_json().encode() == text
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, OverflowError):
        return None
    return receipt if whole else None


def _has_kinds(receipt: Receipt) -> bool:
    """Whether each field is of its kind: JSON holds lists and truths where numbers should be."""
    head = receipt.head
    words = (head.root, head.at, head.key, head.signature)
    in_hex = all(bytes.fromhex(each).hex() == each for each in (head.root, head.key, head.signature))
    kinds = type(head.size) is int and all(type(each) is str for each in words)
    row = tuple(receipt.entry.as_row().values())
    return kinds and in_hex and can_be(row) and all(len(each) == _DIGEST for each in receipt.path)


def receipt_of_last(connection: Connection, entry: Entry, head: Head) -> Receipt:
    """The receipt of the entry that was just added. Reads a handful of rows."""
    numbers = merkle.ends(head.size - 1)
    rows = connection.execute(
        select(ENTRIES.c.number, ENTRIES.c.part).where(ENTRIES.c.number.in_(numbers))
    ).all()
    parts = {number: bytes.fromhex(part) for number, part in rows}
    return Receipt(entry, head, tuple(parts[number] for number in reversed(numbers)))


def receipt_of(connection: Connection, entry: Entry, head: Head) -> Receipt:
    """The receipt of any entry under a later head. Reads the digests of all entries."""
    query = select(ENTRIES.c.digest).where(ENTRIES.c.number <= head.size).order_by(ENTRIES.c.number)
    leaves: Sequence[bytes] = [bytes.fromhex(each) for each in connection.execute(query).scalars()]
    return Receipt(entry, head, tuple(merkle.path_of(entry.number - 1, leaves)))
