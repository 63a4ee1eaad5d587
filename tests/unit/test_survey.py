"""Every technique beside every outcome, and across operators and sites.

Library and rules are the shipped ones; counts are invented.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.library import load_library
from consentpack.model import Counts
from consentpack.rates.compare import verdict
from consentpack.rates.intervals import wilson
from consentpack.rates.survey import GROUPINGS, Line, funnels, outcomes_of, survey
from consentpack.register import Comparison, Grouping

LIBRARY = load_library(shipped.content())
FAN, CANNULA, INJECTION = "needle-fan-one-entry", "blunt-cannula", "local-infiltration"

OUTCOMES = sorted(LIBRARY.outcomes)
Each = Mapping[frozenset[str], Mapping[str, Counts]]


def counted(events: int, n: int) -> Counts:
    return Counts(events, n, n, n)


def all_alike(events: int, n: int) -> dict[str, Counts]:
    return dict.fromkeys(OUTCOMES, counted(events, n))


def line(each: Each, technique: str, outcome: str) -> Line:
    (found,) = [x for x in survey(LIBRARY, each) if (x.technique, x.outcome) == (technique, outcome)]
    return found


# --- the sheet ------------------------------------------------------------------------------------


def test_there_is_a_line_for_each_technique_and_each_outcome_it_can_have():
    lines = survey(LIBRARY, {})
    expected = [(t.id, outcome) for t in LIBRARY.techniques.values() for outcome in outcomes_of(t)]
    assert [(x.technique, x.outcome) for x in lines] == expected
    assert all(x.interval is None and not x.quotable and x.verdict is None for x in lines)
    assert {x.why_not for x in lines} == {"no treatment was watched for this"}


def test_a_line_counts_the_technique_in_every_combination_and_no_other_treatment():
    each = {
        frozenset({FAN}): all_alike(10, 40),
        frozenset({FAN, INJECTION}): all_alike(20, 60),
        frozenset({CANNULA, INJECTION}): all_alike(5, 100),
    }
    found = line(each, FAN, "bruising")
    assert found.counts == counted(30, 100)
    assert found.interval == wilson(30, 100)
    assert found.quotable and found.why_not == ""


def test_a_line_that_is_too_thin_is_shown_with_the_reason():
    found = line({frozenset({FAN}): all_alike(3, 12)}, FAN, "bruising")
    assert found.counts == counted(3, 12) and not found.quotable
    assert found.why_not == "only 12 treatments; at least 30 are needed"


def test_the_own_figure_stands_beside_the_published_one_even_when_it_is_higher():
    # the published figure of infections after needle release is the library's own
    found = line({frozenset({FAN}): all_alike(30, 200)}, FAN, "infection")
    assert found.published is not None
    assert found.verdict == "higher" == verdict(30, 200, found.published.events, found.published.n)


def test_an_outcome_without_a_printed_figure_has_no_verdict():
    found = line({frozenset({FAN}): all_alike(30, 100)}, FAN, "bruising")
    assert found.published is None and found.verdict is None


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.sets(st.sampled_from(sorted(LIBRARY.techniques)), min_size=1), st.integers(0, 90)))
)
def test_the_sheet_adds_up_whatever_was_done_together(made):
    each: dict[frozenset[str], dict[str, Counts]] = {}
    for used, events in made:
        each[frozenset(used)] = all_alike(events, 90)
    for found in survey(LIBRARY, each):
        mine = [counts[found.outcome] for used, counts in each.items() if found.technique in used]
        assert found.counts.events == sum(counts.events for counts in mine)
        assert found.counts.watched == 90 * len(mine)


# --- across operators and sites -------------------------------------------------------------------


def groups_of(made: Mapping[str, tuple[int, int]]):
    def groups(grouping: Grouping, comparison: Comparison, outcome: str):
        mine = grouping == "operator" and comparison.techniques == {FAN} and outcome == "bruising"
        return made if mine else {}

    return groups


def test_groups_stand_round_the_figure_of_all_together_in_the_order_they_came():
    (found,) = funnels(LIBRARY, groups_of({"B": (10, 100), "A": (40, 100), "C": (1, 2)}))
    assert (found.technique, found.outcome, found.grouping) == (FAN, "bruising", "operator")
    assert found.target == pytest.approx(51 / 202)
    assert [(p.group, p.state) for p in found.places] == [
        ("B", "below 99.8%"), ("A", "above 99.8%"), ("C", "too few"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "made",
    [{}, {"A": (10, 100)}, {"A": (0, 100), "B": (0, 50)}, {"A": (10, 100), "B": (0, 0)}],
    ids=["nobody", "one alone", "no event", "one never watched"],
)
def test_there_is_nothing_to_place_side_by_side(made):
    assert list(funnels(LIBRARY, groups_of(made))) == []


def test_an_outcome_that_everybody_had_sets_nobody_apart():
    (found,) = funnels(LIBRARY, groups_of({"A": (30, 30), "B": (12, 12)}))
    assert found.target == 1 and {place.state for place in found.places} == {"inside"}


def test_operators_and_sites_are_both_looked_at():
    asked = set()

    def groups(grouping: Grouping, comparison: Comparison, outcome: str):
        asked.add((grouping, *comparison.techniques, outcome))
        return {}

    assert list(funnels(LIBRARY, groups)) == []
    assert {(g, FAN, "bruising") for g in GROUPINGS} <= asked
