"""Some of the damaged spreadsheets; thousands are tried by hand with `damaged_sheets.py`."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import pytest
from damaged_sheets import tried, verdict
from sheet_damage import sheet
from sheet_parts import DAMAGES, Damaged


def test_no_damaged_spreadsheet_loses_a_row_or_brings_the_program_down():
    found = tried(Path(__file__).parents[2], seed=11, count=4 * len(DAMAGES))
    assert [each for each in found if each[2] not in ("went in", "refused")] == []
    assert {kind for _, kind, became, _ in found if became == "went in"} > {"dimension", "hostile cells"}


@pytest.mark.parametrize("number", range(len(DAMAGES)))
def test_a_seed_always_gives_the_same_bytes(number):
    assert sheet(3, number) == sheet(3, number)


def test_the_judge_of_the_trial_sees_a_lost_file(tmp_path):
    made = Damaged("x", "audit.csv", b"", {"A": ("2026-01-05", 0)}, must_go_in=True)
    assert verdict(made, None, tmp_path / "none.sqlite") == "lost"
