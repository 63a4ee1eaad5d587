"""What a register holds in one digest, and whether it still is what this program wrote."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, select, text

from consentpack.register import rollup
from consentpack.register.carrying import EDITED
from consentpack.register.follow_ups import damaged_follow_ups
from consentpack.register.opening import Register
from consentpack.register.provenance import read_held
from consentpack.register.schema import treatments
from consentpack.register.talk_backs import damaged_talks

_BATCH = 5000
_MODULUS = 1 << 256


@dataclass(frozen=True)
class State:
    """What a register holds at one moment."""

    digest: str
    """SHA-256 over the digests of all treatments, in whatever order they lie. Who entered them, and
    when, is not in it: the same content is the same state."""
    treatments: int
    edited: int
    """Treatments that something else than this program has changed."""


def state_of(connection: Connection) -> State:
    """The state of the register within a snapshot. Reads one digest for each treatment."""
    total = count = edited = 0
    query = select(treatments({}).c.row_digest)
    for digest in connection.execute(query, execution_options={"yield_per": _BATCH}).scalars():
        if digest.startswith(EDITED):
            edited += 1
            digest = hashlib.sha256(digest.encode()).hexdigest()
        total += int(digest, 16)
        count += 1
    whole = hashlib.sha256(f"{count} {total % _MODULUS:064x}".encode()).hexdigest()
    return State(whole, count, edited)


@dataclass(frozen=True)
class Checked:
    """What a check of the whole register found."""

    treatments: int
    edited: tuple[tuple[str, int], ...]
    """Case and session of each treatment that is not as this program wrote it."""
    damage: tuple[str, ...]
    """What the database itself finds damaged, in its own words."""


def check_register(register: Register) -> Checked:
    """Work out the digest of every treatment again, and let the database look at itself."""
    with register.connect() as connection:
        damage = tuple(_damage(connection))
        table = treatments({})
        rows = connection.execute(select(table.c.id, table.c.row_digest))
        stored = {row.id: row.row_digest for row in rows}
        ids, edited = list(stored), []
        for start in range(0, len(ids), _BATCH):
            for id, held in read_held(connection, ids[start : start + _BATCH]).items():
                if held.digest != stored.pop(id):
                    edited.append((held.treatment.case, held.treatment.session))
        lost = [f"{len(stored)} treatments have lost their techniques or their import"] if stored else []
        lost += [said for find in (damaged_talks, damaged_follow_ups) if (said := find(connection))]
        lost += [f"{_ROLLUP} {span} {_MENDED}" for span in rollup.wrong_parts(connection)]
    return Checked(len(ids), tuple(sorted(edited)), (*damage, *lost))


_ROLLUP = "what figures are counted from says otherwise than the rows of treatments"
_MENDED = "(`consentpack audit check --repair` builds it anew)"


def repair_register(register: Register) -> None:
    """Build anew from the rows what figures are counted from. Nothing that was entered changes."""
    with register.writing() as connection:
        rollup.rebuild(connection)


def _damage(connection: Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        found = connection.execute(text("PRAGMA integrity_check")).scalars().all()
        yield from (str(line) for line in found if line != "ok")
        orphans = connection.execute(text("PRAGMA foreign_key_check")).all()
        if orphans:
            yield f"{len(orphans)} rows belong to nothing"
