"""Figures at their borders: what is exactly on a line, and what two techniques share.

Each states one rule that no other test notices the loss of. Counts are invented.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from courses import course_of
from test_together import CANNULA, CLINIC, FAN, FILLER, LIBRARY, MAYBE, PLAN, answers, only

from consentpack.library import Library
from consentpack.match import match
from consentpack.model import Counts, PublishedRate, WatchRules
from consentpack.rates import answer_all, compare_newer
from consentpack.rates.beside import pairs
from consentpack.rates.compare import Comparing, difference, ratio, verdict
from consentpack.rates.counting import Counting, alone, window_of, without
from consentpack.rates.cusum import chart, limit_for
from consentpack.rates.exact_test import differ, greater
from consentpack.rates.funnel import FEWEST, limits, place
from consentpack.rates.reliability import followed_up, loss_warns
from consentpack.rates.sessions import at_least_once
from consentpack.rates.survey import funnels, outcomes_of
from consentpack.rates.watching import watch
from consentpack.register import Comparison, Tally, Window

DAY = date(2026, 3, 2)


def counted(events: int, n: int, due: int | None = None) -> Counts:
    return Counts(events, n, n if due is None else due, n)


# --- loss, and sessions ---------------------------------------------------------------------------


@pytest.mark.parametrize(("lost", "warns", "ok"), [(4, False, True), (5, True, True), (20, True, True),
                                                   (21, True, False)])  # fmt: skip
def test_from_5_to_20_of_100_lost_warns_and_more_blocks(lost, warns, ok):
    """'5 and 20' (Sackett): both borders belong to what is warned of."""
    counts = Counts(10, 100 - lost, 100, 100 - lost)
    assert loss_warns(counts) is warns
    assert followed_up(counts).ok is ok
    assert bool(followed_up(counts).warning) is (warns and ok)


def test_where_nothing_is_due_nothing_is_lost():
    assert not loss_warns(Counts(1, 1, 0, 0))
    assert loss_warns(Counts(0, 0, 1, 0))  # the only one that was due is lost


def test_over_several_sessions_it_is_the_chance_of_at_least_one():
    assert at_least_once(0.1, 1) == pytest.approx(0.1)
    assert at_least_once(0.5, 3) == 1 - 0.5 * 0.5 * 0.5  # all but three times not
    assert (at_least_once(0.0, 6), at_least_once(1.0, 6)) == (0.0, 1.0)


# --- two proportions ------------------------------------------------------------------------------


@pytest.mark.parametrize("n_a", [1, 2, 30, 100_000])
@pytest.mark.parametrize("n_b", [1, 7, 100_000])
def test_a_difference_stays_between_minus_1_and_1_without_being_cut(n_a, n_b):
    for events_a in {0, 1, n_a - 1, n_a}:
        for events_b in {0, 1, n_b - 1, n_b}:
            found = difference(events_a, n_a, events_b, n_b)
            assert -1 <= found.low <= found.value <= found.high <= 1


def test_a_chance_that_is_just_over_5_percent_tells_nothing_apart():
    assert verdict(1, 1, 0, 18) == "mixed"  # 1 in 19; the difference alone tells them apart
    assert verdict(1, 1, 0, 20) == "higher"  # 1 in 21
    assert verdict(0, 20, 1, 1) == "lower"


def test_agreeing_takes_both_ends_within_5_in_100():
    assert verdict(100, 10_000, 100, 10_000) == "agrees"
    assert verdict(10, 100, 10, 100) == "cannot tell"
    # the interval reaches from -1 to over 5 in 100, or the other way round
    assert verdict(30, 1_000, 6, 300) == verdict(29, 1_000, 9, 300) == "agrees"
    assert verdict(7, 120, 6, 300) == verdict(6, 300, 7, 120) == "mixed"
    assert verdict(5, 120, 6, 300) == verdict(6, 300, 5, 120) == "cannot tell"


def test_the_two_groups_are_named_in_the_order_they_are_compared():
    one = Comparing("a", "b", "x", counted(50, 100), counted(10, 100))
    assert one.verdict() == "higher"
    assert one.difference().value == pytest.approx(0.4)
    ratio = one.ratio()
    assert ratio is not None and ratio[0] == pytest.approx(5)


@pytest.mark.parametrize(("a", "b", "both"), [(100, 100, True), (100, 9, False), (9, 100, False)])
def test_a_comparison_is_quoted_only_when_both_its_figures_may_be(a, b, both):
    assert Comparing("a", "b", "x", counted(a // 2, a), counted(b // 2, b)).quotable is both


@pytest.mark.parametrize(("a", "b", "both"), [(1, 1, True), (1, 0, False), (0, 1, False)])
def test_there_is_something_to_compare_only_when_both_were_watched(a, b, both):
    assert Comparing("a", "b", "x", counted(0, a), counted(0, b)).watched is both


@pytest.mark.parametrize(("n", "said"), [(280, "cannot tell"), (290, "agrees"), (340, "agrees")])
def test_agreeing_begins_at_5_in_100(n, said):
    """One in ten twice; statsmodels ('newcomb') has the upper ends 5.05, 4.96 and 4.57 in 100."""
    assert verdict(n // 10, n, n // 10, n) == said


def test_a_ratio_by_hand():
    """Katz 1978: ln 2 plus or minus 1.96 times the root of 1/20 - 1/100 + 1/10 - 1/100, which is 0.3606."""
    found = ratio(20, 100, 10, 100)
    assert found is not None
    assert found[0] == pytest.approx(2)
    assert (found[1].low, found[1].high) == (pytest.approx(0.9866, abs=5e-4), pytest.approx(4.0545, abs=2e-3))


def test_a_chance_is_never_over_1_although_its_parts_are_rounded():
    """Summed up in floating point the chances of these tables come to 1.0000000000001228."""
    assert greater(0, 36, 34, 34) <= 1 >= differ(26, 36, 34, 34)
    for counts in ((0, 1, 1, 1), (26, 36, 34, 34), (0, 36, 34, 34), (18, 36, 17, 34)):
        assert greater(*counts) <= 1 and differ(*counts) <= 1


def test_the_exact_chance_counts_tables_at_both_ends():
    """5 of 6 beside 1 of 2: with six events, no fewer than four can be in the first group."""
    assert greater(4, 6, 2, 2) == pytest.approx(1)
    assert greater(6, 6, 0, 2) == pytest.approx(1 / 28)  # one of C(8, 6) ways


# --- which treatments are compared ----------------------------------------------------------------


def test_two_techniques_beside_each_other_share_no_treatment():
    newer_only = without("newer", "other")
    assert newer_only.techniques == {"newer"} and newer_only.scope == {"newer", "other"}
    assert alone("newer").scope == {"newer"}


def test_a_period_ends_on_the_last_day_of_a_shorter_month():
    assert window_of(date(2026, 3, 31), 1) == Window(date(2026, 2, 28), date(2026, 3, 31))
    assert window_of(date(2024, 3, 31), 1).first == date(2024, 2, 29)
    assert window_of(date(2026, 1, 15), 1).first == date(2025, 12, 15)
    assert window_of(date(2026, 12, 31), 36).first == date(2023, 12, 31)


def newer_library() -> Library:
    """FAN is newer than CANNULA; each has an outcome that the other has not."""
    fan = replace(
        LIBRARY.techniques[FAN], standing="newer", established_alternative=CANNULA,
        risks=("bruising", "infection"), benefits=(),
    )  # fmt: skip
    cannula = replace(LIBRARY.techniques[CANNULA], risks=("bruising", "bleeding"), benefits=())
    return replace(LIBRARY, techniques={**LIBRARY.techniques, FAN: fan, CANNULA: cannula})


def test_a_newer_technique_is_compared_by_what_both_can_have_and_by_treatments_of_one_alone():
    library, plan, asked = newer_library(), replace(PLAN, planned=(FAN,)), []

    def audit(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        asked.append((comparison, set(watch_days)))
        events = 50 if comparison.techniques == {FAN} else 20
        return Tally(100, DAY, DAY, dict.fromkeys(watch_days, counted(events, 100)))

    (found,) = compare_newer(plan, library, CLINIC, match(plan, library), audit)
    assert (found.first, found.second, found.outcome) == (FAN, CANNULA, "bruising")
    assert (found.first_counts.events, found.second_counts.events) == (50, 20)
    assert found.rates is not None and [rate.events for rate in found.rates] == [50, 20]
    assert asked == [(without(FAN, CANNULA), {"bruising"}), (without(CANNULA, FAN), {"bruising"})]


def test_without_an_audit_no_newer_technique_is_compared():
    library, plan = newer_library(), replace(PLAN, planned=(FAN,))
    assert compare_newer(plan, library, CLINIC, match(plan, library), None) == ()


def seen_in(made: Mapping[Comparison, tuple[int, int]]):
    def audit(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        events, n = made.get(comparison, (0, 0))
        return Tally(n, DAY, DAY, dict.fromkeys(watch_days, counted(events, n)))

    return audit


@pytest.mark.parametrize(("fan", "cannula"), [((50, 100), (2, 9)), ((2, 9), (50, 100)), ((50, 100), (0, 0))])
def test_a_newer_technique_is_not_compared_where_one_of_the_two_figures_may_not_be_quoted(fan, cannula):
    library, plan = newer_library(), replace(PLAN, planned=(FAN,))
    audit = seen_in({without(FAN, CANNULA): fan, without(CANNULA, FAN): cannula})
    assert compare_newer(plan, library, CLINIC, match(plan, library), audit) == ()


@pytest.mark.parametrize(("a", "b"), [((1, 2), (0, 0)), ((0, 0), (1, 2)), ((0, 0), (0, 0))])
def test_where_nothing_was_watched_of_one_of_two_neither_has_a_rate(a, b):
    audit = seen_in({without("a", "b"): a, without("b", "a"): b})
    (found,) = pairs("a", "b", {"x": 14}, LIBRARY, audit, Window(DAY, DAY))
    assert found.rates is None
    assert (found.first, found.second, found.outcome) == ("a", "b", "x")
    assert (found.first_counts, found.second_counts) == (counted(*a), counted(*b))


def test_two_that_were_watched_have_their_rates_with_the_time_they_were_watched_for():
    audit = seen_in({without("a", "b"): (1, 2), without("b", "a"): (2, 2)})
    first, second = pairs("a", "b", {"x": 14, "y": 180}, LIBRARY, audit, Window(DAY, DAY))
    assert first.rates is not None and second.rates is not None
    assert [(r.events, r.n, r.level, r.follow_up) for r in first.rates] == [
        (1, 2, "lead-technique", "14 days"), (2, 2, "lead-technique", "14 days"),
    ]  # fmt: skip
    assert {rate.follow_up for rate in second.rates} == {"180 days"}


def test_a_comparison_is_a_value_however_its_groups_are_written():
    """What is counted already is found by its comparison."""
    assert hash(without("a", "b")) == hash(without("a", "b")) and hash(alone("a")) == hash(alone("a"))
    groups = {"right cheek": "cheeks", "chin": "chin", "left cheek": "cheeks"}
    clinic = replace(
        CLINIC, site_groups=groups, stratum_groups={"skin_type": {"IV": "b", "III": "a", "II": "a"}}
    )
    plan = replace(PLAN, planned=(CANNULA,), strata={"skin_type": "III"})
    (bruise,) = [each for each in match(plan, LIBRARY).risks if each.id == "bruising"]

    def closest(plan) -> Comparison:
        return Counting(plan, LIBRARY, clinic, None, {}).comparisons(bruise)[0][1]

    assert closest(plan).sites == ("left cheek", "right cheek")
    assert closest(plan).strata == (("skin_type", ("II", "III")),)
    assert closest(replace(plan, strata={"skin_type": "V"})).strata == (("skin_type", ("V",)),)
    assert closest(replace(plan, strata={"skin_type": ""})).strata == ()
    assert closest(replace(plan, site="lip")).sites == ("lip",)


def test_a_stratum_the_field_no_longer_has_is_named_by_its_id():
    plan = replace(PLAN, planned=(CANNULA,))

    def audit(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        counts = dict.fromkeys(watch_days, counted(40, 100))
        return Tally(100, DAY, DAY, counts, ("skin_type", "an-old-one"))

    answer = answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), audit)["bruising"]
    assert answer.without == (
        "compared without skin type: the register holds none",
        "compared without an-old-one: the register holds none",
    )


# --- the ladder -----------------------------------------------------------------------------------


def asked_of(plan, made) -> list[tuple[Comparison, frozenset[str]]]:
    """Every question put to an audit, for one plan."""
    asked = []

    def audit(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        asked.append((comparison, frozenset(watch_days)))
        events, n = made.get(comparison.techniques, (0, 0))
        return Tally(n, DAY, DAY, dict.fromkeys(watch_days, counted(events, n)))

    answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), audit)
    return asked


def test_every_comparison_is_counted_in_one_pass_for_all_its_outcomes():
    """With a large register each pass takes seconds."""
    made = {only(CANNULA): (40, 100), only(CANNULA, FAN): (70, 100), only(FAN): (50, 100)}
    asked = asked_of(MAYBE, made)
    times: dict[Comparison, int] = {}
    for comparison, _ in asked:
        times[comparison] = times.get(comparison, 0) + 1
    together = Comparison(only(CANNULA, FAN), frozenset(LIBRARY.treating))
    assert times[together] <= 2  # what FAN brings is asked by a rung and for what may become necessary
    assert max(times.values()) <= 2


def test_an_outcome_is_counted_only_in_comparisons_of_techniques_that_bring_it():
    numbing = set(LIBRARY.anaesthetics)
    for comparison, outcomes in asked_of(replace(PLAN, planned=(CANNULA, "local-infiltration")), {}):
        (lead,) = comparison.techniques
        mine = set(outcomes_of(LIBRARY.techniques[lead]))
        assert set(outcomes) <= mine, (lead, set(outcomes) - mine)
        assert comparison.scope in ({lead}, numbing, set(LIBRARY.treating))


def test_without_an_audit_what_may_become_necessary_breaks_nothing():
    answer = answer_all(MAYBE, LIBRARY, CLINIC, match(MAYBE, LIBRARY), None)["bruising"]
    assert (answer.if_needed, answer.without) == ((), ())
    assert answer.rejected[0].why == "this clinic keeps no audit"


def test_the_figure_with_both_together_goes_before_that_of_the_added_technique_alone():
    answer = answers({only(CANNULA): (40, 100), only(CANNULA, FAN): (70, 100), only(FAN): (10, 100)}, MAYBE)
    (found,) = answer.if_needed
    assert (found.rate.level, found.rate.events, found.verdict) == ("same-techniques", 70, "higher")


def test_what_is_the_quoted_figure_already_is_not_said_again_as_if_needed():
    only_fan = [o for o in LIBRARY.techniques[FILLER].risks if o not in LIBRARY.techniques[CANNULA].risks]
    plan = replace(MAYBE, may_become_necessary=(FILLER,))
    answer = answers({only(CANNULA, FILLER): (40, 100)}, plan, only_fan[0])
    assert answer.rate is not None and (answer.rate.events, answer.rate.n) == (40, 100)
    assert answer.if_needed == ()


def test_of_a_technique_that_only_may_become_necessary_there_are_no_bounds():
    only_filler = [o for o in LIBRARY.techniques[FILLER].risks if o not in LIBRARY.techniques[CANNULA].risks]
    plan = replace(MAYBE, may_become_necessary=(FILLER,))
    answer = answers({only(FILLER): (40, 100), only(CANNULA): (40, 100)}, plan, only_filler[0])
    assert answer.rate is not None and answer.rate.level == "lead-technique"
    assert answer.bounds is None


def test_the_clinics_own_figure_is_the_one_that_is_higher_or_lower():
    printed = next(r for r in LIBRARY.published if r.quotable and not r.factor and published(r))
    assert printed.n and printed.events is not None
    high, low = round(250 * printed.events / printed.n) + 100, 0
    verdicts = [own_beside(printed, events, 500) for events in (2 * high, low)]
    assert verdicts == ["higher", "lower"]


def published(printed: PublishedRate) -> bool:
    """Whether a printed figure is of a treatment and is quoted beside the clinic's own."""
    if printed.technique not in LIBRARY.treating or not printed.n or not printed.events:
        return False
    return printed.outcome in outcomes_of(LIBRARY.techniques[printed.technique]) and (
        0.1 < printed.events / printed.n < 0.4 and own_beside(printed, 400, 500) is not None
    )


