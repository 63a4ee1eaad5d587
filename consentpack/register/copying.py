"""The register copied as it stands at one moment, and its rows written into an empty database.

No table is named here: whatever the register's database holds is copied, also tables that other modules
keep there. A copy is an SQLite file, so that it can be used without a server.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, MetaData, Table, event, func, inspect, select, text
from sqlalchemy import Index as TableIndex
from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from consentpack.errors import OutputError, Problem, RegisterError
from consentpack.register import migrate
from consentpack.register.opening import Register, engine_of, no_file, shown, told, url_of
from consentpack.register.rollup_tables import DERIVED
from consentpack.register.schema import SCHEMA
from consentpack.register.state import Checked, State, check_register, state_of

_BATCH = 2000
_ONE_MOMENT = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
_NO_ROOM = ("disk is full", "disk I/O error")
"""How SQLite says that a file cannot grow: out of room, or over a limit of the system."""


@dataclass(frozen=True)
class Copied:
    """What a copy of a register holds."""

    kind: str
    """The database it was copied from: 'sqlite' or 'postgresql'."""
    schema: int
    """The version of its tables."""
    rows: Mapping[str, int]
    """Table -> its rows."""
    state: State | None
    """None where an older program made the register: its digests are brought up to date with it."""


def file_of(where: str) -> str:
    """The file of an SQLite register; '' for a server's, and for what is no URL. Raises nothing."""
    try:
        url = url_of(where)
    except ArgumentError:
        return ""
    return url.database or "" if url.get_backend_name() == "sqlite" else ""


def version_at(where: str) -> int | None:
    """The version of the tables of a register, without bringing it up to date; None when there is none.

    Raises RegisterError.
    """
    register = _register_at(where)
    if register is None:
        return None
    with told("read"), closing_engine(register), register.engine.connect() as connection:
        return migrate.version_of(connection) or None


def _register_at(where: str, *, create: bool = False) -> Register | None:
    """The register as it is, of whatever version; None where there is no file of it and none is made."""
    try:
        url = url_of(where)
        return None if no_file(url, create) else Register(engine_of(url))
    except (ArgumentError, ModuleNotFoundError, ValueError, OSError) as error:
        what = f"the register cannot be opened ({(str(error).splitlines() or ['?'])[0]})."
        raise RegisterError(Problem(shown(where), what)) from None


@contextmanager
def closing_engine(register: Register) -> Iterator[Register]:
    """Close a register's connections in the end."""
    try:
        yield register
    finally:
        register.engine.dispose()


@contextmanager
def held(where: str, to: Path) -> Iterator[Callable[[], Copied] | None]:
    """A copy of the register in the new file `to`, as it stands when this is entered.

    What is yielded finishes the copy and says what is in it; None when there is no register yet. An SQLite
    register is copied at once, in some tenths of a second; of PostgreSQL the moment alone is held, and the
    rows are read when it is finished. Raises RegisterError, or OutputError when there is no room.
    """
    register = _register_at(where)
    if register is None:
        yield None
        return
    with closing_engine(register):
        if register.engine.dialect.name == "sqlite":
            yield _copy_of_file(register, to)
            return
        with told("read"), register.engine.connect() as connection:
            connection = connection.execution_options(**_ONE_MOMENT)
            version = migrate.version_of(connection)  # with this question the moment begins
            yield (lambda: _copy_of_rows(connection, to, version)) if version else None


def _copy_of_file(register: Register, to: Path) -> Callable[[], Copied] | None:
    """Copy an SQLite register page by page while nobody can change it."""
    with told("read"), register.engine.connect() as connection:
        version = migrate.version_of(connection)  # waits for who writes, and holds the moment
        raw = connection.connection.driver_connection
        if version and raw is not None:
            with _room_for(to), closing(_new_file(to)) as target:
                raw.backup(target)
    return (lambda: _copied(to, "sqlite")) if version else None


