"""What the tests of the register share: loading rows, seeing all a register holds, real PostgreSQL."""

from __future__ import annotations

import getpass
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text
from sqlalchemy.engine import make_url

from consentpack.model import Measurement, Stratum
from consentpack.register import (
    Entry,
    ImportResult,
    Reading,
    Register,
    Treatment,
    import_file,
    open_register,
    undo,
)
from consentpack.register.schema import COMBINATIONS, field_columns, outcome_columns, treatments

NOW = datetime(2026, 11, 25, 9, 0)
BY = "tests"
SKIN_TYPES = ("I", "II", "III", "IV", "V", "VI")
MEASUREMENTS = {
    "gauge": Measurement("gauge", "gauge", (18, 30), "release work", unit="G", whole=True),
    "volume_ml": Measurement("volume_ml", "millilitres injected", (0, 0.02), "a small place", unit="ml"),
}
READING = Reading(
    date_order="year-first",
    techniques=frozenset({"blunt-cannula", "filler-after-release", "local-infiltration"}),
    outcomes=frozenset({"bruising", "infection"}),
    strata={"skin_type": Stratum("skin_type", "skin type", SKIN_TYPES, "")},
    measurements=MEASUREMENTS,
)
"""How most invented sheets of the tests are read."""
FIELDS = ("case", "session", "date", "techniques", "site")
HEAD = ",".join((*FIELDS, "bruising")) + "\n"


def line(
    case="A", session=1, date="2026-01-05", techniques="blunt-cannula", site="chin", bruising="no"
) -> str:
    """One invented row under HEAD."""
    return f"{case},{session},{date},{techniques},{site},{bruising}\n"


def treatment(case="H-1", session=1, day=date(2026, 3, 2), **values: Any) -> Treatment:
    """One invented treatment, as it is entered by hand."""
    usual = {"techniques": ("blunt-cannula",), "site": "chin", "watched_days": None}
    return Treatment(case=case, session=session, day=day, **(usual | {"outcomes": {}} | values))


def load(
    register: Register,
    sheet: Path | str | bytes,
    *,
    columns: Mapping[str, str] | None = None,
    reading: Reading = READING,
    now: datetime = NOW,
    dry_run: bool = False,
    **more: Any,
) -> ImportResult:
    """Import a file, or some text as the file audit.csv."""
    with tempfile.TemporaryDirectory() as folder:
        path = sheet if isinstance(sheet, Path) else Path(folder, "audit.csv")
        if not isinstance(sheet, Path):
            path.write_bytes(sheet if isinstance(sheet, bytes) else sheet.encode())
        return import_file(
            register, path, columns=columns or {}, reading=reading, now=now, by=BY, dry_run=dry_run, **more
        )


def many_rows(sheet: int, rows: int) -> str:
    """The invented sheet of a number: its cases are in no other sheet."""
    return HEAD + "".join(line(f"S{sheet:03}-{number:04}") for number in range(rows))


def take_back(register: Register) -> tuple[Entry, int, int]:
    """Take back the last import or entry of the tests."""
    return undo(register, now=NOW, by=BY)


def numbers(result: ImportResult) -> tuple[int, int, int, int, int]:
    """Read, added, updated, unchanged, set aside."""
    return (result.read, result.added, result.updated, result.unchanged, result.rows_set_aside)


def contents(register: Register) -> dict[tuple[str, int], dict[str, Any]]:
    """All that the register holds of each case and session, outcomes and techniques by their names."""
    with register.connect() as connection:
        columns = outcome_columns(connection)
        more = field_columns(connection)
        table = treatments(columns, more)
        together = COMBINATIONS.c.id == table.c.combination_id
        query = select(table, COMBINATIONS.c.techniques).join(COMBINATIONS, together).order_by(table.c.id)
        rows = [dict(row) for row in connection.execute(query).mappings()]
    held = {}
    for row in rows:
        row["day"] = date.fromordinal(row["day"])
        for name, column in (*more.strata.items(), *more.measurements.items()):
            row[name] = row.pop(column)
        for name in (*READING.strata, *READING.measurements):
            row.setdefault(name)
        cells = {name: row.pop(column) for name, column in columns.items()}
        row["outcomes"] = {name: grade for name, grade in cells.items() if grade is not None}
        del row["combination_id"]
        held[row["case_ref"], row["session"]] = row
    assert len(held) == len(rows)
    return held


def cases(register: Register) -> list[str]:
    return sorted(case for case, _ in contents(register))


def seen(register: Register, outcome: str = "bruising") -> list[int | None]:
    """The grades of one outcome, in order of case and session; None where it was not recorded."""
    return [row["outcomes"].get(outcome) for _, row in sorted(contents(register).items())]


# --- other processes ------------------------------------------------------------------------------

_PROCESS = """
import sys
sys.path.insert(0, {folder!r})
from support import *
{script}
"""


