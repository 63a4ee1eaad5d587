"""A spreadsheet as rows of text, numbered as the spreadsheet numbers them: CSV and XLSX alike."""

from __future__ import annotations

import csv
import hashlib
import io
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from consentpack.errors import Problem, RegisterError

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Sheet:
    """A spreadsheet that has been opened: its header row, and the rows below it as they are read."""

    file: str
    headers: tuple[str, ...]
    rows: Iterator[Row]
    digest: str


def open_sheet(path: Path) -> Sheet:
    """Open a spreadsheet. Raises RegisterError when it cannot be read as a whole."""
    try:
        digest = _digest(path)
    except OSError as error:
        what = f"the file cannot be opened ({error.strerror})."
        raise RegisterError(Problem(str(path), what)) from None
    rows = _xlsx_rows(path) if path.suffix.lower() == ".xlsx" else _csv_rows(path)
    first = next(rows, None)
    if first is None:
        raise RegisterError(Problem(path.name, "the file is empty."))
    return Sheet(path.name, tuple(cell.strip() for cell in first[1]), rows, digest)


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _csv_rows(path: Path) -> Iterator[Row]:
    """Rows of a CSV file. Semicolons between the cells, as some countries save them, are read too."""
    with path.open("rb") as raw:
        text = io.TextIOWrapper(raw, encoding="utf-8-sig", newline="")
        number, delimiter = 0, ","
        try:
            head = text.readline()
            text.seek(0)
            delimiter = ";" if head.count(";") > head.count(",") else ","
            for number, cells in enumerate(csv.reader(text, delimiter=delimiter, strict=True), 1):
                yield number, cells
        except UnicodeDecodeError:
            what = f"row {_undecodable(path, delimiter)} is not UTF-8 text."
            fix = "Save the spreadsheet as 'CSV UTF-8'."
            raise RegisterError(Problem(path.name, what, fix)) from None
        except csv.Error as error:
            what = f"row {number + 1} cannot be read as CSV ({error})."
            fix = "Open it in a spreadsheet and save it again."
            raise RegisterError(Problem(path.name, what, fix)) from None


def _undecodable(path: Path, delimiter: str) -> int:
    """The first row, as a spreadsheet counts, that holds bytes which are not UTF-8."""
    with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as text:
        for number, cells in enumerate(csv.reader(text, delimiter=delimiter), 1):
            if any("\udc80" <= letter <= "\udcff" for cell in cells for letter in cell):
                return number
    return 1


def _xlsx_rows(path: Path) -> Iterator[Row]:
    """Rows of the first sheet of a workbook, with the values its formulas had when it was saved."""
    from openpyxl import load_workbook  # noqa: PLC0415 - a fifth of a second to import
    from openpyxl.utils.exceptions import InvalidFileException  # noqa: PLC0415

    broken = (
        InvalidFileException,
        zipfile.BadZipFile,
        zlib.error,
        KeyError,
        ValueError,
        SyntaxError,
        EOFError,
    )
    book = None
    try:
        book = load_workbook(path, read_only=True, data_only=True)
        rows = book.worksheets[0].iter_rows(values_only=True)
        for number, cells in enumerate(rows, 1):
            yield number, [_as_text(cell) for cell in cells]
    except broken:  # the error's own words may hold a cell
        fix = "Open it in a spreadsheet and save it again as .xlsx, or as CSV UTF-8."
        what = "the file cannot be read as a workbook."
        raise RegisterError(Problem(path.name, what, fix)) from None
    finally:
        if book:
            book.close()


def _as_text(value: Any) -> str:
    """A cell as somebody would have typed it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime | date):
        return value.isoformat()[:10]
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)
