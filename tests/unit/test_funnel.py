"""Operators and sites side by side: the limits, who is placed where, and who is not placed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from consentpack.rates.funnel import ALARM, ALERT, FEWEST, limits, place

TARGETS = st.floats(0.001, 0.999)
SIZES = st.integers(1, 5000)


@given(target=TARGETS, n=SIZES)
def test_the_wider_limits_hold_the_narrower_and_both_stay_between_0_and_1(target, n):
    alert, alarm = limits(target, n, ALERT), limits(target, n, ALARM)
    assert 0 <= alarm[0] <= alert[0] <= alert[1] <= alarm[1] <= 1


@given(target=TARGETS, n=SIZES, share=st.sampled_from([ALERT, ALARM]))
def test_a_limit_lies_within_one_treatment_of_the_exact_quantile(target, n, share):
    tail = (1 - share) / 2
    low, high = limits(target, n, share)
    for found, p in ((low, tail), (high, 1 - tail)):
        assert 0 <= binom.ppf(p, n, target) - found * n <= 1 + 1e-6 or found == 0


@pytest.mark.parametrize("target", [0.02, 0.1, 0.5])
def test_limits_close_in_on_the_target_as_groups_grow(target):
    widths = [limits(target, n, ALERT) for n in (20, 100, 1000, 10_000, 100_000)]
    assert sorted(widths, key=lambda found: found[0] - found[1]) == widths
    assert widths[-1][0] == pytest.approx(target, abs=0.004)


def test_a_group_of_none_has_no_limits():
    with pytest.raises(ValueError, match="is no proportion"):
        limits(0.1, 0, ALERT)


@pytest.mark.parametrize("target", [1.0, 0.9999])
def test_an_outcome_that_everybody_had_breaks_nothing(target):
    low, high = limits(target, 50, ALERT)
    assert 0 < low < high <= 1
    assert place("A", 50, 50, target).state == "inside"


# --- where a group stands -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("events", "state"),
    # around a target of 10 in 100, 100 treatments; tails by scipy.stats.binom, in the test below
    [(3, "below 95%"), (1, "below 99.8%"), (5, "inside"), (10, "inside"), (17, "above 95%")],
)
def test_a_group_of_a_hundred_around_ten_in_a_hundred(events, state):
    assert place("A", events, 100, 0.1).state == state


@given(n=st.integers(FEWEST, 2000), target=TARGETS, data=st.data())
def test_a_group_is_outside_exactly_when_its_tail_is(n, target, data):
    events = data.draw(st.integers(0, n))
    above, below = binom.sf(events - 1, n, target), binom.cdf(events, n, target)
    near = any(abs(tail - edge) < 1e-9 for tail in (above, below) for edge in (0.025, 0.001))
    expected = (
        "above 99.8%" if above < 0.001 else "below 99.8%" if below < 0.001
        else "above 95%" if above < 0.025 else "below 95%" if below < 0.025 else "inside"
    )  # fmt: skip
    assert near or place("A", events, n, target).state == expected


@given(n=st.integers(FEWEST, 2000), target=st.floats(0.01, 0.99), data=st.data())
def test_whoever_stands_outside_also_lies_outside_the_drawn_limits(n, target, data):
    """Not the other way round: interpolated limits lie between whole counts, the exact tail does not."""
    events = data.draw(st.integers(0, n))
    found = place("A", events, n, target)
    if found.state != "inside":
        side, share = found.state.split()
        low, high = limits(target, n, ALERT if share == "95%" else ALARM)
        assert events / n > high if side == "above" else events / n < low


@pytest.mark.parametrize(("events", "n"), [(1, 1), (2, 2), (0, 3), (9, 9), (0, 9)])
def test_a_handful_of_treatments_says_nothing_about_anybody(events, n):
    assert place("A", events, n, 0.05).state == "too few"


def test_from_ten_treatments_on_a_group_is_placed():
    assert place("A", 10, FEWEST, 0.05).state == "above 99.8%"


@pytest.mark.parametrize(("events", "n"), [(1, 0), (3, 2), (-1, 20)])
def test_what_is_no_proportion_is_not_placed(events, n):
    with pytest.raises(ValueError, match="is no proportion"):
        place("A", events, n, 0.1)
