"""From a spreadsheet row to a treatment, or to the reasons why it cannot be one."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from consentpack.errors import did_you_mean
from consentpack.register.cells import BadCell, DateOrder, read_count, read_date, read_yes_no
from consentpack.register.columns import ColumnMap

_T = TypeVar("_T")
_BETWEEN_TECHNIQUES = re.compile(r"[;+|]")


@dataclass(frozen=True)
class Treatment:
    """One treatment session, as the register keeps it."""

    case: str
    session: int
    day: date
    techniques: tuple[str, ...]
    site: str
    skin_type: str | None
    watched_days: int | None
    outcomes: Mapping[str, bool]

    @property
    def digest(self) -> str:
        """The same for the same content: how an unchanged row is known."""
        content = [
            self.case, self.session, self.day.isoformat(), self.techniques, self.site,
            self.skin_type, self.watched_days, sorted(self.outcomes.items()),
        ]  # fmt: skip
        return hashlib.sha256(json.dumps(content).encode()).hexdigest()


@dataclass(frozen=True)
class SetAside:
    """One cell that keeps a row out, numbered as the spreadsheet shows it."""

    row: int
    column: str
    value: str
    reason: str


@dataclass(frozen=True)
class Reader:
    """Reads rows by one column map and one clinic's settings."""

    columns: ColumnMap
    date_order: DateOrder
    techniques: frozenset[str]
    skin_types: tuple[str, ...]
    today: date

    def read(self, number: int, cells: list[str]) -> Treatment | list[SetAside]:
        """The treatment of row `number`, or everything that is wrong with it."""
        bad: list[SetAside] = []

        def cell(name: str, read: Callable[[str], _T]) -> _T | None:
            position = self.columns.fields.get(name, self.columns.outcomes.get(name))
            text = cells[position] if position is not None and position < len(cells) else ""
            try:
                return read(text)
            except BadCell as error:
                header = self.columns.headers[position] if position is not None else name
                bad.append(SetAside(number, header, text.strip(), f"{error}."))
                return None

        day = cell("date", self._day)
        values: dict[str, Any] = {
            "case": cell("case", _present),
            "session": cell("session", read_count),
            "techniques": cell("techniques", self._techniques),
            "site": cell("site", lambda text: _present(text).lower()),
            "skin_type": cell("skin_type", self._skin_type),
            "watched_days": cell("last_seen", lambda text: self._watched(text, day)),
            "outcomes": self._outcomes(cell),
        }
        return bad or Treatment(day=day, **values)  # type: ignore[arg-type]

    def _outcomes(self, cell: Callable[..., bool | None]) -> dict[str, bool]:
        read = {name: cell(name, read_yes_no) for name in self.columns.outcomes}
        return {name: seen for name, seen in read.items() if seen is not None}

    def _day(self, text: str) -> date:
        day = read_date(_present(text), self.date_order)
        if day is None or day > self.today:
            raise BadCell("is in the future")
        return day

    def _watched(self, text: str, day: date | None) -> int | None:
        seen = read_date(text, self.date_order)
        if seen is None or day is None:
            return None
        if seen < day:
            raise BadCell("is before the day of the treatment")
        if seen > self.today:
            raise BadCell("is in the future")
        return (seen - day).days

    def _techniques(self, text: str) -> tuple[str, ...]:
        names = sorted({name.strip() for name in _BETWEEN_TECHNIQUES.split(text) if name.strip()})
        if not names:
            raise BadCell("is blank; name at least one technique")
        for name in names:
            if name not in self.techniques:
                near = did_you_mean(name, self.techniques)
                raise BadCell(f"names '{name}', which is no technique. {near}".strip().rstrip("."))
        return tuple(names)

    def _skin_type(self, text: str) -> str | None:
        word = text.strip().upper()
        if word and word not in self.skin_types:
            raise BadCell(f"is no skin type; use {', '.join(self.skin_types)}")
        return word or None


def _present(text: str) -> str:
    if not text.strip():
        raise BadCell("is blank")
    return text.strip()


def is_blank(cells: Iterable[str]) -> bool:
    """Whether a row holds nothing at all, as spreadsheets leave them at the end."""
    return not any(cell.strip() for cell in cells)
