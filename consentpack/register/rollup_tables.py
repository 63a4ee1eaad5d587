"""The tables of the roll-up: what is counted of the treatments, once more and column by column.

A figure asks the same few things of every treatment. Read row by row, a million of them take seconds; read
as columns, in which what was seen is one bit of each treatment, they take hundredths. The roll-up is cut into
parts by the numbers of the treatments. Whatever changes a treatment, this program or another, the database
itself notes that its part is stale: so the roll-up can never pass for what the rows no longer say.
"""

from __future__ import annotations

from sqlalchemy import Column, Connection, Integer, LargeBinary, String, Table, text

from consentpack.register.schema import METADATA

PART = 1 << 14
"""Treatment numbers of one part: an entry by hand builds one part anew, some hundredths of a second."""

PARTS = Table(
    "rollup_parts",
    METADATA,
    Column("part", Integer, primary_key=True, autoincrement=False),
    Column("treatments", Integer, nullable=False),
)

COLUMNS = Table(
    "rollup_columns",
    METADATA,
    # as `packing` writes them; a column that is blank in a whole part is not there
    Column("name", String, primary_key=True),
    Column("part", Integer, primary_key=True, autoincrement=False),
    Column("data", LargeBinary, nullable=False),
)

STALE = Table(
    "rollup_stale",
    METADATA,
    Column("part", Integer, primary_key=True, autoincrement=False),
)

DERIVED = frozenset(table.name for table in (PARTS, COLUMNS, STALE))
"""Made from the treatments: a copy of the rows makes its own."""

_TO_MAKE = (
    "CREATE TABLE rollup_parts (part INTEGER NOT NULL PRIMARY KEY, treatments INTEGER NOT NULL)",
    "CREATE TABLE rollup_columns (name VARCHAR NOT NULL, part INTEGER NOT NULL, data {bytes} NOT NULL, "
    "PRIMARY KEY (name, part))",
    "CREATE TABLE rollup_stale (part INTEGER NOT NULL PRIMARY KEY)",
)


def make(connection: Connection) -> None:
    """The tables in a register that has none."""
    bytes = "BLOB" if connection.dialect.name == "sqlite" else "BYTEA"
    for statement in _TO_MAKE:
        connection.execute(text(statement.format(bytes=bytes)))
    note_changes(connection)


def _noted(event: str, row: str) -> str:
    """A trigger of SQLite. The condition stands before the insert: another program's own way of meeting a
    conflict would go before one that is written in it."""
    return (
        f"CREATE TRIGGER rollup_{event.lower()}_{row.lower()} AFTER {event} ON treatments "
        f"WHEN NOT EXISTS (SELECT 1 FROM rollup_stale WHERE part = {row}.id / {PART}) "
        f"BEGIN INSERT INTO rollup_stale (part) VALUES ({row}.id / {PART}); END"
    )


def _triggers_of_postgresql() -> tuple[str, ...]:
    add = f"INSERT INTO rollup_stale (part) VALUES ({{row}}.id / {PART}) ON CONFLICT DO NOTHING; "
    return (
        "CREATE FUNCTION rollup_is_stale() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN "
        f"IF TG_OP <> 'INSERT' THEN {add.format(row='OLD')} END IF; "
        f"IF TG_OP <> 'DELETE' THEN {add.format(row='NEW')} END IF; RETURN NULL; END$$",
        "CREATE TRIGGER rollup_changed AFTER INSERT OR UPDATE OR DELETE ON treatments FOR EACH ROW "
        "EXECUTE FUNCTION rollup_is_stale()",
        "CREATE FUNCTION rollup_is_gone() RETURNS trigger LANGUAGE plpgsql AS $$BEGIN "
        "INSERT INTO rollup_stale (part) SELECT part FROM rollup_parts ON CONFLICT DO NOTHING; "
        "RETURN NULL; END$$",
        "CREATE TRIGGER rollup_emptied AFTER TRUNCATE ON treatments FOR EACH STATEMENT "
        "EXECUTE FUNCTION rollup_is_gone()",
    )


_EVENTS = (("INSERT", "NEW"), ("UPDATE", "OLD"), ("UPDATE", "NEW"), ("DELETE", "OLD"))


def note_changes(connection: Connection) -> None:
    """Let the database note from now on which parts are stale."""
    sqlite = connection.dialect.name == "sqlite"
    for statement in [_noted(*each) for each in _EVENTS] if sqlite else _triggers_of_postgresql():
        connection.exec_driver_sql(statement)


def span(part: int) -> tuple[int, int]:
    """The first and the last number of the treatments of a part."""
    return part * PART, (part + 1) * PART - 1


def parts_there(connection: Connection) -> list[int]:
    """The parts of the treatments there are, by the rows themselves."""
    found = connection.execute(text(f"SELECT DISTINCT id / {PART} FROM treatments")).scalars()
    return sorted(found)
