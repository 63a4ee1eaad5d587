"""The ledger of a clinic folder: where it is, and what a stopped run left beside it.

It is in the register's database. A clinic that keeps no audit has a database of its own for it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from datetime import datetime
from pathlib import Path
from typing import Any

from consentpack.clinic import register_from
from consentpack.errors import LedgerError, Problem
from consentpack.files import clear, digest_of, move_whole
from consentpack.ledger import Connection, Entry, Head, append, entries_of, head_of, make_key, signer_of
from consentpack.locks import locked
from consentpack.recovery import runs
from consentpack.register import Register, moment_of, open_register

GIVEN = "given"
"""The folder of given packs in a clinic folder."""
ALONE = "ledger.sqlite"
_ASIDE = re.compile(r"^\.(?P<version>\d+)\.(?P<pid>\d+)\.part$")


def ledger_register(folder: Path, *, create: bool = False) -> Register | None:
    """The database that holds a clinic folder's ledger; None where there is none yet."""
    return open_register(register_from(folder) or str(folder / ALONE), create=create)


@contextmanager
def reading_ledger(folder: Path, *, settled: bool = True) -> Iterator[Connection]:
    """A snapshot of the ledger; what a stopped run left is put right first, unless not `settled`.

    Raises LedgerError where nothing was ever given.
    """
    if settled:
        settle(folder)
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
    fix = "`consentpack give PLAN` gives the pack of a plan and keeps it."
    return Problem(str(folder), "nothing has been given here yet.", fix)


def settle(folder: Path) -> list[str]:
    """Put right what stopped runs left of packs being given; what was done, for the user.

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
        for part, version in _left(folder, mine=mine):
            target = part.with_name(str(version))
            if register and not target.exists() and _is_entered(register, part, version):
                move_whole(part, target)
                said.append(f"{GIVEN}/{target.parent.name}/{version}: was given by a run that was stopped.")
            else:
                clear(part)
    return said


def _left(folder: Path, *, mine: bool = False) -> Iterator[tuple[Path, int]]:
    for path in sorted((folder / GIVEN).glob("*/.*.part")):
        if not (found := _ASIDE.match(path.name)):
            continue
        pid = int(found["pid"])
        if pid == os.getpid() if mine else not runs(pid):
            yield path, int(found["version"])


def _is_entered(register: Register, part: Path, version: int) -> bool:
    """Whether the ledger has an entry of exactly this pack."""
    manifest = part / "manifest.json"
    if not manifest.is_file():
        return False
    digest, folder = digest_of(manifest.read_bytes()), part.parent.name
    with register.connect() as connection:
        return any(
            entry.version == version and entry.more.get("manifest") == digest
            for entry in entries_in_folder(connection, folder)
        )


def entries_in_folder(connection: Connection, folder: str) -> tuple[Entry, ...]:
    """Entries whose pack is kept in a folder of given/: its name is the reference, or begins with it."""
    from consentpack.ledger import references  # noqa: PLC0415 - only after a stopped run

    for reference in (folder, *references(connection)):
        if folder_name(reference) == folder:
            return entries_of(connection, reference)
    return ()


def folder_name(reference: str) -> str:
    """The folder that all of a reference is kept in. Two references never share one."""
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", reference).strip("-.")
    return name if name == reference else f"{name}-{digest_of(reference.encode())[:8]}"


def given_folder(clinic: Path, reference: str, version: int) -> Path:
    """Where a given pack is kept."""
    return clinic / GIVEN / folder_name(reference) / str(version)


def new_key(folder: Path, *, by: str, now: datetime) -> tuple[Entry, Head]:
    """Make the clinic's key, and enter it in the ledger. Raises OutputError where there is one."""
    with locked(folder):
        register = ledger_register(folder, create=True)
        assert register is not None
        signer = make_key(folder)
        with closed_after(register), register.writing() as connection:
            details = {"key": signer.public}
            return append(connection, kind="key", by=by, now=now, details=details, signer=signer)


def head(folder: Path) -> Head:
    """The head of a clinic folder's ledger. Raises LedgerError before the first entry."""
    with reading_ledger(folder) as connection:
        found = head_of(connection)
    if found is None:
        raise LedgerError(nothing_given(folder))
    return found


def enter(folder: Path, connection: Connection, **entry: Any) -> tuple[Entry, Head]:
    """Add an entry, signed with the clinic's key where it has one; with where the audit stands, so that any
    figure can be counted again as of this entry."""
    now = moment_of(connection)
    details = {"moment": [now.imports, now.undone], **entry.pop("details", {})}
    return append(connection, signer=signer_of(folder), details=details, **entry)
