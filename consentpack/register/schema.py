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
    func,
    select,
    text,
)

SCHEMA = 8
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
    # 'import' of a file, 'entry' by hand, 'diary' for an entry out of a patient's diary, 'talk-back' or
    # 'follow-up'
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
    # which taking back of this register it was, the first being 1, and the last import or entry there was
    # then. Empty for what an older program took back: what it took away is not in taken_back
    Column("undone_number", Integer),
    Column("undone_after", Integer),
    Index("undone_in_order", "undone_number", unique=True),
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
    # the last import or entry when it was made; empty for one that an older program made
    Column("made_by", Integer),
)

FIELD_COLUMNS = Table(
    "field_columns",
    METADATA,
    # what is kept of a treatment beside its outcomes: a 'stratum' is a word, a 'measurement' a number, and
    # a 'day' the days from the treatment until an outcome was first noticed, or it was done again
    Column("id", Integer, primary_key=True),
    Column("kind", String, nullable=False),
    Column("name", String, nullable=False),
    Column("made_by", Integer),
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
    # its digest where that is not the one of its values: something else than this program had changed it
    Column("row_digest", String(64)),
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
    days: Iterable[str] = (),
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
        *(Column(name, Integer) for name in days),
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


TAKEN_BACK = Table(
    "taken_back",
    METADATA,
    # what a treatment was just before an import was taken back, which put it back or took it out. Rows are
    # only ever added: without them nothing that was counted in the meantime could be counted again
    Column("import_id", ForeignKey("imports.id"), primary_key=True),
    Column("case_ref", String, primary_key=True),
    Column("session", Integer, primary_key=True),
    # its number among the treatments: those of one day are told in this order
    Column("treatment_id", Integer, nullable=False),
    Column("was", Text, nullable=False),
    Column("source_row", Integer),
    Column("row_digest", String(64)),
)


def outcome_columns(connection: Connection) -> dict[str, str]:
    """Outcome id -> name of its column, for the outcomes the register knows."""
    rows = connection.execute(select(OUTCOME_COLUMNS.c.outcome, OUTCOME_COLUMNS.c.id))
    return {row.outcome: f"o{row.id}" for row in rows}


@dataclass(frozen=True)
class FieldColumns:
    """The columns of what is kept of a treatment beside its outcomes: its id -> name of the column."""

    strata: Mapping[str, str] = dataclass_field(default_factory=dict)
    measurements: Mapping[str, str] = dataclass_field(default_factory=dict)
    days: Mapping[str, str] = dataclass_field(default_factory=dict)
    """An outcome, when it was first noticed, or RETREATED. Only those that somebody has written down: a
    register without days has no such columns, and is counted as fast as before."""


RETREATED = "retreated"
"""What ends watching: the same place was treated again."""
_SORTS = {"stratum": "VARCHAR", "measurement": "FLOAT", "day": "INTEGER"}


def field_columns(connection: Connection) -> FieldColumns:
    """The strata, measurements and days that the register knows."""
    told = select(FIELD_COLUMNS.c.id, FIELD_COLUMNS.c.kind, FIELD_COLUMNS.c.name)
    rows = connection.execute(told.order_by(FIELD_COLUMNS.c.id)).all()
    found = ({row.name: f"{kind[0]}{row.id}" for row in rows if row.kind == kind} for kind in _SORTS)
    return FieldColumns(*found)


def treatments(columns: Mapping[str, str], more: FieldColumns | None = None) -> Table:
    """The treatments table with its outcome columns, and with those of the field where they are given."""
    more = more or FieldColumns()
    each = (columns, more.strata, more.measurements, more.days)
    return _table_with(*(tuple(names.values()) for names in each))


@lru_cache(maxsize=32)
def _table_with(
    outcomes: tuple[str, ...],
    strata: tuple[str, ...],
    measurements: tuple[str, ...],
    days: tuple[str, ...],
) -> Table:
    """One table for each set of columns: a statement about it is then compiled only once."""
    metadata = MetaData()
    for table in (IMPORTS, COMBINATIONS):
        table.to_metadata(metadata)
    return _treatments(metadata, outcomes, strata, measurements, days)


_LAST = select(func.max(IMPORTS.c.id)).scalar_subquery()


def add_field_columns(
    connection: Connection, *, strata: Iterable[str], measurements: Iterable[str], days: Iterable[str] = ()
) -> FieldColumns:
    """Make sure each stratum, measurement and day has a column; all of them.

    The outcome that a day is of must have its column.
    """
    known = field_columns(connection)
    each = {"stratum": (strata, known.strata), "measurement": (measurements, known.measurements)}
    each["day"] = (days, known.days)
    new = [(kind, name) for kind, (names, there) in each.items() for name in names if name not in there]
    for kind, name in new:
        values = {"kind": kind, "name": name, "made_by": _LAST}
        made = connection.execute(FIELD_COLUMNS.insert().values(values))
        column = f"{kind[0]}{made.inserted_primary_key[0]}"  # type: ignore[index]
        connection.execute(text(f"ALTER TABLE treatments ADD COLUMN {column} {_SORTS[kind]}"))
        if kind == "day" and name != RETREATED:
            index_undated(connection, outcome_columns(connection)[name], column)
    return field_columns(connection) if new else known


def index_undated(connection: Connection, outcome: str, day: str) -> None:
    """Find at once whether there is any that was seen on no known day: else every figure looks for it."""
    where = f"{outcome} >= 1 AND {day} IS NULL"
    connection.execute(text(f"CREATE INDEX undated_{day} ON treatments (day) WHERE {where}"))


def add_outcomes(connection: Connection, outcomes: Iterable[str]) -> dict[str, str]:
    """Make sure each outcome has a column; all outcome columns."""
    known = outcome_columns(connection)
    for outcome in outcomes:
        if outcome not in known:
            made = connection.execute(OUTCOME_COLUMNS.insert().values(outcome=outcome, made_by=_LAST))
            name = f"o{made.inserted_primary_key[0]}"  # type: ignore[index]
            connection.execute(text(f"ALTER TABLE treatments ADD COLUMN {name} SMALLINT"))
            known[outcome] = name
    return known
