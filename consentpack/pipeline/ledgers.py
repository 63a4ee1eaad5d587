"""The ledger of a clinic folder: where it is, and what a stopped run left beside it.

It is in the register's database. A clinic that keeps no audit has a database of its own for it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

from consentpack.clinic import register_from
from consentpack.errors import ConsentpackError, KeptError, LedgerError, Problem
from consentpack.files import add_aside, clear, digest_of, move_whole
from consentpack.ledger import (
    RECEIPT,
    Connection,
    Entry,
    Head,
    append,
    entries_of_kind,
    entry_of,
    head_of,
    make_key,
    receipt_in,
    receipt_of_last,
    signer_of,
)
from consentpack.locks import locked
from consentpack.pipeline.stored import ASIDE, KEPT
from consentpack.recovery import runs
from consentpack.register import Register, moment_of, open_register, shown

GIVEN = "given"
"""The folder of given packs in a clinic folder."""
ALONE = "ledger.sqlite"
GOES_ON = "goes-on"
"""The kind of entry with which another clinic folder takes the ledger over."""
_ENTRY = re.compile(r"entry-\d+\.json")
_PART = re.compile(r"\.(?P<pid>\d+)\.part$")


def ledger_register(folder: Path, *, create: bool = False) -> Register | None:
    """The database that holds a clinic folder's ledger; None where there is none yet."""
    return open_register(register_from(folder) or str(folder / ALONE), create=create)


@contextmanager
def reading_ledger(folder: Path) -> Iterator[Connection]:
    """A snapshot of the ledger. Raises LedgerError where nothing was ever given."""
    settle(folder)
    with snapshot(folder) as connection:
        yield connection


@contextmanager
def snapshot(folder: Path) -> Iterator[Connection]:
    """The same for who has put right before what stopped runs left, may hold the lock, or may not write."""
    register = ledger_register(folder)
    if register is None:
        raise LedgerError(nothing_given(folder))
    with closed_after(register), register.connect() as connection:
        yield connection


@contextmanager
def closed_after(register: Register) -> Iterator[Register]:
    """Let go of a server's connections in the end; a file has none."""
    try:
        yield register
    finally:
        register.engine.dispose()


def nothing_given(folder: Path) -> Problem:
    """There is no ledger: nothing was given yet, or it is gone."""
    if any(receipt_files(folder)):
        return ledger_gone(folder)
    fix = "`consentpack give PLAN` gives the pack of a plan and keeps it."
    return Problem(str(folder), "nothing has been given here yet.", fix)


def settle(folder: Path) -> list[str]:
    """Put right what stopped runs left of packs and entries; what was done, for the user.

    A pack whose entry stands was given: it gets its place. One without was not, and goes.
    """
    if not any(True for _ in _left(folder)):
        return []
    with locked(folder):
        return put_right(folder)


def put_right(folder: Path, *, mine: bool = False) -> list[str]:
    """What `settle` does, for whoever holds the lock; `mine`: what this very run has left."""
    register, said = ledger_register(folder), []
    with closed_after(register) if register else nullcontext():
        for part in _left(folder, mine=mine):
            receipt = receipt_in(_receipt_of(part)) if part.parent.parent.name == GIVEN else None
            if receipt is None:
                clear(part)
            elif register and _stands(register, receipt.entry):
                target = _place_of(folder, receipt.entry)
                move_whole(part, target)
                name = target.relative_to(folder).as_posix()
                said.append(f"{name}: was entered by a run that was stopped.")
            elif register:
                clear(part)
    return said


def _left(folder: Path, *, mine: bool = False) -> Iterator[Path]:
    for place in (folder / GIVEN / ASIDE, folder / KEPT / ASIDE):
        for path in sorted(place.iterdir()) if place.is_dir() else ():
            found = _PART.search(path.name)
            pid = int(found["pid"]) if found else 0
            if found and (pid == os.getpid() if mine else not runs(pid)):
                yield path


def _receipt_of(part: Path) -> bytes:
    path = part / RECEIPT if part.is_dir() else part
    return path.read_bytes() if path.is_file() else b""


def _stands(register: Register, entry: Entry) -> bool:
    with register.connect() as connection:
        return entry_of(connection, entry.number) == entry


def _place_of(clinic: Path, entry: Entry) -> Path:
    """Where what belongs to an entry is kept: the pack that was given with it, or its receipt alone."""
    if entry.kind == "given":
        return given_folder(clinic, entry.reference, entry.version)
    return receipt_path(clinic, entry)


def receipt_path(clinic: Path, entry: Entry) -> Path:
    """Where the receipt of an entry is kept: with its pack, or beside it."""
    if entry.kind == "given":
        return given_folder(clinic, entry.reference, entry.version) / RECEIPT
    name = f"entry-{entry.number}.json"
    return clinic / GIVEN / folder_name(entry.reference) / name if entry.reference else clinic / GIVEN / name


def aside_of(clinic: Path, path: Path) -> Path:
    """The name in given/ of what is not whole yet. Raises nothing: it is only a name."""
    inside = "-".join(path.relative_to(clinic / GIVEN).parts)
    return clinic / GIVEN / ASIDE / f".{inside}.{os.getpid()}.part"


def folder_name(reference: str) -> str:
    """The folder that all of a reference is kept in. Two references never share one."""
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", reference).strip("-.")
    return name if name == reference else f"{name}-{digest_of(reference.encode())[:8]}"


def given_folder(clinic: Path, reference: str, version: int) -> Path:
    """Where a given pack is kept."""
    return clinic / GIVEN / folder_name(reference) / str(version)


