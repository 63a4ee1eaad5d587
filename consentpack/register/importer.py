"""Import of a spreadsheet saved as CSV. Good rows go in, bad rows are set aside with reasons, in one
transaction: a crash half-way leaves the register as it was."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, delete, insert, select, update
from sqlalchemy.exc import SQLAlchemyError

from consentpack.errors import Problem, RegisterError
from consentpack.register.cells import DateOrder
from consentpack.register.columns import map_columns
from consentpack.register.rows import Reader, SetAside, Treatment, is_blank
from consentpack.register.schema import IMPORTS, OUTCOMES, TECHNIQUES, TREATMENTS

_BATCH = 500
"""Rows per statement with an IN list: SQLite before 3.32 takes at most 999 values."""


@dataclass(frozen=True)
class ImportResult:
    """What one import did. The counts add up: read = added + updated + unchanged + set aside."""

    file: str
    read: int
    added: int
    updated: int
    unchanged: int
    set_aside: tuple[SetAside, ...]
    not_in_file: int
    """Treatments in the register that the file no longer holds. They stay."""
    ignored_columns: tuple[str, ...]

    @property
    def rows_set_aside(self) -> int:
        return len({item.row for item in self.set_aside})


def import_csv(
    engine: Engine,
    path: Path,
    *,
    columns: Mapping[str, str],
    date_order: DateOrder,
    techniques: Iterable[str],
    outcomes: Iterable[str],
    skin_types: tuple[str, ...],
    now: datetime,
) -> ImportResult:
    """Import one CSV file.

    `columns` maps the file's headers to fields and outcomes; `techniques` and `outcomes` are the
    ids the library knows. Raises RegisterError when the file as a whole cannot be read; a bad row
    never raises.
    """
    text = _decoded(path)
    rows = _rows(text, path.name)
    if not rows:
        raise RegisterError(Problem(path.name, "the file is empty."))
    mapped, problems = map_columns(rows[0][1], columns, outcomes, file=path.name)
    if problems:
        raise RegisterError(problems)
    reader = Reader(mapped, date_order, frozenset(techniques), skin_types, now.date())
    treatments, set_aside, read = _read_rows(rows[1:], reader)
    try:
        with engine.begin() as connection:
            changes = _compare(connection, treatments)
            result = ImportResult(
                file=path.name,
                read=read,
                added=len(changes.new),
                updated=len(changes.changed),
                unchanged=changes.unchanged,
                set_aside=tuple(set_aside),
                not_in_file=changes.not_in_file,
                ignored_columns=mapped.ignored,
            )
            digest = hashlib.sha256(text.encode()).hexdigest()
            _write(connection, changes, _record(connection, result, digest, now))
    except SQLAlchemyError as error:
        reason = str(error.__cause__ or error).splitlines()[0]
        what = f"the register could not be written ({reason}). Nothing was changed."
        raise RegisterError(Problem(path.name, what)) from None
    return result


def _decoded(path: Path) -> str:
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise RegisterError(Problem(str(path), f"the file cannot be opened ({error.strerror}).")) from None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        what = f"row {line} is not UTF-8 text."
        fix = "Save the spreadsheet as 'CSV UTF-8'."
        raise RegisterError(Problem(path.name, what, fix)) from None


def _rows(text: str, file: str) -> list[tuple[int, list[str]]]:
    """Rows with their spreadsheet numbers. Semicolon files, as some countries save, are read too."""
    first = text.split("\n", 1)[0]
    delimiter = ";" if first.count(";") > first.count(",") else ","
    try:
        return list(enumerate(csv.reader(io.StringIO(text), delimiter=delimiter, strict=True), 1))
    except csv.Error as error:
        what = f"the file cannot be read as CSV ({error})."
        raise RegisterError(Problem(file, what, "Open it in a spreadsheet and save it again.")) from None


def _read_rows(
    rows: list[tuple[int, list[str]]], reader: Reader
) -> tuple[list[Treatment], list[SetAside], int]:
    treatments: list[Treatment] = []
    set_aside: list[SetAside] = []
    first_rows: dict[tuple[str, int], int] = {}
    read = 0
    for number, cells in rows:
        if is_blank(cells):
            continue
        read += 1
        found = reader.read(number, cells)
        if isinstance(found, list):
            set_aside += found
            continue
        key = (found.case, found.session)
        if key in first_rows:
            reason = f"row {first_rows[key]} has the same case and session; only that one went in."
            header = reader.columns.headers[reader.columns.fields["session"]]
            set_aside.append(SetAside(number, header, str(found.session), reason))
            continue
        first_rows[key] = number
        treatments.append(found)
    return treatments, set_aside, read


@dataclass(frozen=True)
class _Changes:
    """What an import would do to the register."""

    new: list[Treatment]
    changed: list[tuple[int, Treatment]]
    """Id in the register, and the treatment as the file has it now."""
    unchanged: int
    not_in_file: int


def _compare(connection: Connection, treatments: list[Treatment]) -> _Changes:
    columns = TREATMENTS.c
    query = select(columns.id, columns.case_ref, columns.session, columns.row_digest)
    known = {(row.case_ref, row.session): (row.id, row.row_digest) for row in connection.execute(query)}
    new, changed, unchanged = [], [], 0
    for treatment in treatments:
        id, digest = known.get((treatment.case, treatment.session), (None, ""))
        if id is None:
            new.append(treatment)
        elif digest != treatment.digest:
            changed.append((id, treatment))
        else:
            unchanged += 1
    return _Changes(new, changed, unchanged, len(known) - len(changed) - unchanged)


def _record(connection: Connection, result: ImportResult, digest: str, now: datetime) -> int:
    values = {
        "at": now,
        "file_name": result.file,
        "file_digest": digest,
        "rows_read": result.read,
        "added": result.added,
        "updated": result.updated,
        "unchanged": result.unchanged,
        "set_aside": result.rows_set_aside,
    }
    made = connection.execute(insert(IMPORTS).values(values)).inserted_primary_key
    return int(made[0])  # type: ignore[index]


def _write(connection: Connection, changes: _Changes, import_id: int) -> None:
    ids = [id for id, _ in changes.changed]
    for start in range(0, len(ids), _BATCH):
        some = ids[start : start + _BATCH]
        connection.execute(delete(TECHNIQUES).where(TECHNIQUES.c.treatment_id.in_(some)))
        connection.execute(delete(OUTCOMES).where(OUTCOMES.c.treatment_id.in_(some)))
    for id, treatment in changes.changed:
        values = _values(treatment, import_id)
        connection.execute(update(TREATMENTS).where(TREATMENTS.c.id == id).values(values))
    _write_parts(connection, [*changes.changed, *_added(connection, changes.new, import_id)])


def _added(connection: Connection, new: list[Treatment], import_id: int) -> list[tuple[int, Treatment]]:
    """Insert new treatments; each with the id the database gave it."""
    if not new:
        return []
    columns = TREATMENTS.c
    statement = insert(TREATMENTS).returning(columns.id, columns.case_ref, columns.session)
    rows = connection.execute(statement, [_values(treatment, import_id) for treatment in new])
    ids = {(row.case_ref, row.session): row.id for row in rows}
    return [(ids[treatment.case, treatment.session], treatment) for treatment in new]


def _values(treatment: Treatment, import_id: int) -> dict[str, object]:
    return {
        "case_ref": treatment.case,
        "session": treatment.session,
        "day": treatment.day,
        "site": treatment.site,
        "skin_type": treatment.skin_type,
        "watched_days": treatment.watched_days,
        "row_digest": treatment.digest,
        "import_id": import_id,
    }


def _write_parts(connection: Connection, stored: list[tuple[int, Treatment]]) -> None:
    """Techniques and outcomes of stored treatments."""
    techniques = [
        {"treatment_id": id, "technique": technique}
        for id, treatment in stored
        for technique in treatment.techniques
    ]
    outcomes = [
        {"treatment_id": id, "outcome": outcome, "seen": seen}
        for id, treatment in stored
        for outcome, seen in treatment.outcomes.items()
    ]
    if techniques:
        connection.execute(insert(TECHNIQUES), techniques)
    if outcomes:
        connection.execute(insert(OUTCOMES), outcomes)


SET_ASIDE_COLUMNS = ("row", "column", "value", "reason")


def set_aside_csv(result: ImportResult) -> str:
    """The rows set aside as CSV text, to be mended and imported again."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(SET_ASIDE_COLUMNS)
    writer.writerows((item.row, item.column, item.value, item.reason) for item in result.set_aside)
    return stream.getvalue()
