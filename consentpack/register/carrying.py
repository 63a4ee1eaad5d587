"""From schema 2 to 3: what a field of medicine keeps of a treatment gets columns of its own.

Schema 2 had some by name. They are told by being none of the program's own: words were strata and
numbers were measurements.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import fields

from sqlalchemy import Connection, String, inspect, text

from consentpack.register.provenance import Held, read_held
from consentpack.register.schema import TREATMENTS, FieldColumns, outcome_columns
from consentpack.register.treatment import Treatment

EDITED = "edited "
"""How the digest of a row begins that was changed by something else than this program."""

_BATCH = 2000
_OWN = frozenset(each.name for each in fields(Treatment))
_TABLE = text(
    "CREATE TABLE field_columns (id INTEGER NOT NULL PRIMARY KEY, kind VARCHAR NOT NULL, "
    "name VARCHAR NOT NULL, UNIQUE (kind, name))"
)
_TABLE_POSTGRES = text(
    "CREATE TABLE field_columns (id SERIAL NOT NULL PRIMARY KEY, kind VARCHAR NOT NULL, "
    "name VARCHAR NOT NULL, UNIQUE (kind, name))"
)
_COLUMN = text("INSERT INTO field_columns (kind, name) VALUES (:kind, :name)")
_COLUMN_ID = text("SELECT id FROM field_columns WHERE kind = :kind AND name = :name")
_DIGEST = text("UPDATE treatments SET row_digest = :digest WHERE id = :id")
_DIGESTS = text("SELECT id, row_digest FROM treatments ORDER BY id")
_CHANGES = text("SELECT import_id, case_ref, session, before FROM changes")
_CHANGE = text(
    "UPDATE changes SET before = :before WHERE import_id = :entry AND case_ref = :case AND session = :session"
)


def older_columns(connection: Connection) -> FieldColumns:
    """The columns of strata and measurements in the tables before schema 3, each called as it is."""
    known = {*TREATMENTS.c.keys(), *outcome_columns(connection).values()}
    found = [each for each in inspect(connection).get_columns("treatments") if each["name"] not in known]
    strata = [each["name"] for each in found if isinstance(each["type"], String)]
    numbers = [each["name"] for each in found if each["name"] not in strata]
    return FieldColumns({name: name for name in strata}, {name: name for name in numbers})


def older_digest(held: Held, older: FieldColumns) -> str:
    """The digest that the program before schema 3 gave a treatment."""
    values = json.loads(held.treatment.as_json())
    del values["strata"], values["measurements"]
    values |= {name: held.treatment.strata.get(name) for name in older.strata}
    values |= {name: held.treatment.measurements.get(name) for name in older.measurements}
    return held.digest_over(json.dumps(values, sort_keys=True))


def as_now(before: str) -> str:
    """A treatment that was kept as JSON, in the form of now."""
    values = json.loads(before)
    if "strata" in values:
        return before
    more = {name: values[name] for name in values if name not in _OWN and not name.startswith("_")}
    kept = {name: value for name, value in values.items() if name not in more}
    kept["strata"] = {name: value for name, value in more.items() if isinstance(value, str)}
    kept["measurements"] = {n: float(v) for n, v in more.items() if v is not None and not isinstance(v, str)}
    return json.dumps(kept, sort_keys=True)


def to_3(connection: Connection) -> None:
    """Carry every stratum and measurement over, in the rows and in what they were before changes."""
    older = older_columns(connection)
    digests = connection.execute(_DIGESTS).all()
    for start in range(0, len(digests), _BATCH):
        some = {row.id: row.row_digest for row in digests[start : start + _BATCH]}
        _new_digests(connection, read_held(connection, list(some), older), some, older)
    postgres = connection.dialect.name == "postgresql"
    connection.execute(_TABLE_POSTGRES if postgres else _TABLE)
    _rename(connection, "stratum", tuple(older.strata), sort="VARCHAR")
    _rename(connection, "measurement", tuple(older.measurements), sort="DOUBLE PRECISION")
    for row in connection.execute(_CHANGES).all():
        key = {"entry": row.import_id, "case": row.case_ref, "session": row.session}
        connection.execute(_CHANGE, key | {"before": as_now(row.before)})


def _new_digests(
    connection: Connection, rows: dict[int, Held], stored: dict[int, str], older: FieldColumns
) -> None:
    """A row that was not as the program wrote it must not pass for one that is, because of this step."""
    for id, held in rows.items():
        digest = held.digest
        if stored[id].startswith(EDITED):
            continue
        if stored[id] != older_digest(held, older):
            digest = EDITED + hashlib.sha256(stored[id].encode()).hexdigest()[:32]
        connection.execute(_DIGEST, {"id": id, "digest": digest})


def _rename(connection: Connection, kind: str, names: Sequence[str], *, sort: str) -> None:
    for name in names:
        key = {"kind": kind, "name": name}
        connection.execute(_COLUMN, key)
        column = f"{kind[0]}{connection.execute(_COLUMN_ID, key).scalar_one()}"
        connection.execute(text(f'ALTER TABLE treatments RENAME COLUMN "{name}" TO {column}'))
        if connection.dialect.name == "postgresql":
            connection.execute(text(f"ALTER TABLE treatments ALTER COLUMN {column} TYPE {sort}"))
