"""Operators and sites against what their patients led one to expect. Library shipped, counts invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from courses import FAN
from test_together import CLINIC

from consentpack import shipped
from consentpack.library import load_library
from consentpack.rates.adjusting import adjusted_funnels, cell_namer, judged_by
from consentpack.rates.funnel import ALARM, ALERT, any_of, luck, place, place_adjusted
from consentpack.register import Part

LIBRARY = load_library(shipped.content())
SKIN = ("skin_type",)


def part(operator: str, skin: str, events: int, n: int, *, site: str = "chin") -> Part:
    return Part(frozenset({FAN}), operator, site, (skin,), {"bruising": (events, n)})


def funnels_of(parts, adjust_for=SKIN, cell_of=lambda part: part.strata):
    return {each.grouping: each for each in adjusted_funnels(LIBRARY, parts, cell_of, adjust_for)}


HARD_FOR_A = [
    part("A", "hard", 40, 80), part("A", "easy", 1, 20),
    part("B", "hard", 10, 20), part("B", "easy", 4, 80),
]  # fmt: skip
"""A and B do equally well with each kind; A has the hard ones."""


def test_who_treats_the_hard_ones_is_not_set_apart_for_it():
    found = funnels_of(HARD_FOR_A)["operator"]
    assert found.adjusted_for == SKIN and found.target == pytest.approx(55 / 200)
    a, b = found.places
    assert (a.group, a.events, a.n, a.state) == ("A", 41, 100, "inside")
    assert (b.group, b.events, b.n, b.state) == ("B", 14, 100, "inside")
    assert (a.expected, b.expected) == (pytest.approx(41), pytest.approx(14))
    assert place("A", 41, 100, 55 / 200).above(ALERT)  # without the kinds


def test_what_is_expected_of_all_together_is_what_was_seen():
    parts = [
        part(*row) for row in (("A", "I", 3, 50), ("A", "II", 9, 44), ("B", "I", 7, 61), ("B", "II", 1, 35))
    ]
    found = funnels_of(parts)["operator"]
    assert sum(each.expected or 0 for each in found.places) == pytest.approx(20)


def test_a_group_outside_is_outside_by_the_sum_of_its_own_risks():
    """10 of the hard and 10 of the easy: by simulation, nothing of ours."""
    mix = ((10, 0.5), (10, 0.05))
    random = np.random.default_rng(20261128)
    seen = random.binomial(10, 0.5, 400_000) + random.binomial(10, 0.05, 400_000)
    for events in range(21):
        share = (seen >= events).mean()
        found = place_adjusted("A", events, mix)
        if abs(share - 0.025) > 0.002 and abs(share - 0.001) > 0.0005:
            assert found.above(ALERT) == (share < 0.025) and found.above(ALARM) == (share < 0.001)


def test_a_site_is_not_explained_away_by_being_that_site():
    parts = [part("A", "I", 30, 60, site="chin"), part("A", "I", 5, 60, site="cheek")]
    found = funnels_of(parts, ("site",), lambda part: (part.site,))
    assert found["site"].adjusted_for == ()
    chin = next(each for each in found["site"].places if each.group == "chin")
    assert chin.expected == pytest.approx(60 * 35 / 120) and chin.state == "above 99.8%"


@pytest.mark.parametrize(
    "parts", [[], [part("A", "I", 9, 60)], [part("A", "I", 0, 60), part("B", "I", 0, 60)]]
)
def test_there_is_nothing_to_place_side_by_side(parts):
    assert "operator" not in funnels_of(parts)


def test_small_kinds_are_judged_together_and_very_few_by_all():
    counted = {("a",): (30, 100), ("b",): (5, 20), ("c",): (1, 15)}
    assert judged_by(counted) == {("a",): (30, 100), ("b",): (6, 35), ("c",): (6, 35)}
    assert judged_by({("a",): (30, 100), ("b",): (5, 20)})[("b",)] == (35, 120)


def test_a_kind_is_named_by_the_groups_that_the_clinic_compares():
    skin = {"skin_type": {"IV": "darker", "V": "darker"}}
    clinic = replace(CLINIC, site_groups={"left cheek": "cheeks"}, stratum_groups=skin)
    name = cell_namer(clinic, ("site", "skin_type"))
    assert name(["left cheek", "V"]) == ("cheeks", "darker")
    assert name(["heel", "not recorded"]) == ("heel", "not recorded")


# --- what chance brings ---------------------------------------------------------------------------


def test_the_chance_of_a_false_flag_is_that_of_a_simulation():
    """Twelve invented groups that are all alike, many times."""
    sizes = (12, 20, 35, 50, 80, 110, 140, 200, 260, 330, 400, 500)
    random, target, runs = np.random.default_rng(5), 0.1, 20_000
    for share in (ALERT, ALARM):
        told = luck((place(str(n), 0, n, target) for n in sizes), share)
        drawn = np.stack([random.binomial(n, target, runs) for n in sizes])
        above = np.zeros((len(sizes), runs), bool)
        for at, n in enumerate(sizes):
            outside = [place("", events, n, target).above(share) for events in range(n + 1)]
            above[at] = np.array(outside)[drawn[at]]
        assert told.groups == len(sizes)
        assert told.expected == pytest.approx(above.sum(axis=0).mean(), rel=0.1)
        assert told.chance == pytest.approx(above.any(axis=0).mean(), rel=0.1)


def test_a_group_too_small_to_be_placed_is_not_counted_among_those_looked_at():
    told = luck([place("A", 1, 5, 0.1), place("B", 3, 50, 0.1)], ALARM)
    assert told.groups == 1 and 0 < told.chance < 0.001
    assert told.chance == pytest.approx(told.expected)


def test_nobody_looked_at_is_no_chance():
    assert (any_of([]), luck([], ALARM).chance) == (0, 0)
