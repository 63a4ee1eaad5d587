"""The tables of the ledger, in the register's own database. Nothing is ever changed in them but the head."""

from __future__ import annotations

from sqlalchemy import Column, Connection, Index, Integer, MetaData, String, Table, Text, inspect

METADATA = MetaData()

ENTRIES = Table(
    "ledger_entries",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("at", String(20), nullable=False),
    Column("kind", String, nullable=False),
    Column("by", String, nullable=False),
    Column("reference", String, nullable=False),
    Column("version", Integer, nullable=False),
    Column("code", String, nullable=False),
    Column("details", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    # the digest of all of the above, and the root of the largest full tree that ends with it
    Column("digest", String(64), nullable=False),
    Column("part", String(64), nullable=False),
    Index("ledger_by_reference", "reference", "version"),
    Index("ledger_by_code", "code"),
    Index("ledger_by_kind", "kind", "at"),
)

HEAD = Table(
    "ledger_head",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("size", Integer, nullable=False),
    Column("root", String(64), nullable=False),
    Column("at", String(20), nullable=False),
    # hex of the public key and of what it signed; '' without a key
    Column("key", String, nullable=False),
    Column("signature", String, nullable=False),
)

_KEPT = {
    "sqlite": (
        "CREATE TRIGGER ledger_kept_{what} BEFORE {what} ON ledger_entries "
        "BEGIN SELECT RAISE(ABORT, 'an entry of the ledger is never changed'); END",
    ),
    "postgresql": (
        "CREATE OR REPLACE FUNCTION ledger_kept() RETURNS trigger LANGUAGE plpgsql AS "
        "$$BEGIN RAISE EXCEPTION 'an entry of the ledger is never changed'; END$$",
        "CREATE TRIGGER ledger_kept_{what} BEFORE {what} ON ledger_entries FOR EACH STATEMENT "
        "EXECUTE FUNCTION ledger_kept()",
    ),
}
"""A slip of a hand in the database is stopped at once; whoever takes this away is told by the digests."""

_MORE = {"postgresql": ("TRUNCATE",)}
"""What empties a table without deleting any row of it, where a database knows that."""

_TRIGGERS = {
    "sqlite": "SELECT count(*) FROM sqlite_master WHERE name LIKE 'ledger!_kept!_%' ESCAPE '!'",
    "postgresql": "SELECT count(*) FROM pg_trigger WHERE tgrelid = 'ledger_entries'::regclass "
    "AND NOT tgisinternal",
}


def is_there(connection: Connection) -> bool:
    """Whether anything was ever entered."""
    return inspect(connection).has_table(ENTRIES.name)


def make(connection: Connection) -> None:
    """Make the tables where they are not there, inside a transaction that writes. In a register that was
    brought back from a backup, what keeps the entries is made again."""
    METADATA.create_all(connection)
    kept = _TRIGGERS.get(connection.dialect.name)
    if kept and not connection.exec_driver_sql(kept).scalar():
        for what in ("UPDATE", "DELETE", *_MORE.get(connection.dialect.name, ())):
            for statement in _KEPT[connection.dialect.name]:
                connection.exec_driver_sql(statement.replace("{what}", what))