def start(script: str, *arguments: object) -> subprocess.Popen[str]:
    """Another Python that runs some lines, with all of this module at hand."""
    code = _PROCESS.format(folder=str(Path(__file__).parent), script=script)
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def finish(process: subprocess.Popen[str]) -> str:
    """What a process that went well has said."""
    said, complained = process.communicate(timeout=60)
    assert process.returncode == 0, complained
    return said


# --- PostgreSQL -----------------------------------------------------------------------------------

ON_POSTGRES = pytest.param("postgresql", marks=pytest.mark.postgres)
SQLITE_ONLY = pytest.mark.parametrize("register_url", ["sqlite"], indirect=True)
POSTGRES_ONLY = pytest.mark.parametrize("register_url", [ON_POSTGRES], indirect=True)
"""For a test that uses `register` or `register_url` and has no meaning in the other database."""

_SETTINGS = {
    "listen_addresses": "",  # only the socket in its own folder: no port is taken on this machine
    "fsync": "off",
    "full_page_writes": "off",
    "max_connections": "60",
}
_AS_NEW = ("DROP SCHEMA public CASCADE", "CREATE SCHEMA public")


def postgres_programs() -> Path | None:
    """The folder of PostgreSQL's newest server programs; None where it is not installed."""
    found = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    return max((path.parent for path in found), key=lambda each: float(each.parent.name), default=None)


@dataclass(frozen=True)
class Postgres:
    """A running throw-away cluster."""

    folder: Path
    _as_owner: tuple[str, ...]
    """The beginning of a command that runs as the cluster's owner."""
    _free: list[str]
    """Databases that are empty again."""
    _numbers: Iterator[int]

    def url(self, database: str) -> str:
        return f"postgresql+psycopg://{_owner()}@/{database}?host={self.folder}"

    @contextmanager
    def empty_database(self) -> Iterator[str]:
        """The URL of a database with nothing in it: a new one, or one that was made as good as new."""
        name = self._free.pop() if self._free else self._new_database()
        try:
            yield self.url(name)
        finally:
            others = "FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
            self._do(name, f"SELECT pg_terminate_backend(pid) {others}", *_AS_NEW)
            self._free.append(name)

    def _new_database(self) -> str:
        name = f"t{next(self._numbers)}"
        self._do("postgres", f"CREATE DATABASE {name}")
        return name

    @contextmanager
    def files_limited(self, most: int) -> Iterator[None]:
        """While this lasts, the server process of a new connection writes no file past a number of bytes.

        It is set on the process that begins all others: a register keeps no connection between commands.
        """
        number = (self.folder / "data" / "postmaster.pid").read_text(encoding="utf-8").split()[0]
        command = [*self._as_owner, "prlimit", f"--pid={number}"]
        subprocess.run([*command, f"--fsize={most}:"], check=True)
        try:
            yield
        finally:
            subprocess.run([*command, "--fsize=unlimited:"], check=True)

    def _do(self, database: str, *statements: str) -> None:
        import psycopg

        where = {"host": str(self.folder), "user": _owner(), "dbname": database}
        with psycopg.connect(autocommit=True, **where) as connection:  # type: ignore[arg-type]
            for statement in statements:
                connection.execute(statement)  # type: ignore[call-overload]


def _owner() -> str:
    """PostgreSQL refuses to run as root."""
    return "postgres" if os.geteuid() == 0 else getpass.getuser()


@contextmanager
def running_postgres(programs: Path) -> Iterator[Postgres]:
    """A cluster of its own in a folder of its own, stopped and gone at the end."""
    # not pytest's folder: only its owner may enter that, and its path is too long for a socket
    folder = Path(tempfile.mkdtemp(prefix="consentpack-pg-"))
    switch: tuple[str, ...] = ()
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
        switch = ("runuser", "-u", "postgres", "--")

    def call(program: str, *arguments: str) -> None:
        command = [*switch, str(programs / program), "-D", str(folder / "data"), *arguments]
        done = subprocess.run(command, capture_output=True, text=True, cwd=folder, timeout=60)
        assert done.returncode == 0, done.stdout + done.stderr

    settings = " ".join(f"-c {name}='{value}'" for name, value in _SETTINGS.items())
    try:
        # small segments of the log, so that a test can set a limit to the size of files
        call("initdb", "-A", "trust", "-U", _owner(), "-E", "UTF8", "--no-locale", "-N", "--wal-segsize=1")
        log = str(folder / "log")
        options = f"{settings} -c unix_socket_directories='{folder}'"
        call("pg_ctl", "-w", "-s", "-l", log, "-o", options, "start")
        try:
            yield Postgres(folder, switch, [], count(1))
        finally:
            call("pg_ctl", "-w", "-s", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder)


def empty(url: str) -> Register:
    """An empty register at a database URL, whatever was there before. Close it with `dispose`."""
    if make_url(url).get_backend_name() == "sqlite":
        Path(str(make_url(url).database)).unlink(missing_ok=True)
    else:
        old = open_register(url, create=True)
        assert old
        with old.engine.begin() as connection:
            for statement in _AS_NEW:
                connection.execute(text(statement))
        old.engine.dispose()
    register = open_register(url, create=True)
    assert register
    return register
