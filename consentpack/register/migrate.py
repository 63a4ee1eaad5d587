"""Bringing a register that an older program made up to date, one version after the other.

A step is written in SQL of its own: it must go on doing what it did when the tables change again.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, inspect, text

from consentpack import __version__
from consentpack.errors import Problem, RegisterError
from consentpack.register import rollup
from consentpack.register.carrying import EDITED, as_now, older_columns, older_digest, to_3
from consentpack.register.follow_up_table import FOLLOW_UPS
from consentpack.register.provenance import KINDS, Held, Source, held_of
from consentpack.register.rollup_tables import note_changes
from consentpack.register.schema import IMPORTS, METADATA, SCHEMA, SCHEMA_VERSION, outcome_columns
from consentpack.register.talk_back_table import TALK_BACKS
from consentpack.register.treatment import from_json
from consentpack.register.waiting import tell


def version_of(connection: Connection) -> int:
    """The version of the register's tables; 0 when there are none. Raises RegisterError.

    The tables before there was a version are version 1.
    """
    tables = set(inspect(connection).get_table_names())
    if SCHEMA_VERSION.name in tables:
        return _known(int(connection.execute(text("SELECT max(version) FROM schema_version")).scalar() or 0))
    if IMPORTS.name in tables:
        return 1
    if tables and connection.dialect.name == "sqlite":
        what = f"this is the database of something else: it holds the table '{min(tables)}'."
        raise RegisterError(Problem(_name(connection), what, "See 'register' in clinic.toml."))
    return 0


def _known(version: int) -> int:
    if version > SCHEMA:
        what = f"it was made by a newer consentpack, schema {version}; this one knows up to {SCHEMA}."
        raise RegisterError(Problem("register", what, "Use the newer consentpack, here too."))
    return version


def bring_up(connection: Connection) -> None:
    """Make the tables, or bring older ones up to date, inside a transaction that writes."""
    version = version_of(connection)
    if version == SCHEMA:
        return  # somebody else has done it while this one waited
    if version == 0:
        assert TALK_BACKS.metadata is FOLLOW_UPS.metadata is METADATA  # or they would not be made
        METADATA.create_all(connection)
        mark_edits(connection)
        note_changes(connection)
    else:
        copy = _copy(connection, version)
        for step in STEPS[version - 1 :]:
            step(connection)
        tell(f"the register was brought from schema {version} to {SCHEMA}. {copy}{_not_kept(connection)}")
    row = {"version": SCHEMA, "at": datetime.now(), "program": __version__}
    connection.execute(SCHEMA_VERSION.insert().values(**row))


def _copy(connection: Connection, version: int) -> str:
    """Keep an SQLite register as it was; a sentence that says where it is."""
    if connection.dialect.name != "sqlite":
        return (
            "It was done in one transaction and no copy was made. To go back to the older program, "
            "restore the database from your server's own backup of before."
        )
    path = Path(_name(connection))
    copy = path.with_name(f"{path.name}.schema-{version}.{datetime.now():%Y%m%d-%H%M%S-%f}")
    os.close(os.open(copy, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    source, target = sqlite3.connect(path), sqlite3.connect(copy)
    try:
        source.backup(target)
    finally:
        target.close()
        source.close()
    return f"As it was, it is kept in {copy}."


def _name(connection: Connection) -> str:
    return connection.engine.url.database or "register"


# --- from 1 to 2: where each outcome came from ----------------------------------------------------

_TO_2 = (
    "CREATE TABLE schema_version (version INTEGER NOT NULL PRIMARY KEY, at TIMESTAMP NOT NULL, "
    "program VARCHAR NOT NULL)",
    "ALTER TABLE imports ADD COLUMN undone_at TIMESTAMP",
    "ALTER TABLE imports ADD COLUMN undone_by VARCHAR",
    "ALTER TABLE treatments ADD COLUMN watched_by_hand INTEGER",
    "CREATE TABLE outcome_sources (treatment_id INTEGER NOT NULL REFERENCES treatments (id), "
    "outcome_id INTEGER NOT NULL REFERENCES outcome_columns (id), "
    "import_id INTEGER NOT NULL REFERENCES imports (id), looked_days INTEGER, "
    "PRIMARY KEY (treatment_id, outcome_id))",
    "CREATE INDEX by_case ON changes (case_ref, session)",
)
_KEYS = text("SELECT DISTINCT case_ref, session FROM changes")
_CHANGES = text(
    "SELECT import_id, before, source_row FROM changes "
    "WHERE case_ref = :case AND session = :session ORDER BY import_id"
)
_ROW = text(
    "SELECT t.*, c.techniques, i.kind FROM treatments t "
    "JOIN combinations c ON c.id = t.combination_id JOIN imports i ON i.id = t.added_by "
    "WHERE t.case_ref = :case AND t.session = :session"
)
_KEEP_BEFORE = text(
    "UPDATE changes SET before = :before WHERE import_id = :entry AND case_ref = :case AND session = :session"
)
_KEEP_NOW = text("UPDATE treatments SET watched_by_hand = :watched, row_digest = :digest WHERE id = :id")
_KEEP_SOURCE = text(
    "INSERT INTO outcome_sources (treatment_id, outcome_id, import_id, looked_days) "
    "VALUES (:id, :outcome, :entry, :looked)"
)


def _to_2(connection: Connection) -> None:
    """Find out from the changes that were kept which outcomes were entered by hand.

    A value that was entered by hand and that a later file repeated is by hand still. Figures stay as
    they are: what later imports took away is for the clinic to look at.
    """
    for statement in _TO_2:
        connection.execute(text(statement))
    kinds = {row.id: KINDS[row.kind] for row in connection.execute(text("SELECT id, kind FROM imports"))}
    columns, older = outcome_columns(connection), older_columns(connection)
    for case, session in connection.execute(_KEYS).all():
        key = {"case": case, "session": session}
        row = connection.execute(_ROW, key).mappings().one()
        added = Source(row["added_by"], kinds[row["added_by"]])
        entries, states = [], []
        for change in connection.execute(_CHANGES, key).mappings():
            entries.append(Source(change["import_id"], kinds[change["import_id"]]))
            states.append(Held(from_json(as_now(change["before"])), added, source_row=change["source_row"]))
        states.append(held_of(row, columns, {}, older))
        *before, now = traced(states, entries)
        for entry, held in zip(entries, before, strict=True):
            connection.execute(_KEEP_BEFORE, key | {"entry": entry.entry, "before": held.as_json()})
        _keep_now(connection, row["id"], now, columns, older_digest(now, older))
    mark_edits(connection)


def traced(states: Sequence[Held], entries: Sequence[Source]) -> list[Held]:
    """What a treatment was, with the source of each outcome; `entries` are what changed it, in order."""
    found = [states[0]]
    for after, entry in zip(states[1:], entries, strict=True):
        before = found[-1]
        old, new = before.treatment, after.treatment
        looked = new.watched_days if entry.kind != "file" and new.watched_days != old.watched_days else None
        changed = {n for n in (*old.outcomes, *new.outcomes) if old.outcomes.get(n) != new.outcomes.get(n)}
        sources = {name: source for name, source in before.sources.items() if name not in changed}
        sources |= {name: replace(entry, looked=looked) for name in changed if name in new.outcomes}
        watched = before.watched_by_hand if looked is None else looked
        found.append(replace(after, sources=sources, watched_by_hand=watched))
    return found


def _keep_now(connection: Connection, id: int, now: Held, columns: Mapping[str, str], digest: str) -> None:
    values = {"id": id, "watched": now.watched_by_hand, "digest": digest}
    connection.execute(_KEEP_NOW, values)
    for name, source in now.sources.items():
        outcome = int(columns[name].removeprefix("o"))
        row = {"id": id, "outcome": outcome, "entry": source.entry, "looked": source.looked}
        connection.execute(_KEEP_SOURCE, row)


def _to_4(_: Connection) -> None:
    """Nothing moves: a column of days is made when the first day is written down.

    The number alone changes. A program that knows nothing of days would write a treatment back without
    those it has, and its digest with it.
    """


# --- from 4 to 5: what taking back took away ------------------------------------------------------

_TO_5 = (
    "ALTER TABLE imports ADD COLUMN undone_number INTEGER",
    "ALTER TABLE imports ADD COLUMN undone_after INTEGER",
    "CREATE UNIQUE INDEX undone_in_order ON imports (undone_number)",
    "ALTER TABLE outcome_columns ADD COLUMN made_by INTEGER",
    "ALTER TABLE field_columns ADD COLUMN made_by INTEGER",
    "ALTER TABLE changes ADD COLUMN row_digest VARCHAR(64)",
    "CREATE TABLE taken_back (import_id INTEGER NOT NULL REFERENCES imports (id), case_ref VARCHAR NOT NULL, "
    "session INTEGER NOT NULL, treatment_id INTEGER NOT NULL, was TEXT NOT NULL, source_row INTEGER, "
    "row_digest VARCHAR(64), PRIMARY KEY (import_id, case_ref, session))",
)
_NOT_KEPT = text("SELECT count(*) FROM imports WHERE undone AND undone_number IS NULL")


def _to_5(connection: Connection) -> None:
    """What was taken back before gets no number: nobody kept what it took away, so that no figure of before
    it can be counted again."""
    for statement in _TO_5:
        connection.execute(text(statement))


# --- from 5 to 6: what people could say of what they were told -------------------------------------

_TO_6 = (
    "CREATE TABLE talk_backs (import_id INTEGER NOT NULL REFERENCES imports (id), question VARCHAR NOT NULL, "
    "case_ref VARCHAR NOT NULL, day INTEGER NOT NULL, clinician VARCHAR NOT NULL, language VARCHAR NOT NULL, "
    "module VARCHAR NOT NULL, digest VARCHAR(64) NOT NULL, sentence TEXT NOT NULL, mark SMALLINT NOT NULL, "
    "row_digest VARCHAR(64) NOT NULL, PRIMARY KEY (import_id, question))",
    "CREATE INDEX talk_backs_by_case ON talk_backs (case_ref, day)",
)


def _to_6(connection: Connection) -> None:
    """A table more; nothing that is held changes."""
    for statement in _TO_6:
        connection.execute(text(statement))


# --- from 6 to 7: who is asked no more -------------------------------------------------------------

_TO_7 = (
    "CREATE TABLE follow_ups (import_id INTEGER NOT NULL REFERENCES imports (id), case_ref VARCHAR NOT NULL, "
    "session INTEGER NOT NULL, day INTEGER NOT NULL, how VARCHAR NOT NULL, followed_by VARCHAR NOT NULL, "
    "row_digest VARCHAR(64) NOT NULL, PRIMARY KEY (import_id, case_ref, session))",
    "CREATE INDEX follow_ups_by_case ON follow_ups (case_ref, session)",
)


def _to_7(connection: Connection) -> None:
    """A table more; nothing that is held changes."""
    for statement in _TO_7:
        connection.execute(text(statement))


# --- from 7 to 8: what figures are counted from -----------------------------------------------------


def _to_8(connection: Connection) -> None:
    """What is counted is kept once more, in columns; nothing that is held changes."""
    rollup.begin(connection)


def _not_kept(connection: Connection) -> str:
    """A sentence on what the older program took back, where it did."""
    number = connection.execute(_NOT_KEPT).scalar_one()
    if not number:
        return ""
    return (
        f" It had taken back {number} of its imports and entries and kept nothing of what that took away: "
        "figures of before then cannot be counted again as they were. Those of after can."
    )


STEPS: tuple[Callable[[Connection], None], ...] = (_to_2, to_3, _to_4, _to_5, _to_6, _to_7, _to_8)
"""The step from each version to the next, the first from 1 to 2."""


# --- rows that something else has changed ---------------------------------------------------------

_MARKS = {
    "sqlite": (
        "CREATE TRIGGER treatments_edited AFTER UPDATE ON treatments "
        "WHEN NEW.row_digest = OLD.row_digest BEGIN UPDATE treatments "
        f"SET row_digest = '{EDITED}' || lower(hex(randomblob(16))) WHERE id = NEW.id; END",
    ),
    "postgresql": (
        "CREATE FUNCTION treatment_edited() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN "
        "IF NEW.row_digest = OLD.row_digest THEN "
        f"NEW.row_digest := '{EDITED}' || md5(random()::text || clock_timestamp()::text); END IF; "
        "RETURN NEW; END$$",
        "CREATE TRIGGER treatments_edited BEFORE UPDATE ON treatments FOR EACH ROW "
        "EXECUTE FUNCTION treatment_edited()",
    ),
}
"""The program gives a row that it changes another digest. Whatever does not is told by that, at once
and without reading every row again."""


def mark_edits(connection: Connection) -> None:
    for statement in _MARKS.get(connection.dialect.name, ()):
        connection.exec_driver_sql(statement)
