"""Who is due to be followed up, and who is asked no more: lost to follow-up, or followed elsewhere."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from consentpack.pipeline.place import Workplace
from consentpack.pipeline.registers import existing_register
from consentpack.rates.survey import outcomes_of
from consentpack.register import (
    FOLLOWED_BY,
    LOST,
    Due,
    FollowUp,
    SetDown,
    add_follow_ups,
    due,
    set_down,
)


@dataclass(frozen=True)
class NotAsked:
    """A treatment that would be due, had nobody said that it is asked about no more."""

    due: Due
    mark: SetDown

    @property
    def is_lost(self) -> bool:
        """Lost to follow-up; else it is followed elsewhere."""
        return self.mark.told.how == LOST

    @property
    def why(self) -> str:
        """In words: 'lost to follow-up', or by whom it is followed."""
        by = self.mark.told.followed_by
        return "lost to follow-up" if self.is_lost else f"followed elsewhere: {FOLLOWED_BY.get(by, by)}"


@dataclass(frozen=True)
class Overdue:
    """All whose watching time has passed with nothing recorded, the longest first."""

    asked: tuple[Due, ...]
    not_asked: tuple[NotAsked, ...]

    @property
    def lost(self) -> int:
        """How many of those not asked are lost to follow-up; the others are followed elsewhere."""
        return sum(each.is_lost for each in self.not_asked)


def due_and_not_asked(place: Workplace, today: date) -> Overdue:
    """Who is due on a day, and who would be and is asked no more. Raises RegisterError."""
    library = place.library
    tracked = set(place.clinic.audit_columns.values()) | set(place.clinic.list_covers)
    tracked &= set(library.outcomes)
    days = {id: o.watch_days for id, o in library.outcomes.items() if id in tracked or not tracked}

    def outcomes_of_all(used: frozenset[str]) -> set[str]:
        found = (library.techniques[id] for id in used if id in library.techniques)
        return {outcome for technique in found for outcome in outcomes_of(technique)}

    with existing_register(place).connect() as connection:
        late = due(connection, days, today, outcomes_of_all)
        marks = set_down(connection, on=today)
    asked = (each for each in late if (each.case, each.session) not in marks)
    not_asked = (
        NotAsked(each, marks[each.case, each.session]) for each in late if (each.case, each.session) in marks
    )
    return Overdue(tuple(asked), tuple(not_asked))


def overdue(place: Workplace, today: date) -> list[Due]:
    """Treatments whose watching time has passed with nothing recorded, without those asked no more."""
    return list(due_and_not_asked(place, today).asked)


def say_follow_up(
    place: Workplace, treatments: Iterable[tuple[str, int]], told: FollowUp, *, now: datetime, by: str
) -> int:
    """Say of some treatments, by case and session, that they are lost to follow-up, followed elsewhere, or to
    be asked about again: one entry of the history, whose number this is. Raises RegisterError."""
    return add_follow_ups(existing_register(place), treatments, told, now=now, by=by)
