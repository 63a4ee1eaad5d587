"""How much of a spreadsheet is taken in. No clinic's audit comes near; a file made to choke us does.

They are counts, not seconds: the same file is then always taken or always refused, on any machine.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO

from consentpack.errors import Problem, RegisterError

ROWS = 1_048_576
"""Rows, as many as a sheet of a workbook can have (ECMA-376 names no limit; from memory of the programs)."""
COLUMNS = 16_384
"""Columns of a workbook's sheet: the last is XFD (the same)."""
CELLS = 30_000_000
CELL_LETTERS = 32_767
"""Letters in a cell, as many as a spreadsheet program keeps (from memory)."""
LINE_LETTERS = 1_000_000
"""Letters in one line of a CSV file."""
ROW_LETTERS = 4_000_000
"""Letters in one row of a CSV file, whose cells may hold line breaks."""
UNPACKED_BYTES = 1_000_000_000
"""Of one part of a workbook, counted while it is unpacked: what the file says of itself may be false."""
SHARED_LETTERS = 64_000_000
"""Letters of a workbook's list of texts, which must be in memory as a whole."""
SHARED_TEXTS = 3_000_000
ELEMENTS = 100_000_000
"""XML elements of one part."""
DEPTH = 60
"""Levels of one XML part; a sheet needs eight."""
TOKEN_BYTES = 4_000_000
"""Of one XML tag or comment, which must be in memory as a whole."""
DETAILS = 20_000
"""Reasons kept of rows set aside, and doubts. What is more is counted."""
DETAIL_LETTERS = 200
"""Letters of a bad cell that are shown."""

_CHUNK = 65_536


class TooMuch(ValueError):
    """A limit was passed; the text says which."""


def chunks(stream: IO[bytes]) -> Iterator[bytes]:
    """The bytes of a part of a workbook, as long as they are not too many. Raises TooMuch."""
    taken = 0
    while chunk := stream.read(_CHUNK):
        taken += len(chunk)
        if taken > UNPACKED_BYTES:
            raise TooMuch(f"unpacks to more than {UNPACKED_BYTES // 1_000_000} MB")
        yield chunk


def refusal(file: str, what: str) -> RegisterError:
    """A file that passes a limit."""
    fix = "Delete empty rows and columns, or save only the audit's own columns as a new file."
    return RegisterError(Problem(file, f"the file {what}.", fix))
