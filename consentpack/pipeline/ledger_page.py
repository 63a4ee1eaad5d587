"""What was verified, as one page for an auditor."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from consentpack.export.ledger_page import LedgerPage, Line, ledger_page
from consentpack.files import write_file
from consentpack.ledger import Standing
from consentpack.pipeline.as_words import again_words, entry_words
from consentpack.pipeline.given_list import issued
from consentpack.pipeline.verifying import Verified
from consentpack.pipeline.verifying_all import AllVerified


def write_ledger_page(clinic: Path, path: Path, found: Verified | AllVerified) -> None:
    """Write the page. Raises OutputError."""
    page = _all(clinic, found) if isinstance(found, AllVerified) else _one(found)
    write_file(path, ledger_page(page))


def _now() -> str:
    return datetime.now().strftime("%Y-%m-%d %H:%M")


def _one(found: Verified) -> LedgerPage:
    packs = (_line(found.standing),) if found.standing else ()
    faults = [(each.where, each.what) for each in found.findings]
    faults += [
        (each.part or "before the first heading", f"given: “{each.given}”; here: “{each.now}”")
        for each in found.differs
    ]
    facts = [("Looked at", found.asked), ("When", _now())]
    facts += [("It is", found.document)] if found.document else []
    facts += [("The texts were approved by", "; ".join(found.approved_by))] if found.approved_by else []
    facts += [("Made once more", again_words(found.rebuilt))] if found.rebuilt else []
    verdict = "This is exactly what was given." if found.holds else "This is not exactly what was given."
    if found.standing is None:
        verdict = "Nothing like this was ever given."
    return LedgerPage("Was this given?", verdict, found.holds, tuple(facts), tuple(faults), (), packs)


def _all(clinic: Path, found: AllVerified) -> LedgerPage:
    facts = [("When", _now()), ("Entries", str(found.entries)), ("Packs given", str(found.packs))]
    if found.head:
        facts.append(("Head of the ledger", f"{found.head.size} {found.head.root}"))
        facts.append(
            ("Signed", f"with {found.head.key}" if found.head.key else "no: the clinic has made no key")
        )
    faults = [(each.where, each.what) for each in found.findings]
    faults += [
        (f"{each.entry.reference}, version {each.entry.version}", again_words(each))
        for each in found.not_the_same
    ]
    verdict = "All of it is as it was given." if found.holds else "Not all of it is as it was given."
    warnings = tuple((each.where, each.what) for each in found.warnings)
    packs = tuple(_line(each) for each in issued(clinic)) if found.packs else ()
    return LedgerPage("The ledger", verdict, found.holds, tuple(facts), tuple(faults), warnings, packs)


def _line(standing: Standing) -> Line:
    given = standing.given
    steps = tuple(entry_words(each) for each in (given, *standing.later))
    return Line(given.reference, given.version, given.code, standing.state, steps)
