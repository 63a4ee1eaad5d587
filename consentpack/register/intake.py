"""Where treatments come from: a table of sources, each of which reads one kind of file.

Another source is one entry in SOURCES and one module: a function that opens a file and gives an
`Intake`. What is then done with the rows, counting them and setting bad ones aside, is the same for all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from consentpack.errors import Problem, RegisterError
from consentpack.register.cells import DateOrder, order_shown
from consentpack.register.columns import map_columns
from consentpack.register.reading import Row, open_sheet
from consentpack.register.rows import Aside, Reader, Reading, is_blank
from consentpack.register.treatment import Treatment

Taken = tuple[int, Treatment | Aside]
"""A row's number, as its file shows it, and the treatment, or the row set aside."""


@dataclass(frozen=True)
class Asked:
    """How the clinic wants its files read."""

    columns: Mapping[str, str]
    reading: Reading
    today: date


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


Source = Callable[[Path, Asked], Intake]


def take(path: Path, asked: Asked) -> Intake:
    """Open a file with the source for its kind. Raises RegisterError."""
    return SOURCES.get(path.suffix.lower(), spreadsheet)(path, asked)


def spreadsheet(path: Path, asked: Asked) -> Intake:
    """A CSV file or a workbook, read by the clinic's column map."""
    sheet = open_sheet(path)
    columns, problems = map_columns(
        sheet.headers,
        asked.columns,
        asked.reading.outcomes,
        file=sheet.file,
        row=sheet.header_row,
        fields=asked.reading.fields,
    )
    if problems:
        raise RegisterError(problems)
    reader = Reader(columns, asked.reading, asked.today)
    called = {name: columns.headers[at] for name, at in columns.fields.items()}
    rows = _rows(sheet.rows, reader, sheet.file)
    outcomes, noticed = frozenset(columns.outcomes), frozenset(columns.noticed)
    return Intake(sheet.file, sheet.digest, rows, columns.ignored, called, outcomes, noticed)


def _rows(rows: Iterable[Row], reader: Reader, file: str) -> Iterator[Taken]:
    orders = _Orders(reader.reading.date_order, reader.columns.dates)
    for number, cells in rows:
        if not is_blank(cells):
            orders.look(number, cells)
            yield number, reader.take(number, cells)
    orders.refuse_others(file)


@dataclass
class _Orders:
    """Whether the dates of a sheet are typed in the declared order.

    Those that fit only the other order are set aside, but those that fit both would go in swapped.
    """

    declared: DateOrder
    columns: tuple[int, ...]
    fitting: int = 0
    others: int = 0
    first: int = 0
    other: DateOrder | None = None

    def look(self, number: int, cells: list[str]) -> None:
        """Count the dates of one row that fit one order only."""
        for column in self.columns:
            shown = order_shown(cells[column], self.declared) if column < len(cells) else None
            if shown == self.declared:
                self.fitting += 1
            elif shown is not None:
                self.others += 1
                self.first, self.other = self.first or number, shown

    def refuse_others(self, file: str) -> None:
        """Stop when more dates are in the other order than are surely in the declared one."""
        if self.others <= self.fitting:
            return
        what = (
            f"the dates seem to be typed {self.other}: {self.others} fit only that, and "
            f"{self.fitting} only {self.declared}. The others would be read with day and month swapped, "
            "so nothing went in."
        )
        fix = f'Look at the dates. If it is so, write dates = "{self.other}" under [audit] in clinic.toml.'
        raise RegisterError(Problem(f"{file}, row {self.first}", what, fix))


SOURCES: dict[str, Source] = {".csv": spreadsheet, ".xlsx": spreadsheet}
"""Ending of a file's name -> its source. Any other file is taken for a CSV file."""
