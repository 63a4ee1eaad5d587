"""What was given, and how it stands: all of it, or what holds one module, technique or language."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from consentpack.errors import LedgerError, Problem, did_you_mean
from consentpack.ledger import Standing, standings
from consentpack.pipeline.ledgers import reading_ledger
from consentpack.pipeline.stored import fetch

STATES = ("given", "more-time", "signed", "confirmed", "refused", "withdrawn", "treated", "superseded")


@dataclass(frozen=True)
class Filter:
    """Which packs are asked for; what is empty is not asked."""

    state: str = ""
    module: str = ""
    """As 'risks/bruising', or its id alone."""
    technique: str = ""
    language: str = ""
    clinician: str = ""
    since: str = ""
    """A day, as '2026-11-20'; given on it or later."""
    until: str = ""
    open_only: bool = False
    """Only those by which somebody may still be treated."""


def issued(
    folder: Path, wanted: Filter | None = None, *, say: Callable[[str], None] = lambda _: None
) -> list[Standing]:
    """The packs that were given, by reference and version. Raises LedgerError.

    One of which nobody can read any more which texts it holds counts as holding each of them, and `say` is
    told: whoever has a wrong text must not be missed for a damaged list.
    """
    wanted = wanted or Filter()
    if wanted.state and wanted.state not in STATES:
        fix = did_you_mean(wanted.state, STATES) or f"One of: {', '.join(STATES)}."
        raise LedgerError(Problem(wanted.state, "no pack stands like this.", fix))
    with reading_ledger(folder) as connection:
        found = [each for each in standings(connection) if _fits(each, wanted)]
    return list(_holding(folder, found, wanted.module, say)) if wanted.module else found


def _fits(each: Standing, wanted: Filter) -> bool:
    more, day = each.given.more, each.given.day
    return (
        (not wanted.state or each.state == wanted.state)
        and (not wanted.technique or wanted.technique in more.get("techniques", ()))
        and (not wanted.language or str(more.get("language")) == wanted.language)
        and (not wanted.clinician or wanted.clinician.casefold() in str(more.get("clinician")).casefold())
        and (not wanted.since or day >= wanted.since)
        and (not wanted.until or day <= wanted.until)
        and (not wanted.open_only or each.is_open)
    )


def _holding(
    folder: Path, found: list[Standing], module: str, say: Callable[[str], None]
) -> Iterator[Standing]:
    """Those whose papers hold a module. Packs of the same modules share one list of them."""
    holds: dict[str, bool] = {}
    for each in found:
        digest = str(each.given.more.get("modules", ""))
        if digest not in holds:
            holds[digest] = _holds(folder, digest, module, say)
        if holds[digest]:
            yield each


def _holds(folder: Path, digest: str, module: str, say: Callable[[str], None]) -> bool:
    try:
        listed = json.loads(fetch(folder, digest))
        return any(module in (name, name.partition("/")[2]) for name in listed)
    except (LedgerError, ValueError, TypeError, AttributeError) as error:
        say(f"which texts some packs hold cannot be read, so they are listed too: {error}")
        return True
