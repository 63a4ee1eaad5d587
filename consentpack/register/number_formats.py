"""What a number in a workbook's cell is: a day, an amount, or a reference with its leading zeros."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from consentpack.register.cells import Marked

NO_DAY = "is no day that a spreadsheet knows"

_LITERAL = r'(?:"[^"]*"|\\.|[-/ .()])*'
_PADDED = re.compile(rf"({_LITERAL})(0+)({_LITERAL})")
_PLAIN = re.compile(r"General|@|[#,?]*0?(?:\.[0#?]+)?", re.IGNORECASE)
_FIRST_SECTION = re.compile(r'(?:"[^"]*"|\\.|[^;"\\])*')
_WHOLE = re.compile(r"-?\d+")


@dataclass(frozen=True)
class Formats:
    """The number formats of a workbook: style of a cell -> its code."""

    codes: tuple[str, ...] = ()
    from_1904: bool = False
    _kinds: dict[str, str] = field(default_factory=dict)

    def text(self, number: str, style: int) -> str:
        """A number as somebody would have typed it. Raises ValueError when it is none."""
        code = self.codes[style] if 0 <= style < len(self.codes) else "General"
        kind = self._kind(code)
        if kind != "number":
            return _day(float(number), self.from_1904, timedelta=kind == "time")
        typed = _typed(number)
        return Marked.of(typed, shown=_shown(typed, code)) if _WHOLE.fullmatch(typed) else typed

    def _kind(self, code: str) -> str:
        """'day', 'time' (a span) or 'number'. Kept, since millions of cells share some codes."""
        if code not in self._kinds:
            from openpyxl.styles.numbers import is_date_format, is_timedelta_format  # noqa: PLC0415

            span = "time" if is_timedelta_format(code) else "number"
            self._kinds[code] = "day" if is_date_format(code) else span
        return self._kinds[code]


def codes_of(own: Mapping[int, str], used: list[int]) -> tuple[str, ...]:
    """The format code of each style; `own` are those the workbook defines itself."""
    from openpyxl.styles.numbers import BUILTIN_FORMATS  # noqa: PLC0415

    return tuple(own.get(id, BUILTIN_FORMATS.get(id, "General")) for id in used)


def _typed(number: str) -> str:
    if _WHOLE.fullmatch(number):
        return number
    value = float(number)
    return str(int(value)) if value.is_integer() and abs(value) < 1e21 else str(value)


def _day(number: float, from_1904: bool, *, timedelta: bool) -> str:
    from openpyxl.utils.datetime import MAC_EPOCH, WINDOWS_EPOCH, from_excel  # noqa: PLC0415

    epoch = MAC_EPOCH if from_1904 else WINDOWS_EPOCH
    try:
        value = from_excel(number, epoch, timedelta=timedelta)
    except (ValueError, OverflowError):
        return Marked.of("", fault=NO_DAY)
    return value.isoformat()[:10] if isinstance(value, datetime | date) else str(value)


def _shown(digits: str, code: str) -> str | None:
    """A whole number as the sheet shows it: 7 in the format 000 is 007. None when we cannot tell."""
    found = _FIRST_SECTION.match(code)
    section = re.sub(r"\[[^<>=\]]*\]", "", found.group()) if found else ""
    if _PLAIN.fullmatch(section) or digits.startswith("-"):
        return digits
    padded = _PADDED.fullmatch(section)
    if padded is None:
        return None
    before, zeros, after = padded.groups()
    return _literal(before) + digits.zfill(len(zeros)) + _literal(after)


def _literal(code: str) -> str:
    return re.sub(r'"([^"]*)"|\\(.)', lambda m: m.group(1) or m.group(2) or "", code)
