"""The second shipped field: any plan of it gives a sound pack, by the very properties of the first."""

from __future__ import annotations

from itertools import combinations

import pytest
from any_plan import SOUND, AnyPlan
from hypothesis import given, settings

from consentpack import shipped
from consentpack.export.docx import export_docx
from consentpack.pipeline import open_workplace

PLACE = open_workplace(shipped.demo_clinic("joint-injections"))
SAMPLE = PLACE.library.field.sample
JOINTS = AnyPlan(
    PLACE,
    {**SAMPLE, "region": "knee", "indication": "worn-joint", "strata": {"earlier_injections": "none"}},
    {id: stratum.values for id, stratum in PLACE.library.field.strata.items()},
)
PAIRS = [
    tuple(sorted(pair, key=lambda id: id not in PLACE.library.treating))
    for pair in combinations(sorted(PLACE.library.techniques), 2)
    if JOINTS.together(pair) and set(pair) & set(PLACE.library.treating)
]


@settings(max_examples=15, **SOUND)
@given(JOINTS.plans())
def test_any_plan_of_joints_gives_a_sound_pack(plan):
    """Takes seconds: fifteen whole packs."""
    JOINTS.assert_sound(plan)


@pytest.mark.slow("500 whole packs")
@settings(max_examples=500, **SOUND)
@given(JOINTS.plans())
def test_many_more_plans_of_joints_give_a_sound_pack(plan):
    JOINTS.assert_sound(plan)


@pytest.mark.slow("some 40 whole packs")
def test_every_pair_of_techniques_for_joints_gives_a_sound_pack():
    assert len(PAIRS) > 30
    for pair in PAIRS:
        JOINTS.assert_sound(JOINTS.plan_of(pair))


@pytest.mark.parametrize("id", sorted(PLACE.library.treating))
def test_every_technique_for_joints_alone_becomes_a_word_file(id):
    """Takes seconds in all: each document of eight packs is written."""
    *_, documents = JOINTS.made(JOINTS.plan_of((id,)))
    for document in documents.values():
        assert export_docx(document, day=JOINTS.plan_of((id,)).prepared)[:2] == b"PK"
