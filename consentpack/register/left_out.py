"""Rows of a sheet that are no treatments: empty ones, totals, notes, and the headers once more.

They are left out and counted, not set aside: nobody can mend them. Only a row that could not go in anyway
is ever looked at, so that no treatment is lost for the word 'total' in it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from consentpack.normal import folded, plain
from consentpack.register.cells import Marked

Kind = Literal["empty", "totals", "note", "headers"]
FIRST_ROWS = 5
TOTAL_WORDS = frozenset(
    (
        *(
            "total",
            "totals",
            "grand total",
            "subtotal",
            "sub total",
            "sum",
            "sums",
            "average",
            "mean",
            "median",
        ),
        *("count", "percent", "percentage", "overall", "totaux", "somme", "moyenne", "totales"),
        *(
            "suma",
            "promedio",
            "media",
            "razem",
            "łącznie",
            "średnia",
            "tổng",
            "tổng cộng",
            "合计",
            "总计",
            "المجموع",
        ),
    )
)
"""What stands before totals, in English and the languages of our catalogues: common practice, no source."""
_NUMBER = re.compile(r"[\s\d.,:/%()-]*")
_OVER = re.compile(
    r"\b(?:SUM|SUMPRODUCT|COUNT|COUNTA|COUNTIF|COUNTIFS|SUMIF|SUMIFS|AVERAGE|AVERAGEIF|MEDIAN|MIN|MAX|SUBTOTAL"
    r"|AGGREGATE)\([^!]*?\$?[A-Z]{1,3}\$?(\d+):\$?[A-Z]{1,3}\$?(\d+)",
    re.IGNORECASE,
)
_NOTE_WORDS = 3
"""A cell of fewer words standing alone may be the beginning of a treatment, such as its case."""


def is_over_rows(formula: str) -> bool:
    """Whether a formula counts or sums several rows of its own sheet."""
    found = _OVER.search(formula)
    return found is not None and found[1] != found[2]


@dataclass(frozen=True)
class Left:
    """Rows of one kind that were left out."""

    kind: Kind
    times: int
    rows: tuple[int, ...]
    """The first of them."""

    def told(self) -> str:
        """A sentence for the clinic."""
        what = {
            "empty": ("row is empty", "rows are empty"),
            "totals": ("row holds totals", "rows hold totals"),
            "note": ("row holds a note and nothing else", "rows hold a note and nothing else"),
            "headers": ("row holds the headers once more", "rows hold the headers once more"),
        }[self.kind][self.times != 1]
        rows = ", ".join(map(str, self.rows))
        more = " …" if self.times > len(self.rows) else ""
        return f"{self.times} {what}, and left out: {rows}{more}."


@dataclass
class LeftOut:
    """All of a file, while its rows are read."""

    _rows: dict[Kind, list[int]] = field(default_factory=dict)
    _times: dict[Kind, int] = field(default_factory=dict)

    def add(self, kind: Kind, number: int, times: int = 1) -> None:
        """Some rows, of which `number` is the first."""
        self._times[kind] = self._times.get(kind, 0) + times
        rows = self._rows.setdefault(kind, [])
        rows += range(number, number + min(times, FIRST_ROWS - len(rows)))

    def all(self) -> tuple[Left, ...]:
        return tuple(Left(kind, times, tuple(self._rows[kind])) for kind, times in self._times.items())


def kind_of(cells: Sequence[str], headers: Sequence[str]) -> Kind | None:
    """What a row is that is no treatment; None where it may be one and has to be mended."""
    filled = [cell for cell in cells if cell.strip() or (isinstance(cell, Marked) and cell.fault)]
    if _is_totals(filled):
        return "totals"
    if len(filled) == 1 and len(plain(filled[0]).split()) >= _NOTE_WORDS and not _is_formula(filled[0]):
        return "note"
    said = [folded(cell) for cell in cells]
    again = [word for word in said if word] == [folded(header) for header in headers if header]
    return "headers" if again else None


def _is_totals(filled: Sequence[str]) -> bool:
    """A word for totals and else nothing but numbers, or numbers of which one is a formula over rows."""
    words = [cell for cell in filled if not _is_formula(cell) and not _NUMBER.fullmatch(cell)]
    if not words:
        return any(map(_is_formula, filled))
    label = folded(words[0]).rstrip(":. ")
    first = label in TOTAL_WORDS or label.split(" ")[0] in ("total", "totals", "sum")
    return first and len(words) == 1 and (len(filled) > 1 or label[-1].isdigit())


def _is_formula(cell: str) -> bool:
    """A formula over rows; in a CSV file one that was saved as its text."""
    return (isinstance(cell, Marked) and cell.over) or (cell.startswith("=") and is_over_rows(cell))
