"""Random registers and plans, and every number that form and booklet print counted once more.

A part of the whole run of `any_form.py`, whose numbers stand in docs/why/when-not-only-whether.md. All rows
and plans are invented.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import replace

import any_form
import pytest

FEW, MORE = range(15), range(15, 75)
OUT_OF_OR_TIME = re.compile(r"100\b|\d+ (?:day|week|month|year)")


@pytest.mark.parametrize("seed", FEW)
def test_what_is_printed_can_be_counted_once_more(seed, tmp_path):
    assert any_form.check(seed, tmp_path / "register.sqlite") == []


@pytest.mark.slow("60 random registers, each with its form and booklet")
@pytest.mark.parametrize("seed", MORE)
def test_what_is_printed_of_more_registers_can_be_counted_once_more(seed, tmp_path):
    assert any_form.check(seed, tmp_path / "register.sqlite") == []


def with_one_more(words: str) -> Iterator[str]:
    """Words with one of their numbers by one too high; times and "in 100" as they are."""
    for found in re.finditer(r"\d[\d,]*", words):
        if not OUT_OF_OR_TIME.match(words, found.start()):
            number = int(found[0].replace(",", "")) + 1
            yield f"{words[: found.start()]}{number}{words[found.end() :]}"


def test_whatever_number_is_changed_it_is_found(tmp_path):
    """A checker that finds nothing wrong with a wrong number would be none. Takes seconds: each number of
    three papers is changed, and all is counted once more each time."""
    plan, rows = any_form.case(random.Random(902))
    right = any_form.papers(plan, rows, tmp_path / "register.sqlite")
    tried = 0
    for paper, told in right.said.items():
        for at, (id, words) in enumerate(told):
            for wrong in with_one_more(words):
                changed = {**right.said, paper: [*told[:at], (id, wrong), *told[at + 1 :]]}
                assert list(any_form.problems(plan, rows, replace(right, said=changed))), (paper, id, wrong)
                tried += 1
    assert tried > 30


def test_a_line_of_source_with_another_number_is_found(tmp_path):
    plan, rows = any_form.case(random.Random(902))
    right = any_form.papers(plan, rows, tmp_path / "register.sqlite")
    assert len(right.source) == 1
    wrong = re.sub(r": (\d+)", lambda m: f": {int(m[1]) - 1}", right.source[0])
    assert list(any_form.problems(plan, rows, replace(right, source=[wrong])))


THIN = re.compile(r"(?:We saw it in \d+ of \d+ treatments here like yours|In our own clinic we saw).*")


def test_a_paper_that_is_silent_on_a_closer_group_that_is_worse_is_found(tmp_path):
    for seed in range(31, 400):
        plan, rows = any_form.case(random.Random(seed))
        right = any_form.papers(plan, rows, tmp_path / "register.sqlite")
        for paper, told in right.said.items():
            silent = {**right.said, paper: [(id, THIN.sub("", words)) for id, words in told]}
            if any("silent" in each for each in any_form.problems(plan, rows, replace(right, said=silent))):
                return
    raise AssertionError("no register with a closer group that is worse")