def _new_file(path: Path) -> sqlite3.Connection:
    """A new SQLite file that nobody else can read."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    return sqlite3.connect(path)


@contextmanager
def _room_for(to: Path) -> Iterator[None]:
    """Say of a disk that is full that it is full; what else fails is about the register."""
    try:
        yield
    except (sqlite3.Error, SQLAlchemyError) as error:
        reason = (str(getattr(error, "orig", None) or error).splitlines() or ["?"])[0]
        if any(words in reason for words in _NO_ROOM):
            what = f"the copy of the register cannot be written ({reason})."
            raise OutputError(Problem(str(to.parent), what, "Make room, or name another disk.")) from None
        if isinstance(error, sqlite3.Error):
            what = f"the register cannot be copied ({reason})."
            raise RegisterError(Problem("register", what, "Look with `consentpack audit check`.")) from None
        raise


def _copied(file: Path, kind: str) -> Copied:
    """What a file holds that has just been written."""
    register = Register(engine_of(url_of(str(file))))
    with told("read"), register.engine.connect() as connection:
        version = migrate.version_of(connection)
        rows = {name: _count(connection, name) for name in sorted(_tables(connection).tables)}
        return Copied(kind, version, rows, state_of(connection) if version == SCHEMA else None)


def state_at(file: Path) -> State:
    """The state of a copy, whose tables are those of now."""
    register = Register(engine_of(url_of(str(file))))
    with told("read"), register.engine.connect() as connection:
        return state_of(connection)


def check_copy(file: Path) -> Checked:
    """What `check_register` finds in a copy."""
    return check_register(Register(engine_of(url_of(str(file)))))


def _count(connection: Connection, table: str) -> int:
    quoted = connection.dialect.identifier_preparer.quote(table)
    return int(connection.execute(text(f"SELECT count(*) FROM {quoted}")).scalar_one())


def _copy_of_rows(source: Connection, to: Path, version: int) -> Copied:
    """Write all rows of a snapshot into a new SQLite file."""
    with _room_for(to):
        _new_file(to).close()
        register = Register(engine_of(url_of(str(to))))
        with register.transaction() as target:
            if version == SCHEMA:
                migrate.bring_up(target)
            fill(source, target)
            if 1 < version < SCHEMA:
                migrate.mark_edits(target)  # `bring_up` has done so in a register of now
    return _copied(to, source.dialect.name)


def write_rows(copy: Path, where: str, *, digest: str) -> None:
    """Write the rows of a copied register into the empty database at a URL, all or none.

    Raises RegisterError when something is there already, the copy is of another version than now, or what
    was written has not the state `digest`.
    """
    target = _register_at(where, create=True)
    assert target is not None
    register = Register(engine_of(url_of(str(copy))))
    with closing_engine(target), told("written"), register.engine.connect() as source:
        if migrate.version_of(source) != SCHEMA:
            what = "the register of this backup was made by another version of consentpack."
            fix = "Restore it as a file first, and run `consentpack audit history` there."
            raise RegisterError(Problem(shown(where), what, fix))
        with target.transaction() as connection:
            _refuse_taken(source, connection, where)
            migrate.bring_up(connection)
            fill(source, connection)
            if state_of(connection).digest != digest:
                what = "the database does not hold what was written into it. Nothing was kept."
                raise RegisterError(Problem(shown(where), what))


def _refuse_taken(source: Connection, target: Connection, where: str) -> None:
    taken = sorted(set(_tables(source).tables) & set(inspect(target).get_table_names()))
    if taken:
        what = f"this database is not empty: it holds the table '{taken[0]}'. Nothing was written."
        raise RegisterError(Problem(shown(where), what, "Name an empty database."))


# --- table by table -------------------------------------------------------------------------------


def fill(source: Connection, target: Connection) -> dict[str, int]:
    """Write all tables of one database into another, in which there are none, or those of an empty register.

    What the other lacks (tables, columns, indexes) is made. Table -> its rows.
    """
    there, here = _tables(source), _tables(target)
    for table in there.sorted_tables:
        if table.name in here.tables:
            _widen(table, here.tables[table.name], target)
        else:
            table.to_metadata(here).indexes.clear()  # `_index` makes them, with their conditions
    here.create_all(target, checkfirst=True)
    here = _tables(target)
    _index(there, here, target, source.dialect.name)
    for table in reversed(there.sorted_tables):
        if _count(target, table.name):  # an empty register says when it was made
            target.execute(here.tables[table.name].delete())
    return {table.name: _copy_table(table, here.tables[table.name], source, target)
            for table in there.sorted_tables}  # fmt: skip


def _tables(connection: Connection) -> MetaData:
    """All tables of a database but those that are made from others, with types that every database knows."""
    metadata = MetaData()
    event.listen(metadata, "column_reflect", _general)
    metadata.reflect(connection, only=lambda name, _: name not in DERIVED)
    return metadata


def _general(_inspector: object, table: Table, column: dict[str, Any]) -> None:
    try:
        column["type"] = column["type"].as_generic()
    except NotImplementedError:
        what = f"the database holds the table '{table.name}', whose column '{column['name']}' fits no file."
        fix = "Keep the register in a database of its own."
        raise RegisterError(Problem("register", what, fix)) from None
    column["default"] = None  # such as the next number of a sequence, which the other has not
    column.pop("identity", None)


def _widen(table: Table, narrow: Table, target: Connection) -> None:
    """Add the columns that a table has got in the other database."""
    prepare = target.dialect.identifier_preparer
    for column in table.columns:
        if column.name not in narrow.columns:
            kind = column.type.compile(target.dialect)
            name = prepare.quote(column.name)
            target.execute(text(f"ALTER TABLE {prepare.quote(table.name)} ADD COLUMN {name} {kind}"))


def _index(there: MetaData, here: MetaData, target: Connection, kind: str) -> None:
    """Make the indexes that the other database has and this one lacks; rows of theirs are found at once."""
    for name, table in there.tables.items():
        known = {index.name for index in here.tables[name].indexes}
        for index in table.indexes:
            if index.name in known:
                continue
            where = index.dialect_options[kind].get("where")
            only: dict[str, Any] = {f"{target.dialect.name}_where": text(str(where))}
            only = only if where is not None else {}
            columns = [here.tables[name].c[column.name] for column in index.columns]
            TableIndex(index.name, *columns, unique=index.unique, **only).create(target)


def _copy_table(table: Table, into: Table, source: Connection, target: Connection) -> int:
    count = 0
    query = select(table).order_by(*table.primary_key.columns)
    rows = source.execute(query, execution_options={"yield_per": _BATCH}).mappings()
    for batch in rows.partitions():
        target.execute(into.insert(), [dict(row) for row in batch])
        count += len(batch)
    if target.dialect.name == "postgresql":
        _go_on_numbering(into, target)
    return count


def _go_on_numbering(table: Table, target: Connection) -> None:
    """Let the server's own numbering go on after the rows it was given."""
    quoted = target.dialect.identifier_preparer.quote(table.name)
    for column in table.primary_key.columns:
        place = {"table": quoted, "column": column.name}
        sequence = target.execute(text("SELECT pg_get_serial_sequence(:table, :column)"), place).scalar()
        last = target.execute(select(func.max(column))).scalar() if sequence else None
        if last is not None:
            target.execute(text("SELECT setval(:sequence, :last)"), {"sequence": sequence, "last": last})
