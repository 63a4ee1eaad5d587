"""A spreadsheet that waits: what it seems to hold, what would go in, and keeping it.

By the same functions as the commands: what is chosen for it goes into clinic.toml when it is kept, as
`audit map --save` puts it there.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from threading import Lock
from typing import Literal

from consentpack.errors import Problem, RegisterError
from consentpack.pipeline import as_json
from consentpack.pipeline.audit import import_audit, reading_of
from consentpack.pipeline.column_map import Proposal, propose_columns, save_columns
from consentpack.pipeline.dropped import Choices, Dropped, gone, held, mark_kept
from consentpack.pipeline.import_told import imported_words
from consentpack.pipeline.place import Workplace
from consentpack.register import (
    IGNORE,
    ImportResult,
    UnknownWord,
    Wanted,
    moment_of,
    noticed_of,
    open_register,
)

Kind = Literal["answer", "technique", "outcome"]


@dataclass(frozen=True)
class Question:
    """A word in the cells of one column: how it is read, or that nobody has said what it means."""

    column: str
    word: str
    times: int
    kind: Kind
    read_as: str
    """'' where it cannot be read: its rows are set aside."""
    may_mean: tuple[str, ...] = ()
    is_part: bool = False
    """Whether it is a word inside of cells, and not all that stands in them."""


@dataclass(frozen=True)
class SheetLook:
    """A spreadsheet before anything of it is kept."""

    dropped: Dropped
    proposal: Proposal | None
    """None where the file cannot be read at all."""
    columns: Mapping[str, str]
    """Header -> what it holds, for every header but the identities that nobody has ruled out."""
    result: ImportResult | None
    """What an import would do; None where it would be refused."""
    problems: tuple[Problem, ...]
    """Why it would be."""
    mark: str
    """A digest of all that this was made from: it may be kept as long as that is the same."""
    outcomes: frozenset[str] = frozenset()
    """Columns of these say yes or no."""

    @property
    def headers(self) -> tuple[str, ...]:
        """All headers, the identities behind the others."""
        identities = self.proposal.identities if self.proposal else ()
        return tuple(dict.fromkeys((*self.columns, *identities)))

    @property
    def refused(self) -> tuple[str, ...]:
        """Headers that look like an identity, and that nobody has said to leave unread."""
        found = self.proposal.identities if self.proposal else ()
        return tuple(header for header in found if header not in self.columns)

    @property
    def questions(self) -> tuple[Question, ...]:
        """What cannot be read first, then what is read otherwise than typed; the most frequent first."""
        unread = [
            Question(each.column, each.word, each.times, kind, "", each.may_mean, is_part=is_part)
            for is_part, words in ((True, self._parts), (False, self._words))
            for each in words
            if (kind := self._kind(each.column))
        ]
        read = [
            Question(each.column, each.word, each.times, kind, each.read_as)
            for each in (self.result.repairs if self.result else ())
            if not each.typed and (kind := self._kind(each.column))
        ]
        return (*unread, *sorted(read, key=lambda each: -each.times))

    @property
    def _words(self) -> tuple[UnknownWord, ...]:
        return self.proposal.words if self.proposal else ()

    @property
    def _parts(self) -> tuple[UnknownWord, ...]:
        return self.proposal.parts if self.proposal else ()

    def _kind(self, header: str) -> Kind | None:
        meaning = self.columns.get(header, header)
        kinds: dict[str, Kind] = {"techniques": "technique", "outcomes_seen": "outcome"}
        return kinds.get(meaning, "answer" if meaning in self.outcomes else None)


def wanted_of(choices: Choices) -> Wanted:
    """The sheet and rows that were chosen."""
    return Wanted(choices.sheet, choices.header_rows)


def as_said(place: Workplace, choices: Choices, columns: Mapping[str, str] | None = None) -> Workplace:
    """The clinic folder as if what was chosen stood in clinic.toml."""
    clinic = place.clinic
    said = replace(
        clinic,
        audit_columns={**clinic.audit_columns, **choices.columns} if columns is None else columns,
        audit_words={**clinic.audit_words, **choices.words},
        date_order=choices.dates or clinic.date_order,  # type: ignore[arg-type]
    )
    return replace(place, clinic=said)


def mark_of(place: Workplace, dropped: Dropped, today: date) -> str:
    """A digest of what a look at a sheet is made from: choices, settings, and where the audit stands."""
    clinic = place.clinic
    parts = (
        dropped.digest, dropped.choices.mark, dict(clinic.audit_columns), dict(clinic.audit_words),
        clinic.list_covers, clinic.date_order, clinic.audit_sheet, clinic.header_rows,
        clinic.register_url, _moment(place), today,
    )  # fmt: skip
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:16]


def _moment(place: Workplace) -> str:
    register = open_register(place.clinic.register_url) if place.clinic.register_url else None
    if register is None:
        return "none"
    with register.connect() as connection:
        return repr(moment_of(connection))


_LOOKED: dict[tuple[str, str], tuple[Workplace, SheetLook]] = {}
_LOOKING = Lock()
_REMEMBERED = 8
"""A large sheet is not read again for each page that shows it."""


def look_at(place: Workplace, dropped: Dropped, today: date) -> SheetLook:
    """What a sheet seems to hold and what an import of it would do. Nothing is written."""
    if not dropped.path.is_file():
        raise gone()
    mark = mark_of(place, dropped, today)
    kept = _LOOKED.get((dropped.id, mark))
    if kept and kept[0] is place:
        return kept[1]
    look = _look(place, dropped, mark, today)
    with _LOOKING:
        while len(_LOOKED) >= _REMEMBERED:
            del _LOOKED[next(iter(_LOOKED))]
        _LOOKED[dropped.id, mark] = (place, look)
    return look


def _look(place: Workplace, dropped: Dropped, mark: str, today: date) -> SheetLook:
    choices = dropped.choices
    try:
        proposal = propose_columns(as_said(place, choices), dropped.path, wanted=wanted_of(choices))
    except RegisterError as error:
        return SheetLook(dropped, None, {}, None, error.problems, mark)
    columns, outcomes = _columns(place, choices, proposal), reading_of(place).outcomes
    try:
        result, _ = import_audit(
            as_said(place, choices, columns), dropped.path, now=datetime.combine(today, datetime.max.time()),
            by="", dry_run=True, wanted=wanted_of(choices),
        )  # fmt: skip
    except RegisterError as error:
        return SheetLook(dropped, proposal, columns, None, error.problems, mark, outcomes)
    return SheetLook(dropped, proposal, columns, result, (), mark, outcomes)


def _columns(place: Workplace, choices: Choices, proposal: Proposal) -> dict[str, str]:
    """The map of the sheet. An identity is in it only as a column that is never read, and only where somebody
    has said so."""
    said = {**place.clinic.audit_columns, **choices.columns}
    ruled_out = {header: IGNORE for header in proposal.identities if said.get(header) == IGNORE}
    return {**proposal.columns, **ruled_out}


def keep_dropped(
    place: Workplace, dropped: Dropped, *, mark: str, now: datetime, by: str, overwrite_by_hand: bool = False
) -> bool:
    """Import a sheet as somebody has looked at it; False, and nothing is changed, where `mark` says that what
    they have seen is not what would go in now.

    A sheet that was kept already is kept once: two windows do no harm. Raises as an import does.
    """
    with held(dropped) as now_held:
        if now_held.kept is not None:
            return True
        if mark_of(place, now_held, now.date()) != mark:
            return False
        look = look_at(place, now_held, now.date())
        if look.result is None:
            raise RegisterError(look.problems)
        choices = now_held.choices
        save_columns(place, look.columns, choices.words, dates=choices.dates)
        result, aside = import_audit(
            as_said(place, choices, look.columns),
            now_held.path,
            now=now,
            by=by,
            overwrite_by_hand=overwrite_by_hand,
            wanted=wanted_of(choices),
        )
        told = as_json.imported(result, aside)
        # what differs is told by case: it is nothing that may lie outside the register
        mark_kept(now_held, {**told, "differs": [], "told": imported_words(result, by_case=False)})
        return True


def column_meanings(place: Workplace) -> dict[str, str]:
    """What a column may hold beside outcomes, in the order in which one looks for it -> what that is."""
    return reading_of(place).fields


def outcome_meanings(place: Workplace) -> dict[str, str]:
    """The outcomes a column may speak of -> their names, those that are harms first."""
    library = place.library
    known = {**library.risks, **library.benefits}
    return {id: known[id].title for id in known}


def noticed_meanings(place: Workplace) -> dict[str, str]:
    """The days a column may hold on which an outcome was first noticed -> the outcome's name."""
    return {noticed_of(id): title for id, title in outcome_meanings(place).items()}
