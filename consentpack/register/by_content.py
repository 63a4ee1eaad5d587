"""What a column may hold by what stands in it, where its header says nothing that is known.

A proposal, made from the first rows of a sheet and kept by nobody before somebody has looked at it. Where two
columns could be the same, neither is proposed. Which outcome a column of 'yes' and 'no' speaks of, only its
header can tell; and what looks like somebody's name or number is never proposed for anything.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta

from consentpack.normal import folded, place, plain
from consentpack.register.answers import count, stratum_value
from consentpack.register.cells import BadCell, DateOrder
from consentpack.register.columns import looks_like_identity
from consentpack.register.days import read_day
from consentpack.register.how_read import Reading, technique_words
from consentpack.register.repairs import Repairs

LOOK = 200
"""Rows that are looked at."""
_FEWEST = 3
"""Filled cells a column must have."""
_MOST_OF = 0.8
"""The share of a column's cells that must fit."""
_SESSIONS = 12
_CASE = re.compile(r"(?=.*\d)(?=.*[^\W\d_])[\w/.-]{2,16}")
"""A reference of letters and figures. Figures alone may be a number that a hospital knows somebody by."""
_ORDERS: tuple[DateOrder, ...] = ("day-first", "month-first", "year-first")
_OLDEST = timedelta(days=15 * 365)
"""A day that is longer ago is more likely somebody's birth than a treatment that is still looked at."""
_FOLLOWED = timedelta(days=3 * 365)
"""Nor is who was treated seen about it so much later."""
Column = list[str]


def by_content(
    headers: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    known: Mapping[str, str],
    reading: Reading,
    places: Collection[str] = (),
) -> dict[str, str]:
    """Header -> what its cells seem to hold: for headers that `known` (header -> meaning) has nothing for,
    and meanings that it has no header for. `places` are words for what may be treated."""
    cells = list(rows)[:LOOK]
    columns = {
        header: [text for row in cells if at < len(row) and (text := plain(row[at]))]
        for at, header in enumerate(headers)
        if header and header not in known and headers.count(header) == 1 and not looks_like_identity(header)
    }
    columns = {header: found for header, found in columns.items() if len(found) >= _FEWEST}
    proposed: dict[str, str] = {}
    for meaning, holds in _tests(reading, places):
        free = {header: found for header, found in columns.items() if header not in proposed}
        fits = [header for header, found in free.items() if holds(found)]
        if meaning not in known.values() and len(fits) == 1:
            proposed[fits[0]] = meaning
    return proposed | _days({h: c for h, c in columns.items() if h not in proposed}, known, headers, cells)


Holds = Callable[[Column], bool]


def _tests(reading: Reading, places: Collection[str]) -> list[tuple[str, Holds]]:
    vocabulary, treated = technique_words(reading), {place(word) for word in places}
    tests: list[tuple[str, Holds]] = [
        ("techniques", lambda column: _most(column, lambda text: bool(vocabulary.ids(text, Repairs())))),
        ("case", lambda column: len(set(column)) > len(column) / 2 and _most(column, _is_case)),
        ("session", _holds_sessions),
        ("site", lambda column: _most(column, lambda text: place(text) in treated)),
    ]
    for id, stratum in reading.strata.items():
        values = {folded(value) for value in stratum.values}

        def is_value(text: str, stratum=stratum, values=values) -> bool:  # type: ignore[no-untyped-def]
            return not text.isdecimal() and folded(stratum_value(stratum, text)) in values

        tests.append((id, lambda column, is_value=is_value: _most(column, is_value)))  # type: ignore[misc]
    return tests


def _most(column: Column, fits: Callable[[str], bool]) -> bool:
    """Whether most cells of a column fit, by a test that may raise BadCell."""
    return sum(_passes(text, fits) for text in column) >= _MOST_OF * len(column)


def _passes(text: str, fits: Callable[[str], bool]) -> bool:
    try:
        return fits(text)
    except BadCell:
        return False


def _is_case(text: str) -> bool:
    return bool(_CASE.fullmatch(text)) and not any(_day(text, order) for order in _ORDERS)


def _holds_sessions(column: Column) -> bool:
    """Small numbers, of which 1 is the most frequent: most people come once, and all have a first time."""
    found = [number for text in column if (number := _number(text))]
    few = len(found) >= _MOST_OF * len(column) and max(found) <= _SESSIONS
    return few and len(set(found)) > 1 and found.count(1) == max(map(found.count, set(found)))


def _number(text: str) -> int | None:
    try:
        return count(text, Repairs())
    except BadCell:
        return None


def _day(text: str, order: DateOrder) -> date | None:
    try:
        found, _ = read_day(text, order)
    except BadCell:
        return None
    today = date.today()
    return found if found and today - _OLDEST <= found <= today else None


def _days(
    columns: Mapping[str, Column], known: Mapping[str, str], headers: Sequence[str],
    rows: Sequence[Sequence[str]],
) -> dict[str, str]:  # fmt: skip
    """The day of treatment, and the day last seen: of two columns of days the one that is never later."""
    best = {h: _order_of(column) for h, column in columns.items()}
    found = [header for header, order in best.items() if order]
    wanted = [name for name in ("date", "last_seen") if name not in known.values()]
    if len(found) == 1 and wanted[:1] == ["date"] and not any(_may_be_day(m) for m in known.values()):
        return {found[0]: "date"}
    if len(found) != 2 or wanted != ["date", "last_seen"]:
        return {}
    for first, second in (found, found[::-1]):
        if _never_later(first, second, best, headers, rows):
            return {first: "date", second: "last_seen"}
    return {}


def _may_be_day(meaning: str) -> bool:
    return meaning in ("date", "last_seen", "retreated")


def _order_of(column: Column) -> DateOrder | None:
    """The order in which most cells are days; numbers alone are none."""
    if sum(text.isdecimal() for text in column) > len(column) / 2:
        return None
    for order in _ORDERS:
        if _most(column, lambda text, order=order: _day(text, order) is not None):  # type: ignore[misc]
            return order
    return None


def _never_later(
    first: str, second: str, orders: Mapping[str, DateOrder | None], headers: Sequence[str],
    rows: Sequence[Sequence[str]],
) -> bool:  # fmt: skip
    pairs = []
    for row in rows:
        texts = {name: plain(row[at]) for at, name in enumerate(headers) if at < len(row)}
        days = [_day(texts.get(name, ""), orders[name] or "day-first") for name in (first, second)]
        if all(days):
            pairs.append(days)
    later = sum(not one <= other <= one + _FOLLOWED for one, other in pairs)  # type: ignore[operator]
    return len(pairs) >= _FEWEST and later <= (1 - _MOST_OF) * len(pairs) / 2
