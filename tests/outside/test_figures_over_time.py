"""Figures against a truth that is known, and random registers counted once more: a part of the whole runs.

The whole ones by hand: `tests/benchmarks/figures_over_time.py`, `tests/outside/any_register.py`; their
numbers stand in docs/why/when-not-only-whether.md. All rows are invented.
"""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

import any_register
import figures_over_time as over_time

NEAR, LEAST, MOST = 1.0, 88, 100
"""In every 100: how near the mean must come to the truth; and the share of 60 intervals that hold it, which
by chance alone may be as few as 88 where 95 are meant (binomial, one in a hundred; the draws are fixed)."""


@pytest.mark.parametrize("pattern", range(4), ids=over_time.PATTERNS)
def test_figures_are_near_a_truth_that_is_known(pattern):
    """Takes seconds: sixty clinics with ten thousand treatments."""
    found, true = over_time.simulate(60, pattern, seed=1), over_time.truth(pattern)
    for outcome in over_time.DAYS:
        bias, held = over_time.summed(found[outcome], true[outcome])
        assert abs(bias) < NEAR, (outcome, bias)
        assert LEAST <= held <= MOST, (outcome, held)
    before, _ = over_time.summed(found[f"before: {over_time.GAIN}"], true[over_time.GAIN])
    assert (before > 3) == (pattern > 0)  # the rule of before counts gains early where somebody is not seen


@pytest.mark.parametrize("seed", range(25))
def test_whatever_a_register_holds_its_answers_can_be_counted_once_more(seed, tmp_path):
    assert any_register.check(seed, tmp_path / "register.sqlite") == []


def test_a_number_that_is_not_so_is_found(tmp_path):
    """A checker that finds nothing wrong with a wrong answer would be none."""
    for seed in range(100):
        rows = any_register.register(random.Random(seed))
        told = any_register.answered(rows, tmp_path / "register.sqlite")
        own = [a for id, a in told.items() if id in any_register.OUTCOMES and a.rate and a.rate.first]
        by_days = [a for a in own if a.rate.risk]
        if by_days and len(own) > len(by_days):
            break
    (whole, *_), (days, *_) = [a for a in own if not a.rate.risk], by_days
    more = replace(whole, rate=replace(whole.rate, n=whole.rate.n + 1))
    share = replace(days.rate.risk, share=days.rate.risk.share * 2 / 3)
    less = replace(days, rate=replace(days.rate, risk=share))
    for wrong in (more, less):
        assert list(any_register.problems(rows, told | {wrong.outcome: wrong}))


def test_a_closer_group_that_is_worse_and_unmentioned_is_found(tmp_path):
    for seed in range(400):
        rows = any_register.register(random.Random(seed))
        told = any_register.answered(rows, tmp_path / "register.sqlite")
        worse = [a for id, a in told.items() if id in any_register.HARMS and a.worse]
        for answer in worse:
            silent = told | {answer.outcome: replace(answer, worse=())}
            if list(any_register.problems(rows, silent)):
                return
    raise AssertionError("no register with a closer group that is worse")
