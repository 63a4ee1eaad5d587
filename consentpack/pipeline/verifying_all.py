"""Whether the whole ledger, and all that was given and kept, is as it was. Needs no network."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, nullcontext
from dataclasses import dataclass
from pathlib import Path

from consentpack.ledger import (
    RECEIPT,
    Entry,
    Head,
    Receipt,
    Unseen,
    Whole,
    check_ledger,
    receipt_in,
    standings,
)
from consentpack.locks import locked
from consentpack.pipeline.given_findings import Finding, Kept, findings_of, inside, read, shown
from consentpack.pipeline.ledgers import (
    GIVEN,
    given_folder,
    is_receipt,
    receipt_path,
    settle,
    snapshot,
)
from consentpack.pipeline.rebuilding import Rebuilt, rebuild
from consentpack.pipeline.stored import ASIDE, KEPT

_FIRST_LETTERS = re.compile("[0-9a-f]{2}")


@dataclass(frozen=True)
class AllVerified:
    """What was found of the whole ledger, and of everything that was given."""

    entries: int
    packs: int
    head: Head | None
    findings: tuple[Finding, ...]
    warnings: tuple[Finding, ...]
    not_the_same: tuple[Rebuilt, ...] = ()

    @property
    def holds(self) -> bool:
        return not self.findings and not self.not_the_same


def verify_all(clinic: Path, *, again: bool = False, settled: bool = True) -> AllVerified:
    """Every entry, every given pack and everything kept; `again`: make each pack once more, too.

    Not `settled`: what a stopped run left is not put right first, and nothing is written.
    Raises LedgerError where there is no ledger, RegisterError where its database cannot be read.
    """
    if settled:
        settle(clinic)
    still = locked(clinic) if settled and os.access(clinic, os.W_OK) else nullcontext()
    with ExitStack() as stack:
        with still:  # what is entered from now on is neither in the snapshot nor in the list
            connection = stack.enter_context(snapshot(clinic))
            there = _listed(clinic)
        receipts = {path: receipt_in(read(path)) for path in there if is_receipt(path)}
        proving = [each for each in receipts.values() if each and each.proves]
        whole = check_ledger(connection, known={each.head.size: each.head for each in proving})
        given = [each.given for each in standings(connection, leave_out_damaged=True)]
    # only now: nobody could write in an SQLite file while all papers are read
    findings = tuple(dict.fromkeys(_findings(clinic, whole, given, receipts, there)))
    warnings = tuple(Finding(_entry_name(each.number), each.what) for each in whole.warnings)
    again_made = [rebuild(clinic, entry) for entry in given] if again else []
    failed = tuple(each for each in again_made if not each.holds)
    return AllVerified(whole.size, len(given), whole.head, findings, warnings, failed)


def _findings(
    clinic: Path,
    whole: Whole,
    given: Sequence[Entry],
    receipts: Mapping[Path, Receipt | None],
    there: Sequence[Path],
) -> Iterator[Finding]:
    yield from (Finding(_entry_name(each.number), each.what) for each in whole.faults)
    yield from _receipts(clinic, receipts, whole)
    kept = Kept(clinic)
    for entry in given:
        yield from findings_of(clinic, entry, kept)
    yield from _without_entry(clinic, given, there)
    yield from _strangers(clinic, kept)


def _entry_name(number: int) -> str:
    return f"ledger, entry {number}" if number else "ledger"


# --- receipts ---------------------------------------------------------------------------------------


def _receipts(clinic: Path, receipts: Mapping[Path, Receipt | None], whole: Whole) -> Iterator[Finding]:
    """Those of no use, those in the wrong place, and entries without one."""
    other = set(whole.other_heads)
    for path, receipt in receipts.items():
        if receipt is None:
            yield Finding(shown(path), "the receipt is not as it was written.")
        elif not receipt.proves:
            yield Finding(shown(path), "the receipt does not prove what it says: it was changed.")
        elif path.is_symlink() or path != receipt_path(clinic, receipt.entry):
            yield Finding(shown(path), "it is a receipt, and this is not where it was put.")
        elif receipt.head.size != receipt.entry.number or receipt.head.size in other:
            what = f"it is not the receipt of entry {receipt.entry.number} as the ledger has it now."
            yield Finding(shown(path), what)
    last = max((each.head.size for each in receipts.values() if each and each.proves), default=0)
    for unseen in whole.unseen:
        path = receipt_path(clinic, _entry_like(unseen))
        if unseen.number > last:  # what stands before an entry that has its receipt is bound by that one
            what = (
                "no receipt here knows of it: it was made from another clinic folder that uses the same "
                "register, its receipt was taken away, or somebody else put it in."
            )
            yield Finding(_entry_name(unseen.number), what)
        yield Finding(shown(path), f"the receipt of entry {unseen.number} is not here, or not as it was.")


def _entry_like(unseen: Unseen) -> Entry:
    return Entry(unseen.number, "", unseen.kind, "", unseen.reference, unseen.version, "", "", "")


# --- what is there ----------------------------------------------------------------------------------


def _listed(clinic: Path) -> tuple[Path, ...]:
    """All that lies in given/, and in the folder of each reference, and the receipts in packs."""
    top = _in(clinic / GIVEN)
    inner = [path for folder in top for path in _in(folder)]
    return (*top, *inner, *(path / RECEIPT for path in inner if (path / RECEIPT).exists()))


def _without_entry(clinic: Path, given: Sequence[Entry], there: Sequence[Path]) -> Iterator[Finding]:
    """Anything in given/ that no entry speaks of."""
    versions = {given_folder(clinic, each.reference, each.version) for each in given}
    known = versions | {folder.parent for folder in versions}
    references = {path.parent for path in there if path.parent.parent == clinic / GIVEN}
    for path in there:
        if path not in known and path not in references and not is_receipt(path):
            what = "the ledger has no entry of this: it was not given, or its entry is gone."
            yield Finding(shown(path), what)


def _in(folder: Path) -> list[Path]:
    """What is in a folder, but not what is not whole yet."""
    if not folder.is_dir() or folder.is_symlink():
        return []
    return sorted(path for path in folder.iterdir() if path.name != ASIDE)


def _strangers(clinic: Path, kept: Kept) -> Iterator[Finding]:
    """Anything kept that is not what its name says."""
    for folder in _in(clinic / KEPT):
        if folder.is_symlink() or not folder.is_dir() or not _FIRST_LETTERS.fullmatch(folder.name):
            yield Finding(inside(clinic, str(folder)), "nothing was kept under this name.")
        for path in _in(folder):
            where = inside(clinic, str(path))
            if path.is_symlink() or not path.is_file():
                yield Finding(where, "it is no file that was kept: something else was put in its place.")
            elif kept.wrong(path.parent.name + path.name):
                yield Finding(where, "it is not what was kept under this name.")
