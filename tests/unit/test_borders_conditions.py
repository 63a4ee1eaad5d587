"""Conditions, what belongs to a plan, and what may be done, at their borders.

Modules are the shipped ones with invented conditions; rules of suitability are invented.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_relevance import BACK, CHEEK, LIBRARY, plan, with_risk

from consentpack.conditions import DEEPEST, BadCondition, Fact, parse, possible
from consentpack.library import KINDS
from consentpack.model import Chosen, Finding, SuitabilityRule
from consentpack.relevance import facts_about, facts_of, narrow
from consentpack.suitability import findings, not_asked, refused, with_implied, would_matter
from consentpack.tree import Block, Inline

ALL, ONE = frozenset({"a:x", "b:x", "c:x"}), frozenset({"b:x"})

# --- the language ---------------------------------------------------------------------------------


def test_any_number_of_facts_may_be_joined_by_one_word():
    assert [parse("a:x and b:x and c:x").holds(facts) for facts in (ALL, ONE)] == [True, False]
    assert [parse("a:x or b:x or d:x").holds(facts) for facts in (ONE, frozenset())] == [True, False]


def test_brackets_round_one_fact_are_that_fact():
    assert parse("((a:x))").node == parse(" a:x ").node == Fact("a:x")
    assert parse("  a:x   and b:x ").text == "a:x and b:x"


def test_every_fact_is_named_once_in_its_order():
    assert parse("not b:x and (a:x or not (b:x or c:x))").atoms == ("b:x", "a:x", "c:x")
    assert parse("b:x or not a:x").why(ONE) == "b:x, not a:x"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("()", "lacks a fact before '\\)'"),
        ("not", "ends where a fact should follow"),
        ("not )", "lacks a fact before '\\)'"),
        ("not or a:x", "lacks a fact before 'or'"),
        ("a:x or (and b:x)", "lacks a fact before 'and'"),
        ("(a:x b:x)", "has a bracket that is never closed"),
        ("(a:x", "has a bracket that is never closed"),
        ("a:x or b:x and c:x", "put brackets round one of them"),
        ("a:x not b:x", "is not clear from 'not' on"),
        ("a:x AND b:x", "holds 'AND'"),
    ],
)
def test_what_is_half_a_condition_is_refused_with_its_place(text, why):
    with pytest.raises(BadCondition, match=why):
        parse(text)


def test_twenty_brackets_inside_one_another_are_read_and_one_more_is_not():
    assert DEEPEST == 20
    assert parse("(" * 20 + "a:x" + ")" * 20).holds(ALL)
    assert not parse("not " * 19 + "(a:x)").holds(ALL)  # each "not" goes one deeper, as a bracket does
    for text in ("(" * 21 + "a:x" + ")" * 21, "not " * 20 + "(a:x)", "not " * 22 + "a:x"):
        with pytest.raises(BadCondition, match="too many brackets"):
            parse(text)
    assert not parse("not " * 21 + "a:x").holds(ALL)


def test_brackets_beside_one_another_are_not_deep():
    assert parse(" and ".join(["(a:x)"] * 50)).holds(ALL)


@pytest.mark.parametrize(
    ("text", "outcomes"),
    [
        ("a:x", (True, True)),
        ("d:x", (False, True)),  # nobody says that it may be true
        ("not d:x", (True, False)),
        ("not a:x and b:x", (True, True)),  # the second without the first
        ("a:x and not b:x", (True, True)),
        ("a:x and b:x and c:x", (True, True)),
        ("a:x or not a:x", (True, False)),
    ],
)
def test_facts_that_may_be_true_are_tried_in_every_mixture(text, outcomes):
    assert possible(parse(text), [], {"a:x", "b:x", "c:x"}) == outcomes
    assert possible(parse(text), [frozenset()], {"a:x", "b:x", "c:x"}) == outcomes


# --- facts of a plan ------------------------------------------------------------------------------


def test_facts_are_a_value_that_cannot_be_changed():
    technique = LIBRARY.techniques["blunt-cannula"]
    assert isinstance(facts_of(plan(), LIBRARY), frozenset)
    traits = {f"trait:{trait}" for trait in technique.traits}
    assert facts_about(technique) == {"technique:blunt-cannula", "kind:release"} | traits
    assert hash(facts_about(technique)) == hash(facts_about(technique))


def of_the_whole(made) -> set[str]:
    return {fact for fact in facts_of(made, LIBRARY) if fact.startswith("plan:")}


def test_facts_of_the_plan_as_a_whole_are_there_only_when_they_are_true():
    newer = next(t.id for t in LIBRARY.techniques.values() if t.standing == "newer")
    assert of_the_whole(plan("blunt-cannula")) == set()
    assert of_the_whole(plan()) == {"plan:numbing"}  # one of two numbs
    assert of_the_whole(plan("local-infiltration")) == {"plan:numbing"}
    assert of_the_whole(plan("blunt-cannula", sessions=2)) == {"plan:several-visits"}
    assert of_the_whole(plan("blunt-cannula", factors=("smoking",))) == {"plan:factors"}
    assert of_the_whole(plan("blunt-cannula", newer)) == {"plan:newer"}  # one of two is newer
    maybe = plan("blunt-cannula", may_become_necessary=("local-infiltration",))
    assert of_the_whole(maybe) == {"plan:may-become-necessary"}  # numbing nobody plans is not planned


def test_what_a_plan_leaves_open_is_no_fact():
    made = plan(strata={"skin_type": ""}, indication="", region="")
    keys = {fact.split(":")[0] for fact in facts_of(made, LIBRARY)}
    assert not keys & {"skin_type", "indication", "region", "factor"}


# --- what belongs ---------------------------------------------------------------------------------


def test_a_library_in_which_everything_belongs_is_the_very_same_value():
    plain = replace(LIBRARY.risks["bruising"], sections={}, only="", when={})
    always = replace(LIBRARY, **{folder: {} for folder in KINDS} | {"risks": {"bruising": plain}})
    found = narrow(always, BACK)
    assert found.library is always and found.chosen == ()


def chosen_of(library, what: str, facts=BACK) -> list[Chosen]:
    return [each for each in narrow(library, facts).chosen if each.what == what]


def test_each_conditional_piece_is_told_with_its_place_and_its_reason():
    risk = LIBRARY.risks["bruising"]
    module = with_risk(only="region:face", sections={})
    out = "region:face", False, "not region:face"
    assert chosen_of(module, risk.title) == [Chosen(risk.file, risk.title_line, risk.title, *out)]
    section = with_risk(when={"How long it lasts": "region:face"})
    assert chosen_of(section, "section “How long it lasts”") == [
        Chosen(risk.file, 0, "section “How long it lasts”", *out)
    ]
    points = Block("bullets", (Inline("On the cheek, only there.", 44, "region:face"),))
    point = with_risk(sections={"What you may notice": (points,)})
    assert chosen_of(point, "On the cheek, only there.") == [
        Chosen(risk.file, 44, "On the cheek, only there.", *out)
    ]
    (stays,) = chosen_of(point, "On the cheek, only there.", CHEEK)
    assert (stays.stays, stays.why) == (True, "region:face")


def test_a_block_that_keeps_every_point_is_the_very_same_beside_one_that_does_not():
    whole = Block("bullets", (Inline("Always.", 3), Inline("On the trunk.", 4, "region:trunk")))
    gone = Block("bullets", (Inline("On the face.", 5, "region:face"),))
    sections = {"What you may notice": (whole, gone)}
    (left,) = narrow(with_risk(sections=sections), BACK).library.risks["bruising"].sections.values()
    assert left == (whole,) and left[0] is whole


CONSENT = LIBRARY.documents["booklet"]
LEAD = Block("bullets", (Inline("Always.", 3), Inline("On the face.", 4, "region:face")))


def narrowed_document(facts=BACK, **changes):
    changed = replace(CONSENT, **{"when": {}, "lead": (), "parts": (), **changes})
    library = replace(LIBRARY, documents={"booklet": changed})
    return changed, narrow(library, facts).library.documents["booklet"]


def test_a_document_loses_what_does_not_belong_in_its_lead_and_in_its_parts():
    part = replace(CONSENT.parts[0], heading="A part", blocks=(LEAD,))
    always = replace(part, heading="Another", blocks=(replace(LEAD, items=LEAD.items[:1]),))
    only_lead, found = narrowed_document(lead=(LEAD,), parts=(always,))
    assert [item.text for item in found.lead[0].items] == ["Always."]
    assert found.parts == only_lead.parts
    _, found = narrowed_document(parts=(part, always))
    assert [[item.text for item in p.blocks[0].items] for p in found.parts] == [["Always."], ["Always."]]
    _, found = narrowed_document(lead=(LEAD,), parts=(part, always), when={"A part": "region:face"})
    assert [p.heading for p in found.parts] == ["Another"]
    assert found.lead[0].items == LEAD.items[:1]


def test_a_document_in_which_everything_belongs_is_the_very_same_value():
    part = replace(CONSENT.parts[0], heading="A part", blocks=(LEAD,))
    given, found = narrowed_document(CHEEK, lead=(LEAD,), parts=(part,), when={"A part": "region:face"})
    assert found is given


# --- what may be done -----------------------------------------------------------------------------


def ruled(*rules: SuitabilityRule):
    return replace(LIBRARY, suitability={rule.id: rule for rule in rules})


def rule(id: str, when: str, strength: str = "talk-first", **more) -> SuitabilityRule:
    return SuitabilityRule(id, when, strength, f"What {id} says.", "invented", **more)


SMOKES = plan("blunt-cannula", factors=("smoking",))


def test_what_follows_from_a_plan_comes_after_what_it_names_and_else_it_is_the_very_same():
    made = plan(factors=("smoking",), strata={"skin_type": "V"})
    assert with_implied(made, LIBRARY).factors == ("smoking", "darker-skin")
    named = plan(factors=("darker-skin", "smoking"), strata={"skin_type": "V"})
    for same in (named, plan()):
        assert with_implied(same, LIBRARY) is same


def test_rules_come_by_strength_and_else_in_the_order_of_the_library():
    rules = [
        rule("a", "factor:smoking", "note"), rule("b", "factor:smoking"),
        rule("c", "factor:smoking", "not-together"), rule("d", "factor:smoking"),
        rule("e", "factor:pregnancy", "not-together"),
    ]  # fmt: skip
    assert [each.rule.id for each in findings(SMOKES, ruled(*rules))] == ["c", "b", "d", "a"]


@pytest.mark.parametrize(
    ("when", "because"),
    [
        ("factor:smoking", "factor:smoking"),
        ("factor:pregnancy or factor:smoking", "factor:smoking"),
        ("factor:smoking and technique:blunt-cannula", "factor:smoking, technique:blunt-cannula"),
        ("not factor:pregnancy", "not factor:pregnancy"),  # nothing of the plan, so the rule's own words
        ("factor:pregnancy", None),
    ],
)
def test_a_rule_speaks_because_of_what_is_true_of_the_plan(when, because):
    found = findings(SMOKES, ruled(rule("a", when)))
    assert [each.because for each in found] == ([because] if because else [])


def test_a_rule_on_how_many_speaks_above_that_number_and_names_them():
    of_both = rule("a", "kind:release or kind:anaesthetic", most={"kind:release": 1, "kind:anaesthetic": 1})
    library = ruled(of_both)
    assert findings(plan(), library) == ()  # one of each
    two = plan("blunt-cannula", "local-infiltration", may_become_necessary=("needle-fan-one-entry",))
    (found,) = findings(two, library)
    released = "blunt-cannula, needle-fan-one-entry (kind:release, at most 1 in one visit)"
    assert found == Finding(of_both, released)
    four = replace(two, planned=("blunt-cannula", "local-infiltration", "nerve-block-face"))
    (found,) = findings(four, library)
    numbed = "local-infiltration, nerve-block-face (kind:anaesthetic, at most 1 in one visit)"
    assert found.because == f"{released}; {numbed}"
    assert findings(four, ruled(replace(of_both, when="factor:pregnancy"))) == ()


def test_a_plan_is_refused_by_what_is_not_together_and_has_no_reason_with_a_name():
    hard, soft = rule("a", "factor:smoking", "not-together"), rule("b", "factor:smoking")
    made = replace(SMOKES, file="plan.toml")
    (problem,) = refused(findings(made, ruled(hard, soft)), made)
    assert str(problem).startswith("plan.toml: not together: What a says. (factor:smoking)")
    assert "[reasons.a]" in problem.fix
    given = replace(made, reasons={"a": {"why": "Because.", "by": "Dr Invented"}})
    (found, _) = findings(given, ruled(hard, soft))
    assert (found.reason, found.by) == ("Because.", "Dr Invented")
    assert refused((found,), given) == []


def test_what_the_plan_names_what_was_asked_and_what_follows_is_not_unasked():
    made = plan(factors=("smoking",), asked=("pregnancy",))
    follows = {f.id for f in LIBRARY.factors.values() if f.implied_by}
    left = [f.id for f in not_asked(made, LIBRARY)]
    assert follows
    assert left == [id for id in LIBRARY.factors if id not in {"smoking", "pregnancy", *follows}]


def test_an_unasked_circumstance_matters_when_a_rule_above_a_note_would_begin_to_speak():
    factors = LIBRARY.factors
    unasked = (factors["pregnancy"], factors["diabetes"], factors["blood-thinners"])
    library = ruled(
        rule("already", "factor:smoking"),  # speaks now, and goes on whatever is asked
        rule("new", "factor:pregnancy", "not-together"),
        rule("talk", "factor:diabetes"),
        rule("note", "factor:blood-thinners", "note"),
    )
    assert [f.id for f in would_matter(unasked, SMOKES, library)] == ["pregnancy", "diabetes"]
    noted = replace(SMOKES, factors=())
    assert [f.id for f in would_matter((factors["smoking"],), noted, library)] == ["smoking"]
    assert would_matter((factors["smoking"],), SMOKES, library) == ()
