"""Watching over time: weights, run lengths, and signals in invented, seeded series.

Weights against printed values: tests/outside/test_published_statistics.py.
"""

from __future__ import annotations

import itertools
import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.rates.cusum import chart, limit_for, limit_of, run_length, run_length_of, weights

START = date(2025, 1, 1)


def days(seen: list[bool]) -> list[tuple[date, bool]]:
    """One treatment a day."""
    return [(START + timedelta(days=at), event) for at, event in enumerate(seen)]


def charted(series, *, baseline: float, odds_ratio: float, length: int):
    """The chart of a series in which all treatments have the same risk."""
    found = list(series)
    ordinals = np.array([day.toordinal() for day, _ in found], int)
    seen = np.array([event for _, event in found], bool)
    limit = limit_for(baseline, odds_ratio, length)
    return chart(ordinals, seen, np.full(len(found), baseline), odds_ratio=odds_ratio, limit=limit)


def signals(series, **rules):
    return list(charted(series, **rules).signals)


def drawn(rate: float, number: int, seed: int) -> list[bool]:
    return [bool(event) for event in np.random.default_rng(seed).random(number) < rate]


# --- weights --------------------------------------------------------------------------------------


@given(baseline=st.floats(0.001, 0.999), odds_ratio=st.floats(1.01, 20))
def test_weights_are_the_log_likelihood_ratio_of_the_changed_rate_to_the_baseline(baseline, odds_ratio):
    odds = odds_ratio * baseline / (1 - baseline)
    changed = odds / (1 + odds)
    found = weights(baseline, odds_ratio)
    assert found.seen == pytest.approx(math.log(changed / baseline), rel=1e-6, abs=1e-9)
    assert found.not_seen == pytest.approx(math.log((1 - changed) / (1 - baseline)), rel=1e-6, abs=1e-9)
    assert found.seen > 0 > found.not_seen


def test_the_sum_falls_on_average_at_the_baseline_and_rises_at_the_changed_rate():
    found = weights(0.1, 2)
    changed = 0.2 / 1.1  # odds of 1 to 9, doubled
    assert 0.1 * found.seen + 0.9 * found.not_seen < 0
    assert changed * found.seen + (1 - changed) * found.not_seen > 0


@pytest.mark.parametrize(("baseline", "odds_ratio"), [(0, 2), (1, 2), (-0.1, 2), (0.1, 1), (0.1, 0.5)])
def test_a_baseline_of_none_or_all_and_no_change_cannot_be_watched(baseline, odds_ratio):
    with pytest.raises(ValueError, match="no watching"):
        weights(baseline, odds_ratio)


# --- run length -----------------------------------------------------------------------------------


def simulated_lengths(baseline: float, odds_ratio: float, limit: float, *, rate: float, runs: int):
    """Treatments until the sum crosses, run by run: nothing of the Markov chain is used."""
    random, found = np.random.default_rng(20261125), weights(baseline, odds_ratio)
    total, length, going = np.zeros(runs), np.zeros(runs, int), np.arange(runs)
    while going.size:
        step = np.where(random.random(going.size) < rate, found.seen, found.not_seen)
        total[going] = np.maximum(0, total[going] + step)
        length[going] += 1
        going = going[total[going] < limit]
    return length


@pytest.mark.parametrize(
    ("baseline", "odds_ratio", "limit", "rate"),
    [
        (0.1, 2, 3.0, None),
        (0.05, 2, 2.0, None),
        (0.3, 2, 3.0, None),
        (0.1, 1.5, 2.0, None),
        (0.6, 2, 3.0, None),
        (0.1, 2, 3.0, 0.2),  # the rate has doubled: how soon it is found
        (0.02, 3, 2.5, 0.06),
    ],
)
def test_the_run_length_is_that_of_a_simulation(baseline, odds_ratio, limit, rate):
    lengths = simulated_lengths(baseline, odds_ratio, limit, rate=rate or baseline, runs=4000)
    standard_error = lengths.std() / math.sqrt(lengths.size)
    found = run_length(baseline, odds_ratio, limit, rate=rate)
    # 1% for the steps into which the chain divides the sum
    assert abs(found - lengths.mean()) < 3 * standard_error + 0.01 * found


@pytest.mark.parametrize("rate", [0.1, 0.5])
def test_when_every_event_crosses_the_run_length_is_one_over_the_rate(rate):
    assert run_length(0.1, 2, 0.3, rate=rate) == pytest.approx(1 / rate, rel=1e-9)


@pytest.mark.parametrize("baseline", [0.005, 0.02, 0.05, 0.1, 0.3, 0.6, 0.9])
@pytest.mark.parametrize("length", [100, 1000, 5000])
def test_the_limit_reaches_the_asked_run_length_and_no_lower_one_does(baseline, length):
    limit = limit_for(baseline, 2, length)
    assert run_length(baseline, 2, limit) >= length
    assert limit < 0.02 or run_length(baseline, 2, limit - 0.005) < length


