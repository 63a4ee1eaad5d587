"""Figures drawn towards the wider group's: the published example, known truth, and the demo's own groups."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from scipy.stats import betabinom
from test_together import CLINIC, FAN, FILLER, INJECTION, LIBRARY, PLAN

from consentpack import pipeline
from consentpack.export.text import export_text
from consentpack.match import match
from consentpack.model import Counts, Rate, RateAnswer
from consentpack.pipeline.deciding import decide
from consentpack.pipeline.prepare import Wanted, prepare
from consentpack.pipeline.registers import existing_register
from consentpack.rates.counting import Counting, window_of
from consentpack.rates.intervals import wilson
from consentpack.rates.shrinking import FEWEST_GROUPS, LARGE, Prior, prior_of, shrunken_all
from consentpack.register import Part, Window, tally

BOTH = frozenset({FAN, FILLER})
COUNTS = st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


# --- the method -----------------------------------------------------------------------------------


@given(st.lists(COUNTS, min_size=4, max_size=25))
def test_the_strength_is_the_likeliest_by_scipy(groups):
    """Takes long: scipy looks for each three times."""
    prior = prior_of(groups)
    mean = sum(k for k, _ in groups) / sum(n for _, n in groups)
    assert prior.mean == pytest.approx(mean)
    if mean in (0, 1):
        return

    def unlikely(log: float) -> float:
        m = math.exp(log)
        return -sum(betabinom.logpmf(k, n, mean * m, (1 - mean) * m) for k, n in groups)

    best = min(
        (minimize_scalar(unlikely, bounds=span, method="bounded") for span in ((-2.3, 3), (2, 8), (7, 13.8))),
        key=lambda found: found.fun,
    )
    ours = math.log(min(prior.strength, 1e6))
    # far out the likelihood is flat: what counts is that nothing is likelier
    assert unlikely(ours) <= best.fun + 1e-3 * max(1.0, abs(best.fun))


def test_groups_that_are_all_alike_are_drawn_all_the_way():
    prior = prior_of([(10, 100)] * 8)
    assert prior.strength == math.inf and prior.own_weight(100) == 0 and prior.drawn(10, 100) == 0.1


@pytest.mark.parametrize("groups", [[(0, 30)] * 5, [(12, 12)] * 5])
def test_none_and_all_are_no_spread(groups):
    assert prior_of(groups).strength == math.inf


def test_groups_far_apart_keep_their_own():
    prior = prior_of([(5, 100), (90, 100), (30, 100), (60, 100), (10, 100)])
    assert prior.own_weight(100) > 0.9


@given(COUNTS, st.floats(0.01, 0.99), st.floats(0.5, 1e5))
def test_what_is_drawn_lies_between_its_own_figure_and_the_mean(counts, mean, strength):
    events, n = counts
    drawn = Prior(mean, strength).drawn(events, n)
    low, high = sorted((events / n, mean))
    assert low - 1e-12 <= drawn <= high + 1e-12
    # the mean of the beta distribution that the prior and the counts give together
    assert drawn == pytest.approx((mean * strength + events) / (strength + n))


def test_the_more_treatments_the_more_of_its_own():
    prior = Prior(0.2, 50)
    assert [prior.own_weight(n) for n in (10, 50, 450)] == pytest.approx([1 / 6, 0.5, 0.9])


def test_nobody_is_no_group():
    with pytest.raises(ValueError, match="is no proportion"):
        prior_of([(0, 0)])


def test_drawn_figures_lie_nearer_to_the_truth_than_the_groups_own():
    """200 invented clinics of twelve groups whose true shares are known."""
    random, own, drawn, pooled = np.random.default_rng(20261128), 0.0, 0.0, 0.0
    for _ in range(200):
        truth = random.beta(4, 16, 12)
        sizes = random.integers(8, 60, 12)
        groups = [(int(random.binomial(n, p)), int(n)) for n, p in zip(sizes, truth, strict=True)]
        prior = prior_of(groups)
        for (events, n), p in zip(groups, truth, strict=True):
            own += (events / n - p) ** 2
            drawn += (prior.drawn(events, n) - p) ** 2
            pooled += (prior.mean - p) ** 2
    assert drawn < 0.85 * own and drawn < 0.85 * pooled


# --- the groups of a plan -------------------------------------------------------------------------


def part(used: Iterable[str], site: str, skin: str, events: int, n: int) -> Part:
    return Part(frozenset(used), "", site, (skin,), {"bruising": (events, n)})


def of_bruising(parts: Sequence[Part], rates: Mapping[str, RateAnswer] | None = None, plan=PLAN):
    clinic = replace(CLINIC, site_groups={"left cheek": "cheeks", "right cheek": "cheeks"})
    source = lambda *_: parts  # noqa: E731
    return shrunken_all(plan, LIBRARY, clinic, match(plan, LIBRARY), rates or {}, source).get("bruising")


PARTS = [
    part((FAN, FILLER, INJECTION), "left cheek", "III", 6, 10),
    part((FAN, FILLER), "right cheek", "III", 2, 5),  # numbed otherwise, other cheek: the same group
    part((FAN, FILLER), "left cheek", "V", 1, 20),
    part((FAN,), "left cheek", "III", 3, 30),
    part((FAN, FILLER), "chin", "III", 4, 25),
    part(("blunt-cannula",), "left cheek", "III", 40, 40),  # without the leading technique
]


def test_the_closest_group_is_that_of_the_plan_and_the_others_are_its_kind():
    found = of_bruising(PARTS)
    assert found is not None
    assert (found.events, found.n) == (8, 15)
    assert (found.wider, found.groups) == ((16, 90), 4)
    prior = prior_of([(8, 15), (1, 20), (3, 30), (4, 25)])
    assert found.value == pytest.approx(prior.drawn(8, 15)) and 16 / 90 < found.value < 8 / 15
    assert found.own_weight == pytest.approx(prior.own_weight(15))


def test_with_too_few_groups_nothing_is_drawn_and_their_number_is_told():
    found = of_bruising(PARTS[:4])
    assert found is not None and found.groups == FEWEST_GROUPS - 1 and found.value is None


def test_where_nobody_was_watched_in_the_closest_group_there_is_nothing_to_draw():
    assert of_bruising(PARTS[2:]) is None


def test_of_what_nobody_had_no_figure_of_nought_is_drawn():
    assert of_bruising([replace(each, counts={"bruising": (0, 40)}) for each in PARTS]) is None


def test_a_stratum_that_nobody_recorded_parts_nobody():
    parts = [replace(each, strata=("not recorded",)) for each in PARTS]
    found = of_bruising(parts)
    assert found is not None and (found.events, found.n) == (9, 35)


def rated(n: int, level="closest") -> dict[str, RateAnswer]:
    counts = Counts(n // 10, n, n, n)
    day = PLAN.prepared
    rate = Rate("bruising", n // 10, n, wilson(n // 10, n), level, "treatments", "", "own audit", day, day,
                counts=counts)  # fmt: skip
    return {"bruising": RateAnswer("bruising", FAN, rate)}


def test_a_large_closest_group_speaks_for_itself_and_is_not_counted_again():
    assert of_bruising(PARTS, rated(LARGE)) is None
    assert of_bruising(PARTS, rated(LARGE - 1)) is not None
    assert of_bruising(PARTS, rated(LARGE, "lead-technique")) is not None


def test_a_clinic_without_an_audit_has_nothing_to_draw():
    assert shrunken_all(PLAN, LIBRARY, CLINIC, match(PLAN, LIBRARY), {}, None) == {}


# --- the demo -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def decided(place: pipeline.Workplace):
    prepared = prepare(place, place.folder / "plans" / "p-101.toml", Wanted(date(2026, 11, 25)))
    return prepared, decide(prepared)


def test_the_closest_group_is_the_one_that_the_ladder_counts(place, decided):
    """Counted by the register's own comparison, which shares nothing with the groups but the rows."""
    prepared, found = decided
    assert len(found.shrunken) > 10
    days = {id: place.library.outcome(id).watch_days for id in found.shrunken}
    counting = Counting(prepared.plan, place.library, place.clinic, None, days)
    window: Window = window_of(prepared.plan.prepared, place.clinic.window_months)
    with existing_register(place).connect() as connection:
        for m in (*found.matches.risks, *found.matches.benefits):
            if m.id in found.shrunken:
                each, ladder = found.shrunken[m.id], counting.ladder(m.techniques[:1])
                for (_, comparison), counted in (
                    (ladder[0], (each.events, each.n)), (ladder[-1], each.wider)
                ):  # fmt: skip
                    counts = tally(connection, comparison, window, {m.id: days[m.id]}).counts[m.id]
                    assert (counts.events, counts.watched) == counted


def test_the_record_says_both_beside_each_other(packs):
    record = next(d for d in packs["p-101"].documents if d.kind == "record")
    said = export_text(record)
    assert "Closest group by itself: 19 of 54 (35.2%); drawn towards all with the leading technique" in said
    assert "The groups differ by no more than chance." in said
    assert "of that is from the group itself." in said
