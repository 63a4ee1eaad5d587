"""Keeping the roll-up: built anew where it is stale, in the transaction that made it so, and checked."""

from __future__ import annotations

from sqlalchemy import Connection, delete, func, insert, inspect, select, text

from consentpack.errors import Problem, RegisterError
from consentpack.register import rollup_tables as tables
from consentpack.register.packing import Kinds, numbers_of, part_from_rows
from consentpack.register.rollup_tables import COLUMNS, PARTS, STALE
from consentpack.register.schema import outcome_columns, treatments

DAMAGED = (ValueError, TypeError, OverflowError)
"""What a cell that something else has spoilt is read with."""


def begin(connection: Connection) -> None:
    """The tables in a register that has none, with all that it holds to be rolled up."""
    tables.make(connection)
    _all_stale(connection)


def keep_up(connection: Connection) -> None:
    """Build what has become stale, at the end of a transaction that writes; the rows themselves are asked
    whether it says what they say. Raises RegisterError where it does not."""
    if not inspect(connection).has_table(STALE.name):
        return  # a register that is still being made, or one of an older program that is copied
    _build_stale(connection)
    if not totals_agree(connection):
        rebuild(connection)
        _build_stale(connection)
        if not totals_agree(connection):
            raise RegisterError(_problem("it has not as many treatments as the register"))


def _build_stale(connection: Connection) -> None:
    kinds = Kinds.of(connection)
    for part in connection.execute(select(STALE.c.part).order_by(STALE.c.part)).scalars().all():
        try:
            built = part_from_rows(connection, kinds, part)
        except DAMAGED:
            continue  # it stays stale: whoever counts it is told, and all else can still be written
        _replace(connection, part, *built)
        if differs := _differs(connection, part, *built):
            raise RegisterError(_problem(f"{differs} in treatments {_span(part)}"))


def rebuild(connection: Connection) -> None:
    """Forget the whole roll-up; the end of the transaction builds it anew."""
    for table in (COLUMNS, PARTS, STALE):
        connection.execute(delete(table))
    _all_stale(connection)


def _all_stale(connection: Connection) -> None:
    if parts := tables.parts_there(connection):
        connection.execute(insert(STALE), [{"part": part} for part in parts])


def wrong_parts(connection: Connection) -> list[str]:
    """What the roll-up says otherwise than the rows, every part built once more and compared; each as the
    treatments it is about. A part that is known to be stale is read from the rows, and is not wrong."""
    if not inspect(connection).has_table(STALE.name):
        return []  # a copy that an older program made
    kinds, found = Kinds.of(connection), []
    stale = set(connection.execute(select(STALE.c.part)).scalars())
    kept = {row.part: row.treatments for row in connection.execute(select(PARTS))}
    for part in sorted({*tables.parts_there(connection), *kept} - stale):
        try:
            built = part_from_rows(connection, kinds, part)
        except DAMAGED:
            built = (-1, {})
        if (kept.get(part, 0), _columns_of(connection, part)) != built:
            found.append(_span(part))
    return found


def totals_agree(connection: Connection) -> bool:
    """Whether the parts have as many treatments as the register: SQLite tells nobody of a row that another
    one has replaced."""
    table = treatments({})
    held = connection.execute(select(func.count()).select_from(table)).scalar_one()
    fresh = PARTS.c.part.not_in(select(STALE.c.part))
    kept = int(connection.execute(select(func.sum(PARTS.c.treatments)).where(fresh)).scalar() or 0)
    for part in connection.execute(select(STALE.c.part)).scalars().all():
        inside = table.c.id.between(*tables.span(part))
        kept += connection.execute(select(func.count()).select_from(table).where(inside)).scalar_one()
    return bool(kept == held)


def _replace(connection: Connection, part: int, size: int, columns: dict[str, bytes]) -> None:
    for table in (COLUMNS, PARTS, STALE):
        connection.execute(delete(table).where(table.c.part == part))
    if size:
        connection.execute(insert(PARTS), {"part": part, "treatments": size})
        made = [{"part": part, "name": name, "data": data} for name, data in columns.items()]
        connection.execute(insert(COLUMNS), made)


def _differs(connection: Connection, part: int, size: int, columns: dict[str, bytes]) -> str:
    """What of the totals of a part is not what the database sums up over its rows; '' where all is."""
    asked = ["count(*)", "coalesce(sum(day), 0)"]
    outcomes = list(outcome_columns(connection).values())
    for column in outcomes:
        asked += [f"count(*) FILTER (WHERE {column} >= {least})" for least in (1, 0)]
    first, last = tables.span(part)
    where = f"id BETWEEN {first} AND {last}"
    row = connection.execute(text(f"SELECT {', '.join(asked)} FROM treatments WHERE {where}")).one()
    ours = [size, int(numbers_of(columns["day"]).sum()) if size else 0]
    ours += [total for column in outcomes for total in _seen_and_recorded(columns.get(column, b""))]
    told = ("treatments", "days", *(f"{what} of {c}" for c in outcomes for what in ("seen", "recorded")))
    pairs = zip(told, ours, map(int, row), strict=True)
    return ", ".join(f"{mine} {what} for {theirs}" for what, mine, theirs in pairs if mine != theirs)


def _seen_and_recorded(data: bytes) -> tuple[int, int]:
    seen, recorded = data[: len(data) // 2], data[len(data) // 2 :]
    return int.from_bytes(seen, "little").bit_count(), int.from_bytes(recorded, "little").bit_count()


def _columns_of(connection: Connection, part: int) -> dict[str, bytes]:
    query = select(COLUMNS.c.name, COLUMNS.c.data).where(COLUMNS.c.part == part)
    return {row.name: bytes(row.data) for row in connection.execute(query)}


def _span(part: int) -> str:
    first, last = tables.span(part)
    return f"{first} to {last}"


def _problem(what: str) -> Problem:
    said = f"the roll-up that figures are counted from does not say what the rows say: {what}."
    return Problem("register", said, "Build it anew with `consentpack audit check --repair`.")
