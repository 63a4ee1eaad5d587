"""Counts by chance: against scipy, and against every case counted out."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, poisson_binom

from consentpack.rates.laws import Binomial, sum_of

RISKS = st.floats(0, 1).filter(lambda p: p in (0, 1) or 1e-9 < p < 1 - 1e-9)


@given(st.lists(st.tuples(st.integers(0, 40), RISKS), min_size=1, max_size=6), st.data())
def test_a_sum_of_several_risks_is_the_poisson_binomial_of_scipy(mix, data):
    each = [p for n, p in mix for _ in range(n)]
    if not each:
        return
    events = data.draw(st.integers(0, len(each)))
    found, known = sum_of(tuple(mix)), poisson_binom(each)
    assert found.mean == pytest.approx(sum(each), abs=1e-9)
    assert found.at_least(events) == pytest.approx(known.sf(events - 1), rel=1e-6, abs=1e-9)
    assert found.at_most(events) == pytest.approx(known.cdf(events), rel=1e-6, abs=1e-9)


def test_three_treatments_counted_out_case_by_case():
    risks, law = (0.1, 0.1, 0.5), sum_of(((2, 0.1), (1, 0.5)))
    for events in range(5):
        chance = 0.0
        for case in product((0, 1), repeat=3):
            if sum(case) >= events:
                one = 1.0
                for seen, p in zip(case, risks, strict=True):
                    one *= p if seen else 1 - p
                chance += one
        assert law.at_least(events) == pytest.approx(chance)


@pytest.mark.parametrize("n", [1_000, 1_000_000])
def test_many_treatments_keep_their_tails(n):
    law, p = sum_of(((n // 2, 0.1), (n // 2, 0.1))), 0.1
    for events in (int(binom.ppf(tail, n, p)) for tail in (0.001, 0.025, 0.5, 0.975, 0.999)):
        assert law.at_least(events) == pytest.approx(binom.sf(events - 1, n, p), rel=1e-6)
        assert law.at_most(events) == pytest.approx(binom.cdf(events, n, p), rel=1e-6)


@given(n=st.integers(1, 400), p=st.floats(0.001, 0.999), tail=st.sampled_from([0.025, 0.001]))
def test_the_chance_past_a_tail_is_the_largest_tail_under_it(n, p, tail):
    tails = [float(binom.sf(k - 1, n, p)) for k in range(n + 2)]
    if any(abs(each - tail) < 1e-9 for each in tails):
        return
    expected = max(each for each in tails if each < tail)
    assert Binomial(n, p).chance_past(tail) == pytest.approx(expected, rel=1e-6, abs=1e-12)
    assert sum_of(((n, p),)).chance_past(tail) == pytest.approx(expected, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("p", [0.0, 1.0])
def test_what_is_certain_sets_nobody_apart(p):
    assert Binomial(50, p).chance_past(0.001) == 0 == sum_of(((50, p),)).chance_past(0.001)