def test_a_longer_run_needs_a_higher_limit_and_a_worse_rate_is_found_sooner():
    limits = [limit_for(0.1, 2, length) for length in (100, 300, 1000, 3000)]
    assert limits == sorted(set(limits))
    found = [run_length(0.1, 2, limits[2], rate=rate) for rate in (0.1, 0.13, 0.18, 0.3, 0.6)]
    assert found == sorted(found, reverse=True)
    assert found[2] < found[0] / 10


# --- signals --------------------------------------------------------------------------------------


def test_a_drift_in_a_steady_series_is_found_and_dated():
    """500 treatments at the baseline of 10 in 100, then 150 at 30 in 100: forty invented series."""
    change, before, soon = START + timedelta(days=500), 0, 0
    for seed in range(40):
        series = days(drawn(0.1, 500, seed=seed) + drawn(0.3, 150, seed=1000 + seed))
        found = signals(series, baseline=0.1, odds_ratio=2, length=1000)
        before += sum(signal.day < change for signal in found)
        first = next(signal for signal in found if signal.day >= change)
        soon += (first.day - change).days < 60
        assert first.since <= first.day and first.events > first.expected
    assert soon >= 38
    expected = 40 * 500 / 1000  # chance signals at the declared rate
    assert abs(before - expected) < 3 * math.sqrt(expected)


def test_a_steady_series_without_chance_stays_quiet_and_a_drift_in_it_is_the_only_signal():
    """Every tenth has it, then every third: no luck is in it."""
    steady, drifted = [at % 10 == 0 for at in range(500)], [at % 3 == 0 for at in range(90)]
    assert signals(days(steady), baseline=0.1, odds_ratio=2, length=1000) == []
    first = signals(days(steady + drifted), baseline=0.1, odds_ratio=2, length=1000)[0]
    assert 500 < (first.day - START).days < 560
    assert first.events > 2 * first.expected


def test_what_a_signal_counts_is_what_the_series_holds_between_its_two_days():
    series = days(drawn(0.1, 300, seed=3) + drawn(0.4, 200, seed=4))
    found = signals(series, baseline=0.1, odds_ratio=2, length=500)
    assert len(found) > 2  # a lasting change signals again and again
    for signal in found:
        between = [seen for day, seen in series if signal.since <= day <= signal.day]
        assert (signal.treatments, signal.events) == (len(between), sum(between))
        assert signal.expected == pytest.approx(0.1 * len(between))
    for one, after in itertools.pairwise(found):
        assert one.day < after.since


def test_a_series_that_does_better_than_before_never_signals():
    assert signals(days(drawn(0.03, 5000, seed=5)), baseline=0.1, odds_ratio=2, length=1000) == []


@pytest.mark.parametrize("seen", [[], [False] * 400])
def test_nothing_seen_is_no_signal(seen):
    assert signals(days(seen), baseline=0.1, odds_ratio=2, length=100) == []


@pytest.mark.parametrize(("baseline", "seed"), [(0.03, 11), (0.1, 12), (0.4, 13)])
def test_a_steady_series_signals_at_about_the_declared_rate(baseline, seed):
    """As a renewal process whose runs have a standard deviation of at most their mean, N treatments
    hold N / length signals with a standard error of at most the root of that."""
    number, length = 300_000, 1000
    random = np.random.default_rng(seed)
    series = ((START, bool(seen)) for seen in random.random(number) < baseline)
    found = len(signals(series, baseline=baseline, odds_ratio=2, length=length))
    expected = number / run_length(baseline, 2, limit_for(baseline, 2, length))
    assert expected == pytest.approx(number / length, rel=0.03)
    assert abs(found - expected) < 3 * math.sqrt(expected)


def test_treatments_of_one_day_are_taken_in_their_order():
    series = [(START, seen) for seen in drawn(0.5, 200, seed=6)]
    found = signals(series, baseline=0.1, odds_ratio=2, length=500)
    assert found and {(signal.since, signal.day) for signal in found} == {(START, START)}


@pytest.mark.parametrize(
    ("baseline", "odds_ratio", "limit", "rate"),
    [(0.05, 2.0, 3.0, None), (0.2, 1.5, 2.5, 0.35), (0.01, 3.0, 4.0, 0.01)],
)
def test_the_run_length_is_that_of_a_sparse_solver(baseline, odds_ratio, limit, rate):
    """The same equations by scipy's sparse matrices, which take a quarter of a second to import."""
    import numpy as np
    from scipy.sparse import eye_array, lil_array
    from scipy.sparse.linalg import spsolve

    from consentpack.rates.cusum import _STATES, run_length, weights

    moves, step, found = lil_array((_STATES, _STATES)), limit / _STATES, weights(baseline, odds_ratio)
    p = baseline if rate is None else rate
    for state in range(_STATES):
        for weight, chance in ((found.seen, p), (found.not_seen, 1 - p)):
            position = max(0.0, state + weight / step)
            for to, part in ((int(position), 1 - position % 1), (int(position) + 1, position % 1)):
                if to < _STATES:
                    moves[state, to] += chance * part
    expected = spsolve((eye_array(_STATES) - moves).tocsc(), np.ones(_STATES))[0]
    assert run_length(baseline, odds_ratio, limit, rate=rate) == pytest.approx(expected, rel=1e-9)


