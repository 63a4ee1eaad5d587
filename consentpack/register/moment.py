"""Where a register stands: how many imports and entries it has seen, and how many were taken back.

Both numbers only grow. Days and clocks would not do: two entries may have one minute, and clocks are set.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, select

from consentpack.register.schema import IMPORTS


@dataclass(frozen=True)
class Moment:
    """A point in the life of a register, to which `as_it_stood` can go back."""

    imports: int
    """The number of the last import or entry; 0 in a register without any."""
    undone: int
    """How many had been taken back."""


def moment_of(connection: Connection) -> Moment:
    """Where a register stands, within a snapshot."""
    undone = func.count().filter(IMPORTS.c.undone)
    last, number = connection.execute(select(func.max(IMPORTS.c.id), undone)).one()
    return Moment(last or 0, number)
