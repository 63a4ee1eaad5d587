"""The rows of a CSV file, in UTF-8, whatever sign stands between its cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

from consentpack.errors import Problem, RegisterError
from consentpack.register.limits import LINE_LETTERS, ROW_LETTERS, ROWS, refusal

Row = tuple[int, list[str]]
DELIMITERS = (",", ";", "\t")
"""What may stand between cells; some countries save semicolons, and what is copied has tabs."""


def usual_delimiter(path: Path) -> str:
    """A comma, or a semicolon where the first line has more of them."""
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as text:
        head = text.readline(LINE_LETTERS)
    return ";" if head.count(";") > head.count(",") else ","


def csv_rows(path: Path, delimiter: str) -> Iterator[Row]:
    """Rows of a CSV file with a sign between its cells. Raises RegisterError."""
    with path.open("rb") as raw:
        text = io.TextIOWrapper(raw, encoding="utf-8-sig", newline="")
        number = 0
        try:
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
