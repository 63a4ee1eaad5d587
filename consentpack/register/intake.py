"""Where treatments come from: a table of sources, each of which reads one kind of file.

Another source is one entry in SOURCES and one module: a function that opens a file and gives an
`Intake`. What is then done with the rows, counting them and setting bad ones aside, is the same for all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from consentpack.errors import Problem, RegisterError
from consentpack.register.cells import DateOrder
from consentpack.register.columns import ColumnMap, map_columns
from consentpack.register.headings import Headings
from consentpack.register.how_read import Reading
from consentpack.register.left_out import LeftOut, kind_of
from consentpack.register.orders import Declared, told_by_columns
from consentpack.register.reading import Sheet, Wanted, open_sheet
from consentpack.register.repairs import Repairs
from consentpack.register.rows import Aside, Reader, is_blank
from consentpack.register.treatment import Treatment

Taken = tuple[int, Treatment | Aside]
"""A row's number, as its file shows it, and the treatment, or the row set aside."""


@dataclass(frozen=True)
class Asked:
    """How the clinic wants its files read."""

    columns: Mapping[str, str]
    reading: Reading
    today: date
    wanted: Wanted = field(default_factory=Wanted)


@dataclass(frozen=True)
class Place:
    """Where in a file the treatments were found."""

    sheet: str = ""
    """Of a workbook."""
    header_rows: tuple[int, ...] = ()
    others: tuple[str, ...] = ()
    """Sheets that look like an audit too, and were not read."""
    otherwise: tuple[str, ...] = ()
    """Where it is not as it was kept of an earlier file, in sentences."""


@dataclass(frozen=True)
class Intake:
    """One file that has been opened."""

    file: str
    digest: str
    rows: Iterator[Taken]
    """Every row that is not blank, in order. May raise RegisterError: then nothing goes in."""
    ignored: tuple[str, ...] = ()
    called: Mapping[str, str] = field(default_factory=dict)
    """Field -> what the file calls it."""
    outcomes: frozenset[str] = frozenset()
    """Outcomes that the file speaks of in a column of their own."""
    noticed: frozenset[str] = frozenset()
    """Outcomes that the file has a column for the day of."""
    place: Place = field(default_factory=Place)
    repairs: Repairs = field(default_factory=Repairs)
    """What was read otherwise than typed; whole when all rows are read."""
    left_out: LeftOut = field(default_factory=LeftOut)
    """Rows that are no treatments; the same."""


Source = Callable[[Path, Asked], Intake]


def take(path: Path, asked: Asked) -> Intake:
    """Open a file with the source for its kind. Raises RegisterError."""
    return SOURCES.get(path.suffix.lower(), spreadsheet)(path, asked)


def spreadsheet(path: Path, asked: Asked) -> Intake:
    """A CSV file or a workbook, read by the clinic's column map."""
    sheet = _opened(path, asked)
    columns, problems = map_columns(
        sheet.headers,
        asked.columns,
        asked.reading.outcomes,
        file=sheet.file,
        row=sheet.header_row,
        fields=asked.reading.fields,
    )
    if problems:
        raise RegisterError([_with_place(problem, sheet) for problem in problems])
    orders = {} if asked.reading.date_order else _orders(path, asked, columns)
    reader = Reader(columns, asked.reading, asked.today, orders, sheet.from_1904)
    left_out = LeftOut()
    return Intake(
        sheet.file,
        sheet.digest,
        _rows(sheet, reader, left_out),
        columns.ignored,
        {name: columns.headers[at] for name, at in columns.fields.items()},
        frozenset(columns.outcomes),
        frozenset(columns.noticed),
        place_of(sheet),
        reader.repairs,
        left_out,
    )


def place_of(sheet: Sheet) -> Place:
    """Where the treatments of an open file are."""
    return Place(sheet.name, sheet.header_rows, sheet.others, sheet.otherwise)


def headings_of(columns: Mapping[str, str], reading: Reading) -> Headings:
    """By what the headers of this clinic's sheets are known."""
    names = {
        id: reading.names.get(id, ()) for id in (*reading.outcomes, *reading.strata, *reading.measurements)
    }
    return Headings(columns, names)


def _opened(path: Path, asked: Asked) -> Sheet:
    return open_sheet(path, headings_of(asked.columns, asked.reading), asked.wanted)


def _with_place(problem: Problem, sheet: Sheet) -> Problem:
    """A problem of the headers, with where they were found where that may be the wrong place."""
    also = list(sheet.otherwise)
    if also:
        rows = " and ".join(map(str, sheet.header_rows))
        also.append(f"Row {rows} was read for the headers. Is it another one? Name it: --header-row.")
    if sheet.others:
        also.append(
            f"Sheet '{sheet.name}' was read. Is it another one? Name it: --sheet \"{sheet.others[0]}\"."
        )
    return replace(problem, fix=" ".join(filter(None, (problem.fix, *also))))


def _orders(path: Path, asked: Asked, columns: ColumnMap) -> dict[int, DateOrder]:
    """The order of each column of days, for which the file is read once more."""
    sheet = _opened(path, asked)
    named = {at: columns.headers[at] for at in columns.dates}
    return told_by_columns(sheet.rows, named, file=sheet.file, today=asked.today)


def _rows(sheet: Sheet, reader: Reader, left_out: LeftOut) -> Iterator[Taken]:
    order = reader.reading.date_order
    declared = Declared(order, reader.columns.dates, reader.today) if order else None
    last = sheet.header_row
    for number, cells in sheet.rows:
        if is_blank(cells):
            continue
        if number > last + 1:
            left_out.add("empty", last + 1, number - last - 1)
        last = max(last, number)
        if declared:
            declared.look(number, cells)
        found = reader.take(number, cells)
        kind = kind_of(cells, reader.columns.headers) if isinstance(found, Aside) else None
        if kind:
            left_out.add(kind, number)
        else:
            yield number, found
    if declared:
        declared.refuse_others(sheet.file)


SOURCES: dict[str, Source] = {".csv": spreadsheet, ".xlsx": spreadsheet}
"""Ending of a file's name -> its source. Any other file is taken for a CSV file."""
