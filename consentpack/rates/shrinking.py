"""A small group's figure drawn towards that of the wider group it belongs to.

Beta-binomial, empirical Bayes: the groups' true shares are taken to be spread about the wider group's share
as a beta distribution, how far is estimated from the groups themselves, and each group's figure is the mean
of what is then likely for it. Efron and Morris 1975 (JASA 70:311) showed that such figures lie nearer to the
truth, all groups together, than each group's own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from consentpack.library import Library
from consentpack.model import Clinic, Match, Matches, Plan, RateAnswer
from consentpack.rates.counting import Counting, window_of
from consentpack.rates.intervals import check_counts
from consentpack.register import NOT_RECORDED, Comparison, Part, Window
from consentpack.register.queries import fits

PartSource = Callable[[Window, Mapping[str, int], Sequence[str], Iterable[str]], Iterable[Part]]
"""Gives the counts of each group of treatments in a period: by technique used, place, and some strata."""

FEWEST_GROUPS = 4
"""With fewer, shrinking towards a mean that is itself estimated need not help (Efron and Morris 1975 [M])."""
LARGE = 1_000
"""A closest group of so many speaks for itself; what it would be drawn by is less than it is unsure by."""
_WEAKEST, _STRONGEST = 0.1, 1e6
_GRID, _STEPS = 24, 40


@dataclass(frozen=True)
class Prior:
    """How the true shares of some groups are spread."""

    mean: float
    """The share of all groups together."""
    strength: float
    """The mean counts for as much as so many treatments; infinite where the groups do not differ by more
    than chance."""

    def drawn(self, events: int, n: int) -> float:
        """The figure of a group drawn towards the mean. Raises ValueError unless 0 <= events <= n, n >= 1."""
        check_counts(events, n)
        own = self.own_weight(n)
        return own * events / n + (1 - own) * self.mean

    def own_weight(self, n: int) -> float:
        """How much of a group's figure is its own, from 0 to 1."""
        return 0.0 if math.isinf(self.strength) else n / (n + self.strength)


def prior_of(groups: Iterable[tuple[int, int]]) -> Prior:
    """The spread of some groups' shares, from their events and numbers.

    The mean is that of all together; the strength is the one under which the counts are likeliest. Raises
    ValueError without a treatment.
    """
    counts = Counter((events, n) for events, n in groups if n)
    events, n = (sum(each[at] * times for each, times in counts.items()) for at in (0, 1))
    check_counts(events, n)
    mean = events / n
    if events in (0, n) or _spread(counts, mean) <= 0:
        return Prior(mean, math.inf)
    found = _likeliest(counts, mean)
    return Prior(mean, math.inf if found > 0.99 * _STRONGEST else found)


def _spread(counts: Counter[tuple[int, int]], p: float) -> float:
    """Above 0 where the groups differ by more than chance alone: how the likelihood begins to change when
    the shares are allowed to differ (the statistic of Tarone 1979, Biometrika 66:585 [M])."""
    q = 1 - p
    return sum(
        times * (k * (k - 1) / p + (n - k) * (n - k - 1) / q - n * (n - 1))
        for (k, n), times in counts.items()
    )


def _likeliest(counts: Counter[tuple[int, int]], mean: float) -> float:
    """The strength at which the counts are likeliest: a grid, then thirds of what lies about its best."""
    low, high = math.log(_WEAKEST), math.log(_STRONGEST)
    grid = [low + (high - low) * step / _GRID for step in range(_GRID + 1)]
    best = max(range(_GRID + 1), key=lambda at: _likelihood(counts, mean, grid[at]))
    low, high = grid[max(0, best - 1)], grid[min(_GRID, best + 1)]
    for _ in range(_STEPS):
        one, two = low + (high - low) / 3, high - (high - low) / 3
        if _likelihood(counts, mean, one) < _likelihood(counts, mean, two):
            low = one
        else:
            high = two
    return math.exp((low + high) / 2)


