"""Of each figure that patients are not told as a share, `audit rates` says why, for every comparison."""

from __future__ import annotations

import re

from consentpack import pipeline

LEVELS = {"closest", "same-techniques", "lead-technique"}


def test_each_missing_figure_of_the_examples_has_its_reasons(run, clinic_copy):
    """Takes a second or two: the figures of four plans."""
    for plan in pipeline.plan_files(pipeline.open_workplace(clinic_copy)):
        result = run(clinic_copy, "audit", "rates", str(plan))
        assert result.exit_code == 0, result.output
        told = re.split(r"\n(?! )", result.stdout.strip())
        missing = [each for each in told if re.match(r"[^\n]*: (?:no reliable figure|told as counts)", each)]
        assert missing
        for figure in missing:
            reasons = [line.strip().split(": ", 1) for line in figure.splitlines()[1:]]
            assert all(len(each) == len(("levels", "why")) and each[1] for each in reasons), figure
            levels = {level for levels, _ in reasons for level in levels.split(", ")}
            # none of ours is left out, and a study is named where there is no count of ours
            assert levels >= LEVELS, figure
            assert "told as counts" in figure or "published" in levels, figure
