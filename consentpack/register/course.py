"""The treatments in the order in which they were done, without a word of whose they were: for watching."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import BigInteger, ColumnElement, Connection, literal_column, select

from consentpack.register.queries import combinations
from consentpack.register.schema import field_columns, outcome_columns, treatments
from consentpack.register.whole import NOT_RECORDED

_BATCH = 20_000
_IN_A_NUMBER = 31
"""Outcomes that one whole number of 63 bits can tell of, two bits each."""
UNKNOWN, NOT_SEEN, SEEN = 0, 1, 2
"""What is known of an outcome of a treatment."""


@dataclass(frozen=True)
class Order:
    """What the batches of a course hold."""

    combinations: Mapping[int, frozenset[str]]
    """Number of a combination -> the techniques used together."""
    outcomes: Mapping[str, tuple[int, int]]
    """Outcome -> which of the numbers tells of it, and where its two bits begin."""
    numbers: int
    """How many numbers a treatment has."""


@dataclass(frozen=True)
class Batch:
    """Treatments that follow on those of the batch before, column by column."""

    days: Sequence[int]
    """As ordinals."""
    combinations: Sequence[int]
    groups: Sequence[tuple[str, ...]]
    """Site and the strata that were asked for, in that order; empty where they were not."""
    known: Sequence[Sequence[int]]
    """For each number its values: two bits for each outcome, UNKNOWN, NOT_SEEN or SEEN."""


def order_of(connection: Connection, watch_days: Mapping[str, int]) -> Order:
    """How the treatments of this register are told."""
    there = [outcome for outcome in outcome_columns(connection) if outcome in watch_days]
    places = {outcome: divmod(at, _IN_A_NUMBER) for at, outcome in enumerate(there)}
    outcomes = {outcome: (number, 2 * at) for outcome, (number, at) in places.items()}
    return Order(combinations(connection), outcomes, -(-len(there) // _IN_A_NUMBER))


def course(
    connection: Connection,
    order: Order,
    watch_days: Mapping[str, int],
    until: date,
    *,
    parted_by: Sequence[str] = (),
) -> Iterator[Batch]:
    """All treatments up to a day, by day and then as they were entered: one is watched when
    it was seen, or not seen by somebody who looked for the whole watching time.

    But nothing is known of an outcome until its watching time is over: of the treatments of the last weeks
    only those in which it was seen could count, and every register would end in an alarm.

    One pass for all outcomes: one for each of them read a large register hundreds of times.
    `parted_by` names strata, or 'site'. Nothing else of a treatment is told.
    """
    columns, more = outcome_columns(connection), field_columns(connection)
    table = treatments(columns, more)
    parts = {"site": table.c.site, **{id: table.c[name] for id, name in more.strata.items()}}
    keys = [parts[id] for id in parted_by if id in parts]
    told = [_told(order, columns, watch_days, number, until) for number in range(order.numbers)]
    query = select(table.c.day, table.c.combination_id, *told, *keys)
    query = query.where(table.c.day <= until.toordinal()).order_by(table.c.day, table.c.id)
    here = [id for id in parted_by if id in parts]
    for rows in connection.execute(query.execution_options(yield_per=_BATCH)).partitions():
        days, used, *others = zip(*rows, strict=True)
        groups = _groups(parted_by, here, others[order.numbers :], len(rows))
        yield Batch(days, used, groups, others[: order.numbers])


def _groups(
    asked: Sequence[str], here: Sequence[str], values: Sequence[Sequence[str | None]], rows: int
) -> list[tuple[str, ...]]:
    if not asked:
        return []
    known = dict(zip(here, values, strict=True))
    columns = (known.get(id, (None,) * rows) for id in asked)
    return [tuple(value or NOT_RECORDED for value in row) for row in zip(*columns, strict=True)]


def _told(
    order: Order, columns: Mapping[str, str], watch_days: Mapping[str, int], number: int, until: date
) -> ColumnElement[int]:
    """A sum in SQL of two bits for each outcome. Only numbers and names of columns are put into it."""
    parts = []
    for outcome, (of, at) in order.outcomes.items():
        if of == number:
            grade, days = columns[outcome], watch_days[outcome]
            watched = f"watched_days >= {days:d}"
            parts.append(
                f"CASE WHEN day > {until.toordinal() - days:d} THEN {UNKNOWN} "
                f"WHEN {grade} >= 1 THEN {SEEN << at} "
                f"WHEN {grade} = 0 AND {watched} THEN {NOT_SEEN << at} ELSE {UNKNOWN} END"
            )
    return literal_column("(" + " + ".join(parts) + ")", BigInteger).label(f"known_{number}")
