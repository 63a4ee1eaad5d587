"""Intervals against printed values and against independent implementations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.special import betaincinv
from scipy.stats import binom, binomtest
from statsmodels.stats.proportion import proportion_confint

from consentpack.rates import intervals
from consentpack.rates.intervals import exact, mid_p, wilson

# Newcombe RG. Stat Med 1998;17:857-872, Table I: events, n, lower, upper, printed to four decimals.
# Values as quoted with table and method number in public test suites, not read on the paper's page.
NEWCOMBE_WILSON = [  # method 3: score, no continuity correction
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
]
NEWCOMBE_EXACT = [  # method 5: Clopper-Pearson
    (81, 263, 0.2527, 0.3676),
    (15, 148, 0.0578, 0.1617),
    (0, 20, 0.0, 0.1684),
    (1, 29, 0.0009, 0.1776),
    (5, 25, 0.0683, 0.4070),  # influentialpoints.com prints .068 to .407
    # computed beforehand with another implementation, not printed
    (2, 29, 0.0085, 0.2277),
    (0, 10, 0.0, 0.3085),
]

NEWCOMBE_MID_P = [  # method 6
    (81, 263, 0.2544, 0.3658),
    (15, 148, 0.0601, 0.1581),
    (0, 20, 0.0, 0.1391),
    (1, 29, 0.0017, 0.1585),
    # computed beforehand with another implementation, not printed
    (2, 29, 0.0117, 0.2097),
    (0, 10, 0.0, 0.2589),
]

GRID = [(k, n) for n in (1, 2, 3, 5, 10, 29, 30, 31, 40, 72, 100, 137, 250, 400, 603) for k in range(n + 1)]
GRID += [(k, n) for n in (500, 1000, 5000, 41_000) for k in (*range(0, n // 2, n // 400 or 1), n - 1, n)]


@pytest.mark.parametrize(("events", "n", "low", "high"), NEWCOMBE_WILSON)
def test_the_score_interval_is_the_one_newcombe_printed(events, n, low, high):
    found = wilson(events, n)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


@pytest.mark.parametrize(("events", "n", "low", "high"), NEWCOMBE_MID_P)
def test_the_mid_p_interval_is_the_one_newcombe_printed(events, n, low, high):
    found = mid_p(events, n)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


@given(n=st.integers(1, 400), data=st.data())
def test_at_the_ends_of_a_mid_p_interval_its_tail_is_what_it_should_be(n, data):
    events = data.draw(st.integers(0, n))
    found = mid_p(events, n)
    above, below = binom.sf(events, n, found.low), binom.cdf(events - 1, n, found.high)
    for p, beyond in ((found.low, above), (found.high, below)):
        if 0 < p < 1:
            assert beyond + binom.pmf(events, n, p) / 2 == pytest.approx(0.025, rel=1e-6)
    mirrored = mid_p(n - events, n)
    assert (1 - mirrored.high, 1 - mirrored.low) == pytest.approx((found.low, found.high), abs=1e-9)
    assert exact(events, n).low <= found.low <= events / n <= found.high <= exact(events, n).high


@pytest.mark.parametrize(("events", "n", "low", "high"), NEWCOMBE_EXACT)
def test_the_exact_interval_is_the_one_newcombe_printed(events, n, low, high):
    found = exact(events, n)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


def test_the_exact_interval_of_5_of_25_is_the_one_printed_elsewhere():
    # influentialpoints.com, binomial confidence intervals: .068 to .407
    found = exact(5, 25)
    assert (round(found.low, 3), round(found.high, 3)) == (0.068, 0.407)


def test_intervals_of_490_of_500_are_those_of_a_public_test_suite():
    # Wilson .9636 .9891, Clopper-Pearson .9635 .9904 (quoted in public test suites)
    score, full = wilson(490, 500), exact(490, 500)
    assert (round(score.low, 4), round(score.high, 4)) == (0.9636, 0.9891)
    assert (round(full.low, 4), round(full.high, 4)) == (0.9635, 0.9904)


@pytest.mark.parametrize(("ours", "theirs"), [(wilson, "wilson"), (exact, "beta")])
def test_thousands_of_intervals_agree_with_statsmodels(ours, theirs):
    assert len(GRID) > 2000
    events, n = np.array(GRID).T
    low, high = proportion_confint(events, n, alpha=0.05, method=theirs)
    found = [ours(k, m) for k, m in GRID]
    np.testing.assert_allclose([each.low for each in found], low, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose([each.high for each in found], high, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(("ours", "theirs"), [(wilson, "wilson"), (exact, "exact")])
def test_intervals_agree_with_scipy(ours, theirs):
    for events, n in GRID[::25]:
        low, high = binomtest(events, n).proportion_ci(0.95, method=theirs)
        assert ours(events, n).low == pytest.approx(low, rel=1e-7, abs=1e-9)
        assert ours(events, n).high == pytest.approx(high, rel=1e-7, abs=1e-9)


def test_the_exact_interval_is_defined_by_its_two_tails_of_two_and_a_half_percent():
    """Clopper and Pearson 1934: at each end the tail that reaches the events holds 2.5%."""
    for events, n in [(1, 30), (3, 150), (10, 100), (44, 90), (299, 300)]:
        found = exact(events, n)
        assert binom.sf(events - 1, n, found.low) == pytest.approx(0.025, rel=1e-6)
        assert binom.cdf(events, n, found.high) == pytest.approx(0.025, rel=1e-6)


# Hanley JA, Lippman-Hand A. JAMA 1983;249:1743-1745: "If nothing goes wrong, is everything all right?"
# The rule of three is a ONE-sided 95% bound; ours are the upper ends of two-sided 95% intervals.
HANLEY = [  # n (the paper's examples), 3/n, exact one-sided 95% bound 1 - .05^(1/n)
    (14, 0.2143, 0.1926),
    (112, 0.0268, 0.0264),
    (167, 0.0180, 0.0178),
]


@pytest.mark.parametrize(("n", "rule_of_three", "one_sided"), HANLEY)
def test_none_seen_leaves_room_for_more_than_the_rule_of_three(n, rule_of_three, one_sided):
    assert round(3 / n, 4) == rule_of_three
    assert round(1 - 0.05 ** (1 / n), 4) == one_sided
    assert exact(0, n).high > one_sided  # two-sided, so wider than the printed one-sided bound
    assert wilson(0, n).high > rule_of_three


# the same three, two-sided; computed with statsmodels and by the closed form, not printed anywhere
@pytest.mark.parametrize(
    ("n", "clopper_pearson", "score"), [(14, 0.2316, 0.2153), (112, 0.0324, 0.0332), (167, 0.0218, 0.0225)]
)
def test_the_two_sided_upper_ends_of_none_seen_are_these(n, clopper_pearson, score):
    assert round(exact(0, n).high, 4) == clopper_pearson
    assert round(wilson(0, n).high, 4) == score


@given(st.integers(1, 100_000))
def test_none_seen_has_the_closed_form_of_the_exact_bound(n):
    assert exact(0, n).high == pytest.approx(1 - 0.025 ** (1 / n), rel=1e-9)
    assert exact(0, n).low == 0.0


@given(st.integers(30, 100_000))
def test_the_upper_end_shown_for_none_seen_never_flatters_beside_the_rule_of_three(n):
    assert wilson(0, n).high >= 3 / n


def some_counts(most: int = 5000):
    return st.integers(1, most).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@pytest.mark.parametrize("interval", [wilson, exact])
@given(counts=some_counts())
def test_an_interval_holds_its_proportion_and_stays_between_0_and_1(interval, counts):
    events, n = counts
    found = interval(events, n)
    assert 0 <= found.low <= events / n <= found.high <= 1
    assert found.width > 0


@pytest.mark.parametrize("interval", [wilson, exact])
@given(counts=some_counts())
def test_having_it_and_not_having_it_are_mirror_images(interval, counts):
    events, n = counts
    found, mirror = interval(events, n), interval(n - events, n)
    assert found.low == pytest.approx(1 - mirror.high, abs=1e-9)
    assert found.high == pytest.approx(1 - mirror.low, abs=1e-9)


@pytest.mark.parametrize("interval", [wilson, exact])
@given(counts=some_counts())
def test_one_more_event_moves_both_ends_up(interval, counts):
    events, n = counts
    fewer, more = interval(events, n + 1), interval(events + 1, n + 1)
    assert fewer.low < more.low
    assert fewer.high < more.high


@pytest.mark.parametrize("interval", [wilson, exact])
@given(counts=some_counts(500), times=st.integers(2, 50))
def test_more_treatments_with_the_same_share_make_the_interval_narrower(interval, counts, times):
    events, n = counts
    assert interval(events * times, n * times).width < interval(events, n).width


@pytest.mark.parametrize("n", [1, 9, 20, 30, 1000])  # of 9 the formula gives neither end exactly
@pytest.mark.parametrize("interval", [wilson, exact])
def test_none_and_all_touch_their_end_exactly(interval, n):
    assert interval(0, n).low == 0.0
    assert interval(n, n).high == 1.0
    assert interval(0, n).high < 1.0
    assert interval(n, n).low > 0.0


@pytest.mark.parametrize(("events", "n"), [(0, 0), (1, 0), (2, 1), (-1, 10), (0, -5)])
@pytest.mark.parametrize("interval", [wilson, exact])
def test_what_is_no_proportion_is_an_error_and_not_0_percent(interval, events, n):
    with pytest.raises(ValueError, match=f"{events} of {n} is no proportion"):
        interval(events, n)


@pytest.mark.parametrize("counts", [(10, 100), (3, 150)])
def test_an_exact_interval_is_found_in_a_few_steps_for_each_end(counts, monkeypatch):
    """Halving alone takes some forty for each end; a rate sheet makes thousands of intervals."""
    steps, share = [], intervals._beta_share
    monkeypatch.setattr(intervals, "_beta_share", lambda *asked: steps.append(asked) or share(*asked))
    exact.__wrapped__(*counts)
    assert 2 <= len(steps) <= 12


@given(st.integers(1, 1_000_000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
@example((0, 1)).via("smallest")
@example((1, 1)).via("smallest")
@example((1, 1_000_000)).via("a rare harm in a large register")
@example((999_999, 1_000_000)).via("a benefit that nearly all had")
def test_the_exact_interval_is_scipys(of):
    """The exact interval is our own so that a pack does not load scipy."""
    events, n = of
    found = exact(events, n)
    low = betaincinv(events, n - events + 1, 0.025) if events else 0.0
    high = betaincinv(events + 1, n - events, 0.975) if events < n else 1.0
    assert found.low == pytest.approx(low, rel=1e-8)
    assert found.high == pytest.approx(high, rel=1e-8)
