"""When a figure may be quoted: the NCHS 2017 rule for proportions, and '5 and 20' for follow-up.

Parker JD et al. National Center for Health Statistics data presentation standards for proportions.
Vital Health Stat 2017;2(175). The thresholds were read second hand. The
vectors were computed from the rule; NCHS does not print them.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from consentpack.model import Counts
from consentpack.rates.intervals import exact
from consentpack.rates.reliability import LOSS_BLOCKS, LOSS_WARNS, followed_up, quotable, reliable

PASS = [  # events, n, what decides, its value to the decimals of DN7
    (2, 200, "width", 0.034),
    (4, 200, "width", 0.045),
    (11, 220, "relative", 1.25),
    (10, 100, "relative", 1.27),
    (9, 45, "relative", 1.25),
    (24, 48, "width", 0.296),
]
FAIL = [(9, 90, "relative", 1.35), (8, 40, "relative", 1.33), (22, 44, "width", 0.309)]


def measured(events: int, n: int, what: str) -> float:
    width = exact(events, n).width
    return width if what == "width" else width / (events / n)


@pytest.mark.parametrize(("events", "n", "what", "value"), PASS)
def test_these_pass(events, n, what, value):
    assert reliable(events, n).ok
    assert measured(events, n, what) == pytest.approx(value, abs=0.006 if what == "relative" else 0.0006)


@pytest.mark.parametrize(("events", "n", "what", "value"), FAIL)
def test_these_fail(events, n, what, value):
    assert not reliable(events, n).ok
    assert measured(events, n, what) == pytest.approx(value, abs=0.006 if what == "relative" else 0.0006)


@pytest.mark.parametrize(("events", "n"), [(1, 100), (3, 150)])
def test_these_fail_for_so_few_events(events, n):
    verdict = reliable(events, n)
    assert not verdict.ok
    assert verdict.why == f"{events} of {n} leaves the true figure too open for so few events"


# Just on this side and just on that side of each border, around the vectors of DN7. Found by walking n
# or events, with the interval of statsmodels, until the verdict turned.
BORDERS = [
    # n: 30 is the fewest
    ((29, 29), (30, 30)),
    # width .05 or less shows a figure whatever its relative width
    ((0, 71), (0, 72)),
    ((1, 108), (1, 109)),
    ((2, 136), (2, 137)),
    ((3, 159), (3, 160)),
    ((4, 179), (4, 180)),
    ((6, 200), (5, 200)),  # one event more may hide a figure: the rule is not a staircase
    # width .30 or more hides it
    ((21, 46), (20, 46)),
    ((25, 46), (26, 46)),
    ((22, 46), (22, 48)),
    ((23, 46), (24, 48)),
    # 130% of the proportion
    ((9, 90), (10, 90)),
    ((9, 100), (10, 100)),
    ((10, 200), (11, 200)),
    ((10, 220), (11, 220)),
    ((8, 45), (9, 45)),
    ((8, 40), (9, 40)),
]


def by_statsmodels(events: int, n: int) -> bool:
    """The rule as its authors word it, on somebody else's interval."""
    low, high = proportion_confint(events, n, method="beta")
    width = high - low
    if n < 30:
        return False
    if width <= 0.05:
        return True
    return width < 0.30 and width <= 1.30 * events / n


@pytest.mark.parametrize(("below", "above"), BORDERS)
def test_the_verdict_turns_at_the_border(below, above):
    assert not reliable(*below).ok
    assert reliable(*above).ok


def test_every_figure_up_to_n_of_120_has_the_verdict_the_rule_gives_with_another_interval():
    for n in range(1, 121):
        for events in range(n + 1):
            assert reliable(events, n).ok == by_statsmodels(events, n), (events, n)


@given(st.integers(1, 29).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_fewer_than_30_are_never_enough(counts):
    events, n = counts
    assert reliable(events, n).why == f"only {n} treatments; at least 30 are needed"


def test_what_is_too_wide_is_told_with_how_wide():
    assert reliable(22, 44).why == "22 of 44 leaves the true figure too open (±15%)"


def test_none_in_71_may_not_be_quoted_and_none_in_72_may():
    assert not reliable(0, 71).ok
    assert reliable(0, 72).ok


def test_no_count_at_all_is_no_figure():
    assert quotable(Counts(events=0, watched=0, due=40, due_watched=0)).why == (
        "no treatment was watched for this"
    )


# Sackett's "5 and 20", as quoted by Schulz and Grimes.
FOLLOW_UP = [  # due, followed up, quotable, warned
    (100, 100, True, False),
    (1000, 951, True, False),  # 4.9% lost
    (100, 95, True, True),  # 5%: the warning begins
    (1000, 949, True, True),  # 5.1%
    (100, 81, True, True),  # 19%
    (100, 80, True, True),  # exactly 20%: 'over 20%' blocks, so this does not
    (1000, 799, False, False),  # 20.1%
    (100, 79, False, False),
    (40, 32, True, True),
    (5, 4, True, True),
    (20, 19, True, True),
]


def test_the_rule_is_5_and_20_in_whole_percent():
    assert (LOSS_WARNS, LOSS_BLOCKS) == (5, 20)
    assert {type(LOSS_WARNS), type(LOSS_BLOCKS)} == {int}  # 0.2 is not quite a fifth to a computer


@pytest.mark.parametrize(("due", "kept", "ok", "warned"), FOLLOW_UP)
def test_five_percent_lost_warns_and_over_twenty_percent_lost_blocks(due, kept, ok, warned):
    verdict = followed_up(Counts(events=0, watched=kept, due=due, due_watched=kept))
    assert (verdict.ok, bool(verdict.warning)) == (ok, warned)


def test_the_borders_are_exact_for_every_number_of_treatments():
    for due in range(1, 301):
        for kept in range(due + 1):
            lost = Fraction(due - kept, due)
            verdict = followed_up(Counts(0, kept, due, kept))
            assert verdict.ok == (lost <= Fraction(1, 5)), (due, kept)
            assert bool(verdict.warning) == (Fraction(1, 20) <= lost <= Fraction(1, 5)), (due, kept)


def test_the_warning_says_how_many_were_lost():
    verdict = followed_up(Counts(events=2, watched=90, due=100, due_watched=90))
    assert verdict.warning == "10 of 100 treatments were not followed up (10%)"


def test_the_refusal_says_how_many_were_lost_and_where_the_line_is():
    verdict = followed_up(Counts(events=2, watched=70, due=100, due_watched=70))
    assert verdict.why == "30 of 100 treatments were not followed up (30%); over 20% is too many to judge"


def test_when_nothing_is_due_nothing_can_be_said_of_follow_up():
    verdict = followed_up(Counts(events=40, watched=40, due=0, due_watched=0))
    assert not verdict.ok
    assert "long enough ago" in verdict.why


def test_a_figure_needs_both_enough_numbers_and_enough_follow_up():
    good = Counts(events=10, watched=100, due=100, due_watched=100)
    thin = Counts(events=1, watched=10, due=10, due_watched=10)
    lost = Counts(events=10, watched=100, due=200, due_watched=100)
    assert quotable(good).ok
    assert quotable(thin).why == "only 10 treatments; at least 30 are needed"
    assert "too many to judge" in quotable(lost).why


@pytest.mark.parametrize(
    "counts", [(2, 1, 1, 1), (-1, 1, 1, 1), (0, 1, 1, 2), (0, 1, 1, -1)], ids=lambda each: str(each)
)
def test_counts_that_cannot_be_are_refused(counts):
    with pytest.raises(ValueError, match=r"\d of \d treatments|\d events among \d"):
        Counts(*counts)
