"""Any plan that may be made gives a pack without duplicates or contradictions, within its targets.

Plans drawn from one to five techniques with factors, and pairs of techniques that may be planned
together; a few each time, hundreds in CI. What must hold is in `any_plan`, for every field.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from any_plan import CATALOGUE, SOUND, TODAY, AnyPlan, texts_of
from hypothesis import example, given, settings
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.assemble.on_the_day import shared_steps
from consentpack.consent_rules import UNDER_AGE
from consentpack.export.docx import export_docx
from consentpack.pipeline import open_workplace

PLACE = open_workplace(shipped.demo_clinic())
LIBRARY, CLINIC = PLACE.library, PLACE.clinic
USUAL = {
    "site": "left cheek", "region": "cheek", "strata": {"skin_type": "III"}, "indication": "rolling",
    "condition": "dipped scars from acne", "clinician_role": "skin doctor",
    "reason": "Tight bands pull your scars down. We can free them.",
}  # fmt: skip
OURS = AnyPlan(PLACE, USUAL, {"skin_type": ("I", "III", "VI")})
together, plan_of, plans, made = OURS.together, OURS.plan_of, OURS.plans, OURS.made
prepared, assert_sound = OURS.prepared, OURS.assert_sound
__all__ = ["CATALOGUE", "prepared"]
"""Other tests of packs take these from here."""


@settings(max_examples=15, **SOUND)
@example(plan_of(("filler-after-release",), may_become_necessary=("scar-excision",)))
@example(
    plan_of(
        ("deep-support-filler", "acid-focal", "bevelled-blade-needle", "topical-anaesthetic"),
        strata={"skin_type": "I"}, region="between-brows", indication="boxcar",
    )
)  # fmt: skip
@given(plans())
def test_any_plan_gives_a_sound_pack(plan):
    """Takes seconds: fifteen whole packs and those that once were over their targets."""
    assert_sound(plan)


@pytest.mark.slow("500 whole packs")
@settings(max_examples=500, **SOUND)
@given(plans())
def test_many_more_plans_give_a_sound_pack(plan):
    assert_sound(plan)


PAIRS = [
    pair
    for pair in combinations(sorted(LIBRARY.techniques), 2)
    if together(pair) and set(pair) & set(LIBRARY.treating)
]


def leading_first(pair: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted(pair, key=lambda id: id not in LIBRARY.treating))


def test_there_are_as_many_pairs_as_the_library_allows():
    assert len(PAIRS) > 300
    assert not together(("filler-after-release", "topical-anaesthetic"))


@pytest.mark.parametrize("pair", PAIRS[::25], ids="+".join)
def test_some_pairs_of_techniques_that_may_be_planned_together_give_a_sound_pack(pair):
    assert_sound(plan_of(leading_first(pair)))


@pytest.mark.slow("300 whole packs and more")
@pytest.mark.parametrize("number", range(10))
def test_every_pair_of_techniques_that_may_be_planned_together_gives_a_sound_pack(number):
    for pair in PAIRS[number::10]:
        assert_sound(plan_of(leading_first(pair)))


@pytest.mark.parametrize("id", sorted(LIBRARY.treating))
def test_every_technique_alone_becomes_a_word_file(id):
    *_, documents = made(plan_of((id,)))
    for document in documents.values():
        assert export_docx(document, day=TODAY)[:2] == b"PK"


def test_the_longer_time_is_printed_once_for_a_release_with_surface_work():
    """A needle release asks for the usual sun cover, the laser for a longer one."""
    plan = plan_of(("needle-fan-one-entry", "laser-ablative-fractional"))
    _, _, matches, documents = made(plan)
    usual, longer = (LIBRARY.settings[name] for name in ("sun_cover", "sun_cover_surface"))
    assert longer.value > usual.value and longer.unit == usual.unit == "months"
    assert [w.because for w in matches.waits if w.setting == "sun_cover"] == ["laser-ablative-fractional"]
    text = " ".join(texts_of(documents["homecare"], "when-you-can-do-things-again"))
    assert f"{longer.value} {longer.unit}" in text and f"{usual.value} {usual.unit} after" not in text


def test_the_factor_for_minors_is_one_the_library_has():
    assert UNDER_AGE in LIBRARY.factors


# --- steps of a visit ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lists", "opening", "closing"),
    [
        ([["ask", "clean", "cut", "press"], ["ask", "clean", "laser", "press"]], ["ask", "clean"], ["press"]),
        ([["ask", "cut"], ["laser"]], [], []),
        ([["ask", "cut"], ["ask", "laser"], ["peel"]], ["ask"], []),
        ([list("abcdefgz"), list("ghijklmz")], [], ["z"]),
    ],
)
def test_steps_that_several_techniques_share_are_steps_of_the_visit(lists, opening, closing):
    assert shared_steps(lists) == (opening, closing)


words = st.lists(st.sampled_from("abcdefgh"), min_size=1, max_size=8, unique=True)


@given(st.lists(words, min_size=2, max_size=4))
def test_no_step_is_lost_and_none_is_both_at_the_start_and_the_end(lists):
    opening, closing = shared_steps(lists)
    assert not set(opening) & set(closing)
    own = {step for listed in lists for step in listed if step not in (*opening, *closing)}
    assert own | {*opening, *closing} == {step for listed in lists for step in listed}
