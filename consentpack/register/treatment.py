"""One treatment session, as the register keeps it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

_JSON = json.JSONEncoder(sort_keys=True)


@dataclass(frozen=True)
class Treatment:
    """One treatment session, as the register keeps it."""

    case: str
    session: int
    day: date
    techniques: tuple[str, ...]
    site: str
    watched_days: int | None
    outcomes: Mapping[str, int]
    """Outcome id -> 0 for looked for and not seen, 1 and above for seen or its grade."""
    operator: str | None = None
    strata: Mapping[str, str] = field(default_factory=dict)
    """Stratum of the field -> the patient's value; what was not recorded is not in it."""
    measurements: Mapping[str, float] = field(default_factory=dict)
    """Measurement of the field -> its number; what was not recorded is not in it."""
    noticed: Mapping[str, int] = field(default_factory=dict)
    """Outcome that was seen -> days from the treatment until it was first noticed, where that is known."""
    retreated_days: int | None = None
    """Days until the same place was treated again, which ends watching; None when it was not."""

    def as_json(self) -> str:
        """All of it, the same text for the same content.

        Days that are not known are left out: a treatment without any keeps the digest it had before
        days could be held.
        """
        return _JSON.encode(self.values())

    def values(self) -> dict[str, Any]:
        """What `as_json` writes."""
        numbers = {name: float(number) for name, number in self.measurements.items()}
        values = {**vars(self), "day": self.day.isoformat(), "measurements": numbers}
        if not self.noticed:
            del values["noticed"]
        if self.retreated_days is None:
            del values["retreated_days"]
        return values

    @property
    def digest(self) -> str:
        """How an unchanged row is known."""
        return hashlib.sha256(self.as_json().encode()).hexdigest()


def from_json(text: str) -> Treatment:
    """The treatment that `as_json` wrote."""
    return from_values(json.loads(text))


def from_values(values: dict[str, Any]) -> Treatment:
    """The treatment of such values, which become its own."""
    values["day"] = date.fromisoformat(values["day"])
    values["techniques"] = tuple(values["techniques"])
    return Treatment(**values)
