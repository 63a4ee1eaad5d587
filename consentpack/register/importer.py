"""Import of a spreadsheet. Good rows go in, bad rows are set aside with reasons, in one transaction:
a crash half-way leaves the register as it was."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice
from pathlib import Path

from consentpack.errors import RegisterError
from consentpack.register.columns import ColumnMap, map_columns
from consentpack.register.merging import Differs, Merging
from consentpack.register.opening import Register
from consentpack.register.reading import Row, Sheet, open_sheet
from consentpack.register.rows import Doubt, Reader, Reading, SetAside, Treatment, doubts, is_blank
from consentpack.register.store import Store

_BATCH = 2000
"""Rows held in memory at a time."""


@dataclass(frozen=True)
class ImportResult:
    """What one import did. The counts add up: read = added + updated + unchanged + set aside."""

    file: str
    read: int
    added: int
    updated: int
    unchanged: int
    set_aside: tuple[SetAside, ...]
    doubts: tuple[Doubt, ...]
    kept_older: int
    """Rows set aside whose treatment is in the register as an earlier import left it."""
    not_in_file: int
    """Treatments in the register that the file no longer holds. They stay."""
    ignored_columns: tuple[str, ...]
    dry_run: bool = False
    differs: tuple[Differs, ...] = ()
    """What was entered by hand, or from a diary, and is something else in the file."""
    overwritten: bool = False
    """Whether the file went before what was entered by hand there."""
    blanked: int = 0
    """Outcomes that an earlier file brought and that are blank now: not recorded any more."""
    unread: tuple[str, ...] = ()
    """Outcomes that were kept although the file has no column for them any more."""

    @property
    def rows_set_aside(self) -> int:
        return len({item.row for item in self.set_aside})


class _DryRun(Exception):
    """Takes a dry run's transaction back."""


@dataclass
class _Pass:
    """One pass over a sheet: what has been read so far."""

    reader: Reader
    read: int = 0
    set_aside: list[SetAside] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    held: set[tuple[str, int] | None] = field(default_factory=set)
    """Case and session of rows that were set aside: the file holds them all the same."""
    first_rows: dict[int, int] = field(default_factory=dict)
    """Hash of case and session -> its row: a whole key per row would fill the memory."""

    def treatments(self, rows: Iterable[Row]) -> Iterator[tuple[int, Treatment]]:
        """The good rows with their numbers; the others are set aside."""
        for number, cells in rows:
            if is_blank(cells):
                continue
            self.read += 1
            found = self.reader.read(number, cells)
            if isinstance(found, list):
                self.set_aside += found
                self.held.add(self.reader.key(cells))
            elif first := self._first_row(found, number):
                reason = f"row {first} has the same case and session; only that one went in."
                header = self.reader.columns.headers[self.reader.columns.fields["session"]]
                self.set_aside.append(SetAside(number, header, str(found.session), reason))
            else:
                self.doubts += doubts(number, found)
                yield number, found

    def _first_row(self, treatment: Treatment, number: int) -> int:
        """The earlier row with the same case and session; 0 when this is the first."""
        first = self.first_rows.setdefault(hash((treatment.case, treatment.session)), number)
        return 0 if first == number else first


def import_file(
    register: Register,
    path: Path,
    *,
    columns: Mapping[str, str],
    reading: Reading,
    now: datetime,
    by: str,
    dry_run: bool = False,
    overwrite_by_hand: bool = False,
    before_commit: Callable[[ImportResult], None] = lambda _: None,
) -> ImportResult:
    """Import one CSV or XLSX file.

    `columns` maps the file's headers to fields and outcomes; `by` is who imports. A dry run reports
    what would change and changes nothing. What was entered by hand or from a diary stays, unless
    `overwrite_by_hand`. `before_commit` may still stop it all by an error of its own. Raises
    RegisterError when the file as a whole cannot be read or the register cannot be written; a bad row
    never raises.
    """
    sheet = open_sheet(path)
    mapped, problems = map_columns(sheet.headers, columns, reading.outcomes, file=sheet.file)
    if problems:
        raise RegisterError(problems)
    work = _Pass(Reader(mapped, reading, now.date()))
    results: list[ImportResult] = []
    try:
        with register.writing() as connection:
            store = Store.begin(
                connection, at=now, by=by, kind="import", file=sheet.file, digest=sheet.digest
            )
            store.merging = _merging(mapped, reading, overwrite_by_hand)
            results.append(_imported(store, sheet, work, mapped.ignored, dry_run))
            if dry_run:
                raise _DryRun
            before_commit(results[0])
    except _DryRun:
        pass
    return results[0]


def _merging(mapped: ColumnMap, reading: Reading, overwrite_by_hand: bool) -> Merging:
    """What the file speaks of: a column that is not there says nothing, not even blank."""
    listed = reading.list_covers if "outcomes_seen" in mapped.fields else ()
    outcomes = frozenset((*mapped.outcomes, *listed))
    return Merging(outcomes, frozenset(mapped.fields), overwrite_by_hand)


def _imported(
    store: Store, sheet: Sheet, work: _Pass, ignored: tuple[str, ...], dry_run: bool
) -> ImportResult:
    before = store.count()
    treatments = work.treatments(sheet.rows)
    while batch := list(islice(treatments, _BATCH)):
        store.put(batch)
    # a treatment whose good row went in is not held as it was, though another row of it is set aside
    held = store.holds(key for key in work.held if hash(key) not in work.first_rows)
    rows_set_aside = len({item.row for item in work.set_aside})
    store.finish(rows_read=work.read, set_aside=rows_set_aside)
    return ImportResult(
        file=sheet.file,
        read=work.read,
        added=store.added,
        updated=store.updated,
        unchanged=store.unchanged,
        set_aside=tuple(work.set_aside),
        doubts=tuple(work.doubts),
        kept_older=held,
        not_in_file=before - store.updated - store.unchanged - held,
        ignored_columns=ignored,
        dry_run=dry_run,
        differs=store.differs,
        overwritten=store.merging.overwrite_by_hand,
        blanked=store.merging.blanked,
        unread=tuple(sorted(store.merging.unread)),
    )


SET_ASIDE_COLUMNS = ("row", "column", "value", "reason")


def set_aside_csv(result: ImportResult) -> str:
    """The rows set aside as CSV text, to be mended and imported again."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(SET_ASIDE_COLUMNS)
    writer.writerows((item.row, item.column, item.value, item.reason) for item in result.set_aside)
    return stream.getvalue()