def _likelihood(counts: Counter[tuple[int, int]], mean: float, log_strength: float) -> float:
    """The logarithm of how likely the counts are, but for what does not depend on the strength."""
    strength = math.exp(log_strength)
    a, b, log = mean * strength, (1 - mean) * strength, math.lgamma
    fixed = log(strength) - log(a) - log(b)
    return sum(
        times * (fixed + log(a + k) + log(b + n - k) - log(strength + n)) for (k, n), times in counts.items()
    )


@dataclass(frozen=True)
class Shrunken:
    """The closest group of one outcome, and its figure drawn towards the wider group's."""

    events: int
    n: int
    """Of the closest group."""
    wider: tuple[int, int]
    """Events and treatments of all with the leading technique."""
    groups: int
    """Into how many groups these fall."""
    value: float | None
    """None where there are too few groups to tell how far they lie apart."""
    own_weight: float = 0.0


def shrunken_all(
    plan: Plan,
    library: Library,
    clinic: Clinic,
    matches: Matches,
    rates: Mapping[str, RateAnswer],
    parts: PartSource | None,
) -> dict[str, Shrunken]:
    """For each outcome the closest group, drawn in; only where somebody was watched in it, and where it is
    not so large that it needs nothing beside it. Each outcome is counted by itself."""
    wanted = [m for m in (*matches.risks, *matches.benefits) if not _large(rates.get(m.id))]
    if parts is None or not wanted:
        return {}
    days = {match.id: library.outcome(match.id).watch_days for match in wanted}
    strata = [id for id in library.field.strata if plan.strata.get(id)]
    window = window_of(plan.prepared, clinic.window_months)
    leads = {match.techniques[0] for match in wanted}
    known = list(parts(window, days, strata, leads))
    counting = Counting(plan, library, clinic, None, days)
    found = {match.id: _shrunken(counting, match, known, strata) for match in wanted}
    return {id: each for id, each in found.items() if each}


def _large(answer: RateAnswer | None) -> bool:
    return bool(answer and answer.rate and answer.rate.level == "closest" and answer.rate.n >= LARGE)


def _shrunken(
    counting: Counting, match: Match, parts: Sequence[Part], strata: Sequence[str]
) -> Shrunken | None:
    closest = counting.ladder(match.techniques[:1])[0][1]
    there = [id for at, id in enumerate(strata) if any(p.strata[at] != NOT_RECORDED for p in parts)]
    groups: dict[object, tuple[int, int]] = {}
    own: object = None
    for part in parts:
        events, n = part.counts.get(match.id, (0, 0))
        if not n or match.techniques[0] not in part.techniques:
            continue
        key = _key(counting, closest, part, strata, there)
        before = groups.get(key, (0, 0))
        groups[key] = before[0] + events, before[1] + n
        if _in(part, closest, strata, there):
            own = key
    if own is None or not any(events for events, _ in groups.values()):
        return None  # of what nobody had, a drawn figure would say that it cannot happen
    return _drawn(groups[own], list(groups.values()))


def _key(
    counting: Counting, closest: Comparison, part: Part, strata: Sequence[str], there: Sequence[str]
) -> object:
    """The group of a treatment: what was used together of what matters, group of places, groups of strata."""
    clinic = counting.clinic
    values = dict(zip(strata, part.strata, strict=True))
    people = tuple(clinic.stratum_groups.get(id, {}).get(values[id], values[id]) for id in there)
    return part.techniques & closest.scope, clinic.site_groups.get(part.site, part.site), people


def _in(part: Part, closest: Comparison, strata: Sequence[str], there: Sequence[str]) -> bool:
    """Whether treatments are of the closest group."""
    values = dict(zip(strata, part.strata, strict=True))
    of_people = all(values[id] in wanted for id, wanted in closest.strata if id in there)
    return fits(part.techniques, closest) and part.site in closest.sites and of_people


def _drawn(own: tuple[int, int], groups: Sequence[tuple[int, int]]) -> Shrunken:
    wider = sum(events for events, _ in groups), sum(n for _, n in groups)
    if len(groups) < FEWEST_GROUPS:
        return Shrunken(*own, wider, len(groups), None)
    prior = prior_of(groups)
    return Shrunken(*own, wider, len(groups), prior.drawn(*own), prior.own_weight(own[1]))
