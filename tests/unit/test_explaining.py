"""How well we explain, counted: the same interval, rule and drift watch as for treatments."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from consentpack.model import WatchRules
from consentpack.rates.compare import verdict
from consentpack.rates.explaining import GOAL, GROUPS, changes, counted, drifts
from consentpack.rates.intervals import wilson
from consentpack.rates.watching import followed
from consentpack.register import TalkTold

FIRST = date(2026, 1, 1)
SAID, AGAIN, NOT_YET = 2, 1, 0
RULES = WatchRules(FIRST + timedelta(days=59), odds_ratio=2.0, run_length=500)


def told(*marks: int, first: int = 0, digest: str = "a", **more: str) -> list[TalkTold]:
    """One talk a day from a day on, one mark each."""
    usual = {"question": "harm", "module": "risks/swelling", "sentence": "Swelling: 67 in 100"}
    usual |= {"clinician": "Dr A", "language": "en-GB"} | more
    return [
        TalkTold(mark=mark, day=FIRST + timedelta(days=first + n), digest=digest, **usual)
        for n, mark in enumerate(marks)
    ]


def test_what_was_said_at_once_counts_and_what_took_a_second_telling_does_not():
    (found,) = counted(told(*[SAID] * 40, *[AGAIN] * 8, *[NOT_YET] * 2), GROUPS["question"])
    assert (found.said, found.again, found.not_yet, found.n) == (40, 8, 2, 50)
    assert (found.share, found.interval) == (0.8, wilson(40, 50))
    assert found.why_not == "" and not found.below_goal  # the goal itself is reached


@pytest.mark.parametrize(
    ("said", "n", "why"),
    [
        (29, 29, "too few to say"),
        (15, 30, "too open to say"),
        (30, 30, ""),
        (30, 50, ""),
        (1, 60, "too open"),
    ],
)
def test_what_is_too_few_is_not_quoted_by_the_rule_for_all_figures(said, n, why):
    """30 of 50 leaves just under 30 points, 15 of 30 more; 1 of 60 too much for so few (NCHS 2017)."""
    (found,) = counted(told(*[SAID] * said, *[NOT_YET] * (n - said)), GROUPS["question"])
    assert found.why_not.startswith(why) and bool(found.why_not) is bool(why)


def test_a_text_below_the_goal_is_looked_at_only_when_it_may_be_quoted():
    few = told(*[SAID] * 10, *[NOT_YET] * 19)
    many = told(*[SAID] * 70, *[NOT_YET] * 30, module="risks/bruising", sentence="Bruising: 44 in 100")
    found = counted([*few, *many], GROUPS["module"])
    assert [each.group for each in found if each.below_goal] == [("risks/bruising", "harm")]
    assert found[0].sentence == "Bruising: 44 in 100" and GOAL == 0.8


def test_groups_are_those_that_were_asked_for():
    marks = [*told(SAID), *told(NOT_YET, clinician="Dr B", language="pl", question="gain")]
    assert [each.group for each in counted(marks, GROUPS["clinician"])] == [("Dr A",), ("Dr B",)]
    assert [each.group for each in counted(marks, GROUPS["language"])] == [("en-GB",), ("pl",)]
    assert [each.group for each in counted(marks, GROUPS["question"])] == [("gain",), ("harm",)]
    assert len(counted(marks, GROUPS["module"])) == 2


# --- before and after a text was changed ----------------------------------------------------------


def test_a_text_after_whose_change_fewer_understand_is_found():
    before = told(*[SAID] * 45, *[NOT_YET] * 5)
    after = told(*[SAID] * 25, *[AGAIN] * 25, first=50, digest="b")
    (found,) = changes([*before, *after])
    assert (found.before.said, found.after.said, found.since) == (45, 25, FIRST + timedelta(days=50))
    assert found.fell and found.verdict == verdict(25, 50, 45, 50) == "lower"


def test_a_change_after_which_nothing_can_be_told_apart_is_no_fall():
    (found,) = changes(
        [*told(*[SAID] * 9, NOT_YET), *told(*[SAID] * 8, NOT_YET, NOT_YET, first=10, digest="b")]
    )
    assert not found.fell and found.verdict == "cannot tell"


def test_a_text_that_was_never_changed_is_not_compared_and_of_several_changes_the_last_is():
    assert changes(told(SAID, SAID, NOT_YET)) == []
    marks = [*told(SAID, digest="a"), *told(NOT_YET, first=1, digest="b"), *told(AGAIN, first=2, digest="c")]
    (found,) = changes(marks)
    assert (found.before.not_yet, found.after.again, found.before.n, found.after.n) == (1, 1, 1, 1)


# --- over time ------------------------------------------------------------------------------------


def test_a_lasting_fall_is_found_by_the_sum_that_watches_treatments():
    usual = [NOT_YET if n % 4 == 0 else SAID for n in range(60)]
    worse = [SAID if n % 3 == 0 else NOT_YET for n in range(60)]
    (drift,), without = drifts(told(*usual, *worse), RULES)
    assert without == [] and (drift.found.events, drift.found.n, drift.found.since) == (15, 60, 60)
    assert drift.found.chart.signals
    days = np.array([(FIRST + timedelta(days=n)).toordinal() for n in range(120)])
    missed = np.array([mark < SAID for mark in (*usual, *worse)])
    assert followed(days, missed, np.zeros(120, int), 1, RULES) == drift.found


def test_nothing_changed_gives_no_signal_and_too_few_give_no_baseline():
    usual = [NOT_YET if n % 4 == 0 else SAID for n in range(120)]
    (drift,), _ = drifts(told(*usual), RULES)
    assert drift.found.chart.signals == ()
    assert drifts(told(*usual[:20]), RULES) == ([], ["risks/swelling, harm"])
