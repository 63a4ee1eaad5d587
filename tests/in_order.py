"""Treatments of one outcome in the order in which they were done: a query to hold others against."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from counted_from_rows import answerable, chosen_of
from sqlalchemy import Connection, and_, or_, select

from consentpack.register import Comparison, Window
from consentpack.register.schema import field_columns, outcome_columns, treatments


def series(
    connection: Connection, comparison: Comparison, window: Window, outcome: str, days: int
) -> Iterator[tuple[date, bool]]:
    """The watched treatments of one outcome in order: day, and whether it was seen."""
    columns = outcome_columns(connection)
    if outcome not in columns:
        return
    more = field_columns(connection)
    table = treatments(columns, more)
    comparison, _ = answerable(connection, table, more, comparison)
    grade = table.c[columns[outcome]]
    watched = or_(grade >= 1, and_(grade == 0, table.c.watched_days >= days))
    chosen = (*chosen_of(connection, table, more, comparison, window), watched)
    query = select(table.c.day, grade).where(*chosen).order_by(table.c.day, table.c.id)
    for day, value in connection.execute(query):
        yield date.fromordinal(day), value >= 1
