"""May this be done at all? The shipped rules against plans, and what nobody asked about."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_relevance import LIBRARY, plan

from consentpack.model import STRENGTHS
from consentpack.suitability import findings, not_asked, refused, with_implied, would_matter

PREGNANT = plan(
    "peel-medium", "laser-ablative-fractional", "dermabrasion-mechanical", "nerve-block-face",
    factors=("pregnancy", "active-acne-infection"),
)  # fmt: skip


def test_a_peel_a_laser_and_dermabrasion_in_pregnancy_with_an_infection_are_refused_one_by_one():
    found = findings(PREGNANT, LIBRARY)
    stopped = {each.rule.id for each in found if each.stops}
    assert stopped >= {
        "pregnancy-strong-acid", "pregnancy-surface", "infection-peel", "infection-open", "one-surface",
        "one-open",
    }  # fmt: skip
    problems = refused(found, PREGNANT)
    assert len(problems) == len(stopped)
    assert all(
        problem.what.startswith("not together: ") and "[reasons." in problem.fix for problem in problems
    )


def test_the_strongest_come_first():
    order = [STRENGTHS.index(each.rule.strength) for each in findings(PREGNANT, LIBRARY)]
    assert order == sorted(order)


def test_a_reason_needs_a_name_and_words():
    bare = plan(factors=("keloid-tendency",))
    rule = "keloid-release"
    for reasons, stops in (
        ({}, True),
        ({rule: {"why": "Small test area first."}}, True),
        ({rule: {"by": "Dr Invented"}}, True),
        ({rule: {"by": "Dr Invented", "why": "Small test area first."}}, False),
    ):
        (found,) = [f for f in findings(replace(bare, reasons=reasons), LIBRARY) if f.rule.id == rule]
        assert found.stops is stops


@pytest.mark.parametrize("type", ["V", "VI"])
def test_dark_skin_sets_what_follows_from_it_without_a_second_entry(type):
    implied = with_implied(plan(strata={"skin_type": type}), LIBRARY)
    assert implied.factors == ("darker-skin",)
    assert with_implied(implied, LIBRARY) == implied
    assert with_implied(plan(strata={"skin_type": "III"}), LIBRARY).factors == ()


def test_near_the_eye_a_blood_thinner_stops_a_release_and_elsewhere_it_is_talked_of():
    near = findings(plan(region="near-eye", factors=("blood-thinners",)), LIBRARY)
    assert "thinners-eye" in {f.rule.id for f in near if f.stops}
    cheek = findings(plan(factors=("blood-thinners",)), LIBRARY)
    assert {f.rule.id: f.rule.strength for f in cheek}["thinners-release"] == "talk-first"
    assert not [f for f in cheek if f.stops]


def test_a_technique_that_may_become_necessary_counts_towards_the_most_of_one_visit():
    maybe = plan("microneedling", may_become_necessary=("peel-superficial",))
    assert "one-surface" in {f.rule.id for f in findings(maybe, LIBRARY)}
    assert "one-surface" not in {f.rule.id for f in findings(plan("microneedling"), LIBRARY)}


def test_what_nobody_asked_about_is_listed_and_what_was_asked_is_not():
    asked = plan(factors=("smoking",), asked=("pregnancy",))
    left = {factor.id for factor in not_asked(asked, LIBRARY)}
    assert left == set(LIBRARY.factors) - {"smoking", "pregnancy", "darker-skin"}  # the last follows


def test_of_what_nobody_asked_about_what_a_rule_depends_on_is_named():
    unasked = not_asked(plan(), LIBRARY)
    matter = {factor.id for factor in would_matter(unasked, plan(), LIBRARY)}
    assert {"pregnancy", "blood-thinners", "keloid-tendency", "active-acne-infection"} <= matter
    assert "sting-allergy" not in matter  # no gel is planned


def test_there_are_at_least_sixty_rules_each_with_a_source_and_each_can_speak():
    assert len(LIBRARY.suitability) >= 60
    for rule in LIBRARY.suitability.values():
        assert rule.sources and set(rule.sources) <= set(LIBRARY.sources), rule.id
