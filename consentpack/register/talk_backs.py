"""What people could say of what they were told: marks entered, read for counting, and checked."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Select, insert, inspect, select

from consentpack.errors import Problem, RegisterError
from consentpack.normal import folded, plain
from consentpack.register.opening import Register
from consentpack.register.schema import IMPORTS
from consentpack.register.talk_back_table import KIND, TALK_BACKS

_SIGNED = ("question", "case_ref", "day", "clinician", "language", "module", "digest", "sentence", "mark")
"""What the digest of a row holds."""


@dataclass(frozen=True)
class TalkMark:
    """One question with its mark."""

    question: str
    module: str
    digest: str
    sentence: str
    """The answer as the paper had it."""
    mark: int
    """2: said it; 1: said it after it was explained again; 0: not yet."""


@dataclass(frozen=True)
class Talk:
    """Whose talk it was, and when."""

    reference: str
    """The clinic's own; never a name."""
    day: date
    clinician: str
    language: str


@dataclass(frozen=True)
class TalkTold:
    """One mark as it is counted: without the reference of the patient."""

    question: str
    module: str
    digest: str
    sentence: str
    mark: int
    day: date
    clinician: str
    language: str


def add_talk(register: Register, talk: Talk, marks: Iterable[TalkMark], *, now: datetime, by: str) -> int:
    """Enter the marks of one talk; its number in the history.

    Raises RegisterError when one of the questions was marked for this patient on this day already, or the
    day is to come.
    """
    listed = tuple(marks)
    if talk.day > now.date():
        raise RegisterError(Problem("register", f"{talk.day} is in the future."))
    with register.writing() as connection:
        _refuse_twice(connection, talk, listed)
        counts = {"rows_read": len(listed)} | dict.fromkeys(("added", "updated", "unchanged", "set_aside"), 0)
        values = {"at": now, "by": by, "kind": KIND, "file_name": "", "file_digest": ""} | counts
        made = connection.execute(insert(IMPORTS).values(undone=False, **values))
        number = int(made.inserted_primary_key[0])  # type: ignore[index]
        connection.execute(insert(TALK_BACKS), [_row(number, talk, each) for each in listed])
        return number


def _row(number: int, talk: Talk, mark: TalkMark) -> dict[str, Any]:
    row: dict[str, Any] = {
        "question": mark.question,
        "case_ref": plain(talk.reference),
        "day": talk.day.toordinal(),
        "clinician": talk.clinician,
        "language": talk.language,
        "module": mark.module,
        "digest": mark.digest,
        "sentence": mark.sentence,
        "mark": mark.mark,
    }
    return row | {"import_id": number, "row_digest": _digest(row)}


def _digest(row: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps([row[name] for name in _SIGNED]).encode()).hexdigest()


def _refuse_twice(connection: Connection, talk: Talk, marks: Iterable[TalkMark]) -> None:
    """One talk counted twice would count one patient as two."""
    query = select(TALK_BACKS.c.case_ref, TALK_BACKS.c.question, TALK_BACKS.c.import_id)
    query = _standing(query).where(TALK_BACKS.c.day == talk.day.toordinal())
    key = folded(talk.reference)
    there = {r.question: r.import_id for r in connection.execute(query) if folded(r.case_ref) == key}
    if twice := [mark.question for mark in marks if mark.question in there]:
        what = f"on {talk.day} this was marked already: {', '.join(twice)} (number {there[twice[0]]})."
        fix = f"To mark it anew: `consentpack audit undo --number {there[twice[0]]}` first."
        raise RegisterError(Problem("register", what, f"Nothing was entered. {fix}"))


def talks(connection: Connection) -> list[TalkTold]:
    """Every mark that stands, in the order of the days, within a snapshot."""
    names = ("question", "module", "digest", "sentence", "mark", "clinician", "language")
    query = _standing(select(TALK_BACKS.c.day, *(TALK_BACKS.c[name] for name in names)))
    rows = connection.execute(query.order_by(TALK_BACKS.c.day, TALK_BACKS.c.import_id, TALK_BACKS.c.question))
    return [
        TalkTold(**{name: row[name] for name in names}, day=date.fromordinal(row["day"]))
        for row in rows.mappings()
    ]


def talks_of(connection: Connection, reference: str) -> list[int]:
    """The numbers in the history of the markings of one patient that stand, the newest first."""
    key = folded(reference)
    rows = connection.execute(_standing(select(TALK_BACKS.c.import_id, TALK_BACKS.c.case_ref)))
    return sorted({row.import_id for row in rows if folded(row.case_ref) == key}, reverse=True)


def _standing(query: Select[Any]) -> Select[Any]:
    return query.join(IMPORTS, IMPORTS.c.id == TALK_BACKS.c.import_id).where(~IMPORTS.c.undone)


def damaged_talks(connection: Connection) -> str:
    """What is wrong with the marks, in words; '' for nothing, and where a register has none yet."""
    if TALK_BACKS.name not in inspect(connection).get_table_names():
        return ""
    rows = connection.execute(select(TALK_BACKS)).mappings()
    changed = sum(row["row_digest"] != _digest(dict(row)) for row in rows)
    return f"{changed} marks of talks are not as this program wrote them" if changed else ""
