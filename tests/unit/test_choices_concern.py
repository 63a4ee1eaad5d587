"""The other choices, and what a circumstance changes, speak of this scar, this place and this plan."""

from __future__ import annotations

import re
from itertools import product

import pytest
from test_relevance import LIBRARY, plan

from consentpack.match import match
from consentpack.model import Plan
from consentpack.relevance import facts_of, narrow

LONGEST = 45
"""Words in one part of one choice: a table of ten choices is not read to its end (our own limit)."""


def offered(treatment: Plan) -> dict[str, dict[str, str]]:
    """Each other choice of a plan -> its sections as this patient reads them."""
    library = narrow(LIBRARY, facts_of(treatment, LIBRARY)).library
    ids = [found.id for found in match(treatment, library).options]
    return {id: said(library.options[id]) for id in ids}


def said(module) -> dict[str, str]:
    return {
        name: " ".join(item.text for block in blocks for item in block.items)
        for name, blocks in module.sections.items()
    }


def words_of(treatment: Plan) -> str:
    return " ".join(text for sections in offered(treatment).values() for text in sections.values())


@pytest.mark.parametrize(
    ("treatment", "other"),
    [
        (plan(), r"keloid|mole|growth|spot\b|raised scar may|12 to 24 months"),
        (plan("steroid-injection", indication="keloid", region="shoulder"), r"growth|sight|cold sore|\bdip"),
        (plan("steroid-injection", indication="raised", region="back"), r"growth|sight|cold sore|keloid may"),
        (plan("shave-removal", indication="spot"), r"keloid|thick scar|\bdip"),
        (plan("scar-excision", indication="stretched", region="back"), r"growth|cold sore|keloid"),
        (plan(region="back"), r"sight|stroke|cold sore|your lip"),
    ],
)
def test_a_choice_does_not_speak_of_another_scar_or_another_place(treatment, other):
    assert re.findall(other, words_of(treatment)) == []


def test_what_concerns_the_patient_stays():
    assert "it may grow" in words_of(plan("steroid-injection", indication="keloid", region="shoulder"))
    assert "skin cancer" in words_of(plan("shave-removal", indication="spot"))
    assert "sight for life" in words_of(plan())


@pytest.mark.parametrize("indication", sorted(LIBRARY.field.indications))
@pytest.mark.parametrize("gel", ["filler-after-release", "deep-support-filler"])
def test_a_gel_plan_always_offers_the_same_without_the_gel(gel, indication):
    assert "without-gel" in offered(plan("blunt-cannula", gel, indication=indication))
    assert "without-gel" not in offered(plan("blunt-cannula", indication=indication))


def test_no_part_of_a_choice_is_empty_or_longer_than_a_patient_reads():
    """Long, as each treatment is met with each kind of scar: an empty part shows in one pair only."""
    treats = [t.id for t in LIBRARY.techniques.values() if LIBRARY.treats(t)]
    for id, kind, place in product(treats, LIBRARY.field.indications, ("cheek", "back")):
        for type in ("II", "V"):
            drawn = plan(id, indication=kind, region=place, strata={"skin_type": type})
            for option, sections in offered(drawn).items():
                sizes = {name: len(text.split()) for name, text in sections.items()}
                assert all(0 < size <= LONGEST for size in sizes.values()), (id, kind, place, option, sizes)


NOT_PLANNED = r"laser|steroid inj|after the steroid|graft|\bgel\b|peel|stitch"


def test_a_circumstance_does_not_speak_of_what_is_not_planned():
    asked = plan(factors=tuple(LIBRARY.factors))
    library = narrow(LIBRARY, facts_of(asked, LIBRARY)).library
    for id, factor in library.factors.items():
        changes = said(factor)["What this changes"]
        asks_by_design = id == "sting-allergy"  # it says that no gel is planned
        assert asks_by_design or not re.findall(NOT_PLANNED, changes), (id, changes)


def test_every_circumstance_says_what_it_changes_whatever_is_planned():
    """May be long: a circumstance goes empty with one technique only."""
    for technique, place in product(LIBRARY.techniques, ("cheek", "back")):
        drawn = plan(technique, region=place, factors=tuple(LIBRARY.factors))
        for id, factor in narrow(LIBRARY, facts_of(drawn, LIBRARY)).library.factors.items():
            assert all(said(factor).values()), (technique, place, id)


def test_self_harm_and_a_heart_device_are_told_among_the_signs():
    assert "harming yourself" in " ".join(said(LIBRARY.warnings["low-mood"]).values())
    assert "low-mood" in LIBRARY.factors["body-image-distress"].warnings
    cut = plan("scar-excision", factors=("metal-or-pacemaker",), indication="stretched")
    release = plan(factors=("metal-or-pacemaker",))
    told = [
        "device-signs" in {found.id for found in match(each, library).warnings}
        for each in (cut, release)
        for library in [narrow(LIBRARY, facts_of(each, LIBRARY)).library]
    ]
    assert told == [True, False]  # current goes through the body only where bleeding is sealed by it
