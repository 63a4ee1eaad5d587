"""The rows of one worksheet, as they come out of its XML: no row is skipped, none is made up.

Every row element is a row, whatever `<dimension>` says, and also when two bear the same number: the
readers of common libraries trust the one and drop the other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import IO

from consentpack.register.cells import Marked
from consentpack.register.left_out import is_over_rows
from consentpack.register.limits import CELL_LETTERS, CELLS, COLUMNS, ROWS, TooMuch
from consentpack.register.xml_parts import Parser

NO_VALUE = (
    "is a formula, and the file does not hold its value; open the file in a spreadsheet program, "
    "let it calculate, and save it"
)
TOO_LONG = f"is longer than {CELL_LETTERS} characters"
Cells = dict[int, str]
"""Position of a column, from 0 -> text of its cell. Cells that are not there are blank."""
Value = Callable[[str, int, str], str]
"""Kind of a cell, number of its style, what stands in it -> the text somebody would have typed."""

_REFERENCE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_INSIDE = {"sheetData": {"row"}, "row": {"c", "extLst"}, "c": {"v", "f", "is", "extLst"}}
"""What may stand inside what. Something else is a damaged sheet, whose rows must not be passed over."""

_FORMULA_PIECES = 4
"""Pieces of a formula's text that are looked at: a function and its range stand at its beginning."""


def sheet_rows(stream: IO[bytes], value: Value) -> Iterator[tuple[int, Cells]]:
    """Number and cells of every row. Raises ExpatError, ValueError, TooMuch."""
    reader = _Reader(value)
    parser = Parser(start=reader.start, end=reader.end, text=reader.text)
    for _ in parser.feed(stream):
        done, reader.done = reader.done, []
        yield from done
    if not reader.has_data:
        raise ValueError("no sheetData")


class _Reader:
    def __init__(self, value: Value):
        self._value = value
        self.done: list[tuple[int, Cells]] = []
        self.has_data = False
        self._row, self._column, self._rows, self._count = 0, -1, 0, 0
        self._cells: Cells = {}
        self._text: list[str] = []
        self._letters = 0
        self._taking = self._formula = self._in_formula = False
        self._formula_text: list[str] = []
        self._attributes: Mapping[str, str] = {}

    def start(self, path: list[str], attributes: Mapping[str, str]) -> None:
        name = path[-1]
        if len(path) == 1 and name != "worksheet":
            raise ValueError("no worksheet")
        if path[1:2] != ["sheetData"]:
            return
        self.has_data = True
        if len(path) > 2 and name not in _INSIDE.get(path[-2], {name}):
            raise ValueError(f"a '{name}' in a '{path[-2]}'")
        depth = len(path)
        if depth == 3:
            self._begin_row(attributes)
        elif depth == 4 and name == "c":
            self._begin_cell(attributes)
        elif depth > 4 and path[3] == "c":
            if name == "f" and depth == 5:
                self._formula = self._in_formula = True
            # the reading of a word beside it (rPh) is no part of what was typed
            self._taking = name == "v" or (name == "t" and path[4] == "is" and "rPh" not in path)

    def end(self, path: list[str]) -> None:
        if path[1:2] != ["sheetData"]:
            return
        self._taking = self._in_formula = False
        if len(path) == 4 and path[3] == "c":
            self._end_cell()
        elif len(path) == 3:
            self.done.append((self._row, self._cells))

    def text(self, text: str) -> None:
        if self._taking:
            self._letters += len(text)
            if self._letters <= CELL_LETTERS:
                self._text.append(text)
        elif self._in_formula and len(self._formula_text) < _FORMULA_PIECES:
            self._formula_text.append(text[:CELL_LETTERS])

    def _begin_row(self, attributes: Mapping[str, str]) -> None:
        self._rows += 1
        self._row = int(attributes.get("r", self._row + 1))
        if self._rows > ROWS:
            raise TooMuch(f"has more than {ROWS} rows")
        if not 1 <= self._row <= ROWS:
            raise ValueError("the number of a row")
        self._cells, self._column = {}, -1

    def _begin_cell(self, attributes: Mapping[str, str]) -> None:
        self._count += 1
        if self._count > CELLS:
            raise TooMuch(f"has more than {CELLS} cells")
        self._attributes, self._formula, self._text, self._letters = attributes, False, [], 0
        if self._formula_text:
            self._formula_text = []
        self._column = self._position(attributes["r"]) if "r" in attributes else self._column + 1
        if self._column >= COLUMNS or self._column in self._cells:
            raise ValueError("the place of a cell")

    def _position(self, reference: str) -> int:
        found = _REFERENCE.fullmatch(reference)
        # a cell that names another row than the one it stands in: nobody knows whose it is
        if not found or int(found[2]) != self._row:
            raise ValueError("the place of a cell")
        column = 0
        for letter in found[1]:
            column = column * 26 + ord(letter) - 64
        return column - 1

    def _end_cell(self) -> None:
        kind, text = self._attributes.get("t", "n"), "".join(self._text)
        if self._letters > CELL_LETTERS:
            found: str = Marked.of("", fault=TOO_LONG)
        elif self._formula and not text and kind != "str":  # 'str' may well be an empty text
            found = Marked.of("", fault=NO_VALUE)
        else:
            found = self._value(kind, int(self._attributes.get("s", 0)), text)
        if self._formula and is_over_rows("".join(self._formula_text)):
            found = _over(found)
        # an empty cell is remembered too: two in one place are a damaged row
        self._cells[self._column] = found


def _over(found: str) -> Marked:
    """The value of a formula over many rows, such as a sum."""
    known = isinstance(found, Marked)
    fault, shown = (found.fault, found.shown) if isinstance(found, Marked) else ("", "")
    made = Marked.of(found, fault=fault, shown=shown if known else "")
    made.over = True
    return made
