"""What looks wrong about a row that goes in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from consentpack.model import Measurement
from consentpack.register.treatment import Treatment


@dataclass(frozen=True)
class Doubt:
    """One cell that is let in but looks wrong."""

    row: int
    column: str
    what: str


def doubts(number: int, treatment: Treatment, measurements: Mapping[str, Measurement]) -> list[Doubt]:
    """What looks wrong about a row that was let in. Never a reason to refuse it."""
    found = []
    for id, value in treatment.measurements.items():
        asked = measurements[id]
        if not asked.is_usual(value):
            shown = f"{value:g} {asked.unit}".strip()
            least, most = asked.usual
            what = f"{shown} is unusual ({asked.title}); usual is {least:g} to {most:g}: {asked.why}"
            found.append(Doubt(number, id, what))
    return found
