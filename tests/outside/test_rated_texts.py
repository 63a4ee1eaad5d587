"""The score beside the grade against how hard people found texts: two open corpora that may not be shipped.

They are read from the folder that CONSENTPACK_RATED_TEXTS names, with the files and columns that
docs/build_ease.py says; without it these tests are skipped, and the numbers stand in
docs/why/the-second-score.md with the command that made them.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "docs"))

import build_ease  # noqa: E402

from consentpack import shipped  # noqa: E402
from consentpack.library import load_library  # noqa: E402

FOLDER = os.environ.get("CONSENTPACK_RATED_TEXTS", "")
rated = pytest.mark.skipif(not FOLDER, reason="CONSENTPACK_RATED_TEXTS names no folder of rated texts")
RULES = load_library(shipped.content()).ease
LEAST = {"medical": 0.70, "general": 0.60}
"""Correlation with people's ratings that is asked for."""


@rated
@pytest.mark.slow("nine thousand rated texts")
@pytest.mark.parametrize("name", LEAST)
def test_the_score_agrees_with_people_as_shipped_and_fitted_and_better_than_the_grade(name):
    texts = getattr(build_ease, name)(Path(FOLDER))
    assert len(texts) > 4_500
    grade = build_ease.five_fold(texts, grade_alone=True)
    assert build_ease.shipped_score(texts, RULES) >= LEAST[name] > grade
    assert build_ease.five_fold(texts) >= LEAST[name]


@rated
@pytest.mark.slow("nine thousand rated texts")
def test_the_numbers_in_the_table_are_those_of_the_corpora():
    command = [sys.executable, "docs/build_ease.py", "--rated", FOLDER, "--check"]
    assert subprocess.run(command, cwd=ROOT, capture_output=True).returncode == 0


def test_the_scale_is_that_of_the_texts_in_the_project():
    """No rated text is needed for it: whoever has the project can set it again."""
    for ingredient in RULES.ingredients:
        mean, sd = build_ease.scale()[ingredient.id]
        assert (ingredient.mean, ingredient.sd) == (round(mean, 3), round(sd, 3))


def test_five_fold_regression_finds_what_is_there_and_nothing_where_nothing_is():
    """On made-up ratings: those that are a sum of the ingredients, and those drawn by lot."""
    import random

    draw = random.Random(3)
    ids = list(build_ease.INGREDIENTS)
    counts = [{id: draw.gauss(0, 1) for id in ids} for _ in range(300)]
    made = [build_ease.Rated(c, 0.0, sum(c.values())) for c in counts]
    by_lot = [build_ease.Rated(c, 0.0, draw.gauss(0, 1)) for c in counts]
    assert build_ease.five_fold(made) > 0.99
    assert abs(build_ease.five_fold(by_lot)) < 0.2


def test_no_rated_text_lies_in_the_project():
    names = {path.name for path in ROOT.rglob("*") if path.suffix in (".csv", ".xlsx")}
    assert names.isdisjoint({build_ease.MEDICAL, build_ease.GENERAL})
