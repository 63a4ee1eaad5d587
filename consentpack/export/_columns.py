"""How wide the columns of a table are, and about how many lines its rows take."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from consentpack.export._beside import words
from consentpack.export._running import POINT, width_in_points
from consentpack.export.look import Look
from consentpack.tree import Cell, Table

LETTERS = 12
"""Points of the letters of usual print."""
GRID_MARGINS = 10
"""Points that are left free in a cell of a grid on both sides, rather too many."""
_FIRST_COLUMN = (44, 69, 2)
"""Shares of the width that are tried for the first of two columns."""


def lines_of(cell: Cell, share: int, look: Look) -> int:
    """About how many lines a cell takes, rather too many than too few."""
    most = max(1, look.line_length * share // 100 - 3)
    return sum(1 + len(said) // most for said in words(cell))


def height(rows: Iterable[Sequence[Cell]], widths: Sequence[int], look: Look) -> int:
    """About how many lines some rows take."""
    return sum(max(lines_of(c, share, look) for c, share in zip(row, widths, strict=True)) for row in rows)


def lowest(table: Table, look: Look) -> tuple[int, ...]:
    """The widths of two columns at which a table takes the fewest lines: the emergency signs must not run
    over page one, nor a sheet over two, and how long each column is differs by language."""
    shares = [(first, 100 - first) for first in range(*_FIRST_COLUMN)]
    return min(shares, key=lambda both: (height(table.rows, both, look), abs(both[0] - table.widths[0])))


def first_widest(table: Table, look: Look) -> tuple[int, ...]:
    """The widths of a grid whose marks take no more than they need, so that what they are about has the rest:
    in a longer language each row took two or three lines of a narrow column, and the sheet a side more."""
    marks = [cell for row in table.rows for cell in row[1:]]
    if not all("".join(words(cell)).strip() for cell in marks):
        return table.widths  # an empty cell is there to be written in
    columns = zip(table.columns[1:], *(row[1:] for row in table.rows), strict=True)
    longest = max(_share(label, cells, look) for label, *cells in columns)
    others = tuple(min(longest, given) for given in table.widths[1:])
    return (100 - sum(others), *others)


def _share(label: str, cells: Iterable[Cell], look: Look) -> int:
    """How many hundredths of the page's width a column needs so that no line of it breaks."""
    said = (label, *(text for cell in cells for text in words(cell)))
    size = LETTERS * look.scale
    needed = max(width_in_points(text, look, size=size, bold=True) for text in said) + GRID_MARGINS
    return -int(-100 * needed * POINT // look.text_width)
