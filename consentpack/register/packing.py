"""One part of the roll-up as bytes: numbers, words, and what was seen.

Every column is filled up to whole words of bits with treatments of day 0, which are in no period.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from consentpack.register.bits import WORD, Bits, Numbers, packed
from consentpack.register.rollup_tables import span
from consentpack.register.schema import field_columns, outcome_columns, treatments

BLANK = -(1 << 31)
"""A number that is not recorded. None that is written down is as low as this."""
NO_WORD = -1
NUMBERS = ("id", "day", "combination_id", "watched_days")
WORDS = ("operator", "site")
_END = b"\n"


@dataclass(frozen=True)
class Kinds:
    """Which columns of the treatments are kept, by what they hold."""

    numbers: tuple[str, ...]
    words: tuple[str, ...]
    outcomes: tuple[str, ...]

    @classmethod
    def of(cls, connection: Connection) -> Kinds:
        more = field_columns(connection)
        return cls(
            (*NUMBERS, *more.days.values()),
            (*WORDS, *more.strata.values()),
            tuple(outcome_columns(connection).values()),
        )

    @property
    def all(self) -> tuple[str, ...]:
        return (*self.numbers, *self.words, *self.outcomes)


def part_from_rows(connection: Connection, kinds: Kinds, part: int) -> tuple[int, dict[str, bytes]]:
    """How many treatments a part has, and its columns, read from the rows.

    Raises ValueError, TypeError or OverflowError where a cell holds what this program writes in none.
    """
    table = treatments(outcome_columns(connection), field_columns(connection))
    query = select(*(table.c[name] for name in kinds.all)).order_by(table.c.id)
    rows = connection.execute(query.where(table.c.id.between(*span(part)))).all()
    if not rows:
        return 0, {}
    found = dict(zip(kinds.all, zip(*rows, strict=True), strict=True))
    made = {name: numbers_packed(found[name]) for name in kinds.numbers}
    made |= {name: words_packed(found[name]) for name in kinds.words}
    made |= {name: outcome_packed(found[name]) for name in kinds.outcomes}
    return len(rows), {name: data for name, data in made.items() if data}


def _filled(values: Sequence[int], filling: int) -> Numbers:
    import numpy as np  # noqa: PLC0415

    found = np.full(-(-len(values) // WORD) * WORD, filling, np.int32)
    found[: len(values)] = values
    return found


def numbers_packed(values: Sequence[int | None]) -> bytes:
    """Whole numbers, blank or not; nothing where all are blank."""
    known = [BLANK if value is None else value for value in values]
    if known.count(BLANK) == len(known):
        return b""
    return _filled(known, 0).astype("<i4").tobytes()


def numbers_of(data: bytes) -> Numbers:
    import numpy as np  # noqa: PLC0415

    return np.frombuffer(data, "<i4")


def words_packed(values: Sequence[str | None]) -> bytes:
    """The words there are, in one line of JSON, and of each treatment the place of its own."""
    words = sorted({value for value in values if value is not None})
    if not words:
        return b""
    at = {word: place for place, word in enumerate(words)}
    codes = [NO_WORD if value is None else at[value] for value in values]
    return json.dumps(words).encode() + _END + _filled(codes, NO_WORD).astype("<i2").tobytes()


def words_of(data: bytes) -> tuple[list[str], Numbers]:
    import numpy as np  # noqa: PLC0415

    words, _, codes = data.partition(_END)
    return json.loads(words), np.frombuffer(codes, "<i2")


def outcome_packed(values: Sequence[int | None]) -> bytes:
    """Where it was seen, and where it was recorded, one bit each; nothing where all are blank."""
    grades = _filled([BLANK if value is None else value for value in values], BLANK)
    recorded = packed(grades >= 0)
    if not recorded.any():
        return b""
    return packed(grades >= 1).astype("<u8").tobytes() + recorded.astype("<u8").tobytes()


def outcome_of(data: bytes) -> tuple[Bits, Bits]:
    """The bits of seen and of recorded."""
    import numpy as np  # noqa: PLC0415

    both = np.frombuffer(data, "<u8")
    half = len(both) // 2
    return both[:half], both[half:]
