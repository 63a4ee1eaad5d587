"""The treatments of a register as columns, read from the roll-up; what is stale in it, from the rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import Connection, select

from consentpack.register import packing, rollup
from consentpack.register.bits import WORD, Bits, Numbers, packed
from consentpack.register.packing import BLANK, NO_WORD, Kinds
from consentpack.register.rollup_tables import COLUMNS, PARTS, STALE, parts_there

_NAME = "consentpack: the roll-up"
T = TypeVar("T")


@dataclass(frozen=True)
class Part:
    """One part, and the columns of it that were read from the rows."""

    number: int
    treatments: int
    read: Mapping[str, bytes] | None = None
    """None where the roll-up has them."""

    @property
    def filled(self) -> int:
        """With those that fill up the last word."""
        return -(-self.treatments // WORD) * WORD


class Rolled:
    """Columns of all treatments, each read when it is first asked for."""

    def __init__(self, connection: Connection):
        self._connection = connection
        self._parts = _parts(connection)
        self.size = sum(part.filled for part in self._parts)
        self._found: dict[tuple[str, Any], Any] = {}

    def once(self, name: str, key: object, make: Callable[[], T]) -> T:
        """What was made of these columns under a name and key; made now where it was not yet."""
        if (name, key) not in self._found:
            self._found[name, key] = make()
        found: T = self._found[name, key]
        return found

    def numbers(self, name: str) -> Numbers:
        """A column of whole numbers; BLANK where nothing is recorded."""
        return self.once("numbers", name, lambda: self._numbers(name))

    def words(self, name: str) -> tuple[list[str], Numbers]:
        """The words of a column, and of each treatment the place of its own; NO_WORD where it has none."""
        return self.once("words", name, lambda: self._words(name))

    def outcome(self, name: str) -> tuple[Bits, Bits]:
        """Where an outcome was seen, and where it was recorded."""
        return self.once("outcome", name, lambda: self._outcome(name))

    def is_one_of(self, name: str, numbers: Iterable[int]) -> Bits:
        """Where a column has one of some numbers."""
        import numpy as np  # noqa: PLC0415

        return packed(np.isin(self.numbers(name), list(numbers)))

    def is_word(self, name: str, wanted: Iterable[str]) -> Bits:
        """Where a column has one of some words."""
        import numpy as np  # noqa: PLC0415

        words, codes = self.words(name)
        sought = set(wanted)
        return packed(np.array([*(word in sought for word in words), False])[codes])  # NO_WORD is the last

    def none(self) -> Bits:
        import numpy as np  # noqa: PLC0415

        return np.zeros(self.size // WORD, np.uint64)

    def _pieces(self, name: str) -> list[bytes]:
        """What each part has of a column; nothing where it is blank in all of it."""
        query = select(COLUMNS.c.part, COLUMNS.c.data).where(COLUMNS.c.name == name)
        kept = {row.part: bytes(row.data) for row in self._connection.execute(query)}
        each = ((p.number, p.read) for p in self._parts)
        return [kept.get(number, b"") if read is None else read.get(name, b"") for number, read in each]

    def _numbers(self, name: str) -> Numbers:
        import numpy as np  # noqa: PLC0415

        pieces = zip(self._parts, self._pieces(name), strict=True)
        found = [packing.numbers_of(d) if d else np.full(p.filled, BLANK, np.int32) for p, d in pieces]
        return np.concatenate(found) if found else np.empty(0, np.int32)

    def _words(self, name: str) -> tuple[list[str], Numbers]:
        import numpy as np  # noqa: PLC0415

        known: dict[str, int] = {}
        found = [np.empty(0, np.int32)]
        for part, data in zip(self._parts, self._pieces(name), strict=True):
            words, codes = packing.words_of(data) if data else ([], np.full(part.filled, NO_WORD))
            here = [known.setdefault(word, len(known)) for word in words]
            found.append(np.array([*here, NO_WORD], np.int32)[codes])
        return list(known), np.concatenate(found)

    def _outcome(self, name: str) -> tuple[Bits, Bits]:
        import numpy as np  # noqa: PLC0415

        found = [(np.empty(0, np.uint64),) * 2]
        for part, data in zip(self._parts, self._pieces(name), strict=True):
            blank = np.zeros(part.filled // WORD, np.uint64)
            found.append(packing.outcome_of(data) if data else (blank, blank))
        seen, recorded = zip(*found, strict=True)
        return np.concatenate(seen), np.concatenate(recorded)


def rolled(connection: Connection) -> Rolled:
    """The columns of a snapshot, read once for all that is counted in it. One that is being written in
    changes, and keeps none."""
    if connection.get_execution_options().get("writing"):
        return Rolled(connection)
    if _NAME not in connection.info:
        connection.info[_NAME] = Rolled(connection)
    found: Rolled = connection.info[_NAME]
    return found


def _parts(connection: Connection) -> list[Part]:
    """The parts of a register in order. Where the totals do not agree all is read from the rows: slow, and
    right."""
    kept = {row.part: row.treatments for row in connection.execute(select(PARTS))}
    stale = set(connection.execute(select(STALE.c.part)).scalars())
    if not rollup.totals_agree(connection):
        stale = set(parts_there(connection))
        kept = {}
    kinds = Kinds.of(connection)
    found = []
    for number in sorted(kept.keys() | stale):
        read = packing.part_from_rows(connection, kinds, number) if number in stale else (kept[number], None)
        found.append(Part(number, *read))
    return found
