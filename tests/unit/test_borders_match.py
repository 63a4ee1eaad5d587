"""What a plan calls for at its borders: what may become necessary, what was done, times that are alike."""

from __future__ import annotations

from dataclasses import replace

from test_match import DAY, LIBRARY, PLAN, ids, matched, with_times

from consentpack.library.schema import REMOVES_TISSUE
from consentpack.match import match
from consentpack.model import CareSetting, Done, Wait


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
