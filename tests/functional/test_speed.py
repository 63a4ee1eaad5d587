"""The limits of tests/benchmarks/, with room for a noisy machine."""

from __future__ import annotations

import statistics
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

import cold_start
import pack_speed


def test_help_and_version_take_under_a_third_of_the_heavy_imports():
    found = cold_start.measure(5)
    heavy = found["import textstat, docx, sqlalchemy"]
    assert found["consentpack --version"] < heavy / 3
    assert found["consentpack --help"] < heavy / 3


def test_a_whole_pack_takes_no_longer_than_naive_writing_alone():
    ours, naive = pack_speed.measure(3)
    assert statistics.median(ours) <= statistics.median(naive)
