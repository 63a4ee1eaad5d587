"""The small language of conditions: what it accepts, what it means, what it refuses."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.conditions import DEEPEST, BadCondition, parse, possible

FACTS = frozenset({"region:face", "region:cheek", "trait:gel"})


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("region:face", True),
        ("region:back", False),
        ("not region:back", True),
        ("region:face and trait:gel", True),
        ("region:face and trait:stitches", False),
        ("region:back or trait:gel", True),
        ("region:face and not (trait:gel or trait:stitches)", False),
        ("region:face and (trait:stitches or not region:back)", True),
        ("not not region:face", True),
        ("skin_type:V or region:face", True),
    ],
)
def test_what_a_condition_means(text, holds):
    assert parse(text).holds(FACTS) is holds


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("face", "holds 'face'"),
        ("region:face and", "ends where a fact should follow"),
        ("and region:face", "lacks a fact before 'and'"),
        ("region:face region:cheek", "is not clear from 'region:cheek' on"),
        ("(region:face", "has a bracket that is never closed"),
        ("region:face)", "is not clear from ')' on"),
        ("region:a and region:b or region:c", "put brackets round one of them"),
        ("region:", "holds 'region:'"),
        ("(" * (DEEPEST + 5) + "a:b" + ")" * (DEEPEST + 5), "too many brackets"),
        ("not " * (DEEPEST * 100) + "a:b", "too many brackets"),
    ],
)
def test_what_cannot_be_read_says_why(text, why):
    with pytest.raises(BadCondition, match=why.replace("(", r"\(").replace(")", r"\)")):
        parse(text)


def test_why_names_the_facts_that_decided():
    assert parse("region:face and not trait:stitches").why(FACTS) == "region:face, not trait:stitches"


atoms = st.sampled_from(["a:x", "b:x", "c:x", "d:x"])
trees = st.recursive(
    atoms,
    lambda inner: st.one_of(
        inner.map(lambda t: f"not ({t})"),
        st.tuples(inner, inner).map(lambda p: f"({p[0]} and {p[1]})"),
        st.tuples(inner, inner).map(lambda p: f"({p[0]} or {p[1]})"),
    ),
    max_leaves=8,
)


@given(trees, st.frozensets(atoms))
def test_a_condition_means_what_python_makes_of_the_same_words(text, facts):
    """Outside reference: Python's own reading of and, or, not."""
    names = {name.replace(":", "_"): name in facts for name in ("a:x", "b:x", "c:x", "d:x")}
    assert parse(text).holds(facts) is eval(text.replace(":", "_"), {}, names)


FACE = [frozenset({"region:cheek", "region:face"}), frozenset({"region:back"})]


@pytest.mark.parametrize(
    ("text", "can_hold", "can_fail"),
    [
        ("region:face", True, True),
        ("region:face and region:back", False, True),
        ("region:face or region:back", True, False),
        ("region:cheek and not region:face", False, True),
        ("region:face and trait:gel", True, True),
        ("trait:gel or not trait:gel", True, False),
    ],
)
def test_whether_a_condition_can_hold_or_fail(text, can_hold, can_fail):
    assert possible(parse(text), FACE, {"trait:gel"}) == (can_hold, can_fail)
