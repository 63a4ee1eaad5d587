"""The tables of the register, and opening it.

One row per treatment session, one small column per outcome: a figure is then one pass over the rows
it is about, however many outcomes are counted, and an import is one row per row. Which techniques
were used together is a short list of its own, because there are few combinations and many rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    DateTime,
    Engine,
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
    create_engine,
    event,
    inspect,
    select,
    text,
)
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from consentpack.errors import Problem, RegisterError

_BUSY_SECONDS = 60
"""How long a writer waits for another to finish before it gives up."""

_WRITERS_LOCK = 7291604
"""Key of the advisory lock that PostgreSQL writers take in turn. Any number, always the same."""

METADATA = MetaData()

IMPORTS = Table(
    "imports",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("at", DateTime, nullable=False),
    Column("by", String, nullable=False),
    # 'import' of a file, or 'entry' by hand
    Column("kind", String, nullable=False),
    Column("file_name", String, nullable=False),
    Column("file_digest", String(64), nullable=False),
    Column("rows_read", Integer, nullable=False),
    Column("added", Integer, nullable=False),
    Column("updated", Integer, nullable=False),
    Column("unchanged", Integer, nullable=False),
    Column("set_aside", Integer, nullable=False),
    Column("undone", Boolean, nullable=False, default=False),
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

CHANGES = Table(
    "changes",
    METADATA,
    # what a treatment was before an import changed it, as JSON: how the import is undone
    Column("import_id", ForeignKey("imports.id"), primary_key=True),
    Column("case_ref", String, primary_key=True),
    Column("session", Integer, primary_key=True),
    Column("before", Text, nullable=False),
    Column("source_row", Integer),
)

_FIXED = (
    ("case_ref", String, False),
    ("session", Integer, False),
    # days since 1 January of year 1, so that both databases can subtract days
    ("day", Integer, False),
    ("site", String, False),
    ("skin_type", String, True),
    # days from treatment to the last time the patient was seen; empty when never seen again
    ("watched_days", Integer, True),
    ("operator", String, True),
    ("gauge", Integer, True),
    ("volume_ml", Float, True),
    # row of the spreadsheet it came from, as the spreadsheet numbers it
    ("source_row", Integer, True),
    ("row_digest", String(64), False),
)


def _treatments(metadata: MetaData, outcomes: Iterable[str]) -> Table:
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
        UniqueConstraint("case_ref", "session"),
        Index("by_combination_and_day", "combination_id", "day"),
    )


_treatments(METADATA, ())


@dataclass(frozen=True)
class Register:
    """An open register."""

    engine: Engine

    def connect(self) -> Connection:
        """A connection to read with."""
        return self.engine.connect()

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that writes, one at a time: what it reads cannot change under it.

        Raises RegisterError when the database fails. PostgreSQL puts the row in the lines below the
        first, which are not passed on.
        """
        try:
            with self._transaction() as connection:
                yield connection
        except SQLAlchemyError as error:
            reason = str(error.__cause__ or error).splitlines()[0]
            what = f"the register could not be written ({reason}). Nothing was changed."
            raise RegisterError(Problem("register", what)) from None

    @contextmanager
    def _transaction(self) -> Iterator[Connection]:
        with self.engine.execution_options(writing=True).begin() as connection:
            if connection.dialect.name == "postgresql":
                lock = text("SELECT pg_advisory_xact_lock(:key)")
                connection.execute(lock, {"key": _WRITERS_LOCK})
            yield connection


def outcome_columns(connection: Connection) -> dict[str, str]:
    """Outcome id -> name of its column, for the outcomes the register knows."""
    rows = connection.execute(select(OUTCOME_COLUMNS.c.outcome, OUTCOME_COLUMNS.c.id))
    return {row.outcome: f"o{row.id}" for row in rows}


def treatments(columns: Mapping[str, str]) -> Table:
    """The treatments table with its outcome columns."""
    return _table_with(tuple(columns.values()))


@lru_cache(maxsize=32)
def _table_with(columns: tuple[str, ...]) -> Table:
    """One table for each set of columns: a statement about it is then compiled only once."""
    metadata = MetaData()
    for table in (IMPORTS, COMBINATIONS):
        table.to_metadata(metadata)
    return _treatments(metadata, columns)


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


def open_register(url: str, *, create: bool = False) -> Register | None:
    """The register at a database URL; None when it does not exist yet and `create` is False.

    Raises RegisterError when it cannot be opened.
    """
    try:
        register = Register(_engine(url))
        if create:
            with register._transaction() as connection:
                METADATA.create_all(connection)
        elif _is_missing_file(url) or not inspect(register.engine).has_table(IMPORTS.name):
            register.engine.dispose()
            return None
    except (ArgumentError, SQLAlchemyError, ModuleNotFoundError) as error:
        reason = str(getattr(error, "orig", None) or error).splitlines()[0]
        what = f"the register cannot be opened ({reason})."
        raise RegisterError(Problem(_shown(url), what, "See 'register' in clinic.toml.")) from None
    return register


def _is_missing_file(url: str) -> bool:
    """Whether an SQLite file is not there; looking into it would make an empty one."""
    parsed = make_url(url)
    return parsed.get_backend_name() == "sqlite" and not Path(str(parsed.database)).is_file()


def _engine(url: str) -> Engine:
    """An engine whose logs and errors never hold the values of a row."""
    if make_url(url).get_backend_name() != "sqlite":
        return create_engine(url, hide_parameters=True)
    return _sqlite_engine(url)


@lru_cache(maxsize=8)
def _sqlite_engine(url: str) -> Engine:
    """One engine for each file, so that what it has compiled is used again. It keeps no connection."""
    waits = {} if "timeout" in make_url(url).query else {"timeout": _BUSY_SECONDS}
    # no pool: a kept connection would go on reading a file that has been replaced
    engine = create_engine(url, poolclass=NullPool, connect_args=waits, hide_parameters=True)
    event.listen(engine, "connect", _sqlite_settings)
    event.listen(engine, "begin", _sqlite_begin)
    return engine


def _sqlite_settings(raw: Any, _record: object) -> None:
    raw.isolation_level = None  # Python's driver would begin transactions too late
    raw.execute("PRAGMA foreign_keys = ON")


def _sqlite_begin(connection: Connection) -> None:
    """A writer takes its turn at once; it would otherwise fail when it first writes."""
    writing = connection.get_execution_options().get("writing")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _shown(url: str) -> str:
    """A database URL without its password."""
    try:
        return make_url(url).render_as_string(hide_password=True)
    except ArgumentError:
        return "clinic.toml, register"
