"""Which techniques were used together, and how often."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from consentpack.register.schema import COMBINATIONS, TREATMENTS


def used_together(connection: Connection) -> dict[frozenset[str], int]:
    """Techniques of one treatment -> how many treatments had just these, the most frequent first."""
    number = func.count().label("number")
    rows = connection.execute(
        select(COMBINATIONS.c.techniques, number)
        .join(TREATMENTS, TREATMENTS.c.combination_id == COMBINATIONS.c.id)
        .group_by(COMBINATIONS.c.techniques)
        .order_by(number.desc(), COMBINATIONS.c.techniques)
    )
    return {frozenset(row.techniques.split("+")): row.number for row in rows}
