"""One thing that a check of a clinic folder has noticed."""

from __future__ import annotations

from dataclasses import dataclass

from consentpack.errors import Problem


@dataclass(frozen=True)
class Noticed:
    """Where, what and what to do."""

    problem: Problem
    only_note: bool = False
    """To be known, such as a form that was filled in; nothing has to be put right."""


def wrong(where: str, what: str, fix: str = "") -> Noticed:
    """Something that has to be put right."""
    return Noticed(Problem(where, what, fix))


def note(where: str, what: str, fix: str = "") -> Noticed:
    """Something to be known."""
    return Noticed(Problem(where, what, fix), only_note=True)
