"""Counts out of the register. Nothing else leaves it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import (
    Connection,
    Integer,
    Select,
    Subquery,
    and_,
    case,
    cast,
    func,
    literal,
    or_,
    select,
)

from consentpack.model import Counts
from consentpack.register.schema import OUTCOMES, TECHNIQUES, TREATMENTS


@dataclass(frozen=True)
class Comparison:
    """Which treatments are compared with the planned one."""

    techniques: frozenset[str]
    """The treatment used all of these …"""
    scope: frozenset[str]
    """… and none of the other techniques in this set. Techniques outside it do not matter."""
    sites: tuple[str, ...] = ()
    """Only at these sites; anywhere when empty."""
    skin_types: tuple[str, ...] = ()
    """Only these skin types; any when empty."""


@dataclass(frozen=True)
class Window:
    """The period of treatments counted, both days included."""

    first: date
    last: date


@dataclass(frozen=True)
class Tally:
    """The counts of one comparison."""

    treatments: int
    first: date | None
    """Day of the first treatment counted; None when there is none."""
    last: date | None
    counts: Mapping[str, Counts]
    """Outcome id -> its counts, for every outcome asked for."""


def tally(
    connection: Connection, comparison: Comparison, window: Window, watch_days: Mapping[str, int]
) -> Tally:
    """The counts of each outcome among comparable treatments of a period.

    `watch_days` maps outcome id -> days one must look to be able to say that it did not happen.

    A treatment counts as watched for an outcome when the outcome was recorded as seen, or recorded
    as not seen by somebody who looked long enough. A harm that has been seen is thus never left out
    because the watching time is not over; where recent treatments are many, that errs on the side
    of a figure too high rather than too low.
    """
    chosen = _chosen(comparison, window).subquery("chosen")
    cutoffs = {days: window.last - timedelta(days=days) for days in set(watch_days.values())}
    total, due = _due(connection, chosen, cutoffs)
    found = _seen(connection, chosen, watch_days, cutoffs)
    counts = {}
    for outcome, days in watch_days.items():
        events, watched, due_watched = found.get(outcome, (0, 0, 0))
        counts[outcome] = Counts(events, watched, due[days], due_watched)
    return Tally(*total, counts)


def _chosen(comparison: Comparison, window: Window) -> Select[tuple[int, date, int | None]]:
    columns = TREATMENTS.c
    used = (
        select(TECHNIQUES.c.treatment_id)
        .where(TECHNIQUES.c.technique.in_(sorted(comparison.scope | comparison.techniques)))
        .group_by(TECHNIQUES.c.treatment_id)
        .having(
            and_(
                func.count() == len(comparison.techniques),
                func.sum(case((TECHNIQUES.c.technique.in_(sorted(comparison.techniques)), 1), else_=0))
                == len(comparison.techniques),
            )
        )
    )
    query = select(columns.id, columns.day, columns.watched_days).where(
        columns.day.between(window.first, window.last), columns.id.in_(used)
    )
    if comparison.sites:
        query = query.where(columns.site.in_(comparison.sites))
    if comparison.skin_types:
        query = query.where(columns.skin_type.in_(comparison.skin_types))
    return query


def _due(
    connection: Connection, chosen: Subquery, cutoffs: Mapping[int, date]
) -> tuple[tuple[int, date | None, date | None], dict[int, int]]:
    """Number, first and last day of the treatments; and how many are due by each watching time."""
    days = sorted(cutoffs)
    sums = [func.sum(case((chosen.c.day <= cutoffs[each], 1), else_=0)) for each in days]
    query = select(func.count(), func.min(chosen.c.day), func.max(chosen.c.day), *sums)
    number, first, last, *due = connection.execute(query.select_from(chosen)).one()
    return (number, first, last), {each: int(n or 0) for each, n in zip(days, due, strict=True)}


def _seen(
    connection: Connection,
    chosen: Subquery,
    watch_days: Mapping[str, int],
    cutoffs: Mapping[int, date],
) -> dict[str, tuple[int, int, int]]:
    """Outcome -> treatments with it seen, treatments watched for it, due treatments watched."""
    days_of = case(watch_days, value=OUTCOMES.c.outcome)
    cutoff_of = case(
        {outcome: literal(cutoffs[days]) for outcome, days in watch_days.items()},
        value=OUTCOMES.c.outcome,
    )
    watched = or_(OUTCOMES.c.seen, chosen.c.watched_days >= days_of)
    due = chosen.c.day <= cutoff_of
    query = (
        select(
            OUTCOMES.c.outcome,
            func.sum(cast(OUTCOMES.c.seen, Integer)),
            func.sum(case((watched, 1), else_=0)),
            func.sum(case((and_(watched, due), 1), else_=0)),
        )
        .join(chosen, chosen.c.id == OUTCOMES.c.treatment_id)
        .where(OUTCOMES.c.outcome.in_(sorted(watch_days)))
        .group_by(OUTCOMES.c.outcome)
    )
    return {row[0]: (int(row[1]), int(row[2]), int(row[3])) for row in connection.execute(query)}
