"""What is entered at a visit, and who is due for one: for the pages of the desk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from consentpack import normal
from consentpack.errors import Problem, RegisterError
from consentpack.model import Risk
from consentpack.pipeline.audit import record, values
from consentpack.pipeline.follow_ups import NotAsked, due_and_not_asked
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.registers import existing_register
from consentpack.rates.survey import outcomes_of
from consentpack.register import Due, Told, Treatment, cases_like, treatments_of

_WEIGHT = {"serious": 0, "possible": 1, "expected": 2}
GAIN = 3
GROUPS = ("Serious harms", "Other harms", "Harms that most have", "Gains")
"""What an outcome matters, the most first: `weight_of` gives its place here."""


def weight_of(place: Workplace, outcome: str) -> int:
    """How much an outcome matters to follow up: the place of its group in GROUPS."""
    found = place.library.outcomes[outcome]
    return _WEIGHT[found.group] if isinstance(found, Risk) else GAIN


@dataclass(frozen=True)
class DueVisit:
    """A treatment to follow up, with what nobody recorded, what matters most first."""

    due: Due
    weight: int
    """Of the outcome that matters most."""
    outcomes: tuple[tuple[str, str, int], ...]
    """Id, name and weight."""
    since: date
    """Since when the watching time is over of the first of those that matter most."""
    not_asked: NotAsked | None = None
    """Why nobody is asked, where somebody has said so."""


def due_visits(place: Workplace, today: date) -> list[DueVisit]:
    """Who is due, sorted by what matters: serious harms whose watching time is over first, and of those the
    latest: who was treated lately can still be asked, and remembers."""
    return due_parted(place, today)[0]


def due_parted(place: Workplace, today: date) -> tuple[list[DueVisit], list[DueVisit]]:
    """Who is due, and who would be and is asked no more, each sorted by what matters."""
    found = due_and_not_asked(place, today)
    asked = (_due_visit(place, each) for each in found.asked)
    not_asked = (replace(_due_visit(place, each.due), not_asked=each) for each in found.not_asked)
    return sorted(asked, key=_what_matters), sorted(not_asked, key=_what_matters)


def _what_matters(each: DueVisit) -> tuple[int, int, str, int]:
    return each.weight, -each.since.toordinal(), each.due.case, each.due.session


def _due_visit(place: Workplace, due: Due) -> DueVisit:
    known = place.library.outcomes
    ids = sorted(due.outcomes, key=lambda id: (weight_of(place, id), known[id].title))
    weight = weight_of(place, ids[0])
    days = [known[id].watch_days for id in ids if weight_of(place, id) == weight]
    since = date.fromordinal(due.day.toordinal() + min(days))
    return DueVisit(due, weight, tuple((id, known[id].title, weight_of(place, id)) for id in ids), since)


@dataclass(frozen=True)
class Asked:
    """One outcome to be asked about at a visit."""

    id: str
    title: str
    clinical: str
    weight: int
    days: int
    """Its watching time."""
    held: Told | None
    """What the register has of it."""


@dataclass(frozen=True)
class Visit:
    """One treatment, and all that is asked about it."""

    treatment: Treatment
    asked: tuple[Asked, ...]
    mark: str
    """A digest of what the register held: whoever enters is told what has come in since."""


def case_sessions(place: Workplace, case: str) -> tuple[Treatment, ...]:
    """The treatments of a case by session; none where there is none. However the case was typed."""
    with existing_register(place).connect() as connection:
        return treatments_of(connection, normal.plain(case))


def cases_found(place: Workplace, typed: str) -> list[str]:
    """References of cases that begin as something typed; the one that is just that, alone."""
    typed = normal.plain(typed)
    with existing_register(place).connect() as connection:
        found = cases_like(connection, typed) if typed else []
    return [typed] if typed in found else found


def visit_of(place: Workplace, case: str, session: int) -> Visit | None:
    """One treatment with every outcome that may come of it and is watched."""
    found = next((each for each in case_sessions(place, case) if each.session == session), None)
    if found is None:
        return None
    held = {told.outcome: told for told in values(place, found.case, session) if not told.replaced}
    library = place.library
    used = (library.techniques[id] for id in found.techniques if id in library.techniques)
    ids = {outcome for technique in used for outcome in outcomes_of(technique)} | set(held)
    ids &= set(library.outcomes)
    asked = [
        Asked(id, each.title, each.clinical, weight_of(place, id), each.watch_days, held.get(id))
        for id, each in library.outcomes.items()
        if id in ids
    ]
    return Visit(found, tuple(sorted(asked, key=lambda each: (each.weight, each.title))), found.digest[:16])


@dataclass(frozen=True)
class Seen:
    """What was seen of one outcome at a visit."""

    word: str
    """yes, no or a grade."""
    noticed: date | None = None


def record_visit(
    place: Workplace,
    visit: Visit,
    seen: Mapping[str, Seen],
    *,
    seen_on: date,
    now: datetime,
    by: str,
    diary: bool = False,
    retreated_on: date | None = None,
    rest_not_seen: bool = False,
) -> Treatment:
    """Enter all that was seen at one visit: what was first noticed on one day is one entry, as
    `audit outcome` makes it. Raises RegisterError, before anything is entered.

    With `rest_not_seen` somebody says that all else was looked for and not seen: what the register has as
    seen already stays.
    """
    treatment = visit.treatment
    if rest_not_seen:
        rest = (each.id for each in visit.asked if not (each.held and each.held.grade))
        seen = {**{id: Seen("no") for id in rest}, **seen}
    problems = list(_check(treatment, seen, seen_on=seen_on, today=now.date(), retreated_on=retreated_on))
    if problems:
        raise RegisterError(problems)
    days = sorted({each.noticed for each in seen.values()}, key=lambda day: day or date.min) or [None]
    for number, day in enumerate(days):
        treatment = record(
            place,
            treatment.case,
            treatment.session,
            {id: each.word for id, each in seen.items() if each.noticed == day},
            seen_on=seen_on,
            now=now,
            by=by,
            diary=diary,
            noticed_on=day,
            retreated_on=None if number else retreated_on,
        )
    return treatment


def _check(
    treatment: Treatment, seen: Mapping[str, Seen], *, seen_on: date, today: date, retreated_on: date | None
) -> list[Problem]:
    """All that would stop one of the entries: none may be made when the next is refused."""
    problems = []
    if not seen and retreated_on is None:
        problems.append(Problem("Outcomes", "nothing was chosen.", "Say of each what was seen, or leave it."))
    days = {"Seen on": seen_on, "Treated again on": retreated_on}
    days |= {f"First noticed on ({id})": each.noticed for id, each in seen.items()}
    for name, day in days.items():
        if day and day > today:
            problems.append(Problem(name, f"{day} is in the future."))
        if day and day < treatment.day:
            problems.append(Problem(name, f"{day} is before the day of the treatment, {treatment.day}."))
    for id, each in seen.items():
        if each.noticed and each.noticed > seen_on:
            what = f"it cannot be first noticed on {each.noticed} and seen before, on {seen_on}."
            problems.append(Problem(id, what))
        if each.noticed and each.word in ("no", "0"):
            what = "a day on which it was first noticed needs something that was seen."
            problems.append(Problem(id, what, "Choose what was seen, or leave the day out."))
    return problems
