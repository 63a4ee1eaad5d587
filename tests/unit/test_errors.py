"""How a problem reads, and what 'Did you mean' may say."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from consentpack.errors import (
    EXIT_CODES,
    FAULT,
    PIPE_CLOSED,
    STOPPED,
    ConsentpackError,
    PlanError,
    Problem,
    did_you_mean,
)

TECHNIQUES = ("blunt-cannula", "needle-fan-one-entry", "needle-point-by-point", "nerve-block-face")
WORDS = st.text("abcdefghijklmnopqrstuvwxyz-", min_size=1, max_size=20)


def test_a_problem_reads_where_what_and_then_the_fix_on_its_own_line():
    problem = Problem("plans/p-1.toml, line 4", "there is no technique 'x'.", "Did you mean 'y'?")
    assert str(problem) == "plans/p-1.toml, line 4: there is no technique 'x'.\n  Did you mean 'y'?"


def test_a_problem_without_a_fix_is_one_line():
    assert str(Problem("clinic.toml", "the table [audit] is missing.")) == (
        "clinic.toml: the table [audit] is missing."
    )


def test_an_error_says_all_its_problems_in_their_order():
    error = PlanError([Problem("a", "one."), Problem("b", "two.", "Mend it.")])
    assert str(error) == "a: one.\nb: two.\n  Mend it."
    assert [problem.where for problem in error.problems] == ["a", "b"]


def test_one_problem_needs_no_list():
    assert PlanError(Problem("a", "one.")).problems == (Problem("a", "one."),)


def test_each_kind_of_error_has_an_exit_code_of_its_own_in_the_table():
    codes = [kind.exit_code for kind in ConsentpackError.__subclasses__()]
    assert len(codes) == len(set(codes))
    assert set(EXIT_CODES) == {0, 2, FAULT, STOPPED, PIPE_CLOSED, *codes}


def test_a_slip_of_the_keys_finds_the_word():
    assert did_you_mean("blunt-canula", TECHNIQUES) == "Did you mean 'blunt-cannula'?"


def test_words_in_another_order_find_the_word():
    assert did_you_mean("entry-one-fan-needle", TECHNIQUES) == "Did you mean 'needle-fan-one-entry'?"
    assert did_you_mean("cannula-blunt", TECHNIQUES) == "Did you mean 'blunt-cannula'?"
    assert did_you_mean("canula-blunt", TECHNIQUES) == "Did you mean 'blunt-cannula'?"


def test_two_near_words_are_both_named():
    assert did_you_mean("needle-one", ("needle-ones", "needle-once")) == (
        "Did you mean 'needle-ones' or 'needle-once'?"
    )


def test_nothing_is_suggested_when_nothing_is_near():
    assert did_you_mean("massage", TECHNIQUES) == ""
    assert did_you_mean("massage", ()) == ""


@given(found=st.text(), known=st.lists(st.text(), max_size=6))
def test_a_suggestion_never_raises_and_names_only_known_words(found, known):
    said = did_you_mean(found, known)
    assert said == "" or any(f"'{word}'" in said for word in known)


@given(known=st.lists(WORDS, min_size=1, max_size=6, unique=True), data=st.data())
def test_a_word_that_is_known_is_its_own_first_suggestion(known, data):
    word = data.draw(st.sampled_from(known))
    assert did_you_mean(word, known).startswith(f"Did you mean '{word}'")
