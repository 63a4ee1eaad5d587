"""Techniques together, and techniques that may become necessary. Clinic, plans and counts are invented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.library import load_library
from consentpack.match import match
from consentpack.model import Bounds, Clinic, Counts, Plan, Rate, RateAnswer, ReadingRules
from consentpack.rates import answer_all
from consentpack.rates.intervals import wilson
from consentpack.register import Comparison, Tally, Window

LIBRARY = load_library(shipped.content())
FAN, CANNULA, FILLER = "needle-fan-one-entry", "blunt-cannula", "filler-after-release"
INJECTION, BLOCK = "local-infiltration", "nerve-block-face"
FIRST, LAST = date(2024, 1, 8), date(2026, 5, 4)

CLINIC = Clinic(
    name="Invented Clinic", address=("1 Invented Road",), phone="020 7946 0101",
    phone_out_of_hours="020 7946 0199", hours="9 to 5", emergency_number="999", language="en-GB",
    reading=ReadingRules(), window_months=36, care={}, audit_columns={}, audit_words={}, list_covers=(),
    date_order="year-first", register_url="", invented=True, site_groups={}, stratum_groups={},
)  # fmt: skip
PLAN = Plan(
    reference="INV-1", prepared=date(2026, 11, 20), language="en-GB", planned=(FAN, FILLER, INJECTION),
    site="left cheek", region="cheek",
    strata={"skin_type": "III"}, sessions=1, condition="invented", reason="invented",
    clinician="invented", clinician_role="invented",
)  # fmt: skip

Made = Mapping[frozenset[str], tuple[int, int]]


def answers(made: Made, plan: Plan = PLAN, outcome: str = "bruising") -> RateAnswer:
    """The answer for one outcome, where `made` gives events and treatments for some techniques.

    A comparison by site or skin, or one that `made` does not name, finds nothing.
    """

    def audit(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        anywhere = not comparison.sites and not comparison.strata
        events, n = made.get(comparison.techniques, (0, 0)) if anywhere else (0, 0)
        return Tally(n, FIRST, LAST, dict.fromkeys(watch_days, Counts(events, n, n, n)))

    return answer_all(plan, LIBRARY, CLINIC, match(plan, LIBRARY), audit)[outcome]


def only(*techniques: str) -> frozenset[str]:
    return frozenset(techniques)


# --- bounds ---------------------------------------------------------------------------------------


def rate(events: int, n: int) -> Rate:
    return Rate("bruising", events, n, wilson(events, n), "published", "treatments", "", "invented")


def some_rates():
    counts = st.integers(1, 5000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
    return st.lists(counts, min_size=2, max_size=5)


@given(some_rates())
def test_together_it_is_at_least_the_largest_and_at_most_the_sum_and_never_over_all(counts):
    found = Bounds(tuple((f"t-{at}", rate(*each)) for at, each in enumerate(counts)))
    shares = [events / n for events, n in counts]
    assert found.low == max(shares)
    assert found.high == pytest.approx(min(1, sum(shares)))
    assert found.low <= found.high <= 1


@given(some_rates())
def test_whatever_techniques_have_to_do_with_each_other_the_bounds_hold(counts):
    """Having nothing to do with each other is one of the many ways, and lies between the bounds."""
    found = Bounds(tuple((f"t-{at}", rate(*each)) for at, each in enumerate(counts)))
    none = 1.0
    for events, n in counts:
        none *= 1 - events / n
    assert found.low - 1e-12 <= 1 - none <= found.high + 1e-12


def test_without_enough_treatments_of_both_the_figure_names_its_one_technique_and_has_bounds():
    answer = answers({only(FAN, FILLER): (2, 9), only(FAN): (120, 200), only(FILLER): (40, 100)})
    assert answer.rate is not None and answer.rate.level == "lead-technique"
    assert answer.technique == FAN
    assert (answer.rate.events, answer.rate.n) == (120, 200)
    assert answer.bounds is not None
    assert [(id, part.events, part.n) for id, part in answer.bounds.parts] == [
        (FAN, 120, 200), (FILLER, 40, 100),
    ]  # fmt: skip
    assert (answer.bounds.low, answer.bounds.high) == (0.6, 1.0)


def test_a_figure_of_both_together_needs_no_bounds():
    answer = answers({only(FAN, FILLER): (60, 100), only(FAN): (120, 200), only(FILLER): (40, 100)})
    assert answer.rate is not None and answer.rate.level == "same-techniques"
    assert answer.bounds is None


def test_a_technique_without_a_figure_of_its_own_gives_no_bounds():
    answer = answers({only(FAN): (120, 200), only(FILLER): (4, 10)})
    assert answer.rate is not None and answer.rate.level == "lead-technique"
    assert answer.bounds is None


def test_one_technique_alone_has_no_bounds():
    plan = replace(PLAN, planned=(FAN, INJECTION))
    answer = answers({only(FAN): (120, 200)}, plan)
    assert answer.rate is not None and answer.bounds is None


def test_how_the_area_is_numbed_is_no_part_of_the_bounds_of_a_bruise():
    answer = answers({only(FAN): (120, 200), only(FILLER): (40, 100), only(INJECTION): (90, 100)})
    assert answer.bounds is not None
    assert INJECTION not in dict(answer.bounds.parts)


# --- techniques that may become necessary ---------------------------------------------------------

MAYBE = replace(PLAN, planned=(CANNULA, INJECTION), may_become_necessary=(FAN,))


def test_a_technique_that_may_become_necessary_has_its_own_figure_and_how_it_stands():
    answer = answers({only(CANNULA): (40, 100), only(CANNULA, FAN): (70, 100)}, MAYBE)
    assert answer.rate is not None and (answer.rate.events, answer.rate.n) == (40, 100)
    (found,) = answer.if_needed
    assert (found.technique, found.rate.events, found.rate.n) == (FAN, 70, 100)
    assert (found.rate.level, found.verdict) == ("same-techniques", "higher")


def test_where_both_together_are_too_few_it_is_the_figure_of_that_technique_alone():
    answer = answers({only(CANNULA): (40, 100), only(CANNULA, FAN): (7, 10), only(FAN): (45, 100)}, MAYBE)
    (found,) = answer.if_needed
    assert (found.rate.events, found.rate.n, found.rate.level) == (45, 100, "lead-technique")
    assert found.verdict == "cannot tell"


def test_where_nothing_may_be_quoted_with_it_there_is_no_line():
    answer = answers({only(CANNULA): (40, 100), only(CANNULA, FAN): (7, 10), only(FAN): (3, 12)}, MAYBE)
    assert answer.rate is not None and answer.if_needed == ()


def test_what_is_planned_for_certain_is_not_named_again_as_if_needed():
    answer = answers({only(FAN, FILLER): (60, 100), only(FAN): (120, 200)}, PLAN)
    assert answer.if_needed == ()
