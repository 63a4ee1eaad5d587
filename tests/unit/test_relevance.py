"""What belongs to a plan: facts, and the library without what does not belong."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from consentpack import shipped
from consentpack.library import load_library
from consentpack.model import Done, Plan
from consentpack.relevance import facts_of, narrow
from consentpack.tree import Block, Inline

LIBRARY = load_library(shipped.content())


def plan(*planned: str, **more) -> Plan:
    usual = {
        "reference": "R-1", "prepared": date(2026, 11, 25), "language": "en-GB", "site": "left cheek",
        "region": "cheek", "strata": {"skin_type": "III"}, "sessions": 1, "condition": "dipped scars",
        "indication": "rolling", "reason": "…", "clinician": "Dr Invented", "clinician_role": "skin doctor",
    }  # fmt: skip
    return Plan(planned=planned or ("blunt-cannula", "local-infiltration"), **{**usual, **more})


def test_the_facts_of_a_plan_are_techniques_kinds_traits_place_and_person():
    facts = facts_of(plan(factors=("smoking",), sessions=2), LIBRARY)
    assert facts >= {
        "technique:blunt-cannula", "kind:release", "trait:under-skin", "kind:anaesthetic", "region:cheek",
        "region:face", "region:head", "skin_type:III", "indication:rolling", "factor:smoking",
        "plan:numbing", "plan:factors", "plan:several-visits",
    }  # fmt: skip
    assert not {"region:back", "plan:newer", "trait:gel"} & facts


def test_what_may_become_necessary_counts_for_the_form_and_not_for_what_was_done():
    maybe = plan(may_become_necessary=("filler-after-release",))
    assert "trait:gel" in facts_of(maybe, LIBRARY)
    assert "trait:gel" not in facts_of(maybe, LIBRARY, done=True)
    done = replace(maybe, done=Done(("blunt-cannula", "filler-after-release"), date(2026, 11, 26)))
    assert "trait:gel" in facts_of(done, LIBRARY, done=True)


def with_risk(**changes):
    risk = replace(LIBRARY.risks["bruising"], **changes)
    return replace(LIBRARY, risks={**LIBRARY.risks, "bruising": risk})


BACK, CHEEK = frozenset({"region:back", "region:trunk"}), frozenset({"region:cheek", "region:face"})


def test_a_module_that_does_not_belong_leaves_every_list_and_says_why():
    library = with_risk(only="region:face")
    narrowed = narrow(library, BACK)
    assert "bruising" not in narrowed.library.techniques["blunt-cannula"].risks
    assert "bruising" not in narrowed.library.factors["blood-thinners"].raises
    bruising = library.risks["bruising"]
    of_module = [c for c in narrowed.chosen if (c.file, c.what) == (bruising.file, bruising.title)]
    (chosen,) = of_module  # its own points have conditions too
    assert (chosen.stays, chosen.condition, chosen.why) == (False, "region:face", "not region:face")
    assert "bruising" in narrow(library, CHEEK).library.techniques["blunt-cannula"].risks


def test_a_section_that_does_not_belong_goes_whole():
    library = with_risk(when={"How long it lasts": "region:face"})
    assert "How long it lasts" not in narrow(library, BACK).library.risks["bruising"].sections
    assert "How long it lasts" in narrow(library, CHEEK).library.risks["bruising"].sections


@pytest.mark.parametrize(("facts", "left"), [(BACK, ["Always."]), (CHEEK, ["Always.", "On the face."])])
def test_a_point_that_does_not_belong_goes_alone(facts, left):
    points = Block("bullets", (Inline("Always.", 3), Inline("On the face.", 4, "region:face")))
    library = with_risk(sections={"What you may notice": (points,)})
    (block,) = narrow(library, facts).library.risks["bruising"].sections["What you may notice"]
    assert [item.text for item in block.items] == left


def test_a_list_that_loses_every_point_leaves_no_empty_list():
    points = Block("bullets", (Inline("On the face.", 4, "region:face"),))
    library = with_risk(sections={"What you may notice": (points,)})
    assert narrow(library, BACK).library.risks["bruising"].sections["What you may notice"] == ()


def test_what_has_no_condition_is_the_very_same_value():
    narrowed = narrow(LIBRARY, facts_of(plan(), LIBRARY))
    assert narrowed.library.risks["bruising"] is LIBRARY.risks["bruising"]
