"""From a spreadsheet row to a treatment, or to the reasons why it cannot be one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, partial
from typing import Any, TypeVar

from consentpack.model import Measurement, Stratum
from consentpack.normal import place, plain
from consentpack.register.answers import (
    NOT_RECORDED_WORD,
    answer,
    count,
    is_unknown,
    measured,
    of_stratum,
    own_answers,
)
from consentpack.register.cells import (
    NONE_SEEN,
    BadCell,
    DateOrder,
    Marked,
    shortened,
)
from consentpack.register.cells_taken import KEPT, case_reference, keepable, present, read_day_once, sentence
from consentpack.register.columns import ColumnMap, noticed_of
from consentpack.register.days import read_day
from consentpack.register.how_read import Reading, outcome_words, technique_words
from consentpack.register.repairs import Repairs
from consentpack.register.schema import RETREATED
from consentpack.register.treatment import Treatment
from consentpack.register.words import Vocabulary, split

_T = TypeVar("_T")
_Of = TypeVar("_Of", Stratum, Measurement)


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
class Reader:
    """Reads rows by one column map."""

    columns: ColumnMap
    reading: Reading
    today: date
    orders: Mapping[int, DateOrder] = field(default_factory=dict)
    """Position of a column of days -> its order, where the clinic does not say one."""
    from_1904: bool = False
    """Whether the file counts its days from 1904."""
    repairs: Repairs = field(default_factory=Repairs)

    def take(self, number: int, cells: list[str]) -> Treatment | Aside:
        """The treatment of row `number`, or the row as it is set aside."""
        found = self.read(number, cells)
        if self.repairs.pending:
            self.repairs.of_row(number, goes_in=isinstance(found, Treatment))
        return found if isinstance(found, Treatment) else Aside(tuple(found), self.key(cells))

    def read(self, number: int, cells: list[str]) -> Treatment | list[SetAside]:
        """The treatment of row `number`, or everything that is wrong with it."""
        if any(not is_blank([cell]) for cell in cells[len(self.columns.headers) :]):
            reason = "the row has more cells than the header row; is there a comma inside a cell?"
            return [SetAside(number, "", "", reason)]
        bad: list[SetAside] = []

        def cell(name: str, read: Callable[[str], _T], same: str = "") -> _T | None:
            position = self._position(name)
            text = cells[position] if position is not None and position < len(cells) else ""
            kept = self._known[same] if same and type(text) is str else {}
            if text in kept:
                return kept[text]  # type: ignore[no-any-return]
            try:
                value = read(keepable(text))
                if self.repairs.fresh:
                    self.repairs.of_cell(self.columns.headers[position or 0])
                elif len(kept) < KEPT:
                    kept[text] = value
                return value
            except BadCell as error:
                header = self.columns.headers[position] if position is not None else name
                bad.append(SetAside(number, header, shortened(text), sentence(str(error))))
                return None

        day = cell("date", self._day)
        values: dict[str, Any] = {
            "case": cell("case", case_reference),
            "session": cell("session", self._count, "session"),
            "techniques": cell("techniques", self._techniques, "techniques"),
            "site": cell("site", lambda text: place(present(text)), "site"),
            "watched_days": cell("last_seen", lambda text: self._days_after(text, day, "last_seen")),
            "retreated_days": cell(RETREATED, lambda text: self._days_after(text, day, RETREATED)),
            "operator": cell("operator", lambda text: plain(text) or None, "operator"),
            "strata": self._recorded(cell, self.reading.strata, of_stratum),
            "measurements": self._recorded(cell, self.reading.measurements, measured),
        }
        values |= self._outcomes(cells, cell, day)
        return bad or Treatment(day=day, **values)  # type: ignore[arg-type]

    def key(self, cells: list[str]) -> tuple[str, int] | None:
        """Case and session of a row, where both can be read: also of a row that is set aside."""
        at = [self.columns.fields[name] for name in ("case", "session")]
        case, session = (cells[i] if i < len(cells) else "" for i in at)
        try:
            return case_reference(keepable(case)), count(keepable(session), Repairs())
        except BadCell:
            return None

    def _outcomes(
        self, cells: list[str], cell: Callable[..., Any], day: date | None
    ) -> dict[str, dict[str, int]]:
        """What was recorded, and when it was first noticed.

        Where a column and the list both speak, seen goes before not seen; what has a day was seen.
        """
        listed: dict[str, int] = {}
        if "outcomes_seen" in self.columns.fields:
            listed = cell("outcomes_seen", self._listed) or {}
        known = self._known["answer"]
        graded = {
            name: known[text]
            if at < len(cells) and type(text := cells[at]) is str and text in known
            else cell(name, self._answer, "answer")
            for name, at in self.columns.outcomes.items()
        }  # by far the most cells: those that are known are not handed on
        for name, grade in graded.items():
            if grade is not None:
                listed[name] = max(grade, listed.get(name, 0))
        noticed: dict[str, int] = {}
        for name in self.columns.noticed:
            days = cell(noticed_of(name), lambda text, n=name: self._noticed(text, day, n, graded.get(n)))
            if days is not None:
                listed[name], noticed[name] = max(1, listed.get(name, 0)), days
        return {"outcomes": listed, "noticed": noticed}

    def _noticed(self, text: str, day: date | None, outcome: str, grade: int | None) -> int | None:
        days = self._days_after(text, day, noticed_of(outcome))
        if days is not None and grade == 0:
            raise BadCell("is a day on which it was noticed, but its own column says that it was not seen")
        return days

    def _listed(self, text: str) -> dict[str, int]:
        """What a list cell says; nothing when it is blank."""
        words = split(text)
        if not words:
            return {}
        covered = dict.fromkeys(self.reading.list_covers, 0)
        if len(words) == 1 and words[0].lower() in NONE_SEEN:
            return covered
        try:
            return covered | dict.fromkeys(self._outcome_words.ids(text, self.repairs), 1)
        except BadCell as error:
            self._unless_unknown(text, error)
            return {}

    def _unless_unknown(self, text: str, error: BadCell) -> None:
        """Raises the error, unless a cell that may be blank says that nobody knows."""
        if not is_unknown(text):
            raise error
        self.repairs.note(text, NOT_RECORDED_WORD)

    @cached_property
    def _places(self) -> dict[str, int | None]:
        return {}

    def _position(self, meaning: str) -> int | None:
        if meaning not in self._places:
            self._places[meaning] = self.columns.position(meaning)
        return self._places[meaning]

    @cached_property
    def _known(self) -> defaultdict[str, dict[str, Any]]:
        """What is read -> cell -> what it says, of cells that say it in so many words: an audit writes the
        same few a million times."""
        return defaultdict(dict)

    @cached_property
    def _technique_words(self) -> Vocabulary:
        return technique_words(self.reading)

    @cached_property
    def _outcome_words(self) -> Vocabulary:
        return outcome_words(self.reading)

    @cached_property
    def _own_answers(self) -> dict[str, int | None]:
        return own_answers(self.reading.words)

    def _answer(self, text: str) -> int | None:
        return answer(text, self._own_answers, self.repairs)

    def _count(self, text: str) -> int:
        return count(text, self.repairs)

    @cached_property
    def _orders(self) -> dict[str, DateOrder]:
        """The order of each column of days, by what it means."""
        usual: DateOrder = self.reading.date_order or "day-first"
        meanings = ("date", "last_seen", RETREATED, *map(noticed_of, self.columns.noticed))
        places = {meaning: self.columns.position(meaning) for meaning in meanings}
        return {meaning: self.orders.get(-1 if at is None else at, usual) for meaning, at in places.items()}

    def _read_day(self, text: str, meaning: str) -> date | None:
        if type(text) is str:
            day, typed = read_day_once(text, self._orders[meaning], self.from_1904)
        else:
            day, typed = read_day(text, self._orders[meaning], from_1904=self.from_1904)
        if typed:
            self.repairs.note(text, str(day), typed)
        return day

    def _day(self, text: str) -> date:
        present(text)
        day = self._read_day(text, "date")
        if day is None or day > self.today:
            raise BadCell("is in the future")
        return day

    def _days_after(self, text: str, day: date | None, meaning: str) -> int | None:
        """Days from the treatment to a day; None for blank. Raises BadCell."""
        try:
            seen = self._read_day(text, meaning)
        except BadCell as error:
            self._unless_unknown(text, error)
            return None
        if seen is None or day is None:
            return None
        if seen < day:
            raise BadCell("is before the day of the treatment")
        if seen > self.today:
            raise BadCell("is in the future")
        return (seen - day).days

    def _recorded(
        self, cell: Callable[..., Any], asked: Mapping[str, _Of], read: Callable[[_Of, str, Repairs], Any]
    ) -> dict[str, Any]:
        """What a row says of each stratum or measurement; what is not recorded is not in it."""

        def one(each: _Of, text: str) -> Any:
            try:
                return read(each, text, self.repairs)
            except BadCell as error:
                self._unless_unknown(text, error)
                return None

        found = {id: cell(id, partial(one, each), f"{id} itself") for id, each in asked.items()}
        return {id: value for id, value in found.items() if value is not None}

    def _techniques(self, text: str) -> tuple[str, ...]:
        if not split(text):
            raise BadCell("is blank; name at least one technique")
        return tuple(sorted(set(self._technique_words.ids(text, self.repairs))))


def is_blank(cells: Iterable[str]) -> bool:
    """Whether a row holds nothing at all, as spreadsheets leave them at the end."""
    return not any(cell.strip() or (isinstance(cell, Marked) and cell.fault) for cell in cells)
