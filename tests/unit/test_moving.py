"""What moves from a paper to the one behind it: the rules, as sentences that hold for any list."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.length import Priced, choose


@st.composite
def priced(draw: st.DrawFn) -> list[Priced]:
    facts = st.tuples(st.integers(0, 200), st.booleans(), st.booleans(), st.integers(0, 6))
    drawn = draw(st.lists(facts, max_size=12))
    return [
        Priced(str(n), w, serious=s, worse_than_published=p, order=o) for n, (w, s, p, o) in enumerate(drawn)
    ]


BUDGETS = st.integers(-50, 1500)


def words(items) -> int:
    return sum(each.words for each in items)


def test_the_last_in_order_moves_first_and_what_must_stay_is_passed_over():
    items = [
        Priced("bruise", 40, order=1),
        Priced("dent", 30, order=2),
        Priced("worse here", 30, worse_than_published=True, order=3),
        Priced("itch", 20, order=4),
        Priced("blindness", 50, serious=True, order=5),
    ]
    chosen = choose(items, budget=125)
    assert [each.id for each in chosen.stays] == ["bruise", "worse here", "blindness"]
    assert [each.id for each in chosen.moves] == ["dent", "itch"]
    assert chosen.over == 0


def test_what_must_stay_stays_over_the_budget_and_that_is_said():
    chosen = choose([Priced("blindness", 50, serious=True), Priced("itch", 5)], budget=20)
    assert ([each.id for each in chosen.stays], chosen.over) == (["blindness"], 30)


@given(priced(), BUDGETS)
def test_nothing_is_lost_and_nothing_is_there_twice(items, budget):
    chosen = choose(items, budget=budget)
    assert sorted(e.id for e in (*chosen.stays, *chosen.moves)) == sorted(e.id for e in items)


@given(priced(), BUDGETS)
def test_a_serious_harm_and_a_figure_worse_than_published_never_move(items, budget):
    moved = choose(items, budget=budget).moves
    assert not [each for each in moved if each.serious or each.worse_than_published]


@given(priced(), BUDGETS)
def test_the_budget_is_kept_or_all_that_may_move_has_moved(items, budget):
    chosen = choose(items, budget=budget)
    assert chosen.over == max(0, words(chosen.stays) - budget)
    assert chosen.over == 0 or not [each for each in chosen.stays if each.may_move]


@given(priced(), BUDGETS)
def test_no_more_moves_than_must_and_only_from_the_end(items, budget):
    chosen = choose(items, budget=budget)
    if chosen.moves:
        first = chosen.moves[0]
        assert words(chosen.stays) + first.words > budget
        stayed_behind = [e for e in chosen.stays if e.may_move and e.order > first.order]
        assert stayed_behind == []


@given(priced(), BUDGETS)
def test_both_lists_are_in_reading_order_and_equal_ones_as_they_were_given(items, budget):
    chosen = choose(items, budget=budget)
    for part in (chosen.stays, chosen.moves):
        places = [(each.order, int(each.id)) for each in part]
        assert places == sorted(places)


@given(priced(), BUDGETS)
def test_a_larger_budget_never_moves_more(items, budget):
    moved = {each.id for each in choose(items, budget=budget).moves}
    assert {each.id for each in choose(items, budget=budget + 25).moves} <= moved


@pytest.mark.parametrize("items", [[Priced("a", 1), Priced("a", 2)], [Priced("a", -1)]])
def test_a_slip_of_the_caller_is_no_choice(items):
    with pytest.raises(ValueError, match=r"items of one id|fewer than no words"):
        choose(items, budget=10)
