"""How many treatments are still needed: the number does, and one less does not. Counts are invented."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.model import Counts
from consentpack.rates.needed import MOST, needed
from consentpack.rates.reliability import followed_up, quotable, reliable


def counted(events: int, n: int, *, lost: int = 0) -> Counts:
    return Counts(events, n, n + lost, n)


@given(n=st.integers(1, 600), data=st.data())
def test_with_so_many_more_at_the_same_share_it_may_be_quoted_and_with_one_less_not(n, data):
    events = data.draw(st.integers(0, n))
    more = needed(counted(events, n)).treatments
    if more >= MOST:
        return
    assert reliable(round(events * (n + more) / n), n + more).ok
    if more:
        assert not reliable(round(events * (n + more - 1) / n), n + more - 1).ok
        assert not reliable(events, n).ok
    else:
        assert reliable(events, n).ok


def test_nothing_watched_needs_what_the_rule_asks_at_least():
    assert needed(Counts(0, 0, 0, 0)).treatments == 30


def test_a_quotable_figure_lacks_nothing_and_says_nothing():
    found = needed(counted(30, 100))
    assert (found.treatments, found.looks, found.said) == (0, 0, "")


@pytest.mark.parametrize(("watched", "lost"), [(70, 30), (79, 21), (100, 900), (1, 1)])
def test_so_many_followed_up_are_enough_and_one_less_is_not(watched, lost):
    looks = needed(counted(0, watched, lost=lost)).looks
    done = Counts(0, watched + looks, watched + lost, watched + looks)
    short = Counts(0, watched + looks - 1, watched + lost, watched + looks - 1)
    assert followed_up(done).ok and not followed_up(short).ok


def test_where_20_in_100_were_lost_nobody_need_be_followed_up_for_it():
    assert needed(counted(30, 80, lost=20)).looks == 0 and quotable(counted(30, 80, lost=20)).ok


def test_both_are_said_together():
    said = needed(counted(2, 20, lost=20)).said
    assert said.startswith("about ") and " more treatments and " in said
    assert said.endswith(" of those due to be followed up needed for a figure of its own")