# --- the path, and treatments that differ in risk -------------------------------------------------


def one_by_one(series, risks, *, odds_ratio: float, limit: float):
    """The sum after each treatment, and where it crossed, as the paper writes it: nothing of ours."""
    total, path, crossed = 0.0, [], []
    for at, ((_, seen), risk) in enumerate(zip(series, risks, strict=True), 1):
        scale = 1 - risk + odds_ratio * risk
        total = max(0.0, total + math.log((odds_ratio if seen else 1) / scale))
        path.append(total)
        if total >= limit:
            crossed.append(at)
            total = 0.0
    return path, crossed


@given(
    seen=st.lists(st.booleans(), max_size=80).map(lambda few: few * 25),  # longer than what is summed at once
    risks=st.lists(st.floats(0.001, 0.999), min_size=1, max_size=7),
    odds_ratio=st.floats(1.05, 8),
    limit=st.floats(0.2, 6),
)
def test_the_chart_is_the_sum_one_treatment_after_the_other(seen, risks, odds_ratio, limit):
    series = days(seen)
    each = [risks[at % len(risks)] for at in range(len(series))]
    path, crossed = one_by_one(series, each, odds_ratio=odds_ratio, limit=limit)
    if any(abs(value - limit) < 1e-9 for value in path):
        return  # rounding decides
    ordinals = np.array([day.toordinal() for day, _ in series], int)
    found = chart(ordinals, np.array(seen, bool), np.array(each), odds_ratio=odds_ratio, limit=limit)
    assert [signal.number for signal in found.signals] == crossed
    assert [value for _, value in found.path] == pytest.approx(path, abs=1e-9)
    assert [day for day, _ in found.path] == [day for day, _ in series]
    for signal in found.signals:
        between = slice(signal.number - signal.treatments, signal.number)
        assert signal.expected == pytest.approx(sum(each[between]))


def test_a_day_shows_the_highest_the_sum_stood_on_it():
    series = [(START, True), (START, True), (START, False), (START + timedelta(days=1), False)]
    found = charted(series, baseline=0.1, odds_ratio=2, length=1000)
    up, down = weights(0.1, 2).seen, weights(0.1, 2).not_seen
    assert [value for _, value in found.path] == pytest.approx([2 * up, 2 * up + 2 * down])


def test_one_risk_for_all_is_the_same_as_several_alike():
    assert run_length_of(((0.3, 0.1), (0.7, 0.1)), 2, 3.0) == pytest.approx(run_length(0.1, 2, 3.0))


@pytest.mark.parametrize("risks", [((0.7, 0.02), (0.3, 0.25)), ((0.5, 0.05), (0.4, 0.1), (0.1, 0.6))])
def test_the_run_length_of_several_risks_is_that_of_a_simulation(risks):
    random, limit, runs = np.random.default_rng(20261128), 2.5, 4000
    shares, chances = (np.array(each) for each in zip(*risks, strict=True))
    total, length, going = np.zeros(runs), np.zeros(runs, int), np.arange(runs)
    while going.size:
        risk = chances[random.choice(len(chances), going.size, p=shares)]
        seen = random.random(going.size) < risk
        total[going] = np.maximum(0, total[going] + np.where(seen, math.log(2), 0) - np.log(1 + risk))
        length[going] += 1
        going = going[total[going] < limit]
    found = run_length_of(risks, 2, limit)
    assert abs(found - length.mean()) < 3 * length.std() / math.sqrt(runs) + 0.01 * found
    assert run_length_of(risks, 2, limit_of(risks, 2, 800)) == pytest.approx(800, rel=0.03)


def test_riskier_patients_are_no_signal_where_their_risk_is_counted_in():
    """Half of the later treatments are of a kind in which one in two has it, as it always was."""
    seen = [bool(at % 10 == 0) for at in range(200)] + [bool(at % 2) for at in range(200)]
    plain = signals(days(seen), baseline=0.1, odds_ratio=2, length=1000)
    ordinals = np.array([day.toordinal() for day, _ in days(seen)], int)
    each = np.array([0.1] * 200 + [0.5] * 200)
    limit = limit_of(((0.5, 0.1), (0.5, 0.5)), 2, 1000)
    adjusted = chart(ordinals, np.array(seen, bool), each, odds_ratio=2, limit=limit)
    assert plain and adjusted.signals == ()
