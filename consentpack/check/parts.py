"""Outcomes that are a kind of another: what must hold so that the part can never exceed its whole."""

from __future__ import annotations

from collections.abc import Iterator

from consentpack.errors import Problem
from consentpack.library import Library


def check_parts(library: Library) -> Iterator[Problem]:
    """Each `part_of` that leads round in a circle, or to an outcome that is watched for a shorter time."""
    for risk in library.risks.values():
        whole = library.risks.get(risk.part_of)
        if whole is None:
            continue
        if risk.id in _wholes(library, risk.part_of):
            what = f"part_of = \"{risk.part_of}\" leads back to '{risk.id}' itself."
            yield Problem(risk.file, what, "Name the larger outcome, which is a part of none of its parts.")
        elif whole.watch_days < risk.watch_days:
            what = (
                f"it is watched for {risk.watch_days} days and '{whole.id}', of which it is a part, for "
                f"{whole.watch_days}: that would be said not to have happened too early."
            )
            yield Problem(risk.file, what, f"Give '{whole.id}' at least as many watch_days.")


def _wholes(library: Library, id: str) -> set[str]:
    """An outcome and all of which it is a part."""
    found: set[str] = set()
    while id in library.risks and id not in found:
        found.add(id)
        id = library.risks[id].part_of
    return found