def new_key(folder: Path, *, by: str, now: datetime) -> tuple[Entry, Head]:
    """Make the clinic's key, and enter it in the ledger. Raises OutputError where there is one.

    A key that a stopped run made and did not enter is entered now: nobody could check it otherwise.
    """
    with locked(folder):
        register = ledger_register(folder, create=True)
        assert register is not None
        with register.connect() as connection:
            entered = bool(entries_of_kind(connection, "key"))
        signer = (None if entered else signer_of(folder)) or make_key(folder)
        with closed_after(register), entering(folder, register) as connection:
            details = {"key": signer.public}
            entry = enter_with_receipt(folder, connection, kind="key", by=by, now=now, details=details)
            found = head_of(connection)
            assert found is not None  # of the entry that was just added
    return entry, found


def head(folder: Path) -> Head:
    """The head of a clinic folder's ledger. Raises LedgerError before the first entry."""
    with reading_ledger(folder) as connection:
        found = head_of(connection)
    if found is None:
        raise LedgerError(nothing_given(folder))
    return found


@contextmanager
def entering(folder: Path, register: Register) -> Iterator[Connection]:
    """A transaction of the ledger: what this run has laid aside gets its place if the entry stands, and goes
    if it does not. Raises KeptError where the entry stands and its files could not be moved."""
    try:
        with register.writing() as connection:
            yield connection
    except BaseException:
        with suppress(ConsentpackError, OSError):
            put_right(folder, mine=True)
        raise
    try:
        put_right(folder, mine=True)
    except (OSError, ConsentpackError) as error:
        why = error.strerror if isinstance(error, OSError) else "see below"
        what = f"the entry stands in the ledger, and its files could not get their place ({why})."
        fix = f"Look at the disk and at who may write in {GIVEN}/. The next command gives them their place."
        more = error.problems if isinstance(error, ConsentpackError) else ()
        raise KeptError([Problem(f"{GIVEN}/", what, fix), *more]) from None


def enter(folder: Path, connection: Connection, **entry: Any) -> tuple[Entry, Head]:
    """Add an entry, signed with the clinic's key where it has one; with where the audit stands, so that any
    figure can be counted again as of this entry. Raises LedgerError where the ledger is gone, or another
    clinic folder goes on with it."""
    if head_of(connection) is None and any(receipt_files(folder)):
        raise LedgerError(ledger_gone(folder))
    if entry["kind"] != GOES_ON:
        refuse_elsewhere(folder, connection)
    now = moment_of(connection)
    details = {"moment": [now.imports, now.undone], **entry.pop("details", {})}
    return append(connection, signer=signer_of(folder), details=details, **entry)


def enter_with_receipt(folder: Path, connection: Connection, **entry: Any) -> Entry:
    """Add an entry that no pack is given with, within `entering`, and lay its receipt aside."""
    made, found = enter(folder, connection, **entry)
    path, receipt = receipt_path(folder, made), receipt_of_last(connection, made, found)
    add_aside(aside_of(folder, path), receipt.as_json().encode(), shown=path)
    return made


def last_of_another(folder: Path, connection: Connection) -> Entry | None:
    """The ledger's last entry, where this clinic folder has not got its receipt: another one made it.

    What was given is half in the database and half in the folder. Two folders that use one register, a copy
    or two that name one database, would each lack the papers and receipts of the other. A file in the
    receipt's place that cannot be read counts: one bad file must keep nobody from giving, and `verify` names
    it.
    """
    found = head_of(connection)
    last = entry_of(connection, found.size) if found else None
    if last is None:
        return None
    try:
        receipt = receipt_in(receipt_path(folder, last).read_bytes())
    except FileNotFoundError:
        return last
    except OSError:
        return None
    return last if receipt and receipt.entry != last else None


def refuse_elsewhere(folder: Path, connection: Connection) -> None:
    """Raises LedgerError where the ledger's last entry was made from another clinic folder."""
    last = last_of_another(folder, connection)
    if last is None:
        return
    about = ", ".join(filter(None, (last.kind, last.reference, last.day, last.by)))
    what = (
        f"the ledger's last entry, {last.number} ({about}), was not made from this clinic folder, or its "
        "receipt is gone. Nothing was entered."
    )
    fix = (
        "If another folder uses the same register, give and mark there alone, and copy given/ and kept/ of "
        "this one into it. If there is none, `consentpack verify` says what is missing here, and "
        "`consentpack ledger go-on` lets this folder go on."
    )
    raise LedgerError(Problem(shown(register_from(folder)) or ALONE, what, fix))


def receipt_files(folder: Path) -> Iterator[Path]:
    """Every receipt of a clinic folder, wherever it is kept."""
    given = folder / GIVEN
    for pattern in ("entry-*.json", "*/entry-*.json", f"*/*/{RECEIPT}"):
        yield from (path for path in given.glob(pattern) if ASIDE not in path.parts)


def is_receipt(path: Path) -> bool:
    """Whether a receipt is kept under this name."""
    return path.name == RECEIPT or bool(_ENTRY.fullmatch(path.name))


def ledger_gone(folder: Path) -> Problem:
    """Packs were given here, and nothing of the ledger is left."""
    where = register_from(folder) or ALONE
    what = f"packs were given here, and the ledger they were entered in is gone ({shown(where)})."
    fix = "Bring the register back from a backup, or look at 'register' under [audit] in clinic.toml."
    return Problem(f"{GIVEN}/", what, fix)
