"""Fisher's exact test against scipy, by hand, and in its properties."""

from __future__ import annotations

import itertools
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact

from consentpack.rates.exact_test import differ, greater

SMALL = [(k, n) for n in (1, 2, 3, 5, 8, 13) for k in range(n + 1)]
LARGE = [(k, n) for n in (30, 100, 500, 2209) for k in sorted({0, 1, 3, n // 10, n // 2, n - 1, n})]
GRID = [(*a, *b) for a, b in itertools.product(SMALL, SMALL)]
GRID += [(*a, *b) for a, b in itertools.product(LARGE, LARGE)]


def table(k: int, n: int, j: int, m: int) -> list[list[int]]:
    return [[k, n - k], [j, m - j]]


@pytest.mark.parametrize(("ours", "side"), [(differ, "two-sided"), (greater, "greater")])
def test_more_than_a_thousand_tables_agree_with_scipy(ours, side):
    assert len(GRID) > 1000
    for counts in GRID:
        expected = fisher_exact(table(*counts), alternative=side).pvalue
        assert ours(*counts) == pytest.approx(expected, rel=1e-7, abs=1e-12), counts


def test_tables_of_a_million_treatments_agree_with_scipy():
    """Only what is felt is summed up: a term left out too early would show here."""
    for counts in [
        (40_000, 400_000, 50_500, 500_000),
        (3, 900_000, 1, 100_000),
        (500_500, 10**6, 150_000, 3 * 10**5),
    ]:
        for ours, side in ((differ, "two-sided"), (greater, "greater")):
            expected = fisher_exact(table(*counts), alternative=side).pvalue
            assert ours(*counts) == pytest.approx(expected, rel=1e-6, abs=1e-12), counts


def test_a_small_table_by_hand():
    # 3 of 4 and 1 of 4: of the 70 ways to pick 4 of 8, 16 hold three of the first four and 1 all four
    ways = comb(8, 4)
    assert greater(3, 4, 1, 4) == pytest.approx((16 + 1) / ways)
    assert differ(3, 4, 1, 4) == pytest.approx((16 + 1 + 16 + 1) / ways)


def test_the_tables_on_the_other_side_that_are_just_as_likely_count_too():
    """Equal chances reached by two ways of rounding: with equal groups it is twice the one side."""
    for k, j in [(3, 1), (7, 4), (20, 11), (33, 17)]:
        n = 40
        assert differ(k, n, j, n) == pytest.approx(min(1, 2 * greater(k, n, j, n)))


@pytest.mark.parametrize("counts", [(0, 10, 0, 10), (10, 10, 20, 20), (0, 1, 0, 5000)])
def test_nothing_to_tell_apart_gives_a_chance_of_one(counts):
    assert differ(*counts) == pytest.approx(1)
    assert greater(*counts) == pytest.approx(1)


def some_counts(most: int = 2000):
    return st.integers(1, most).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(a=some_counts(), b=some_counts())
def test_a_chance_lies_between_0_and_1_and_does_not_mind_the_order(a, b):
    assert 0 <= differ(*a, *b) <= 1 and 0 <= greater(*a, *b) <= 1
    assert differ(*a, *b) == pytest.approx(differ(*b, *a), rel=1e-6, abs=1e-12)


@given(a=some_counts(), b=some_counts())
def test_the_two_one_sided_chances_overlap_in_the_table_that_was_seen(a, b):
    (k, n), (j, m) = a, b
    both = greater(k, n, j, m) + greater(n - k, n, m - j, m)
    assert both >= 1 - 1e-9


@given(a=some_counts(500), b=some_counts(500))
def test_one_more_event_in_the_first_makes_it_less_likely_to_be_chance(a, b):
    (k, n), other = a, b
    assert greater(k, n + 1, *other) >= greater(k + 1, n + 1, *other) - 1e-9


@pytest.mark.parametrize("call", [differ, greater])
@pytest.mark.parametrize("counts", [(0, 0, 1, 2), (1, 2, 0, 0), (3, 2, 1, 2), (1, 2, 3, 2), (-1, 2, 1, 2)])
def test_what_is_no_proportion_is_refused(call, counts):
    with pytest.raises(ValueError, match="is no proportion"):
        call(*counts)
