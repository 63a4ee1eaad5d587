"""What was read otherwise than it is typed, by word and not by row: somebody of the clinic looks at ten
lines, and at three hundred nobody does."""

from __future__ import annotations

from dataclasses import dataclass, field

from consentpack.register.limits import DETAIL_LETTERS

GROUPS = 500
"""Words that are kept apart. What is more is counted."""
FIRST_ROWS = 5
"""Rows that are named of each."""


@dataclass(frozen=True)
class Repair:
    """A word of one column that was read as something, in rows that went in."""

    column: str
    word: str
    """As it is typed; of many days typed alike, the first."""
    read_as: str
    times: int
    rows: tuple[int, ...]
    """The first of them."""
    typed: str = ""
    """How days were typed, such as 'with a short year'; '' for a word."""

    def told(self) -> str:
        """A sentence for the clinic."""
        times = "once" if self.times == 1 else f"{self.times} times"
        if self.typed:
            days = "a day stands" if self.times == 1 else f"{self.times} days stand"
            return f"In {self.column} {days} {self.typed}: '{self.word}' was read as {self.read_as}."
        return f"'{self.word}' stands in {self.column} {times}: read as {self.read_as}."


@dataclass
class _Group:
    word: str
    read_as: str
    times: int = 0
    rows: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Note:
    """One cell that was read otherwise."""

    word: str
    read_as: str
    typed: str = ""


@dataclass
class Repairs:
    """All of a file, while its rows are read."""

    fresh: list[Note] = field(default_factory=list)
    """Of the cell that is being read."""
    _row: list[tuple[str, Note]] = field(default_factory=list)
    """Of the row: whether it goes in is not known yet."""
    _groups: dict[tuple[str, str, str], _Group] = field(default_factory=dict)
    more: int = 0
    """Cells that belong to none of the groups that are kept."""

    def note(self, word: str, read_as: str, typed: str = "") -> None:
        """The cell that is being read says something in other words."""
        self.fresh.append(Note(word.strip()[:DETAIL_LETTERS], read_as, typed))

    def of_cell(self, column: str) -> None:
        """The cell could be read, and stands under this header."""
        self._row += [(column, note) for note in self.fresh]
        self.fresh.clear()

    def of_row(self, number: int, *, goes_in: bool) -> None:
        """The row is read. Of one that is set aside nothing was read as anything."""
        for column, note in self._row if goes_in else ():
            self._count(number, column, note)
        self._row.clear()
        self.fresh.clear()

    @property
    def pending(self) -> bool:
        return bool(self._row or self.fresh)

    def _count(self, number: int, column: str, note: Note) -> None:
        key = (column, note.typed or note.word, "" if note.typed else note.read_as)
        group = self._groups.get(key)
        if group is None:
            if len(self._groups) >= GROUPS:
                self.more += 1
                return
            group = self._groups[key] = _Group(note.word, note.read_as)
        group.times += 1
        if len(group.rows) < FIRST_ROWS:
            group.rows.append(number)

    def all(self) -> tuple[Repair, ...]:
        """By column, the most frequent first."""
        found = [
            Repair(column, g.word, g.read_as, g.times, tuple(g.rows), "" if read_as else typed)
            for (column, typed, read_as), g in self._groups.items()
        ]
        return tuple(sorted(found, key=lambda each: (each.column, -each.times, each.word)))
