"""Nothing worse hides behind distance, and what is better by chance is not called better.

Each closer own group, however thin, is tested against what is printed in its place. Clinics, patients and
rows are invented; the exact test is scipy's where it is checked.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
import test_ladder
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact
from test_counts_said import form, notes
from test_ladder import CANNULA, FILLER, LIBRARY, PRINTED_BENEFIT, rows

from consentpack.model import Counts
from consentpack.rates.compare import by_method, disagreement, verdict
from consentpack.rates.counted import Rung
from consentpack.rates.worse import worse

answers = test_ladder.answers


def test_a_thin_closest_group_worse_than_the_wider_one_that_is_printed_is_told(answers):
    # the others: 40 of 180; Fisher's one-sided P of 8 of 12 against them: .0021
    audit = rows(12, bruising=8) + rows(180, site="chin", bruising=40)
    found = answers(audit)
    answer = found["bruising"]
    assert (answer.rate.level, answer.rate.events, answer.rate.n) == ("same-techniques", 48, 192)
    assert answer.own_worse.others == (40, 180)
    said = form(found, "bruising")
    assert said.startswith("About 25 in every 100 treatments.")
    assert said.endswith(
        "We saw it in 8 of 12 treatments here like yours. That is too few to be sure. But it is more than in "
        "the others we counted."
    )


def test_the_clinician_is_told_before_the_talk_with_difference_and_ratio(answers):
    found = answers(rows(12, bruising=8) + rows(180, site="chin", bruising=40))
    alert = next(note for note in notes(found) if note.startswith("Bruising"))
    assert alert == (
        "Bruising: your closer group (8 of 12, closest) is worse than the others of the wider group, "
        "same-techniques (40 of 180) by an exact test: +44 in every 100 (+16 to +65, Newcombe); ratio 3.00 "
        "(1.85 to 4.87, Katz). The patient is told."
    )


def test_a_gain_seen_less_in_the_closest_group_is_told(answers):
    audit = rows(12, less_pulling=3) + rows(180, site="chin", less_pulling=140)
    said = form(answers(audit), "less-pulling")
    assert "We saw it in 3 of 12 treatments here like yours. That is too few to be sure." in said
    assert said.endswith("But it is less than in the others we counted.")


def test_a_closest_group_that_is_better_is_never_said_to_be(answers):
    audit = rows(12, bruising=0) + rows(180, site="chin", bruising=140)
    answer = answers(audit)["bruising"]
    assert answer.worse == ()
    assert "like yours. That is too few" not in form(answers(audit), "bruising")


def test_what_chance_explains_is_no_alarm(answers):
    answer = answers(rows(12, bruising=4) + rows(180, site="chin", bruising=40))["bruising"]
    assert answer.worse == ()


def test_the_group_between_is_tested_too(answers):
    # nothing at the patient's site, but those with the same steps had it more than those with others
    audit = rows(12, site="chin", bruising=8) + rows(180, of=f"{CANNULA};{FILLER}", bruising=40)
    answer = answers(audit)["bruising"]
    assert (answer.rate.level, answer.own_worse.level) == ("lead-technique", "same-techniques")
    assert "We saw it in 8 of 12 treatments here like yours." in form(answers(audit), "bruising")


def test_a_thin_group_hides_behind_no_study_and_the_closest_is_named(answers):
    audit = rows(12, infection=2) + rows(10, site="chin", infection=1)
    said = form(answers(audit), "infection")
    assert said.endswith(
        "We saw it in 2 of 12 treatments here like yours. That is too few to be sure. But it is more than "
        "the study found."
    )


def test_a_thin_group_hides_behind_no_count(answers):
    bare = replace(LIBRARY, published=())
    audit = rows(5, bruising=5) + rows(24, of=f"{CANNULA};{FILLER}", bruising=2)
    found = answers(audit, library=bare)
    said = form(found, "bruising", library=bare)
    assert said.startswith("We saw it in 7 of 29 treatments.")
    assert "We saw it in 5 of 5 treatments here like yours." in said


def test_worse_than_a_wider_group_that_is_not_printed_is_for_the_clinician_only(answers):
    library = replace(LIBRARY, published=(replace(PRINTED_BENEFIT, events=30),))
    audit = rows(8, less_pulling=2) + rows(18, of=f"{CANNULA};{FILLER}", less_pulling=17)
    found = answers(audit, library=library)
    answer = found["less-pulling"]
    assert (answer.rate.level, answer.own_worse) == ("published", None)
    assert [each.than for each in answer.worse] == ["lead-technique", "lead-technique"]
    alert = next(note for note in notes(found, library) if "worse than" in note)
    assert alert.endswith("The patient is not told.")


def test_where_many_of_a_worse_group_were_lost_that_is_said(answers):
    audit = rows(12, bruising=8) + rows(8, last_seen="", bruising=0) + rows(180, site="chin", bruising=40)
    said = form(answers(audit), "bruising")
    assert "We do not know about 8 more treatments. But it is more than in the others we counted." in said


def nested():
    """Three own groups, each within the next: events and treatments are added rung by rung."""
    layer = st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
    return st.tuples(layer, layer, layer)


@given(nested(), st.booleans(), st.sampled_from(["same-techniques", "lead-technique"]))
def test_no_closer_group_is_worse_and_unmentioned(layers, harm, shown):
    levels = ("closest", "same-techniques", "lead-technique")
    rungs, events, n = [], 0, 0
    for level, (k, more) in zip(levels, layers, strict=True):
        events, n = events + k, n + more
        rungs.append(Rung(level, Counts(events, n, n, n)))
    rungs = rungs[: levels.index(shown) + 1]
    found = {(each.level, each.than) for each in worse(rungs, shown, None, harm=harm)}
    for at, close in enumerate(rungs[:-1]):
        for wide in rungs[at + 1 :]:
            k, m = close.counts.events, close.counts.watched
            j, others = wide.counts.events - k, wide.counts.watched - m
            table = [[k, m - k], [j, others - j]]
            p = fisher_exact(table, alternative="greater" if harm else "less").pvalue if m and others else 1
            if abs(p - 0.05) > 1e-9:
                assert ((close.level, wide.level) in found) == (p < 0.05)


# --- better by chance -----------------------------------------------------------------------------


def test_better_must_hold_by_every_method_that_is_printed():
    # near 5% the difference alone tells them apart
    said = {n: list(by_method(n, 100, 10, 100).values()) for n in (19, 20, 22)}
    assert said == {19: [False, False, False], 20: [False, True, False], 22: [True, True, True]}
    assert verdict(10, 100, 20, 100) == "mixed"
    apart = disagreement(10, 100, 20, 100)
    assert apart == "told apart by the difference, not by the exact test and the ratio"


def test_an_own_figure_that_only_some_methods_call_better_is_not_called_so(answers):
    study = replace(PRINTED_BENEFIT, outcome="bruising", events=20, n=100, watched_days=14)
    library = replace(LIBRARY, published=(study,))
    found = answers(rows(100, bruising=10), library=library)
    assert found["bruising"].verdict == "mixed"
    assert not [note for note in notes(found, library) if note.startswith("Bruising")]


def test_an_own_figure_that_some_methods_call_worse_is_told_to_the_clinician(answers):
    study = replace(PRINTED_BENEFIT, outcome="bruising", events=10, n=100, watched_days=14)
    library = replace(LIBRARY, published=(study,))
    alert = next(n for n in notes(answers(rows(100, bruising=20), library=library), library) if "Bruis" in n)
    assert "your figure (20%) may be higher than the published one (10%); the methods disagree: " in alert
    assert alert.endswith("told apart by the difference, not by the exact test and the ratio.")


@pytest.mark.parametrize("events", range(41))
def test_lower_is_said_only_where_scipy_and_both_intervals_say_so(events):
    if verdict(events, 100, 20, 100) == "lower":
        assert fisher_exact([[events, 100 - events], [20, 80]]).pvalue < 0.05
        assert all(by_method(events, 100, 20, 100).values())
