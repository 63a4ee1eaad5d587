"""What a plan calls for at its borders: what may become necessary, what was done, times that are alike."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_match import DAY, LIBRARY, PLAN, ids, matched, with_times

from consentpack.library.schema import REMOVES_TISSUE
from consentpack.match import match
from consentpack.model import CareSetting, Done, Match, Wait, WaitRule


def test_what_is_gained_by_a_technique_that_may_become_necessary_is_named_as_such():
    found = matched(planned=("blunt",), may_become_necessary=("sharp",))
    assert {m.id: m.only_if_needed for m in found.benefits} == {"shallower": False, "softer": True}


def test_the_other_choices_of_a_technique_that_may_become_necessary_are_offered_too():
    assert ids(matched(may_become_necessary=("sharp",)).options) == ["nothing", "laser", "cutting"]


def other_choices(**more):
    cutting = replace(LIBRARY.options["cutting"], **more)
    return replace(LIBRARY, options={**LIBRARY.options, "cutting": cutting})


def test_what_is_planned_is_no_other_choice_beside_itself():
    library = other_choices(techniques=("blunt", "points"))
    plan = replace(PLAN, planned=("sharp", "blunt"))
    assert ids(match(plan, library).options) == ["nothing", "laser"]
    assert "cutting" in ids(match(replace(PLAN, planned=("sharp",)), library).options)


def test_when_no_other_choice_suits_the_scar_those_that_are_listed_are_offered_all_the_same():
    library = other_choices(indications=("ice-pick",))
    blunt = replace(library.techniques["blunt"], options=("cutting",))
    library = replace(library, techniques={**library.techniques, "blunt": blunt})
    assert ids(match(replace(PLAN, indication="rolling"), library).options) == ["nothing", "cutting"]


def taking_off(*names: str):
    made = {name: replace(LIBRARY.techniques[name], traits=(REMOVES_TISSUE,)) for name in names}
    return replace(LIBRARY, techniques={**LIBRARY.techniques, **made})


def test_tissue_is_taken_off_by_what_is_planned_what_may_follow_and_what_was_done():
    plan = replace(PLAN, planned=("blunt",), may_become_necessary=("points",), done=Done(("sharp",), DAY))
    assert ids(match(plan, taking_off("blunt", "sharp")).tissue) == ["blunt", "sharp"]
    assert ids(match(plan, taking_off("points")).tissue) == ["points"]
    assert match(plan, LIBRARY).tissue == ()


def test_of_two_times_that_are_alike_the_first_is_named_and_none_that_is_the_usual_one():
    library = with_times()
    alike = CareSetting("shade-laser", 40, "days", 1, 99, "")
    library = replace(library, settings={**library.settings, "shade-laser": alike})
    assert match(replace(PLAN, planned=("blunt", "sharp")), library).waits == (
        Wait("shade", "shade-peel", "blunt"),
    )
    assert match(replace(PLAN, planned=("blunt",)), library, {"shade-peel": 14}).waits == ()


def test_times_are_compared_in_one_unit():
    library = with_times()

    def longest(number: int, unit: str) -> bool:
        usual = CareSetting("shade", number, unit, 1, 9999, "")
        changed = replace(library, settings={**library.settings, "shade": usual})
        return match(replace(PLAN, planned=("blunt",)), changed).waits == ()  # the other is 40 days

    assert [longest(n, "days") for n in (39, 40)] == [False, True]
    assert [longest(n, "hours") for n in (959, 960)] == [False, True]
    assert [longest(n, "minutes") for n in (57_599, 57_600)] == [False, True]
    assert [longest(n, "weeks") for n in (5, 6)] == [False, True]
    assert [longest(n, "months") for n in (1, 2)] == [False, True]


def test_a_diary_follows_what_was_done_harms_by_group_and_then_gains():
    plan = replace(PLAN, planned=("blunt",), done=Done(("sharp", "numbing"), DAY))
    found = match(plan, LIBRARY).diary
    assert ids(found) == ["bruise", "pocket", "faint-spell", "blindness", "shallower", "softer"]


def test_every_match_of_a_technique_names_it():
    found = matched(planned=("points", "numbing"), factors=("thinners",))
    assert [m.techniques for m in (*found.techniques, *found.anaesthetics)] == [("points",), ("numbing",)]
    assert found.factors[0].techniques == ()
    assert found.established[0].techniques == ("blunt",)


def test_a_newer_technique_without_an_established_one_offers_none():
    points = replace(LIBRARY.techniques["points"], established_alternative="")
    library = replace(LIBRARY, techniques={**LIBRARY.techniques, "points": points})
    assert match(replace(PLAN, planned=("points",)), library).established == ()


@pytest.mark.parametrize(
    ("usual", "same"),
    [
        ((1, "hours"), (60, "minutes")),
        ((1, "days"), (24, "hours")),
        ((1, "weeks"), (7, "days")),
        ((2, "months"), (60, "days")),  # a month of the aftercare is 30 days
        ((3, "weeks"), (21, "days")),
    ],
)
def test_a_time_is_longer_from_one_more_of_its_own_unit(usual, same):
    def waits(number: int):
        times = {"shade": usual, "shade-peel": (number, same[1]), "shade-laser": (1, "minutes")}
        settings = {name: CareSetting(name, n, unit, 1, 9999, "") for name, (n, unit) in times.items()}
        return match(replace(PLAN, planned=("blunt",)), replace(with_times(), settings=settings)).waits

    assert [waits(same[0] + more) for more in (-1, 0, 1)] == [(), (), (Wait("shade", "shade-peel", "blunt"),)]


def test_a_time_may_be_longer_by_a_rule_and_only_where_its_condition_holds():
    rule = WaitRule("of-thinners", "factor:thinners", "shade", "shade-laser", "invented")
    library = replace(with_times(), waits={rule.id: rule})
    assert match(replace(PLAN, planned=("points",)), library).waits == ()
    found = match(replace(PLAN, planned=("points",), factors=("thinners",)), library).waits
    assert found == (Wait("shade", "shade-laser", "of-thinners"),)
    for_done = WaitRule("of-sharp", "technique:sharp", "shade", "shade-peel", "invented")
    library = replace(with_times(), waits={for_done.id: for_done})
    plan = replace(PLAN, planned=("points",), done=Done(("points",), DAY), may_become_necessary=("sharp",))
    assert match(plan, library).waits == ()  # it was not done


def test_longer_times_are_named_in_the_order_of_their_settings():
    times = {"shade": 1, "bath": 1, "longer": 2}
    settings = {name: CareSetting(name, n, "weeks", 1, 99, "") for name, n in times.items()}
    blunt = replace(LIBRARY.techniques["blunt"], waits={"shade": "longer", "bath": "longer"})
    library = replace(LIBRARY, settings=settings, techniques={**LIBRARY.techniques, "blunt": blunt})
    assert [wait.setting for wait in match(PLAN, library).waits] == ["bath", "shade"]


def test_where_a_plan_names_no_indication_no_choice_is_held_back():
    assert "cutting" in ids(match(replace(PLAN, indication=""), with_times()).options)


def test_why_each_module_is_there_is_said():
    plan = replace(PLAN, planned=("blunt", "numbing"), may_become_necessary=("points", "sharp"))
    found = match(replace(plan, factors=("thinners",)), LIBRARY)
    assert found.techniques == (Match("blunt", "planned", ("blunt",)),)
    assert found.anaesthetics == (Match("numbing", "planned anaesthetic", ("numbing",)),)
    assert [m.why for m in found.may_become_necessary] == ["may become necessary"] * 2
    assert [(m.id, m.why) for m in found.newer] == [
        ("points", "a newer technique: it must be named as newer")
    ]
    assert found.factors == (Match("thinners", "named in the plan"),)
    assert found.risks[0] == Match("bruise", "listed by blunt, points, sharp", ("blunt", "points", "sharp"))
    assert found.options[:2] == (
        Match("nothing", "doing nothing is always a choice"),
        Match("laser", "listed by blunt, sharp", ("blunt", "sharp")),
    )
    assert {m.id: m.why for m in found.aftercare} == {
        "bite": "listed by numbing", "press": "listed by blunt, thinners", "sun": "listed by blunt",
    }  # fmt: skip
    assert [(m.id, m.techniques) for m in found.warnings] == [
        ("faint", ("blunt", "thinners")), ("lump", ("blunt",)),
    ]  # fmt: skip


def test_a_risk_that_only_what_may_become_necessary_brings_is_marked_and_stays_in_its_group():
    found = matched(planned=("blunt",), may_become_necessary=("sharp",))
    assert [(m.id, m.only_if_needed) for m in found.risks] == [
        ("bruise", False), ("sore", False), ("pocket", True), ("nerve", False), ("blindness", True),
    ]  # fmt: skip


def test_whoever_looks_after_themselves_sees_the_library_of_what_was_done():
    sharp = replace(LIBRARY.techniques["sharp"], aftercare=("sun",), warnings=("lump",), risks=("sore",))
    later = replace(LIBRARY, techniques={**LIBRARY.techniques, "sharp": sharp})
    found = match(replace(PLAN, planned=("sharp",)), LIBRARY, afterwards=later)
    assert (ids(found.aftercare), ids(found.warnings)) == (["sun"], ["lump"])
    assert ids(found.diary)[0] == "sore"
    assert ids(found.risks) == ["bruise", "pocket", "blindness"]  # what was agreed to
    assert ids(match(replace(PLAN, planned=("sharp",)), LIBRARY).aftercare) == ["press"]