def own_beside(printed: PublishedRate, events: int, n: int) -> str | None:
    plan = replace(PLAN, planned=(printed.technique,))
    return answers({only(printed.technique): (events, n)}, plan, printed.outcome).verdict


# --- over time, and side by side ------------------------------------------------------------------


def test_a_sum_that_reaches_the_limit_signals():
    days, risks = np.arange(4) + DAY.toordinal(), np.full(4, 0.1)
    reached = float(np.cumsum(np.full(3, math.log(2) - math.log1p(0.1)))[-1])
    (found,) = chart(days, np.full(4, True), risks, odds_ratio=2, limit=reached).signals
    assert (found.day, found.since, found.events, found.treatments) == (DAY + timedelta(days=2), DAY, 3, 3)
    assert found.expected == pytest.approx(0.3)


def test_two_groups_of_ten_are_enough_to_be_set_side_by_side():
    def groups(n: int):
        def found(grouping, comparison, outcome):
            one = grouping == "site" and comparison == alone(FAN) and outcome == "bruising"
            return {"chin": (5, n), "lip": (1, n), "nobody": (0, 0)} if one else {}

        return list(funnels(LIBRARY, found))

    (made,) = groups(FEWEST)
    assert (made.technique, made.outcome, made.grouping, made.target) == (FAN, "bruising", "site", 0.3)
    assert [place.group for place in made.places] == ["chin", "lip"]
    assert groups(FEWEST - 1) == []


