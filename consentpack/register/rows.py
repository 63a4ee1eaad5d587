"""From a spreadsheet row to a treatment, or to the reasons why it cannot be one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache, partial
from typing import Any, TypeVar

from consentpack.errors import did_you_mean
from consentpack.model import Measurement, Stratum
from consentpack.normal import folded, place, plain
from consentpack.register.cells import (
    NONE_SEEN,
    BadCell,
    DateOrder,
    Marked,
    is_keepable,
    read_count,
    read_date,
    read_number,
    read_outcome,
    shortened,
)
from consentpack.register.columns import FIELDS, ColumnMap, noticed_of
from consentpack.register.limits import CELL_LETTERS, DETAIL_LETTERS
from consentpack.register.schema import RETREATED
from consentpack.register.treatment import Treatment

_T = TypeVar("_T")
_BETWEEN = re.compile(r"[;+|]")
NOT_AS_SHOWN = "is shown in another form than the file holds it; type the reference as text"


@dataclass(frozen=True)
class SetAside:
    """One cell that keeps a row out, numbered as the spreadsheet shows it."""

    row: int
    column: str
    value: str
    reason: str


@dataclass(frozen=True)
class Aside:
    """A row that is kept out, with every reason, and which treatment it is of where that can be read."""

    reasons: tuple[SetAside, ...]
    key: tuple[str, int] | None


@dataclass(frozen=True)
class Doubt:
    """One cell that is let in but looks wrong."""

    row: int
    column: str
    what: str


@dataclass(frozen=True)
class Reading:
    """How one clinic's spreadsheet is read."""

    date_order: DateOrder
    techniques: frozenset[str]
    outcomes: frozenset[str]
    strata: Mapping[str, Stratum] = field(default_factory=dict)
    measurements: Mapping[str, Measurement] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    """The clinic's own words in cells -> technique or outcome ids."""
    list_covers: tuple[str, ...] = ()
    """Outcomes a list column speaks of: not named there means looked for and not seen."""

    @property
    def fields(self) -> dict[str, str]:
        """What a column may hold beside outcomes -> what that is."""
        strata = {id: each.title for id, each in self.strata.items()}
        return {**FIELDS, **strata, **{id: each.title for id, each in self.measurements.items()}}


@dataclass(frozen=True)
class Reader:
    """Reads rows by one column map."""

    columns: ColumnMap
    reading: Reading
    today: date

    def take(self, number: int, cells: list[str]) -> Treatment | Aside:
        """The treatment of row `number`, or the row as it is set aside."""
        found = self.read(number, cells)
        return found if isinstance(found, Treatment) else Aside(tuple(found), self.key(cells))

    def read(self, number: int, cells: list[str]) -> Treatment | list[SetAside]:
        """The treatment of row `number`, or everything that is wrong with it."""
        if any(not is_blank([cell]) for cell in cells[len(self.columns.headers) :]):
            reason = "the row has more cells than the header row; is there a comma inside a cell?"
            return [SetAside(number, "", "", reason)]
        bad: list[SetAside] = []

        def cell(name: str, read: Callable[[str], _T]) -> _T | None:
            position = self.columns.position(name)
            text = cells[position] if position is not None and position < len(cells) else ""
            try:
                return read(_keepable(text))
            except BadCell as error:
                header = self.columns.headers[position] if position is not None else name
                bad.append(SetAside(number, header, shortened(text), _sentence(str(error))))
                return None

        day = cell("date", self._day)
        values: dict[str, Any] = {
            "case": cell("case", _case),
            "session": cell("session", read_count),
            "techniques": cell("techniques", self._techniques),
            "site": cell("site", lambda text: place(_present(text))),
            "watched_days": cell("last_seen", lambda text: self._days_after(text, day)),
            "retreated_days": cell(RETREATED, lambda text: self._days_after(text, day)),
            "operator": cell("operator", lambda text: plain(text) or None),
            "strata": _recorded(cell, self.reading.strata, _stratum),
            "measurements": _recorded(cell, self.reading.measurements, _measured),
        }
        values |= self._outcomes(cell, day)
        return bad or Treatment(day=day, **values)  # type: ignore[arg-type]

    def key(self, cells: list[str]) -> tuple[str, int] | None:
        """Case and session of a row, where both can be read: also of a row that is set aside."""
        at = [self.columns.fields[name] for name in ("case", "session")]
        case, session = (cells[i] if i < len(cells) else "" for i in at)
        try:
            return _case(_keepable(case)), read_count(_keepable(session))
        except BadCell:
            return None

    def _outcomes(self, cell: Callable[..., Any], day: date | None) -> dict[str, dict[str, int]]:
        """What was recorded, and when it was first noticed.

        Where a column and the list both speak, seen goes before not seen; what has a day was seen.
        """
        listed: dict[str, int] = cell("outcomes_seen", self._listed) or {}
        graded = {name: cell(name, read_outcome) for name in self.columns.outcomes}
        for name, grade in graded.items():
            if grade is not None:
                listed[name] = max(grade, listed.get(name, 0))
        noticed: dict[str, int] = {}
        for name in self.columns.noticed:
            days = cell(noticed_of(name), lambda text, n=name: self._noticed(text, day, graded.get(n)))
            if days is not None:
                listed[name], noticed[name] = max(1, listed.get(name, 0)), days
        return {"outcomes": listed, "noticed": noticed}

    def _noticed(self, text: str, day: date | None, grade: int | None) -> int | None:
        days = self._days_after(text, day)
        if days is not None and grade == 0:
            raise BadCell("is a day on which it was noticed, but its own column says that it was not seen")
        return days

    def _listed(self, text: str) -> dict[str, int]:
        """What a list cell says; nothing when it is blank."""
        words = _split(text)
        if not words:
            return {}
        covered = dict.fromkeys(self.reading.list_covers, 0)
        if len(words) == 1 and words[0].lower() in NONE_SEEN:
            return covered
        return covered | dict.fromkeys(self._known(words, self.reading.outcomes, "outcome"), 1)

    def _known(self, words: Iterable[str], known: frozenset[str], what: str) -> list[str]:
        """Ids for the clinic's words. Raises BadCell for one that is unknown."""
        found = []
        for word in words:
            id = self._meant(word)
            if id not in known:
                near = _near(id[:DETAIL_LETTERS], known)
                raise BadCell(f"names '{shortened(word)}', which is no {what}. {near}".strip())
            found.append(id)
        return found

    def _meant(self, word: str) -> str:
        """What the clinic means by a word; capitals matter only where two words differ by them."""
        own = self.reading.words
        return own[word] if word in own else self._folded_words.get(folded(word), word)

    @cached_property
    def _folded_words(self) -> dict[str, str]:
        return {folded(word): id for word, id in self.reading.words.items()}

    def _day(self, text: str) -> date:
        day = read_date(_present(text), self.reading.date_order)
        if day is None or day > self.today:
            raise BadCell("is in the future")
        return day

    def _days_after(self, text: str, day: date | None) -> int | None:
        """Days from the treatment to a day; None for blank. Raises BadCell."""
        seen = read_date(text, self.reading.date_order)
        if seen is None or day is None:
            return None
        if seen < day:
            raise BadCell("is before the day of the treatment")
        if seen > self.today:
            raise BadCell("is in the future")
        return (seen - day).days

    def _techniques(self, text: str) -> tuple[str, ...]:
        names = _split(text)
        if not names:
            raise BadCell("is blank; name at least one technique")
        return tuple(sorted(set(self._known(names, self.reading.techniques, "technique"))))


