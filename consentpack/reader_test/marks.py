"""The spreadsheet of a cloze test: a table for each text, a row for each reader, a column for each gap."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from consentpack.errors import Problem, ReadError, unread
from consentpack.limits import MOST_BYTES
from consentpack.reader_test.cloze import Cloze

READER, WORD, ROWS = "reader", "the word", 40
"""The head of the first column, the name of the row of words, and rows that are made ready."""
MARKED_AS = {"1": True, "0": False}
LONGEST_NAME = 31
"""Characters of a table's name in a spreadsheet."""
_NO_NAME = re.compile(r"[\[\]:*?/\\']")
MOST_ROWS = 2_000
MOST_GAPS = 500


@dataclass(frozen=True)
class Reader:
    """One reader's number, and whether each gap was right. No name."""

    number: str
    right: tuple[bool, ...]


@dataclass(frozen=True)
class Sheet:
    """The marks of one text; rows that cannot be counted are set aside, each with its reason."""

    text: str
    words: tuple[str, ...]
    readers: tuple[Reader, ...]
    aside: tuple[Problem, ...]


def workbook(texts: Sequence[Cloze]) -> bytes:
    """An .xlsx file to fill in: how to mark, then a table for each text with its words."""
    from openpyxl import Workbook  # noqa: PLC0415 - slow to load

    book = Workbook()
    about = book.active
    about.title = "How to mark"
    for line in _HOW_TO:
        about.append([line])
    about.column_dimensions["A"].width = 100
    taken: set[str] = set()
    for text in texts:
        table = book.create_sheet(_table_name(text.name, taken))
        table.append([READER, *(gap.number for gap in text.gaps)])
        table.append([WORD, *(gap.word for gap in text.gaps)])
        table.freeze_panes = "B3"
        for number in range(1, ROWS + 1):
            table.append([f"R{number}"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


_HOW_TO = (
    "A table for each text, a row for each reader, a column for each gap. The second row has the words.",
    "Write 1 where the reader wrote the very word that stood there, and 0 for any other word or none.",
    "Another spelling of the same word is right. Another word of the same meaning is not, in any test.",
    "Readers have numbers, never names. Leave the rows of numbers that nobody had empty.",
    "Then: consentpack reader-test count FILE",
)


def _table_name(name: str, taken: set[str]) -> str:
    """A name that a spreadsheet allows and no other table has."""
    stem = _NO_NAME.sub("-", Path(name).name)[:LONGEST_NAME] or "text"
    made, number = stem, 1
    while made.lower() in taken:
        number += 1
        made = f"{stem[: LONGEST_NAME - len(str(number)) - 1]}-{number}"
    taken.add(made.lower())
    return made


def read_marks(path: Path) -> list[Sheet]:
    """The tables of a filled-in file. Raises ReadError when it is no such file or none was filled in."""
    tables = [(name, rows) for name, rows in _tables(path) if rows and _head(rows)]
    if not tables:
        what = f"no table in it begins with '{READER}' and the numbers of gaps."
        raise ReadError(Problem(path.name, what, "Make one with `consentpack reader-test make`."))
    return [_sheet(path, name, rows) for name, rows in tables]


def _tables(path: Path) -> list[tuple[str, list[list[str]]]]:
    from openpyxl import load_workbook  # noqa: PLC0415 - slow to load

    try:
        if path.stat().st_size > MOST_BYTES // 10:
            raise ReadError(Problem(path.name, "the file is far too large for marks of readers."))
        data = path.read_bytes()
    except OSError as error:
        raise ReadError(unread(path.name, error)) from None
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        return [(table.title, _rows(table)) for table in book.worksheets]
    except Exception:  # whatever is wrong inside a file from elsewhere, it is the file that cannot be read
        what = "this is no spreadsheet that can be read."
        raise ReadError(Problem(path.name, what, "Save it as .xlsx once more.")) from None


def _rows(table: Any) -> list[list[str]]:
    rows = table.iter_rows(max_row=MOST_ROWS, max_col=MOST_GAPS + 1, values_only=True)
    return [[_said(cell) for cell in row] for row in rows]


def _said(cell: Any) -> str:
    if cell is None:
        return ""
    whole = isinstance(cell, float) and cell.is_integer()
    return str(int(cell) if whole or isinstance(cell, bool) else cell).strip()


def _head(rows: list[list[str]]) -> int:
    """How many gaps a table has; 0 where it is none of ours."""
    head = rows[0]
    if len(rows) < 2 or head[0].lower() != READER or rows[1][0].lower() != WORD:
        return 0
    gaps = 0
    while gaps + 1 < len(head) and head[gaps + 1] == str(gaps + 1):
        gaps += 1
    return gaps


def _sheet(path: Path, name: str, rows: list[list[str]]) -> Sheet:
    gaps = _head(rows)
    readers, aside, seen = [], [], set[str]()
    for number, row in enumerate(rows[2:], 3):
        cells = [*row[: gaps + 1], *[""] * (gaps + 1 - len(row))]
        if not any(cells[1:]):
            continue  # a number that nobody had
        where = f"{path.name}, table '{name}', row {number}"
        wrong = _wrong(cells, seen)
        if wrong:
            aside.append(Problem(where, wrong, "Mend the row, or leave it empty; it is not counted."))
            continue
        seen.add(cells[0])
        readers.append(Reader(cells[0], tuple(MARKED_AS[cell] for cell in cells[1:])))
    return Sheet(name, tuple(rows[1][1 : gaps + 1]), tuple(readers), tuple(aside))


def _wrong(cells: list[str], seen: set[str]) -> str:
    if not cells[0]:
        return "the reader has no number."
    if cells[0] in seen:
        return f"reader {cells[0]} stands here twice."
    empty = [n for n, cell in enumerate(cells[1:], 1) if not cell]
    other = [n for n, cell in enumerate(cells[1:], 1) if cell and cell not in MARKED_AS]
    if empty:  # a gap that nobody marked is not a wrong word
        return f"gap {empty[0]} has no mark" + (f", and {len(empty) - 1} more." if empty[1:] else ".")
    return f"gap {other[0]} is marked '{cells[other[0]][:20]}'; use 1 or 0." if other else ""
