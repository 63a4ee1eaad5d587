"""Figures at their borders: what is exactly on a line, and what two techniques share.

Each states one rule that no other test notices the loss of. Counts are invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

import pytest
from test_together import CANNULA, CLINIC, FAN, FILLER, LIBRARY, MAYBE, PLAN, answers, only

from consentpack.library import Library
from consentpack.match import match
from consentpack.model import Counts, PublishedRate, WatchRules
from consentpack.rates import answer_all, compare_newer, cusum
from consentpack.rates.compare import Comparing, difference, verdict
from consentpack.rates.counting import alone, window_of, without
from consentpack.rates.cusum import signals, weights
from consentpack.rates.exact_test import greater
from consentpack.rates.funnel import FEWEST
from consentpack.rates.reliability import followed_up, loss_warns
from consentpack.rates.sessions import at_least_once
from consentpack.rates.survey import funnels, outcomes_of, watch
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


def test_a_sum_that_reaches_the_limit_signals(monkeypatch):
    step = weights(0.1, 2).seen
    monkeypatch.setattr(cusum, "limit_for", lambda *_: step + step + step)
    series = [(DAY + timedelta(days=n), True) for n in range(4)]
    (found,) = signals(series, baseline=0.1, odds_ratio=2, length=1000)
    assert (found.day, found.since, found.events, found.treatments) == (series[2][0], DAY, 3, 3)
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
    rules, windows = WatchRules(DAY, 2, 1000), []

    def audit(comparison, window, watch_days):
        windows.append(window)
        return Tally(200, DAY, DAY, dict.fromkeys(watch_days, counted(40, 200)))

    def series(comparison, window, outcome, days):
        windows.append(window)
        return []

    today = DAY + timedelta(days=90)
    found, left = watch(LIBRARY, audit, series, rules, today)
    assert found and not left and {each.since for each in found} == {0}
    assert {w.last for w in windows} == {DAY, today}
    assert {w.first for w in windows if w.last == today} == {DAY + timedelta(days=1)}
