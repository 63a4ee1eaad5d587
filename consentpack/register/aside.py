"""The rows set aside as a file that a spreadsheet program may open without harm."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from consentpack.register.rows import SetAside

FIRST_ROWS = 5
"""Rows, and values, that are named of each reason."""


@dataclass(frozen=True)
class AsideGroup:
    """One reason that keeps rows out, under one header."""

    column: str
    reason: str
    times: int
    rows: tuple[int, ...]
    """The first of them."""
    values: tuple[str, ...]
    """The first different cells."""

    def told(self) -> str:
        """A line for the clinic."""
        values = " or ".join(f"'{value}'" for value in self.values)
        cell = f"{values} {self.reason}" if any(self.values) else self.reason
        where = f"{self.column}: " if self.column else ""
        if self.times == 1:
            return f"row {self.rows[0]}, {where}{cell}"
        rows = ", ".join(map(str, self.rows)) + (" …" if self.times > len(self.rows) else "")
        return f"{self.times} rows ({rows}), {where}{cell}"


def grouped(items: Sequence[SetAside]) -> tuple[AsideGroup, ...]:
    """Rows set aside by header and reason, the most frequent first."""
    found: dict[tuple[str, str], list[SetAside]] = {}
    for item in items:
        found.setdefault((item.column, item.reason), []).append(item)
    groups = [
        AsideGroup(
            column,
            reason,
            len(each),
            tuple(item.row for item in each[:FIRST_ROWS]),
            tuple(dict.fromkeys(item.value for item in each))[:FIRST_ROWS],
        )
        for (column, reason), each in found.items()
    ]
    return tuple(sorted(groups, key=lambda group: -group.times))


SET_ASIDE_COLUMNS = ("row", "column", "value", "reason")

_STARTS_FORMULA = re.compile(r"(^|[;,\t\r\n])([^\S\t\r\n]*[=+\-@＝＋－＠])")
_LEADING = re.compile(r"^[\t\r\n]")


def harmless(text: str) -> str:
    """A cell that no program takes for a formula: what begins like one begins with an apostrophe.

    A cell can also begin inside a text, in a country where another sign stands between the cells.
    OWASP, "CSV Injection", names the signs.
    """
    marked = _STARTS_FORMULA.sub(r"\1'\2", text)
    return f"'{marked}" if _LEADING.match(marked) else marked


def aside_csv(items: Sequence[SetAside], *, more: int) -> str:
    """Rows set aside as CSV text; `more` is how many reasons there are besides."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(SET_ASIDE_COLUMNS)
    for item in items:
        writer.writerow((item.row, harmless(item.column), harmless(item.value), harmless(item.reason)))
    if more:
        what = f"{more} more reasons are not listed. Mend these, import again, and the next are named."
        writer.writerow(("", "", "", what))
    return stream.getvalue()
