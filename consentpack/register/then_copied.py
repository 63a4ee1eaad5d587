"""A register once more in an SQLite file, copied within one snapshot."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from pathlib import Path

from sqlalchemy import Connection

from consentpack.errors import Problem, RegisterError
from consentpack.register.copying import fill
from consentpack.register.opening import Register, open_register


def copied(connection: Connection, folder: Path) -> tuple[Register, Path]:
    """The register of a snapshot in a new file in `folder`, which nobody else can read.

    Raises RegisterError when there is no room for it.
    """
    try:
        handle, name = tempfile.mkstemp(suffix=".sqlite", prefix="register-", dir=folder)
    except OSError as error:
        raise RegisterError(_no_room(folder, error)) from None
    os.close(handle)
    try:
        return _copied(connection, Path(name)), Path(name)
    except BaseException as error:
        Path(name).unlink()
        if isinstance(error, sqlite3.Error):
            raise RegisterError(_no_room(folder, error)) from None
        raise


def _copied(connection: Connection, path: Path) -> Register:
    sqlite = connection.dialect.name == "sqlite"
    if sqlite:
        _by_pages(connection, path)
    register = open_register(str(path), create=not sqlite)
    assert register
    if not sqlite:
        with register.writing() as target:
            fill(connection, target)
    return register


def _no_room(folder: Path, error: Exception) -> Problem:
    what = f"the register as it stood cannot be written there ({error})."
    return Problem(str(folder), what, "It needs as much room as the register itself.")


def _by_pages(connection: Connection, path: Path) -> None:
    source, target = connection.connection.driver_connection, sqlite3.connect(path)
    assert isinstance(source, sqlite3.Connection)
    try:
        source.backup(target)
    finally:
        target.close()
