"""What came of a given pack: signed, refused, withdrawn, treated …, each an entry of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from consentpack.errors import LedgerError, Problem, did_you_mean, unread
from consentpack.files import digest_of
from consentpack.ledger import AFTER_GIVEN, Entry, Standing, references, standings
from consentpack.locks import locked
from consentpack.pipeline.ledgers import (
    closed_after,
    enter_with_receipt,
    entering,
    ledger_register,
    nothing_given,
    settle,
)
from consentpack.pipeline.place import library_of

_MANY_TIMES = ("more-time", "confirmed", "differently")
"""What may be said more than once of one version."""


@dataclass(frozen=True)
class Marked:
    """What came of a pack."""

    kind: str
    by: str
    now: datetime
    day: date
    """The day it happened."""
    version: int = 0
    """Of the pack; 0 for the newest."""
    scan: Path | None = None
    """A scan of the signed paper; its digest is kept, not the scan."""
    techniques: tuple[str, ...] = ()
    """What was done, where that is something else than was planned."""
    case: str = ""
    """The treatment in the audit that belongs to it; as the reference without one."""
    session: int = 0


def mark(folder: Path, reference: str, marked: Marked) -> Entry:
    """Enter what came of a pack. Raises LedgerError where it cannot be so, with nothing entered."""
    settle(folder)
    details = _details(folder, marked)
    with locked(folder):
        register = ledger_register(folder)
        if register is None:
            raise LedgerError(nothing_given(folder))
        with closed_after(register), entering(folder, register) as connection:
            found = tuple(standings(connection, reference=reference))
            if not found:
                raise LedgerError(_unknown(reference, references(connection)))
            about = _version(found, marked)
            _refuse(about, marked)
            entry = enter_with_receipt(
                folder,
                connection,
                kind=marked.kind,
                by=marked.by,
                now=marked.now,
                reference=reference,
                version=about.given.version,
                code=about.given.code,
                details=details,
            )
    return entry


def _details(folder: Path, marked: Marked) -> dict[str, Any]:
    if marked.kind not in AFTER_GIVEN:
        fix = did_you_mean(marked.kind, AFTER_GIVEN) or f"One of: {', '.join(AFTER_GIVEN)}."
        raise LedgerError(Problem(marked.kind, "nothing of this name is entered in the ledger.", fix))
    if (marked.kind == "differently") != bool(marked.techniques):
        what = "'differently' names the techniques that were done, and nothing else does."
        raise LedgerError(Problem("--techniques", what, "Such as: --techniques blunt-cannula"))
    details: dict[str, Any] = {"day": marked.day.isoformat()}
    if marked.scan is not None:
        try:
            details["scan"] = digest_of(marked.scan.read_bytes())
        except OSError as error:
            raise LedgerError(unread(str(marked.scan), error)) from None
    if marked.techniques:
        _refuse_unknown(folder, marked.techniques)
        details["techniques"] = list(marked.techniques)
    if marked.case:
        details["case"] = [marked.case, marked.session or 1]
    return details


def _refuse_unknown(folder: Path, techniques: Sequence[str]) -> None:
    """A slip of the pen would stand in the ledger for ever, and disagree with the audit for ever."""
    library = library_of(folder, whole=False)
    known = frozenset(library.techniques) | library.not_in_use("techniques")
    problems = [
        Problem(
            "--techniques", f"there is no technique '{id}'. Nothing was entered.", did_you_mean(id, known)
        )
        for id in techniques
        if id not in known
    ]
    if problems:
        raise LedgerError(problems)


def _unknown(reference: str, there: Sequence[str]) -> Problem:
    what = "nothing was given under this reference."
    fix = did_you_mean(reference, there) or "`consentpack issued` lists what was given."
    return Problem(reference, what, fix)


def _version(found: Sequence[Standing], marked: Marked) -> Standing:
    """The version it is about: the one that is named, or the newest."""
    if not marked.version:
        return found[-1]
    about = next((each for each in found if each.given.version == marked.version), None)
    if about is None:
        there = ", ".join(str(each.given.version) for each in found)
        what = f"there is no version {marked.version}. Given: {there}."
        raise LedgerError(Problem(found[0].given.reference, what))
    return about


def _refuse(about: Standing, marked: Marked) -> None:
    """A slip of the day or of the version must not stand in the ledger for ever."""
    given, reference = about.given, about.given.reference
    fix = "Nothing was entered."
    if marked.day > marked.now.date():
        what = f"{marked.day} is a day to come. What has not happened is not entered."
        raise LedgerError(Problem(reference, what, fix))
    if marked.day.isoformat() < given.day:
        what = f"version {given.version} was given on {given.day}; nothing came of it on {marked.day}."
        raise LedgerError(Problem(reference, what, fix))
    same = next((each for each in about.later if each.kind == marked.kind), None)
    if same and marked.kind not in _MANY_TIMES:
        what = f"'{marked.kind}' was entered for version {given.version} on {same.day} by {same.by}."
        raise LedgerError(Problem(reference, what, fix))
