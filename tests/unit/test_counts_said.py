"""Counts that are too open for "in every 100" are told as counts; none is pooled as widely as is fair.

Clinics, patients and rows are invented.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import test_ladder
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint
from test_ladder import CANNULA, CLINIC, FILLER, LIBRARY, PLAN, rows, whys

from consentpack.assemble import Inputs, make_context
from consentpack.assemble.consent import figures_explained
from consentpack.assemble.figures import figure_cell
from consentpack.assemble.inputs import Judgement
from consentpack.assemble.record import record_notes
from consentpack.assemble.sources import figure_sources
from consentpack.catalogues import load
from consentpack.match import match
from consentpack.model import Counts, RateAnswer
from consentpack.rates.counted import Rung, fairly_pooled, spread
from consentpack.tree import Items, Pictograph, text_of

answers = test_ladder.answers
ENGLISH = load("en-GB", (), where="test")
BARE = replace(LIBRARY, published=())
"""The library without printed figures."""


def context(found: dict[str, RateAnswer], plan=PLAN, library=LIBRARY):
    return make_context(Inputs(plan, library, CLINIC, match(plan, library), found, ENGLISH))


def form(found: dict[str, RateAnswer], *ids: str, plan=PLAN, library=LIBRARY) -> str:
    """What patients read of an outcome."""
    content = figure_cell(context(found, plan, library), *ids).content
    return " ".join(text_of(each.runs) for each in content if not isinstance(each, Pictograph))


def notes(found: dict[str, RateAnswer], library=LIBRARY) -> list[str]:
    """What the clinician is told before the talk."""
    nodes = record_notes(context(found, library=library), Judgement())
    return [text_of(p.runs) for n in nodes for p in (n.items if isinstance(n, Items) else [n])]


# --- some were seen -------------------------------------------------------------------------------


def test_what_is_too_open_for_a_share_is_told_as_counts_with_its_range(answers):
    found = answers(rows(234, bruising=8))
    assert found["bruising"].rate is None
    said = form(found, "bruising")
    assert said.startswith("We saw it in 8 of 234 treatments. ")
    low, high = proportion_confint(8, 234, method="wilson")  # 1.7 to 6.6 in 100, from statsmodels
    assert (low, high) == pytest.approx((0.01742, 0.06602), abs=5e-5)
    assert "If we counted many more, it would most likely be from 1 to 7 in every 100." in said
    assert "From 234 treatments here like yours, in the same kind of place and skin" in said
    assert "reliable" not in said


@pytest.mark.parametrize(("events", "n"), [(5, 71), (8, 234), (22, 24), (1, 2)])
def test_whatever_was_counted_is_never_called_unknown(answers, events, n):
    said = form(answers(rows(n, bruising=events)), "bruising")
    assert said.startswith(f"We saw it in {events} of {n} treatments.")


def test_the_clinician_is_told_before_the_talk_and_why(answers):
    alert = next(note for note in notes(answers(rows(234, bruising=8))) if note.startswith("Bruising"))
    assert alert == (
        "Bruising: the patient reads your count, 8 of 234, and no share of 100: 8 of 234 leaves the true "
        "figure too open for so few events."
    )


def test_the_closest_group_with_enough_is_told_else_the_widest(answers):
    enough = answers(rows(40, bruising=2) + rows(50, site="chin", bruising=4))["bruising"].seen
    assert (enough.level, enough.events, enough.n) == ("closest", 2, 40)
    thin = answers(rows(4, bruising=1) + rows(9, of=f"{CANNULA};{FILLER}", bruising=2))["bruising"].seen
    assert (thin.level, thin.events, thin.n) == ("lead-technique", 3, 13)


def test_only_where_nothing_was_counted_there_is_no_figure(answers):
    found = answers(rows(3, infection=0))
    assert found["bruising"].seen is None
    assert form(found, "bruising").startswith("We do not have a reliable figure.")


def test_a_published_figure_goes_before_a_count(answers):
    answer = answers(rows(20, infection=0))["infection"]
    assert (answer.rate.level, answer.seen) == ("published", None)


def test_where_many_were_lost_they_are_named_and_the_range_holds_all_they_may_have_had(answers):
    found = answers(rows(100, bruising=20) + rows(40, last_seen="", bruising=0))
    said = form(found, "bruising")
    assert said.startswith("We saw it in 20 of 100 treatments. We do not know about 40 more treatments.")
    low, _ = proportion_confint(20, 140, method="wilson")
    _, high = proportion_confint(60, 140, method="wilson")
    assert (found["bruising"].seen.interval.low, found["bruising"].seen.interval.high) == pytest.approx(
        (low, high)
    )
    assert "from 9 to 52 in every 100" in said


@given(st.integers(1, 200).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n), st.integers(0, 100))))
def test_the_range_never_leaves_out_what_was_seen(some):
    events, n, lost = some
    found = spread(Counts(events, n, n + lost, n))
    assert found.low <= events / n <= found.high
    assert found.low <= events / (n + lost) or lost * 5 <= n + lost


def test_a_gain_that_nobody_could_yet_have_judged_is_not_told(answers):
    recent = rows(3, day="2026-11-10", last_seen="2026-11-12", less_pulling=3, bruising=3)
    found = answers(recent)
    assert found["less-pulling"].seen is None
    assert form(found, "less-pulling") == "We do not have a reliable figure."
    assert found["bruising"].seen is not None  # a harm is told whenever it was seen


# --- none was seen --------------------------------------------------------------------------------


def test_none_in_86_stays_so(answers):
    said = form(answers(rows(86, bruising=0)), "bruising")
    assert said.startswith(
        "None in 86 treatments so far. The true number could be up to about 5 in every 100."
    )
    assert "One clinic may be too small to see it." in said


def test_a_count_of_none_is_pooled_as_widely_as_is_fair_and_says_so(answers):
    audit = rows(80, bruising=0) + rows(120, of=f"{CANNULA};{FILLER}", bruising=0)
    answer = answers(audit)["bruising"]
    assert (answer.rate.level, answer.rate.events, answer.rate.n, answer.pooled) == (
        "lead-technique", 0, 200, True,
    )  # fmt: skip
    said = form(answers(audit), "bruising")
    assert said.startswith("None in 200 treatments so far.")
    assert "with the same main step as yours" in said
    assert "None was seen in those most like yours, so we counted more of our treatments." in said


def test_none_here_is_not_said_where_a_wider_group_that_is_no_other_saw_it(answers):
    audit = rows(80, bruising=0) + rows(40, of=f"{CANNULA};{FILLER}", bruising=2)
    answer = answers(audit)["bruising"]
    assert (answer.rate, answer.seen.events, answer.seen.n, answer.pooled) == (None, 2, 120, True)
    assert form(answers(audit), "bruising").startswith("We saw it in 2 of 120 treatments.")


def test_where_the_wider_group_may_be_quoted_its_figure_is(answers):
    audit = rows(80, bruising=0) + rows(320, of=f"{CANNULA};{FILLER}", bruising=4)
    answer = answers(audit)["bruising"]
    assert (answer.rate.level, answer.rate.events, answer.rate.n, answer.pooled) == (
        "lead-technique", 4, 400, True,
    )  # fmt: skip
    assert "None was seen in those most like yours" in form(answers(audit), "bruising")


def test_none_here_is_said_where_the_wider_group_is_another(answers):
    # 60 of 120 others: the exact test finds them unlike, so telling their figure would not be fair
    audit = rows(80, bruising=0) + rows(120, of=f"{CANNULA};{FILLER}", bruising=60)
    answer = answers(audit)["bruising"]
    assert (answer.rate.level, answer.rate.events, answer.rate.n, answer.pooled) == ("closest", 0, 80, False)


def test_a_gain_that_none_had_is_not_pooled_with_those_who_had_it(answers):
    audit = rows(80, less_pulling=0) + rows(120, of=f"{CANNULA};{FILLER}", less_pulling=2)
    answer = answers(audit)["less-pulling"]
    assert (answer.rate.level, answer.rate.events, answer.rate.n) == ("closest", 0, 80)
    assert "too rare" not in form(answers(audit), "less-pulling")


def test_a_few_without_it_are_told_and_mean_little(answers):
    said = form(answers(rows(12, bruising=0)), "bruising")
    assert said.startswith("None in 12 treatments so far. The true number could be up to about 25 in every")
    assert "That does not mean it cannot happen." in said


def test_a_group_that_lost_too_many_is_not_pooled_to():
    close, lost = Counts(0, 80, 80, 80), Counts(0, 100, 200, 100)
    assert fairly_pooled([Rung("closest", close), Rung("same-techniques", lost)], 0) == 0


def test_patients_are_told_why_some_figures_are_counts(answers):
    said = " ".join(text_of(each.runs) for each in figures_explained(context(answers(rows(234, bruising=8)))))
    assert "Where our list is too short for that, we tell you what we counted." in said


def test_what_was_passed_over_is_still_in_the_record(answers):
    answer = answers(rows(234, bruising=8))["bruising"]
    assert [level for level, _ in whys(answer)] == [
        "closest", "same-techniques", "lead-technique", "published",
    ]  # fmt: skip


def test_a_study_that_is_named_beside_our_own_is_in_the_list_of_sources(answers):
    found = answers(rows(86, infection=0))
    assert found["infection"].rate.events == 0 and found["infection"].beside.source == "dixon2006"
    only = {"infection": found["infection"]}
    lines = [p for n in figure_sources(context(only)) for p in (n.items if isinstance(n, Items) else [n])]
    assert "Dixon" in " ".join(text_of(line.runs) for line in lines)
