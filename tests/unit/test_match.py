"""Which modules a plan calls for, and why. A small invented library stands for the shipped one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import get_args, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.library import Library, load_library
from consentpack.match import GROUPS, TIERS, match
from consentpack.model import (
    Aftercare,
    Benefit,
    CareSetting,
    Done,
    Factor,
    Field,
    HouseStyle,
    Match,
    Option,
    Plan,
    Risk,
    Technique,
    TechniqueKind,
    Wait,
    Warning,
)  # fmt: skip

DAY = date(2026, 11, 25)


def module(made, id: str, /, **more):
    """A module with nothing in it but what matters here."""
    common = {"title": id, "version": "1", "reviewed": DAY, "review_by": DAY, "sections": {}}
    place = {"file": f"content/{id}.md", "title_line": 3, "digest": ""}
    return made(id=id, **common, **place, **more)


def technique(id: str, kind: str = "release", standing: str = "established", **more) -> Technique:
    return module(Technique, id, phrase=id, kind=kind, standing=standing, **more)


def by_id(*modules):
    return {each.id: each for each in modules}


LIBRARY = Library(
    techniques=by_id(
        technique(
            "blunt", risks=("bruise", "nerve", "sore"), benefits=("shallower",),
            options=("laser", "nothing"), aftercare=("sun", "press"), warnings=("lump", "faint"),
        ),
        technique(
            "sharp", risks=("bruise", "blindness", "pocket"), benefits=("shallower", "softer"),
            options=("laser", "cutting"), aftercare=("press",), warnings=("infection",),
        ),
        technique("points", standing="newer", established_alternative="blunt", risks=("bruise",)),
        technique("numbing", "anaesthetic", risks=("faint-spell",), options=("gas",), aftercare=("bite",)),
    ),
    risks=by_id(
        *(module(Risk, id, clinical=id, watch_days=7, group="expected") for id in ("bruise", "sore")),
        *(module(Risk, id, clinical=id, watch_days=7, group="possible") for id in ("pocket", "faint-spell")),
        *(module(Risk, id, clinical=id, watch_days=7, group="serious") for id in ("nerve", "blindness")),
    ),
    benefits=by_id(*(module(Benefit, id, clinical=id, watch_days=90) for id in ("shallower", "softer"))),
    options=by_id(
        *(module(Option, id) for id in ("cutting", "gas", "laser")),
        module(Option, "nothing", no_treatment=True),
    ),
    factors=by_id(
        module(Factor, "thinners", raises=("pocket",), aftercare=("press",), warnings=("faint",)),
        module(Factor, "dark-skin", raises=("bruise",), aftercare=("shade",)),
    ),
    aftercare=by_id(
        module(Aftercare, "bite", order=1),
        module(Aftercare, "press", order=2),
        module(Aftercare, "shade", order=3),
        module(Aftercare, "sun", order=9),
    ),
    warnings=by_id(
        module(Warning, "faint", tier="ambulance", order=9, short="a faint"),
        module(Warning, "infection", tier="same-day", order=2, short="an infection"),
        module(Warning, "lump", tier="at-visit", order=1, short="a lump"),
    ),
    documents={}, settings={}, terms=(), published=(), sources={}, digests={},
    syllables={}, style=HouseStyle(), targets={}, rules={}, regions={}, suitability={}, waits={},
    field=Field(
        kinds={
            "release": TechniqueKind("release", "cuts", "treats"),
            "anaesthetic": TechniqueKind("anaesthetic", "numbs", "numbs"),
        }
    ),
)  # fmt: skip
PLAN = Plan(
    "T-1", DAY, "en-GB", planned=("blunt", "numbing"), site="left cheek", region="cheek",
    strata={"skin_type": "III"}, sessions=1,
    condition="a dip", reason="It pulls.", clinician="Dr Invented", clinician_role="skin doctor",
)  # fmt: skip


def matched(**changes):
    return match(replace(PLAN, **changes), LIBRARY)


def ids(matches: tuple[Match, ...]) -> list[str]:
    return [each.id for each in matches]


def test_techniques_and_anaesthetics_come_apart_in_the_order_of_the_plan():
    found = matched(planned=("sharp", "numbing", "blunt"))
    assert ids(found.techniques) == ["sharp", "blunt"]
    assert ids(found.anaesthetics) == ["numbing"]


def test_risks_come_in_three_groups_each_in_the_order_its_technique_gives():
    assert ids(matched(planned=("blunt", "sharp", "numbing")).risks) == [
        "bruise", "sore", "pocket", "faint-spell", "nerve", "blindness",
    ]  # fmt: skip


def test_a_risk_of_two_techniques_is_said_once_with_both_as_the_reason():
    first = matched(planned=("blunt", "sharp")).risks[0]
    assert first == Match("bruise", "listed by blunt, sharp", ("blunt", "sharp"))


def test_the_anaesthetic_brings_its_own_risks():
    assert "faint-spell" in ids(matched().risks)


def test_what_only_a_technique_that_may_become_necessary_brings_is_marked():
    risks = {each.id: each.only_if_needed for each in matched(may_become_necessary=("sharp",)).risks}
    assert risks == {
        "bruise": False, "sore": False, "faint-spell": False, "nerve": False,
        "pocket": True, "blindness": True,
    }  # fmt: skip


def test_a_factor_adds_no_risk_that_no_technique_has():
    assert ids(matched(planned=("blunt",), factors=("thinners",)).risks) == ids(
        matched(planned=("blunt",)).risks
    )


def test_doing_nothing_is_the_first_of_the_other_choices_and_there_once():
    assert ids(matched().options) == ["nothing", "laser"]
    assert ids(matched(planned=("sharp",)).options) == ["nothing", "laser", "cutting"]  # it does not list it


def test_another_way_of_numbing_is_no_other_choice_of_treatment():
    assert "gas" not in ids(matched().options)


def test_a_newer_technique_is_named_and_the_established_one_offered_beside_it():
    found = matched(planned=("points", "numbing"))
    assert ids(found.newer) == ["points"]
    assert found.established == (
        Match("blunt", "the established technique, offered beside the newer one", ("blunt",)),
    )


def test_that_holds_also_where_the_newer_one_may_only_become_necessary():
    found = matched(planned=("sharp",), may_become_necessary=("points",))
    assert (ids(found.newer), ids(found.established)) == (["points"], ["blunt"])


def test_an_established_technique_that_is_planned_anyway_is_not_offered_again():
    assert matched(planned=("points", "blunt")).established == ()


def test_aftercare_comes_in_printing_order_whoever_asks_for_it():
    assert ids(matched(factors=("dark-skin",)).aftercare) == ["bite", "press", "shade", "sun"]


def test_warnings_come_by_how_fast_to_act_and_then_by_their_order():
    assert ids(matched(planned=("blunt", "sharp")).warnings) == ["faint", "infection", "lump"]


def test_aftercare_asked_for_twice_is_said_once_with_both_as_the_reason():
    press = next(each for each in matched(factors=("thinners",)).aftercare if each.id == "press")
    assert press.why == "listed by blunt, thinners"


def test_after_the_day_the_advice_follows_what_was_done_and_consent_what_was_planned():
    found = matched(done=Done(("sharp",), DAY))
    assert (ids(found.aftercare), ids(found.warnings)) == (["press"], ["infection"])
    assert "nerve" in ids(found.risks) and "blindness" not in ids(found.risks)


def test_what_may_become_necessary_brings_no_advice_until_it_was_done():
    assert "infection" not in ids(matched(may_become_necessary=("sharp",)).warnings)


SHIPPED = load_library(shipped.content())


@st.composite
def shipped_plans(draw) -> Plan:
    """Any plan with techniques and factors of the shipped library."""
    order = draw(st.permutations(sorted(SHIPPED.techniques)))
    planned, maybe = draw(st.integers(1, 4)), draw(st.integers(0, 2))
    return replace(
        PLAN,
        planned=tuple(order[:planned]),
        may_become_necessary=tuple(order[planned : planned + maybe]),
        factors=tuple(draw(st.lists(st.sampled_from(sorted(SHIPPED.factors)), unique=True, max_size=3))),
    )


@given(plan=shipped_plans())
def test_no_risk_of_any_technique_is_ever_left_out_however_rare(plan):
    found = match(plan, SHIPPED)
    techniques = [SHIPPED.techniques[id] for id in (*plan.planned, *plan.may_become_necessary)]
    assert set(ids(found.risks)) == {risk for each in techniques for risk in each.risks}
    groups = [GROUPS.index(SHIPPED.risks[id].group) for id in ids(found.risks)]
    assert groups == sorted(groups)


@given(plan=shipped_plans())
def test_everything_in_a_pack_is_there_once_and_with_a_reason(plan):
    found = match(plan, SHIPPED)
    waits = [wait.setting for wait in found.waits]
    assert len(waits) == len(set(waits)) and all(
        wait.because in SHIPPED.techniques or wait.because in SHIPPED.waits for wait in found.waits
    )
    for name, matches in ((n, m) for n, m in vars(found).items() if n != "waits"):
        assert len(ids(matches)) == len(set(ids(matches))), name
        assert all(each.why for each in matches), name


@pytest.mark.parametrize(("words", "model", "key"), [(GROUPS, Risk, "group"), (TIERS, Warning, "tier")])
def test_groups_and_tiers_are_those_the_model_knows(words, model, key):
    assert words == get_args(get_type_hints(model)[key])


def with_times() -> Library:
    """Two techniques that need shade for longer than usual, and an option for pits alone."""
    times = {"shade": (2, "weeks"), "shade-laser": (3, "months"), "shade-peel": (40, "days")}
    settings = {name: CareSetting(name, n, unit, 1, 99, "") for name, (n, unit) in times.items()}
    blunt = replace(LIBRARY.techniques["blunt"], waits={"shade": "shade-peel"}, options=("laser", "cutting"))
    sharp = replace(LIBRARY.techniques["sharp"], waits={"shade": "shade-laser"})
    cutting = replace(LIBRARY.options["cutting"], indications=("ice-pick",))
    return replace(
        LIBRARY,
        settings=settings,
        techniques={**LIBRARY.techniques, "blunt": blunt, "sharp": sharp},
        options={**LIBRARY.options, "cutting": cutting},
    )


def test_of_two_times_for_one_thing_the_longer_counts_and_its_technique_is_named():
    found = match(replace(PLAN, planned=("blunt", "sharp")), with_times())
    assert found.waits == (Wait("shade", "shade-laser", "sharp"),)
    assert match(replace(PLAN, planned=("sharp", "blunt")), with_times()).waits == found.waits


def test_a_time_the_clinic_has_set_is_the_one_that_is_compared():
    found = match(replace(PLAN, planned=("blunt", "sharp")), with_times(), {"shade-laser": 1})
    assert found.waits == (Wait("shade", "shade-peel", "blunt"),)


def test_a_usual_time_that_is_longer_already_stays():
    assert match(replace(PLAN, planned=("blunt",)), with_times(), {"shade": 8}).waits == ()


def test_times_follow_what_was_done():
    plan = replace(PLAN, planned=("sharp",), done=Done(("blunt",), DAY))
    assert match(plan, with_times()).waits == (Wait("shade", "shade-peel", "blunt"),)


@pytest.mark.parametrize(("kind", "there"), [("ice-pick", True), ("rolling", False)])
def test_a_choice_for_some_kinds_of_condition_is_offered_for_those(kind, there):
    found = ids(match(replace(PLAN, indication=kind), with_times()).options)
    assert ("cutting" in found) is there
    assert found[0] == "nothing" and "laser" in found