def test_what_is_watched_begins_on_the_day_after_the_baseline():
    course = course_of([(DAY, n % 5 == 0) for n in range(200)] + [(DAY + timedelta(days=1), False)])
    found, _ = watch(LIBRARY, course, WatchRules(DAY, 2, 1000))
    assert [(each.outcome, each.events, each.n, each.since) for each in found] == [("bruising", 40, 200, 1)]


def test_a_limit_is_found_in_halves_so_that_alike_baselines_share_it_to_the_last_digit():
    """The search goes from whole limits by halves to under 0.005: 1/256; under 1 it begins at 0.01."""
    for baseline, length in ((0.1, 1000), (0.05, 1000), (0.3, 100)):
        limit = limit_for(baseline, 2, length)
        assert limit > 1 and (limit * 256).is_integer()
    low = (limit_for(0.9, 2, 10) - 0.01) / 0.99 * 256
    assert low == pytest.approx(round(low), abs=1e-9) and low == pytest.approx(78)


# --- a funnel -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("n", "share", "low", "high"),
    [
        # two treatments at one in two: none, one and two are seen in 1, 2 and 1 of 4
        (2, 0.8, 0.0, 0.8),  # 90% is reached within the third quarter: 2 less 0.1 of 0.25
        (2, 0.0, 0.25, 0.25),  # one half is the middle of the second: 1 less 0.25 of 0.5
        (2, 0.5, 0.0, 0.5),  # one and three quarters are reached exactly
        # four at one in two: 1, 4, 6, 4 and 1 of 16
        (4, 0.5, 0.1875, 0.5625),
        (4, 0.25, (2 - 5 / 6) / 4, (2 - 1 / 6) / 4),  # 6 and 10 of 16 both lie in the third
    ],
)
def test_a_limit_lies_between_two_counts_as_far_as_the_chance_does(n, share, low, high, monkeypatch):
    """By hand: the smallest count that reaches the chance, less the part of its own that is too much."""
    assert limits(0.5, n, share) == (pytest.approx(low), pytest.approx(high))
    for start in (0.0, 1.0, float(n)):  # wherever the search begins
        monkeypatch.setattr("scipy.special.bdtrik", lambda *_, start=start: start)
        assert limits(0.5, n, share) == (pytest.approx(low), pytest.approx(high))


def test_limits_of_nobody_are_refused_with_their_count():
    with pytest.raises(ValueError, match="0 of 0 is no proportion"):
        limits(0.5, 0, 0.95)


@pytest.mark.parametrize(
    ("events", "n", "state"),
    [  # tails beside 10 in 100 by scipy.stats.binom
        (1, 100, "below 99.8%"),  # .0003
        (2, 100, "below 95%"),  # .0019
        (4, 100, "below 95%"),  # .0237
        (5, 100, "inside"),  # .0576
        (16, 100, "inside"),  # .0399
        (17, 100, "above 95%"),  # .0206
        (20, 100, "above 95%"),  # .0020
        (21, 100, "above 99.8%"),  # .0008
        (0, 10, "inside"),
        (10, 10, "above 99.8%"),
        (9, 9, "too few"),
        (0, 9, "too few"),
    ],
)
def test_where_a_group_stands_is_said_with_its_own_counts(events, n, state):
    found = place("A", events, n, 0.1)
    assert (found.group, found.events, found.n, found.state) == ("A", events, n, state)
    assert found.expected is None
