"""A receipt: one entry, the head of its day, and the few digests that lead from one to the other.

It is kept with what was given and can be checked without the ledger, by anybody, with nothing but SHA-256.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from consentpack.ledger import merkle
from consentpack.ledger.entry import NAMES, Entry
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
        """Whether the entry is in the ledger of that head, whose signature holds where it has one."""
        inside = merkle.leads_to(
            bytes.fromhex(self.head.root),
            content=self.entry.content,
            index=self.entry.number - 1,
            size=self.head.size,
            path=self.path,
        )
        return inside and (not self.head.key or self.head.holds)

    def as_json(self) -> str:
        """As it is kept. The path is base64 of its digests one after the other: 640 bytes for a million."""
        found = {
            "entry": self.entry.as_row(),
            "head": vars(self.head),
            "path": base64.b64encode(b"".join(self.path)).decode(),
        }
        return json.dumps(found, indent=1, ensure_ascii=False) + "\n"


def receipt_in(text: bytes) -> Receipt | None:
    """What `as_json` wrote; None where this is no receipt."""
    try:
        found = json.loads(text)
        entry = Entry(**{name: found["entry"][name] for name in NAMES})
        head = Head(**found["head"])
        bytes.fromhex(head.root)
        joined = base64.b64decode(found["path"], validate=True)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, binascii.Error):
        return None
    if len(joined) % _DIGEST or not isinstance(head.size, int) or not isinstance(entry.number, int):
        return None
    path = (joined[start : start + _DIGEST] for start in range(0, len(joined), _DIGEST))
    return Receipt(entry, head, tuple(path))


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
