"""One entry of the ledger: what happened to a pack, when, and who says so."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Any

from consentpack.ledger import merkle

FIRST = "0" * 64
"""What the first entry is bound to."""
KINDS: Mapping[str, str] = {
    "given": "given to the patient",
    "signed": "signed by the patient",
    "refused": "the patient does not want it",
    "more-time": "the patient wants more time",
    "withdrawn": "the patient has taken the consent back",
    "confirmed": "confirmed on the day",
    "treated": "treated",
    "differently": "something else was done than planned",
    "key": "a key to sign the ledger with was made",
    "goes-on": "the ledger goes on in another clinic folder",
}
"""Kind of entry -> what it says."""
AFTER_GIVEN = tuple(kind for kind in KINDS if kind not in ("given", "key", "goes-on"))
"""What can be said of a pack that was given."""


@dataclass(frozen=True)
class Entry:
    """One entry. It names no patient and holds no treatment: the reference is the clinic's own."""

    number: int
    """From 1, without a gap."""
    at: str
    """When it was entered, in UTC: '2026-11-20T09:30:00Z'."""
    kind: str
    by: str
    reference: str
    version: int
    """Of the pack; 0 where it is about none."""
    code: str
    """The pack's, by which its papers are found; '' where it is about none."""
    details: str
    """More of it, as JSON."""
    previous: str
    """The digest of the entry before, as hex."""

    @property
    def content(self) -> bytes:
        """What its digest is over."""
        return encoded(tuple(self.as_row().values()))

    @cached_property
    def digest(self) -> bytes:
        return merkle.leaf(self.content)

    @cached_property
    def more(self) -> Mapping[str, Any]:
        """The details; none where they cannot be read."""
        try:
            found = json.loads(self.details)
        except (ValueError, RecursionError):
            return {}
        return found if isinstance(found, dict) else {}

    def as_row(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in NAMES}

    @property
    def day(self) -> str:
        """The day it is about, as the clinic says: a form may be entered the day after it was signed."""
        return str(self.more.get("day") or self.at[:10])


NAMES = ("number", "at", "kind", "by", "reference", "version", "code", "details", "previous")
"""The fields of an entry, in the order its digest is over."""

quoted = json.encoder.encode_basestring
"""A text as JSON. Raises TypeError for anything else."""
_COMPACT = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def encoded(row: Sequence[Any]) -> bytes:
    """The fields of an entry as its digest is over them: JSON, each kind of field by itself, as this is done
    for every entry of a ledger. Raises TypeError or ValueError for what no entry holds."""
    number, at, kind, by, reference, version, code, details, previous = row
    if type(number) is not int or type(version) is not int:
        raise TypeError(number)
    text = (
        f"[{number},{quoted(at)},{quoted(kind)},{quoted(by)},{quoted(reference)},{version},"
        f"{quoted(code)},{quoted(details)},{quoted(previous)}]"
    )
    return text.encode()


def can_be(row: Sequence[Any]) -> bool:
    """Whether an entry may hold these fields, by their kinds: a damaged database may give back anything."""
    try:
        encoded(row)
    except (TypeError, ValueError):
        return False
    return True


def moment(now: datetime) -> str:
    """A time as entries write it. A time without a zone is the clinic's own."""
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def written(details: Mapping[str, Any]) -> str:
    """Details as an entry keeps them: one way to write them, whoever writes."""
    return _COMPACT.encode(details)
