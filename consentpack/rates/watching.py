"""Every technique's harms over time: what is usual is counted up to a day, what follows is watched."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from consentpack.library import Library
from consentpack.model import WatchRules
from consentpack.rates.adjusting import Cell, Counted, judged_by
from consentpack.rates.cusum import Chart, Risks, Signal, chart, limit_of
from consentpack.rates.laws import said_chance
from consentpack.rates.reliability import reliable
from consentpack.register import SEEN, UNKNOWN, Batch, Order

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Numbers = NDArray[Any]

_TWO_BITS = 3


@dataclass(frozen=True)
class Course:
    """The treatments of a register in order, as columns of numbers."""

    order: Order
    days: Numbers
    combinations: Numbers
    cells: Numbers
    """Of each treatment its place in `named`."""
    named: tuple[Cell, ...]
    known: tuple[Numbers, ...]

    def used(self, technique: str) -> Numbers:
        """The places of the treatments that used a technique, in order."""
        import numpy as np  # noqa: PLC0415 - takes a while to import

        of = self.order.combinations
        wanted = np.zeros(max(of, default=0) + 1, bool)
        wanted[[id for id, used in of.items() if technique in used]] = True
        return np.flatnonzero(wanted[self.combinations])

    def state(self, outcome: str, places: Numbers) -> Numbers:
        """UNKNOWN, NOT_SEEN or SEEN for an outcome in some treatments."""
        number, at = self.order.outcomes[outcome]
        return (self.known[number][places] >> at) & _TWO_BITS


def gather(order: Order, batches: Iterable[Batch], cell_of: Callable[[Sequence[str]], Cell]) -> Course:
    """A course from the batches of a register; each treatment in its cell of those adjusted for."""
    import numpy as np  # noqa: PLC0415

    cells: dict[Cell, int] = {}
    raw: dict[tuple[str, ...], int] = {}

    def place(values: tuple[str, ...]) -> int:
        if values not in raw:
            raw[values] = cells.setdefault(cell_of(values), len(cells))
        return raw[values]

    kinds: list[Any] = [np.int32, np.int32, np.int32, *[np.int64] * order.numbers]
    columns: list[list[Numbers]] = [[np.empty(0, kind)] for kind in kinds]
    for batch in batches:
        at = [place(values) for values in batch.groups] or [place(())] * len(batch.days)
        for column, kind, values in zip(
            columns, kinds, (batch.days, batch.combinations, at, *batch.known), strict=True
        ):
            column.append(np.array(values, kind))
    # one column after the other, and its pieces let go: a large register would be held twice
    days, used, inside, *known = (np.concatenate(columns.pop(0)) for _ in kinds)
    return Course(order, days, used, inside, tuple(cells), tuple(known))


@dataclass(frozen=True)
class Watched:
    """One technique and outcome that was watched over time."""

    technique: str
    outcome: str
    events: int
    n: int
    """Seen and watched up to the end of the baseline."""
    since: int
    """Treatments watched after the baseline."""
    chart: Chart
    adjusted_for: tuple[str, ...] = ()

    @property
    def signals(self) -> tuple[Signal, ...]:
        return self.chart.signals


@dataclass(frozen=True)
class Unwatched:
    """One that could not be watched, and why."""

    technique: str
    outcome: str
    why: str


def watch(library: Library, course: Course, rules: WatchRules) -> tuple[list[Watched], list[Unwatched]]:
    """Each technique's harms over time; and those without a baseline to watch them by."""
    found = []
    for technique in library.techniques.values():
        used = course.used(technique.id)
        found += [_watched(course, used, technique.id, outcome, rules) for outcome in technique.risks]
    watched = [each for each in found if isinstance(each, Watched)]
    return watched, [each for each in found if isinstance(each, Unwatched)]


