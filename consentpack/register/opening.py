"""Opening the register, reading it in one snapshot, writing it one at a time."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from consentpack.errors import Problem, RegisterError
from consentpack.register import migrate, rollup, waiting
from consentpack.register.schema import SCHEMA
from consentpack.register.waiting import noticing

_WRITERS_LOCK = 7291604
"""Key of the advisory lock that PostgreSQL writers take in turn. Any number, always the same."""

_IS_URL = re.compile(r"[a-z][a-z0-9+_]*://", re.IGNORECASE)
_SEE = "See 'register' under [audit] in clinic.toml."
_BUSY = ("database is locked", "lock timeout")


@dataclass(frozen=True)
class Register:
    """An open register."""

    engine: Engine

    @contextmanager
    def connect(self) -> Iterator[Connection]:
        """A connection to read with: all that is read belongs to one moment.

        Raises RegisterError when the database fails, or holds what it cannot hold.
        """
        with told("read"), self.engine.connect() as connection:
            if connection.dialect.name == "postgresql":
                connection = connection.execution_options(
                    isolation_level="REPEATABLE READ", postgresql_readonly=True
                )
            with noticing():  # an import that is being committed is waited for here
                migrate.version_of(connection)
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that writes, one at a time: what it reads cannot change under it.

        Raises RegisterError when the database fails. PostgreSQL puts the row in the lines below the
        first, which are not passed on.
        """
        with told("written"), self.transaction() as connection:
            yield connection

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """The transaction of `writing`, with the database's own errors."""
        with self.engine.execution_options(writing=True).connect() as connection:
            with noticing():
                begun = connection.begin()
                _take_turn(connection)
            try:
                yield connection
                rollup.keep_up(connection)
            except BaseException:
                begun.rollback()
                raise
            with noticing():  # SQLite waits here until nobody reads
                begun.commit()


def _take_turn(connection: Connection) -> None:
    if connection.dialect.name == "postgresql":
        connection.execute(text(f"SET LOCAL lock_timeout = '{waiting.BUSY_SECONDS}s'"))
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _WRITERS_LOCK})


@contextmanager
def told(done: str) -> Iterator[None]:
    """What the database says when it fails, as a problem without any row in it."""
    left = " Nothing was changed." if done == "written" else ""
    try:
        yield
    except SQLAlchemyError as error:
        raise RegisterError(_problem(error, done, left)) from None
    except (ValueError, OverflowError, TypeError) as error:
        if not _from_reading(error):
            raise  # a fault of whoever uses the connection must not be taken for damage
        # the kind alone: the text of such an error repeats what was found, which may be a row
        what = f"the register could not be {done}: it holds something damaged ({type(error).__name__}).{left}"
        raise RegisterError(Problem("register", what, "Look with `consentpack audit check`.")) from None


def _from_reading(error: Exception) -> bool:
    """Whether an error came up while the database's answer was read."""
    trace = error.__traceback__
    while trace and trace.tb_next:
        trace = trace.tb_next
    module = str(trace.tb_frame.f_globals.get("__name__")) if trace else ""
    return module.startswith(("sqlalchemy", "consentpack.register"))


def _problem(error: SQLAlchemyError, done: str, left: str) -> Problem:
    reason = _reason(error)
    if any(word in reason for word in _BUSY):
        what = f"another program went on using the register, so it could not be {done} ({reason}).{left}"
        fix = "Wait until its import, entry or build has finished, then try again."
        return Problem("register", what, fix)
    return Problem("register", f"the register could not be {done} ({reason}).{left}")


def _reason(error: BaseException) -> str:
    found = getattr(error, "orig", None) or error.__cause__ or error
    return (str(found).splitlines() or [type(found).__name__])[0]


def open_register(where: str, *, create: bool = False) -> Register | None:
    """The register at a file or a database URL; None when there is none yet and `create` is False.

    One of an older program is brought up to date first. Raises RegisterError when it cannot be opened,
    is no register, or was made by a newer program.
    """
    try:
        url = url_of(where)
        register = Register(engine_of(url))
        return None if no_file(url, create) else _opened(register, create)
    except (ArgumentError, SQLAlchemyError, ModuleNotFoundError, ValueError, OSError) as error:
        if any(word in _reason(error) for word in _BUSY) and isinstance(error, SQLAlchemyError):
            raise RegisterError(_problem(error, "opened", "")) from None
        what = f"the register cannot be opened ({_reason(error)})."
        raise RegisterError(Problem(shown(where), what, _SEE)) from None


def _opened(register: Register, create: bool) -> Register | None:
    try:
        with register.engine.connect() as connection, noticing():
            version = migrate.version_of(connection)
        if version == 0 and not create:
            register.engine.dispose()
            return None
        if version != SCHEMA:
            with register.transaction() as connection:
                migrate.bring_up(connection)
    except BaseException:
        register.engine.dispose()
        raise
    return register


def url_of(where: str) -> URL:
    """A database URL as it is; a file by its name, whatever signs are in it."""
    return make_url(where) if _IS_URL.match(where) else URL.create("sqlite", database=where)


def no_file(url: URL, create: bool) -> bool:
    """Whether an SQLite file is not there; looking into it would make an empty one.

    Made here when it may be, so that nobody else can read it.
    """
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:":
        return False
    path = Path(url.database)
    if path.is_symlink() and not path.exists():
        raise OSError(f"it is a link to a file that is not there, {os.readlink(path)}")
    if path.is_dir():
        raise OSError("it is a folder; a register is a file")
    if path.exists() and path.stat().st_size:
        return False
    if create and not path.exists() and path.parent.is_dir():
        os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    return not create


def engine_of(url: URL) -> Engine:
    """An engine whose logs and errors never hold the values of a row."""
    if url.get_backend_name() != "sqlite":
        # no pool: a command asks once or twice, and a connection that is kept is closed by nobody
        return create_engine(url, hide_parameters=True, poolclass=NullPool)
    return _sqlite_engine(url)


@lru_cache(maxsize=8)
def _sqlite_engine(url: URL) -> Engine:
    """One engine for each file, so that what it has compiled is used again. It keeps no connection."""
    waits = {} if "timeout" in url.query else {"timeout": waiting.BUSY_SECONDS}
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


def shown(where: str) -> str:
    """A file or database URL without its password."""
    if not _IS_URL.match(where):
        return where
    try:
        return make_url(where).render_as_string(hide_password=True)
    except (ArgumentError, ValueError):
        return "clinic.toml, register"
