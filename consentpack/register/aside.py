"""The rows set aside as a file that a spreadsheet program may open without harm."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence

from consentpack.register.rows import SetAside

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
