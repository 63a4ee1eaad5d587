"""Over what time figures are counted: the product limit, its interval, and what is seen outside.

Reference: statsmodels, which shares nothing with ours. All rows are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import event
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight
from statsmodels.stats.proportion import proportion_confint
from support import load
from test_counts_said import context
from test_ladder import LIBRARY
from test_queries import numbers

from consentpack.assemble.record_time import over_time
from consentpack.model import Counts, Curve
from consentpack.rates.counting import over, own_rate
from consentpack.rates.intervals import wilson
from consentpack.rates.outside import counted_in, families, hidden, told_counts
from consentpack.rates.over_time import estimate
from consentpack.register import Comparison, Reading, Tally, Window, tally
from consentpack.wording import natural

SEEN, AGAIN, LEFT = 1, 2, 0
DAY = date(2026, 3, 2)


# --- the estimate ---------------------------------------------------------------------------------


def curve(*left: tuple[int, int]) -> Curve:
    return Curve.of((day, why, 1) for day, why in left)


@given(st.lists(st.tuples(st.integers(0, 30), st.sampled_from([SEEN, AGAIN, LEFT, LEFT])), min_size=1))
def test_whatever_the_curve_share_and_variance_are_those_of_statsmodels(left):
    found = estimate(curve(*left))
    times, why = [day + 1.0 for day, _ in left], [w for _, w in left]
    if SEEN not in why:
        assert found is None
        return
    with np.errstate(all="ignore"):  # it divides by those who stay, of whom there may be none
        fit = CumIncidenceRight(times, why)
    if found is None:
        assert fit.cinc[0][-1] == pytest.approx(1)
        return
    share, error = float(found.share), float(fit.cinc_se[0][-1])
    assert share == pytest.approx(fit.cinc[0][-1], abs=1e-12)
    if not np.isnan(error):
        assert share * (1 - share) / found.effective == pytest.approx(error**2, rel=1e-9)
    assert (found.events, found.again, found.n) == (why.count(SEEN), why.count(AGAIN), len(left))
    if AGAIN not in why and not np.isnan(error):
        product_limit = SurvfuncRight(times, why)
        assert 1 - share == pytest.approx(product_limit.surv_prob[-1], abs=1e-12)
        assert error == pytest.approx(product_limit.surv_prob_se[-1], rel=1e-9)


@given(st.integers(1, 60), st.integers(1, 60))
def test_where_all_were_watched_to_the_end_it_is_the_count_with_its_interval(events, others):
    """No number jumps on the day a clinic begins to write days down."""
    found = estimate(curve(*[(day % 14, SEEN) for day in range(events)], *[(14, LEFT)] * others))
    n = events + others
    assert found is not None and found.share == Fraction(events, n)
    assert found.effective == pytest.approx(n)
    plain = wilson(events, n)
    assert (found.interval.low, found.interval.high) == pytest.approx((plain.low, plain.high))
    assert found.tested in ((events, n), (round(events * (n - 1) / n), n - 1))  # n may be a hair below n


def test_the_interval_is_wilsons_for_as_many_as_would_tell_as_much():
    """Rothman 1978: 10 of 100 on day 3, 40 left on day 5, 10 of 50 on day 10."""
    left = [(3, SEEN)] * 10 + [(5, LEFT)] * 40 + [(10, SEEN)] * 10 + [(14, LEFT)] * 40
    found = estimate(curve(*left))
    assert found is not None and found.share == Fraction(28, 100)  # 1 - 0.9 * 0.8, by hand
    greenwood = 0.72**2 * (10 / (100 * 90) + 10 / (50 * 40))
    assert found.effective == pytest.approx(0.28 * 0.72 / greenwood)
    limits = proportion_confint(0.28 * found.effective, found.effective, method="wilson")
    assert (found.interval.low, found.interval.high) == pytest.approx(limits)
    assert (found.to_the_end, found.n, found.events) == (40, 100, 20)


def test_who_stops_being_watched_on_a_day_was_watched_on_it():
    found = estimate(curve((5, LEFT), (5, SEEN), (14, LEFT)))
    assert found is not None and found.share == Fraction(1, 3)


def test_another_treatment_ends_the_wait_and_is_no_patient_lost():
    again = estimate(curve(*[(2, AGAIN)] * 5, *[(5, SEEN)] * 2, *[(14, LEFT)] * 3))
    lost = estimate(curve(*[(2, LEFT)] * 5, *[(5, SEEN)] * 2, *[(14, LEFT)] * 3))
    assert again and lost and (again.share, lost.share) == (Fraction(2, 10), Fraction(2, 5))


@pytest.mark.parametrize("left", [[], [(14, LEFT)] * 5, [(3, LEFT), (5, SEEN)]])
def test_where_counts_say_as_much_or_nobody_was_left_there_is_no_estimate(left):
    assert estimate(curve(*left)) is None


def test_curves_of_two_groups_add_up():
    one, other = curve((3, SEEN), (14, LEFT)), curve((3, AGAIN), (3, SEEN), (9, LEFT))
    assert one + other == curve((3, SEEN), (14, LEFT), (3, AGAIN), (3, SEEN), (9, LEFT))
    assert Counts(1, 2, 2, 2, curve=one) + Counts(1, 3, 3, 3) == Counts(2, 5, 5, 5)


# --- out of the register --------------------------------------------------------------------------

DAYS = {"bruising": 14, "swelling": 14, "shallower-scar": 180}
READING = Reading("year-first", frozenset({"cannula"}), frozenset(DAYS))
ALL = Comparison(frozenset({"cannula"}), frozenset({"cannula"}))
YEAR = Window(date(2026, 1, 1), date(2026, 12, 31))
HEAD = (
    "case,session,date,techniques,site,last_seen,retreated,bruising,noticed:bruising,swelling,shallower-scar"
)


def row(day="2026-06-01", *, seen="2026-09-01", again="", bruising="no", on="", swelling="", shallower=""):
    return ",".join((day, "cannula", "chin", seen, again, bruising, on, swelling, shallower))


@pytest.fixture
def count(register):
    """The tally of some rows, in both databases."""

    def counted(*rows: str, days=DAYS, head=HEAD) -> Tally:
        lines = [f"C-{number},1,{cells}" for number, cells in enumerate(rows)]
        result = load(register, "\n".join([head, *lines]), reading=READING, now=datetime(2027, 12, 31))
        assert result.added == len(rows)
        with register.connect() as connection:
            return tally(connection, ALL, YEAR, days)

    return counted


def test_each_treatment_leaves_the_watch_when_it_is_seen_or_done_again_or_not_watched_further(count):
    found = count(
        row(bruising="yes", on="2026-06-04"),
        row(seen="2026-06-06"),  # lost after 5 days
        row(again="2026-06-10"),  # treated again after 9 days
        row(bruising="yes", on="2026-06-12", again="2026-06-10"),  # that is of the later treatment
        row(bruising="yes", on="2026-07-20"),  # after the watching time
        row("2026-12-27", seen="2027-02-01"),  # watched by the end of the period for 4 days
        row("2026-12-27", seen="2027-02-01", bruising="yes", on="2027-01-02"),  # seen after the period
        row(seen=""),  # nobody looked
        row(bruising=""),  # nothing is written down
    ).dated["bruising"]
    assert found.curve == Curve.of([(3, SEEN, 1), (4, LEFT, 2), (5, LEFT, 1), (9, AGAIN, 2), (14, LEFT, 1)])
    # decided: the first, the two treated again, and the one noticed later
    assert numbers(found) == (1, 4, 7, 4)
    assert (found.outside_events, found.outside, found.blank) == (0, 4, 1)


def test_however_many_outcomes_have_days_each_column_is_read_once(count, register):
    rows = [row(bruising="yes", on="2026-06-04", swelling="yes") + ",2026-06-05", row(swelling="no") + ","]
    asked: list[str] = []
    count(*rows, head=HEAD + ",noticed:swelling")
    event.listen(register.engine, "before_cursor_execute", lambda *words: asked.append(words[2]))
    with register.connect() as connection:
        assert set(tally(connection, ALL, YEAR, DAYS).dated) == {"bruising", "swelling"}
    columns = [words for words in asked if "rollup_columns.name =" in words]
    # day, last seen, techniques, two outcomes and their days
    assert len(columns) == 7
    rows = [words for words in asked if "FROM treatments" in words]
    assert all("LIMIT" in words or "count(" in words for words in rows)


def test_a_harm_of_which_one_that_was_seen_has_no_day_is_not_told_by_days(count):
    rows = [row(bruising="yes", on="2026-06-04"), row(bruising="yes"), row()]
    assert count(*rows).dated == {}


def test_one_seen_without_a_day_outside_the_period_does_not_matter(count):
    found = count(row("2025-06-01", bruising="yes"), row(bruising="yes", on="2026-06-04"), row())
    assert found.dated["bruising"].curve == Curve.of([(3, SEEN, 1), (14, LEFT, 1)])


def test_treated_again_ends_watching_without_days_too(count):
    found = count(row(again="2026-06-14", swelling="no"), row(again="2026-06-15", swelling="yes"))
    assert numbers(found.counts["swelling"]) == (1, 1, 2, 1)


# --- outside --------------------------------------------------------------------------------------


def outside(events, n, seen, others, blank=0):
    return Counts(events, n, n + others, n, outside_events=seen, outside=others, blank=blank)


@pytest.mark.parametrize(
    ("counts", "is_hidden"),
    [
        (outside(0, 86, 1, 1), True),  # never inside
        (outside(0, 86, 0, 9), False),
        (outside(1, 86, 1, 30), False),
        (outside(1, 86, 3, 9), True),  # exact test: 0.0019
        (outside(1, 86, 3, 9, blank=200), False),  # they were noted at once, and no 'no' yet
        (counted_in(outside(1, 86, 3, 9)), False),  # once is enough
    ],
)
def test_what_would_be_hidden(counts, is_hidden):
    assert hidden(counts) is is_hidden


def test_what_is_counted_in_can_be_taken_out_for_a_test_of_two_groups():
    found = counted_in(outside(1, 86, 3, 9))
    assert (found.events, found.watched, found.inside) == (4, 95, (1, 86))


def told(*, timed=True, **counts: Counts) -> dict[str, Counts]:
    named = {id.replace("_", "-"): each for id, each in counts.items()}
    return told_counts(Tally(100, DAY, DAY, named, timed=timed), LIBRARY, named)


def test_a_harm_gets_worse_by_what_is_outside_and_a_gain_never_better():
    found = told(bruising=outside(0, 86, 2, 9), shallower_scar=outside(0, 86, 9, 9))
    assert (found["bruising"].events, found["bruising"].watched) == (2, 95)
    assert (found["shallower-scar"].events, found["shallower-scar"].watched) == (0, 86)


def test_a_gain_and_that_there_was_none_are_never_told_by_days():
    dated = {id: outside(50, 60, 0, 0) for id in ("bruising", "little-change", "shallower-scar")}
    plain = dict.fromkeys(dated, outside(1, 60, 0, 0))
    found = told_counts(Tally(60, DAY, DAY, plain, dated=dated), LIBRARY, plain)
    assert {id: each.events for id, each in found.items()} == {
        "bruising": 50, "little-change": 1, "shallower-scar": 1,
    }  # fmt: skip


def test_without_last_seen_days_harms_are_counted_at_some_time_and_gains_not_at_all():
    found = told(timed=False, bruising=outside(9, 86, 0, 0), shallower_scar=outside(60, 86, 0, 0))
    assert found["bruising"].events == 9
    assert numbers(found["shallower-scar"]) == (0, 0, 86, 0)
    assert over(Tally(86, DAY, DAY, found, timed=False), found["bruising"]) == "some time"


def test_a_whole_and_its_parts_are_counted_in_together():
    counts = {"bleeding": outside(3, 86, 3, 200), "blood-pocket": outside(0, 86, 1, 200)}
    parts = (("blood-pocket", "bleeding"),)
    found = told_counts(Tally(100, DAY, DAY, counts), LIBRARY, counts, parts)
    assert [each.counted_in for each in found.values()] == [True, True]
    apart = told_counts(Tally(100, DAY, DAY, counts), LIBRARY, counts)
    assert [each.counted_in for each in apart.values()] == [False, True]


def test_families_are_joined_however_their_pairs_stand():
    assert families([("a", "b"), ("c", "d"), ("b", "c")]) == [frozenset("abcd")]
    assert families([("a", "b"), ("c", "d")]) == [frozenset("ab"), frozenset("cd")]


# --- what is said of time -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("counts", "said"),
    [
        (Counts(3, 60, 60, 60), "at least"),
        (Counts(0, 60, 60, 60), "watching time"),  # none by any time is none by this one
        (counted_in(outside(0, 60, 1, 3)), "some time"),
        (Counts(3, 60, 60, 60, curve=curve(*[(3, SEEN)] * 3, *[(14, LEFT)] * 57)), "watching time"),
        (Counts(3, 60, 60, 60, curve=curve(*[(3, SEEN)] * 3, *[(9, LEFT)] * 9, *[(14, LEFT)] * 57)), "up to"),
    ],
)
def test_over_what_time_a_figure_is_said_to_be(counts, said):
    made = Tally(60, DAY, DAY, {"bruising": counts})
    assert own_rate(made, "bruising", "closest", days=14).over == said


def test_a_figure_by_days_is_printed_and_tested_by_its_share():
    counts = Counts(
        20,
        60,
        60,
        60,
        curve=curve(*[(3, SEEN)] * 10, *[(5, LEFT)] * 40, *[(10, SEEN)] * 10, *[(14, LEFT)] * 40),
    )
    rate = own_rate(Tally(60, DAY, DAY, {"bruising": counts}), "bruising", "closest", days=14)
    assert (rate.events, rate.n, rate.proportion) == (20, 100, 0.28)
    assert natural(*rate.ratio).number == 28
    events, n = rate.tested
    assert n < 100 and abs(events / n - 0.28) < 0.01
    assert replace(rate, risk=None).ratio == (20, 100)


# --- the clinician's record -----------------------------------------------------------------------


def recorded(counts: Counts) -> str:
    made = Tally(60, DAY, DAY, {"bruising": counts})
    return " / ".join(over_time(context({}), own_rate(made, "bruising", "closest", days=14)))


def test_the_record_says_what_was_seen_outside_and_whether_it_is_counted():
    assert "Not counted: 1 seen in 30 that were not" in recorded(outside(5, 86, 1, 30))
    assert "Counted in: 3 seen in 9 that were not" in recorded(counted_in(outside(1, 86, 3, 9)))
    assert "counted" not in recorded(outside(5, 86, 0, 30)).lower()


def test_the_record_says_by_which_days_and_how_many_were_treated_again():
    left = [(2, AGAIN)] * 5, [(5, SEEN)] * 20, [(7, LEFT)] * 15, [(14, LEFT)] * 20
    said = recorded(Counts(20, 40, 40, 40, curve=curve(*(each for some in left for each in some))))
    assert "33.3% by the end of the watching time" in said  # 55 / 60 * 20 / 55, by hand
    assert "20 seen in 60 watched unequally" in said and "5 were treated again first" in said
    assert "No day is known for some that were seen" in recorded(Counts(3, 60, 60, 60))