def _sentence(words: str) -> str:
    return words if words.endswith((".", "?")) else f"{words}."


@lru_cache(maxsize=1000)
def _near(word: str, known: frozenset[str]) -> str:
    """The same slip stands in many rows, and looking for what is near takes a while."""
    return did_you_mean(word, known)


def _keepable(text: str) -> str:
    if isinstance(text, Marked) and text.fault:
        raise BadCell(text.fault)
    if len(text) > CELL_LETTERS:
        raise BadCell(f"is longer than {CELL_LETTERS} characters")
    if not is_keepable(text):  # a database would refuse the whole file for it
        raise BadCell("holds a character that cannot be kept; type the cell again")
    return text


def _case(text: str) -> str:
    """A case reference as it is shown: 7 in the format 000 is 007."""
    if isinstance(text, Marked):
        if text.shown is None:
            raise BadCell(NOT_AS_SHOWN)
        text = text.shown
    return _present(text)


def _split(text: str) -> list[str]:
    return [word for piece in _BETWEEN.split(text) if (word := plain(piece))]


_Of = TypeVar("_Of", Stratum, Measurement)


def _recorded(
    cell: Callable[..., Any], asked: Mapping[str, _Of], read: Callable[[_Of, str], Any]
) -> dict[str, Any]:
    """What a row says of each stratum or measurement; a blank is not in it."""
    found = {id: cell(id, partial(read, each)) for id, each in asked.items()}
    return {id: value for id, value in found.items() if value is not None}


def _stratum(stratum: Stratum, text: str) -> str | None:
    word = plain(text)
    if not word:
        return None
    return stratum_value(stratum, word)


def stratum_value(stratum: Stratum, word: str) -> str:
    """The value that is meant, whatever its capitals. Raises BadCell."""
    for value in stratum.values:
        if folded(value) == folded(word):
            return value
    raise BadCell(f"is no {stratum.title}; use {', '.join(stratum.values)}")


def _measured(measurement: Measurement, text: str) -> float | None:
    word = plain(text)
    if measurement.unit and word.lower().endswith(measurement.unit.lower()):
        word = word[: -len(measurement.unit)].strip()
    if not word:
        return None
    return read_count(word) if measurement.whole else read_number(word)


def _present(text: str) -> str:
    found = plain(text)
    if not found:
        raise BadCell("is blank")
    return found


def doubts(number: int, treatment: Treatment, measurements: Mapping[str, Measurement]) -> list[Doubt]:
    """What looks wrong about a row that was let in. Never a reason to refuse it."""
    found = []
    for id, value in treatment.measurements.items():
        asked = measurements[id]
        if not asked.is_usual(value):
            shown = f"{value:g} {asked.unit}".strip()
            least, most = asked.usual
            what = f"{shown} is unusual ({asked.title}); usual is {least:g} to {most:g}: {asked.why}"
            found.append(Doubt(number, id, what))
    return found


def is_blank(cells: Iterable[str]) -> bool:
    """Whether a row holds nothing at all, as spreadsheets leave them at the end."""
    return not any(cell.strip() or (isinstance(cell, Marked) and cell.fault) for cell in cells)
