"""The tables of the register.

One row per treatment session, one small column per outcome: a figure is then one pass over the rows
it is about, however many outcomes are counted, and an import is one row per row. Which techniques
were used together is a short list of its own, because there are few combinations and many rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from functools import lru_cache

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    DateTime,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    SmallInteger,
    String,
    Table,
    Text,
    UniqueConstraint,
    select,
    text,
)

SCHEMA = 3
"""The version of these tables. A change of them is a step in `migrate`, and the next number."""

METADATA = MetaData()

SCHEMA_VERSION = Table(
    "schema_version",
    METADATA,
    # one row for each version the register has had; the highest is what it is now
    Column("version", Integer, primary_key=True),
    Column("at", DateTime, nullable=False),
    Column("program", String, nullable=False),
)

IMPORTS = Table(
    "imports",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("at", DateTime, nullable=False),
    Column("by", String, nullable=False),
    # 'import' of a file, 'entry' by hand, or 'diary' for an entry out of a patient's diary
    Column("kind", String, nullable=False),
    Column("file_name", String, nullable=False),
    Column("file_digest", String(64), nullable=False),
    Column("rows_read", Integer, nullable=False),
    Column("added", Integer, nullable=False),
    Column("updated", Integer, nullable=False),
    Column("unchanged", Integer, nullable=False),
    Column("set_aside", Integer, nullable=False),
    Column("undone", Boolean, nullable=False, default=False),
    Column("undone_at", DateTime),
    Column("undone_by", String),
)

COMBINATIONS = Table(
    "combinations",
    METADATA,
    Column("id", Integer, primary_key=True),
    # technique ids in alphabetical order, with '+' between
    Column("techniques", String, nullable=False, unique=True),
)

OUTCOME_COLUMNS = Table(
    "outcome_columns",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("outcome", String, nullable=False, unique=True),
)

FIELD_COLUMNS = Table(
    "field_columns",
    METADATA,
    # what the field of medicine keeps of a treatment: a 'stratum' is a word, a 'measurement' a number
    Column("id", Integer, primary_key=True),
    Column("kind", String, nullable=False),
    Column("name", String, nullable=False),
    UniqueConstraint("kind", "name"),
)

CHANGES = Table(
    "changes",
    METADATA,
    # what a treatment was before an import changed it, as JSON: how the import is undone, and what
    # replaced what. It stays when the import is taken back
    Column("import_id", ForeignKey("imports.id"), primary_key=True),
    Column("case_ref", String, primary_key=True),
    Column("session", Integer, primary_key=True),
    Column("before", Text, nullable=False),
    Column("source_row", Integer),
    Index("by_case", "case_ref", "session"),
)

_FIXED = (
    ("case_ref", String, False),
    ("session", Integer, False),
    # days since 1 January of year 1, so that both databases can subtract days
    ("day", Integer, False),
    ("site", String, False),
    # days from treatment to the last time the patient was seen; empty when never seen again
    ("watched_days", Integer, True),
    ("operator", String, True),
    # days to the last look that was entered by hand or from a diary: no file shortens it
    ("watched_by_hand", Integer, True),
    # row of the spreadsheet it came from, as the spreadsheet numbers it
    ("source_row", Integer, True),
    ("row_digest", String(64), False),
)


def _treatments(
    metadata: MetaData,
    outcomes: Iterable[str],
    strata: Iterable[str] = (),
    measurements: Iterable[str] = (),
) -> Table:
    fixed = [Column(name, kind, nullable=nullable) for name, kind, nullable in _FIXED]
    return Table(
        "treatments",
        metadata,
        Column("id", Integer, primary_key=True),
        *fixed,
        Column("combination_id", ForeignKey(COMBINATIONS.c.id), nullable=False),
        Column("added_by", ForeignKey(IMPORTS.c.id), nullable=False),
        # empty: not recorded (never "no"); 0: looked for and not seen; 1 and above: seen, or its grade
        *(Column(name, SmallInteger) for name in outcomes),
        *(Column(name, String) for name in strata),
        *(Column(name, Float) for name in measurements),
        UniqueConstraint("case_ref", "session"),
        Index("by_combination_and_day", "combination_id", "day"),
    )


TREATMENTS = _treatments(METADATA, ())

OUTCOME_SOURCES = Table(
    "outcome_sources",
    METADATA,
    # where an outcome came from. Without a row here it came with its treatment (added_by): so it is
    # with nearly all, and a large import writes each row once
    Column("treatment_id", ForeignKey(TREATMENTS.c.id), primary_key=True),
    Column("outcome_id", ForeignKey(OUTCOME_COLUMNS.c.id), primary_key=True),
    Column("import_id", ForeignKey(IMPORTS.c.id), nullable=False),
    # days from the treatment to the look; empty when the file says only when it was seen last
    Column("looked_days", Integer),
)


def outcome_columns(connection: Connection) -> dict[str, str]:
    """Outcome id -> name of its column, for the outcomes the register knows."""
    rows = connection.execute(select(OUTCOME_COLUMNS.c.outcome, OUTCOME_COLUMNS.c.id))
    return {row.outcome: f"o{row.id}" for row in rows}


@dataclass(frozen=True)
class FieldColumns:
    """The columns of what the field of medicine keeps of a treatment: its id -> name of the column."""

    strata: Mapping[str, str] = dataclass_field(default_factory=dict)
    measurements: Mapping[str, str] = dataclass_field(default_factory=dict)


def field_columns(connection: Connection) -> FieldColumns:
    """The strata and measurements that the register knows."""
    rows = connection.execute(select(FIELD_COLUMNS).order_by(FIELD_COLUMNS.c.id)).all()
    strata = {row.name: f"s{row.id}" for row in rows if row.kind == "stratum"}
    return FieldColumns(strata, {row.name: f"m{row.id}" for row in rows if row.kind == "measurement"})


def treatments(columns: Mapping[str, str], more: FieldColumns | None = None) -> Table:
    """The treatments table with its outcome columns, and with those of the field where they are given."""
    more = more or FieldColumns()
    strata, measurements = tuple(more.strata.values()), tuple(more.measurements.values())
    return _table_with(tuple(columns.values()), strata, measurements)


@lru_cache(maxsize=32)
def _table_with(outcomes: tuple[str, ...], strata: tuple[str, ...], measurements: tuple[str, ...]) -> Table:
    """One table for each set of columns: a statement about it is then compiled only once."""
    metadata = MetaData()
    for table in (IMPORTS, COMBINATIONS):
        table.to_metadata(metadata)
    return _treatments(metadata, outcomes, strata, measurements)


def add_field_columns(
    connection: Connection, *, strata: Iterable[str], measurements: Iterable[str]
) -> FieldColumns:
    """Make sure each stratum and measurement has a column; all of them."""
    known = field_columns(connection)
    new = [("stratum", name, "VARCHAR") for name in strata if name not in known.strata]
    new += [("measurement", name, "FLOAT") for name in measurements if name not in known.measurements]
    for kind, name, sort in new:
        made = connection.execute(FIELD_COLUMNS.insert().values(kind=kind, name=name))
        column = f"{kind[0]}{made.inserted_primary_key[0]}"  # type: ignore[index]
        connection.execute(text(f"ALTER TABLE treatments ADD COLUMN {column} {sort}"))
    return field_columns(connection) if new else known


def add_outcomes(connection: Connection, outcomes: Iterable[str]) -> dict[str, str]:
    """Make sure each outcome has a column; all outcome columns."""
    known = outcome_columns(connection)
    for outcome in outcomes:
        if outcome not in known:
            made = connection.execute(OUTCOME_COLUMNS.insert().values(outcome=outcome))
            name = f"o{made.inserted_primary_key[0]}"  # type: ignore[index]
            connection.execute(text(f"ALTER TABLE treatments ADD COLUMN {name} SMALLINT"))
            known[outcome] = name
    return known
