"""A spreadsheet as rows of text, numbered as the spreadsheet numbers them: CSV and XLSX alike."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from consentpack.errors import Problem, RegisterError
from consentpack.normal import plain
from consentpack.register.cells import Marked, visible
from consentpack.register.limits import LINE_LETTERS, ROW_LETTERS, ROWS, refusal
from consentpack.register.rows import is_blank

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Sheet:
    """A spreadsheet that has been opened: its header row, and the rows below it as they are read."""

    file: str
    headers: tuple[str, ...]
    rows: Iterator[Row]
    digest: str
    header_row: int = 1


def open_sheet(path: Path) -> Sheet:
    """Open a spreadsheet. The first row that is not blank holds the headers.

    Raises RegisterError when it cannot be read as a whole.
    """
    try:
        digest = _digest(path)
    except OSError as error:
        what = f"the file cannot be opened ({error.strerror})."
        raise RegisterError(Problem(str(path), what)) from None
    rows = _READERS.get(path.suffix.lower(), _csv_rows)(path)
    first = next((row for row in rows if not is_blank(row[1])), None)
    if first is None:
        raise RegisterError(Problem(path.name, "the file is empty."))
    number, cells = first
    for position, cell in enumerate(cells):
        if isinstance(cell, Marked) and cell.fault:
            what = f"the header in column {position + 1} {cell.fault}."
            raise RegisterError(Problem(f"{path.name}, row {number}", what))
    return Sheet(path.name, tuple(visible(plain(cell)) for cell in cells), rows, digest, number)


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _csv_rows(path: Path) -> Iterator[Row]:
    """Rows of a CSV file. Semicolons between the cells, as some countries save them, are read too."""
    with path.open("rb") as raw:
        text = io.TextIOWrapper(raw, encoding="utf-8-sig", newline="")
        number, delimiter = 0, ","
        try:
            head = text.readline(LINE_LETTERS)
            text.seek(0)
            delimiter = ";" if head.count(";") > head.count(",") else ","
            lines = _Lines(text, path.name)
            csv.field_size_limit(ROW_LETTERS)  # a cell too long sets its row aside, not the file
            for number, cells in enumerate(csv.reader(lines, delimiter=delimiter, strict=True), 1):
                lines.next_row()
                yield number, cells
        except UnicodeDecodeError:
            what = f"row {_undecodable(path, delimiter)} is not UTF-8 text."
            fix = "Save the spreadsheet as 'CSV UTF-8'."
            raise RegisterError(Problem(path.name, what, fix)) from None
        except csv.Error as error:
            what = f"row {number + 1} cannot be read as CSV ({error})."
            fix = "Open it in a spreadsheet and save it again."
            raise RegisterError(Problem(path.name, what, fix)) from None


class _Lines:
    """The lines of a text, none so long that it fills the memory: a missing quote makes one row of a file."""

    def __init__(self, text: io.TextIOBase, file: str):
        self._text, self._file = text, file
        self._row, self._letters = 1, 0

    def __iter__(self) -> Iterator[str]:
        while line := self._text.readline(LINE_LETTERS):
            self._letters += len(line)
            if len(line) == LINE_LETTERS or self._letters > ROW_LETTERS:
                self._refuse(f"has more than {LINE_LETTERS} characters in row {self._row}")
            yield line

    def next_row(self) -> None:
        """One row is whole."""
        self._row, self._letters = self._row + 1, 0
        if self._row > ROWS + 1:
            self._refuse(f"has more than {ROWS} rows")

    def _refuse(self, what: str) -> NoReturn:
        raise refusal(self._file, what)


def _undecodable(path: Path, delimiter: str) -> int:
    """The first row, as a spreadsheet counts, that holds bytes which are not UTF-8."""
    with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as text:
        lines = _Lines(text, path.name)
        try:
            for number, cells in enumerate(csv.reader(lines, delimiter=delimiter), 1):
                lines.next_row()
                if any("\udc80" <= letter <= "\udcff" for cell in cells for letter in cell):
                    return number
        except (csv.Error, UnicodeDecodeError):
            pass
    return 1


def _xlsx_rows(path: Path) -> Iterator[Row]:
    """Rows of a workbook, as wide as its headers: a cell under no header is never read."""
    from consentpack.register.workbook import workbook_rows  # noqa: PLC0415 - XML, only when needed

    width = 0
    for number, cells in workbook_rows(path):
        if not width:
            width = max((at for at, cell in cells.items() if not is_blank([cell])), default=-1) + 1
        yield number, [cells.get(at, "") for at in range(width)]


_READERS: dict[str, Callable[[Path], Iterator[Row]]] = {".xlsx": _xlsx_rows}
"""Ending of a file -> how its rows are read. Any other file is read as CSV."""
