"""Two proportions side by side, against printed values and an independent implementation."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep

from consentpack.model import Counts
from consentpack.rates.compare import CLOSE, Comparing, difference, disagreement, ratio, verdict
from consentpack.rates.exact_test import LEVEL, differ

SOME = [(k, n) for n in (1, 2, 5, 10, 29, 30, 100, 603) for k in sorted({0, 1, n // 3, n // 2, n - 1, n})]
GRID = [(*a, *b) for a, b in itertools.product(SOME, SOME)]


@pytest.mark.parametrize("counts", GRID[::37], ids=str)
def test_the_difference_is_the_plain_one(counts):
    k, n, j, m = counts
    assert difference(*counts).value == pytest.approx(k / n - j / m, abs=1e-15)


def test_thousands_of_differences_agree_with_statsmodels_also_where_none_or_all_had_it():
    # its method 'score' is defective (statsmodels issue 10269); 'newcomb' is Newcombe's method 10
    assert len(GRID) > 1000
    for counts in GRID:
        low, high = confint_proportions_2indep(*counts, compare="diff", method="newcomb")
        found = difference(*counts)
        assert found.low == pytest.approx(low, rel=1e-9, abs=1e-12), counts
        assert found.high == pytest.approx(high, rel=1e-9, abs=1e-12), counts


def test_thousands_of_ratios_agree_with_statsmodels():
    with_events = [counts for counts in GRID if counts[0] and counts[2]]
    assert len(with_events) > 500
    for counts in with_events:
        low, high = confint_proportions_2indep(*counts, compare="ratio", method="log")
        found = ratio(*counts)
        assert found is not None
        value, interval = found
        k, n, j, m = counts
        assert value == pytest.approx((k / n) / (j / m))
        assert interval.low == pytest.approx(low, rel=1e-9), counts
        assert interval.high == pytest.approx(high, rel=1e-9), counts


@pytest.mark.parametrize("counts", [(0, 10, 3, 10), (3, 10, 0, 10), (0, 10, 0, 20)])
def test_there_is_no_ratio_where_a_count_is_zero(counts):
    assert ratio(*counts) is None


@pytest.mark.parametrize("call", [difference, ratio, verdict])
@pytest.mark.parametrize("counts", [(0, 0, 1, 2), (1, 2, 0, 0), (3, 2, 1, 2), (1, 2, -1, 2)])
def test_what_is_no_proportion_is_an_error_and_not_a_difference(call, counts):
    with pytest.raises(ValueError, match="is no proportion"):
        call(*counts)


def some_counts(most: int = 3000):
    return st.integers(1, most).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(a=some_counts(), b=some_counts())
def test_exchanging_the_two_turns_the_difference_round(a, b):
    found, turned = difference(*a, *b), difference(*b, *a)
    assert found.value == pytest.approx(-turned.value, abs=1e-15)
    assert found.low == pytest.approx(-turned.high, abs=1e-12)
    assert found.high == pytest.approx(-turned.low, abs=1e-12)


@given(a=some_counts(), b=some_counts())
def test_the_interval_holds_the_difference_and_stays_between_minus_1_and_1(a, b):
    found = difference(*a, *b)
    assert -1 <= found.low <= found.value <= found.high <= 1
    assert found.low < found.high


@given(a=some_counts(), b=some_counts())
def test_exchanging_the_two_turns_the_ratio_upside_down(a, b):
    found, turned = ratio(*a, *b), ratio(*b, *a)
    assert (found is None) == (turned is None) == (not a[0] or not b[0])
    if found and turned:
        assert found[0] == pytest.approx(1 / turned[0])
        assert found[1].low == pytest.approx(1 / turned[1].high)
        assert found[1].low <= found[0] * (1 + 1e-12)
        assert found[0] <= found[1].high * (1 + 1e-12)


@given(a=some_counts(200), b=some_counts(200), times=st.integers(2, 20))
def test_more_treatments_with_the_same_shares_narrow_the_difference(a, b, times):
    few, many = difference(*a, *b), difference(*(times * count for count in (*a, *b)))
    assert many.high - many.low < few.high - few.low


# A fact of the trade (common practice, no source): a sevenfold lower rate. Counts invented.
def test_a_sevenfold_lower_rate_has_the_right_ratio_and_difference():
    found, apart = ratio(7, 700, 49, 700), difference(7, 700, 49, 700)
    assert found is not None
    assert found[0] == pytest.approx(1 / 7)
    assert apart.value == pytest.approx(-0.06)  # 6 fewer in every 100
    assert verdict(7, 700, 49, 700) == "lower"


# --- what may be said -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("counts", "said"),
    [
        ((30, 100, 10, 100), "higher"),
        ((10, 100, 30, 100), "lower"),
        ((100, 1000, 100, 1000), "agrees"),
        ((10, 100, 10, 100), "cannot tell"),  # the same share, but far too few to say so
        ((0, 5, 0, 5), "cannot tell"),
        ((0, 2000, 0, 2000), "agrees"),
        ((20, 1000, 45, 1000), "lower"),  # a clear difference, though within 5 in 100
        ((5, 5, 0, 5), "higher"),  # Fisher's P = 2 / 252
    ],
)
def test_what_may_be_said_of_two_figures(counts, said):
    assert verdict(*counts) == said


def test_a_difference_is_said_from_the_first_event_that_brings_the_exact_test_under_five_percent():
    below = [k for k in range(10, 40) if differ(k, 100, 10, 100) < LEVEL]
    first = below[0]
    assert differ(first - 1, 100, 10, 100) >= LEVEL
    assert verdict(first, 100, 10, 100) == "higher"
    # the intervals of difference and ratio see it one event earlier: that is said, and is no finding
    assert verdict(first - 1, 100, 10, 100) == "mixed"
    assert verdict(first - 3, 100, 10, 100) == "cannot tell"
    assert verdict(10, 100, first, 100) == "lower"


def test_agreeing_begins_where_the_whole_interval_lies_within_five_in_a_hundred():
    """Twice one in ten: the first group size from which on it is said, and the one before."""
    sizes = range(10, 1000, 10)
    said = [verdict(n // 10, n, n // 10, n) for n in sizes]
    first = said.index("agrees")
    assert set(said[:first]) == {"cannot tell"} and set(said[first:]) == {"agrees"}
    before, after = sizes[first - 1], sizes[first]
    assert difference(before // 10, before, before // 10, before).high > CLOSE
    assert difference(after // 10, after, after // 10, after).high <= CLOSE


@given(a=some_counts(400), b=some_counts(400))
def test_what_is_said_follows_from_test_and_interval_and_turns_with_the_two(a, b):
    said, found, p = verdict(*a, *b), difference(*a, *b), differ(*a, *b)
    times = ratio(*a, *b)
    apart = [p < LEVEL, found.low > 0 or found.high < 0]
    apart += [not times[1].low <= 1 <= times[1].high] if times else []
    assert (said in ("higher", "lower")) == all(apart)
    assert (said == "mixed") == (any(apart) and not all(apart)) == bool(disagreement(*a, *b))
    if said == "higher":
        assert found.value > 0
    if said == "agrees":
        assert max(-found.low, found.high) <= CLOSE
    turned = {"higher": "lower", "lower": "higher"}
    assert verdict(*b, *a) == turned.get(said, said)


# --- two techniques -------------------------------------------------------------------------------


def counted(events: int, n: int, due: int | None = None) -> Counts:
    return Counts(events, n, due or n, n)


def compared(first: Counts, second: Counts) -> Comparing:
    return Comparing("fan", "cannula", "bruising", first, second)


def test_two_techniques_are_compared_by_what_was_watched():
    found = compared(counted(60, 100), counted(40, 100))
    assert found.watched and found.quotable
    assert found.difference() == difference(60, 100, 40, 100)
    assert found.ratio() == ratio(60, 100, 40, 100)
    assert found.verdict() == "higher"


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (counted(12, 29), counted(40, 100)),  # too few
        (counted(40, 100), counted(40, 100, due=130)),  # too many lost
        (counted(40, 100), counted(0, 0)),
    ],
)
def test_a_difference_is_no_better_than_the_poorer_of_its_two_figures(first, second):
    assert not compared(first, second).quotable
    assert not compared(second, first).quotable


@pytest.mark.parametrize("both", [(counted(0, 0), counted(1, 2)), (counted(1, 2), counted(0, 0))])
def test_where_nothing_was_watched_of_one_there_is_nothing_to_compare(both):
    assert not compared(*both).watched
