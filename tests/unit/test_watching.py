"""Harms over time: the baseline, what follows it, adjusting for declared groups, and what chance brings.

Library and rules are the shipped ones; the treatments are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from courses import FAN, course_of

from consentpack import shipped
from consentpack.library import load_library
from consentpack.model import WatchRules
from consentpack.rates.cusum import limit_for, weights
from consentpack.rates.watching import by_chance, watch

LIBRARY = load_library(shipped.content())
END = date(2025, 4, 30)
RULES = WatchRules(END, 2, 1000)


def baseline(events: int, n: int) -> list[tuple[date, bool]]:
    return [(END - timedelta(days=1), at < events) for at in range(n)]


def later(seen) -> list[tuple[date, bool]]:
    return [(END + timedelta(days=1 + at), bool(event)) for at, event in enumerate(seen)]


def of_bruising(series, groups=(), rules=RULES):
    watched, _ = watch(LIBRARY, course_of(series, groups), rules)
    (found,) = [each for each in watched if (each.technique, each.outcome) == (FAN, "bruising")]
    return found


@pytest.mark.parametrize("batch", [1, 7, 1000])
def test_what_follows_the_baseline_is_watched_by_it_however_it_is_read(batch):
    seen = [at % 10 == 0 for at in range(100)] + [at % 2 == 0 for at in range(40)]
    course = course_of(baseline(20, 200) + later(seen), batch=batch)
    watched, _ = watch(LIBRARY, course, RULES)
    (found,) = watched
    assert (found.technique, found.outcome) == (FAN, "bruising")
    assert (found.events, found.n, found.since) == (20, 200, 140)
    assert found.chart.limit == limit_for(0.1, 2, 1000)
    total, first = 0.0, None
    for at, event in enumerate(seen, 1):  # the sum as the paper writes it
        total = max(0.0, total + (weights(0.1, 2).seen if event else weights(0.1, 2).not_seen))
        first = first or (at if total >= found.chart.limit else None)
    assert first is not None and first > 100 and found.signals[0].number == first


def test_the_last_day_of_the_baseline_belongs_to_it():
    series = [(END, True)] * 40 + [(END, False)] * 160 + [(END + timedelta(days=1), True)]
    found = of_bruising(series)
    assert (found.events, found.n, found.since) == (40, 200, 1)


def test_benefits_are_not_watched_as_if_they_were_harms():
    gain = LIBRARY.techniques[FAN].benefits[0]
    watched, without = watch(LIBRARY, course_of(baseline(20, 200), outcome=gain), RULES)
    assert not watched and not {each.outcome for each in without} & set(LIBRARY.benefits)


@pytest.mark.parametrize(
    ("events", "n", "why"),
    [
        (0, 0, "nothing was watched up to the end of the baseline"),
        (0, 200, "seen in 0 of 200 up to the end of the baseline"),
        (100, 100, "seen in 100 of 100 up to the end of the baseline"),
        (2, 12, "only 12 treatments; at least 30 are needed"),
    ],
)
def test_what_gives_no_baseline_is_named_with_the_reason(events, n, why):
    watched, without = watch(LIBRARY, course_of(baseline(events, n) + later([True] * 50)), RULES)
    assert watched == []
    (found,) = [each for each in without if (each.technique, each.outcome) == (FAN, "bruising")]
    assert found.why == why
    never = {each.why for each in without if each.outcome != "bruising"}
    assert never == {"it has never been recorded"}


def test_a_rare_outcome_of_a_large_register_has_a_baseline():
    """3 in 100000 is not nothing, however it is rounded."""
    found = of_bruising(baseline(3, 100_000) + later([False] * 9))
    assert found.signals == ()


def test_an_empty_register_breaks_nothing():
    watched, without = watch(LIBRARY, course_of([]), RULES)
    assert watched == [] and without


# --- adjusted for declared groups -----------------------------------------------------------------


def of_two_kinds(low: int, high: int, *, n: int = 100):
    """A baseline in which of one kind `low`, and of another `high` of n had it; and their groups."""
    series = [*baseline(low, n), *baseline(high, n)]
    return series, [("easy",)] * n + [("hard",)] * n


def test_more_patients_of_a_riskier_kind_are_no_signal_where_that_is_declared():
    series, groups = of_two_kinds(5, 50)
    series += later(at % 2 for at in range(120))  # half of the hard ones have it, as before
    groups += [("hard",)] * 120
    adjusted = of_bruising(series, groups, replace(RULES, adjust_for=("skin_type",)))
    plain = of_bruising(series)
    assert plain.signals and not adjusted.signals
    assert adjusted.adjusted_for == ("skin_type",)


def test_a_change_among_the_easy_ones_is_found_sooner_where_that_is_declared():
    series, groups = of_two_kinds(5, 50)
    series += later(at % 3 == 0 for at in range(60))  # of the easy ones one in three instead of one in 20
    groups += [("easy",)] * 60
    adjusted = of_bruising(series, groups, replace(RULES, adjust_for=("skin_type",)))
    assert adjusted.signals and not of_bruising(series).signals
    first = adjusted.signals[0]
    assert first.expected == pytest.approx(0.05 * first.treatments)


def test_a_kind_with_too_few_in_the_baseline_has_the_figure_of_all():
    series, groups = [*baseline(20, 200), *baseline(9, 10)], [("many",)] * 200 + [("few",)] * 10
    series += later([True] * 3)
    found = of_bruising(series, [*groups, *[("few",)] * 3], replace(RULES, adjust_for=("skin_type",)))
    step = weights(round(29 / 210, 4), 2).seen
    assert found.chart.path[-1][1] == pytest.approx(3 * step, rel=1e-4)


def test_a_kind_in_which_none_had_it_is_never_taken_as_without_risk():
    series, groups = of_two_kinds(0, 50)
    found = of_bruising(
        [*series, *later([True])], [*groups, ("easy",)], replace(RULES, adjust_for=("skin_type",))
    )
    risk = float(f"{0.5 / 101:.4g}")  # half an event more
    assert found.chart.path[0][1] == pytest.approx(math.log(2) - math.log1p(risk))


def test_a_kind_that_first_comes_after_the_baseline_is_watched_by_the_figure_of_all():
    series, groups = of_two_kinds(10, 30)
    found = of_bruising([*series, *later([True])], [*groups, ("new",)], replace(RULES, adjust_for=("x",)))
    assert found.chart.path[0][1] == pytest.approx(weights(0.2, 2).seen)


# --- what chance brings ---------------------------------------------------------------------------


def test_false_signals_come_once_in_a_run_length_of_each_line():
    """Steady invented series: as many signals as the rules say, and none in exp(-n / length) of them."""
    random, n, length, runs = np.random.default_rng(20261128), 300, 300, 400
    watched = []
    for _ in range(runs):
        series = baseline(40, 400) + later(random.random(n) < 0.1)
        watched.append(of_bruising(series, rules=replace(RULES, run_length=length)))
    told = by_chance(watched[:1], length)
    assert told.expected == pytest.approx(1) and told.chance == pytest.approx(1 - math.exp(-1))
    any_ = sum(bool(each.signals) for each in watched) / runs
    # the sum begins at zero, so that the first signal comes a little later than an exponential time
    assert told.chance - 0.1 < any_ < told.chance + 3 * math.sqrt(0.25 / runs)
    assert by_chance(watched, length).expected == pytest.approx(runs)