def _watched(
    course: Course, used: Numbers, technique: str, outcome: str, rules: WatchRules
) -> Watched | Unwatched:
    """One outcome in the treatments at some places of the course."""
    if outcome not in course.order.outcomes:
        return Unwatched(technique, outcome, "it has never been recorded")
    state = course.state(outcome, used)
    places, seen = used[state != UNKNOWN], (state == SEEN)[state != UNKNOWN]
    found = followed(course.days[places], seen, course.cells[places], len(course.named), rules)
    if isinstance(found, str):
        return Unwatched(technique, outcome, found)
    return Watched(technique, outcome, found.events, found.n, found.since, found.chart, rules.adjust_for)


@dataclass(frozen=True)
class Followed:
    """A series of yes and no that was watched over time, whatever it is of."""

    events: int
    n: int
    """Seen and counted up to the end of the baseline."""
    since: int
    """Counted after the baseline."""
    chart: Chart


def followed(days: Numbers, seen: Numbers, cells: Numbers, number: int, rules: WatchRules) -> Followed | str:
    """A series in the order of its days, each in one of a `number` of cells; or why it has no baseline."""
    import numpy as np  # noqa: PLC0415

    end = int(np.searchsorted(days, rules.baseline_until.toordinal(), side="right"))
    events = int(np.count_nonzero(seen[:end]))
    if why := _no_baseline(events, end):
        return why
    risks = _risks(cells[:end], seen[:end], number)
    limit = limit_of(_mix(risks, cells[:end]), rules.odds_ratio, rules.run_length)
    made = chart(days[end:], seen[end:], risks[cells[end:]], odds_ratio=rules.odds_ratio, limit=limit)
    return Followed(events, end, len(days) - end, made)


def _no_baseline(events: int, n: int) -> str:
    """Why what is usual cannot be told from so many; '' where it can."""
    if not n:
        return "nothing was watched up to the end of the baseline"
    if events in (0, n):
        return f"seen in {events} of {n} up to the end of the baseline"
    return reliable(events, n).why


def _risks(cells: Numbers, seen: Numbers, number: int) -> Numbers:
    """The chance at the baseline in each cell, between 0 and 1.

    A cell in which none, or all, had it is taken as if half a treatment more had been otherwise (Jeffreys'
    prior): at a chance of 0 the sum would never fall again. Four digits, so that alike ones share a limit.
    """
    import numpy as np  # noqa: PLC0415

    n, events = (np.bincount(each, minlength=number).tolist() for each in (cells, cells[seen]))
    counted: Counted = {(str(at),): (events[at], n[at]) for at in range(number)}
    basis = judged_by(counted).values()  # in the order of the cells
    each = (min(max(k / m, 0.5 / (m + 1)), 1 - 0.5 / (m + 1)) for k, m in basis)
    return np.array([float(f"{risk:.4g}") for risk in each])


def _mix(risks: Numbers, cells: Numbers) -> Risks:
    """The risks of the treatments of the baseline, each with its share of them."""
    import numpy as np  # noqa: PLC0415

    shares = np.bincount(cells, minlength=len(risks)) / len(cells)
    together: dict[float, float] = {}
    for risk, share in zip(risks.tolist(), shares.tolist(), strict=True):
        if share:
            together[risk] = together.get(risk, 0.0) + share
    return tuple((share, risk) for risk, share in sorted(together.items()))


@dataclass(frozen=True)
class ByChance:
    """Signals to expect where nothing has changed."""

    expected: float
    chance: float
    """Of one or more."""

    @property
    def said(self) -> str:
        return said_chance(self.chance)


def by_chance(watched: Iterable[Watched | Followed], run_length: int) -> ByChance:
    """How many false signals to expect: one in a run length, in each line that was watched.

    The time to a signal is close to exponential when nothing has changed (Brook and Evans 1972), so the
    chance of none in n treatments is close to exp(-n / run length). Where lines of the same treatments rise
    together the chance of one or more is less.
    """
    expected = sum(each.since for each in watched) / run_length
    return ByChance(expected, -math.expm1(-expected))
