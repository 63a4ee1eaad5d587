"""The treatments of one case, for the clinic's own eyes."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from consentpack.register.provenance import read_held
from consentpack.register.schema import treatments
from consentpack.register.treatment import Treatment


def treatments_of(connection: Connection, case: str) -> tuple[Treatment, ...]:
    """What the register holds under a case, by session; none where it holds none. Within a snapshot."""
    table = treatments({})
    ids = connection.execute(select(table.c.id).where(table.c.case_ref == case)).scalars().all()
    found = (held.treatment for held in read_held(connection, ids).values())
    return tuple(sorted(found, key=lambda each: each.session))


def cases_like(connection: Connection, typed: str, *, most: int = 20) -> list[str]:
    """Cases whose reference begins as something typed, whatever its capitals: the shortest first."""
    case = treatments({}).c.case_ref
    begins = func.lower(case).startswith(typed.lower(), autoescape=True)
    query = select(case).where(begins).group_by(case).order_by(func.length(case), case).limit(most)
    return list(connection.execute(query).scalars())
