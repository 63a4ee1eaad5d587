"""Treatments that nobody is asked about any more: marked, marked to be asked again, and found.

No figure is counted by these marks: what was seen of a treatment, and for how long, stays as it is.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, inspect, select

from consentpack.errors import Problem, RegisterError
from consentpack.normal import plain
from consentpack.register.cells import LARGEST_COUNT
from consentpack.register.follow_up_table import FOLLOW_UPS, KIND
from consentpack.register.history import not_there
from consentpack.register.opening import Register
from consentpack.register.schema import IMPORTS, treatments
from consentpack.register.spelling import held_as

LOST, ELSEWHERE, AGAIN = "lost", "elsewhere", "again"
FOLLOWED_BY: Mapping[str, str] = {
    "family-doctor": "their family doctor",
    "another-clinic": "another clinic",
    "hospital": "a hospital",
    "not-known": "somebody we do not know",
}
"""Who follows a treatment up that is followed elsewhere. A list and no free text: a text may hold a name."""
_SIGNED = ("case_ref", "session", "day", "how", "followed_by")
"""What the digest of a row holds."""

Key = tuple[str, int]
"""Case and session."""


@dataclass(frozen=True)
class FollowUp:
    """What is said of following a treatment up."""

    how: str
    """LOST, ELSEWHERE or AGAIN."""
    day: date
    """From which day."""
    followed_by: str = ""
    """A word of FOLLOWED_BY, where it is ELSEWHERE."""


@dataclass(frozen=True)
class SetDown:
    """A mark that holds: nobody is asked about this treatment."""

    told: FollowUp
    number: int
    """Of the history."""
    by: str


def add_follow_ups(register: Register, keys: Iterable[Key], told: FollowUp, *, now: datetime, by: str) -> int:
    """Say one thing of following some treatments up, as one entry; its number in the history.

    Raises RegisterError, with nothing entered, when there is no such treatment, the day is to come or before
    it was last seen, or it is said of it already.
    """
    typed = dict.fromkeys((plain(case), session) for case, session in keys)
    if problems := list(_not_said(told, now.date(), empty=not typed)):
        raise RegisterError(problems)
    with register.writing() as connection:
        held = _held(connection, typed, told)
        counts = {"rows_read": len(held)} | dict.fromkeys(("added", "updated", "unchanged", "set_aside"), 0)
        values = {"at": now, "by": by, "kind": KIND, "file_name": "", "file_digest": ""} | counts
        made = connection.execute(insert(IMPORTS).values(undone=False, **values))
        number = int(made.inserted_primary_key[0])  # type: ignore[index]
        connection.execute(insert(FOLLOW_UPS), [_row(number, key, told) for key in held])
        return number


def _not_said(told: FollowUp, today: date, *, empty: bool) -> Iterator[Problem]:
    if empty:
        yield Problem("follow-up", "no treatment was named.")
    if told.day > today:
        yield Problem("follow-up", f"{told.day} is in the future.")
    if told.how not in (LOST, ELSEWHERE, AGAIN):
        yield Problem("follow-up", f"'{told.how}' is not known.", f"Say {LOST}, {ELSEWHERE} or {AGAIN}.")
    if told.how == ELSEWHERE and told.followed_by not in FOLLOWED_BY:
        what = f"'{told.followed_by}' is nobody who may be named." if told.followed_by else "by whom?"
        yield Problem("followed elsewhere", what, f"Say one of these: {', '.join(FOLLOWED_BY)}.")
    if told.how != ELSEWHERE and told.followed_by:
        yield Problem("follow-up", "who follows it up is said only of what is followed elsewhere.")


def _held(connection: Connection, typed: Iterable[Key], told: FollowUp) -> list[Key]:
    """The treatments as the register writes them. Raises RegisterError for each that cannot be marked so."""
    found, problems = list[Key](), list[Problem]()
    for case, session in typed:
        try:
            key = _key(connection, case, session)
            _refuse(connection, key, told)
            found.append(key)
        except RegisterError as error:
            problems += error.problems
    if problems:
        raise RegisterError(problems)
    return found


def _key(connection: Connection, case: str, session: int) -> Key:
    if not 1 <= session <= LARGEST_COUNT:
        raise RegisterError(Problem("session", f"should be from 1 to {LARGEST_COUNT}."))
    held = held_as(connection, case, session)
    if held is None:
        raise RegisterError(not_there(case, session))
    return held, session


def _refuse(connection: Connection, key: Key, told: FollowUp) -> None:
    table = treatments({})
    seen = table.c.day + func.coalesce(table.c.watched_days, 0)
    query = select(seen).where(table.c.case_ref == key[0], table.c.session == key[1])
    last, where = date.fromordinal(connection.execute(query).scalar_one()), f"{key[0]}, session {key[1]}"
    if told.how != AGAIN and told.day < last:
        what = f"it was seen on {last}, which is after {told.day}."
        raise RegisterError(Problem(where, what, "Say from which later day it holds."))
    now = set_down(connection, only=key).get(key)
    if told.how == AGAIN and now is None:
        raise RegisterError(Problem(where, "it is followed up as it is; there is nothing to take back."))
    if now and (now.told.how, now.told.followed_by) == (told.how, told.followed_by):
        what = f"this is said of it already, since {now.told.day} (number {now.number})."
        raise RegisterError(Problem(where, what))


def _row(number: int, key: Key, told: FollowUp) -> dict[str, Any]:
    row: dict[str, Any] = {
        "case_ref": key[0],
        "session": key[1],
        "day": told.day.toordinal(),
        "how": told.how,
        "followed_by": told.followed_by,
    }
    return row | {"import_id": number, "row_digest": _digest(row)}


def _digest(row: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps([row[name] for name in _SIGNED]).encode()).hexdigest()


def set_down(
    connection: Connection, *, on: date | None = None, only: Key | None = None
) -> dict[Key, SetDown]:
    """The treatments that nobody is asked about, within a snapshot: as of a day, or of all that is said.

    What was said last holds, and no longer than until the treatment is seen after all.
    """
    table, last = treatments({}), dict[Key, Row[Any]]()
    same = (table.c.case_ref == FOLLOW_UPS.c.case_ref) & (table.c.session == FOLLOW_UPS.c.session)
    seen = (table.c.day + func.coalesce(table.c.watched_days, 0)).label("seen")
    query = select(FOLLOW_UPS, IMPORTS.c.by, seen).join(IMPORTS, IMPORTS.c.id == FOLLOW_UPS.c.import_id)
    query = query.join(table, same).where(~IMPORTS.c.undone).order_by(FOLLOW_UPS.c.import_id)
    if on is not None:
        query = query.where(FOLLOW_UPS.c.day <= on.toordinal())
    if only is not None:
        query = query.where(FOLLOW_UPS.c.case_ref == only[0], FOLLOW_UPS.c.session == only[1])
    for row in connection.execute(query):
        last[row.case_ref, row.session] = row
    return {key: _told(row) for key, row in last.items() if row.how != AGAIN and row.seen <= row.day}


def _told(row: Row[Any]) -> SetDown:
    return SetDown(FollowUp(row.how, date.fromordinal(row.day), row.followed_by), row.import_id, row.by)


def damaged_follow_ups(connection: Connection) -> str:
    """What is wrong with the marks, in words; '' for nothing, and where a register has none yet."""
    if FOLLOW_UPS.name not in inspect(connection).get_table_names():
        return ""
    rows = connection.execute(select(FOLLOW_UPS)).mappings()
    changed = sum(row["row_digest"] != _digest(dict(row)) for row in rows)
    return f"{changed} marks of follow-up are not as this program wrote them" if changed else ""
