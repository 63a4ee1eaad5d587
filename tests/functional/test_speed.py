"""The limits of tests/benchmarks/, with room for a noisy machine."""

from __future__ import annotations

import resource
import statistics
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

import cold_start
import export_speed
import pack_speed
import score_speed


def test_help_and_version_take_under_a_third_of_the_heavy_imports():
    found = cold_start.measure(5)
    heavy = found["import textstat, docx, sqlalchemy"]
    assert found["consentpack --version"] < heavy / 3
    assert found["consentpack --help"] < heavy / 3


def test_a_whole_pack_takes_no_longer_than_naive_writing_alone():
    ours, naive = pack_speed.measure(3)
    assert statistics.median(ours) <= statistics.median(naive)


def test_scoring_the_library_takes_less_than_twice_textstat_alone():
    """In processor time, which other processes on the machine do not change much."""
    ours, alone = score_speed.measure(3)
    assert statistics.median(a / b for a, b in zip(ours, alone, strict=True)) < 2


def test_memory_does_not_grow_over_ten_thousand_documents():
    """Each text is another one, so that anything kept of it would show."""
    scorer, target = score_speed.scorer(), score_speed.target()
    for number in range(2_000):
        scorer.score(score_speed.invented(number), target)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for number in range(2_000, 12_000):
        scorer.score(score_speed.invented(number), target)
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown < 3_000, f"{grown} kB more"  # a kept text of each would be over 8,000 kB


def test_writing_takes_a_small_part_of_what_other_ways_take_and_memory_stays_flat():
    """Limits on a quiet machine: a tenth of naive python-docx, half of docxtpl. Here with some room."""
    documents, look = export_speed.demo()
    each = export_speed.ways(export_speed.four_pages(documents[0]), look, pandoc=False)
    times = export_speed.measure(each, 7)
    assert export_speed.ratio(times, "consentpack", "naive python-docx") < 0.15
    assert export_speed.ratio(times, "consentpack", "docxtpl") < 0.5
    _, grown = export_speed.memory_growth(documents, look, 100)
    assert grown < 20_000, f"{grown} kB more"  # what 300 documents hold would be far over it


def test_all_ways_write_the_same_words():
    """Or the comparison would be of different work. docxtpl sets the words of a cell in one paragraph."""
    documents, look = export_speed.demo()
    each = export_speed.ways(export_speed.four_pages(documents[0]), look, pandoc=False)
    ours, naive, templated = (
        "".join(sorted("".join(export_speed.words_of(each[name]()))))
        for name in ("consentpack", "naive python-docx", "docxtpl")
    )
    assert ours == naive
    assert set(ours) == set(templated) and abs(len(ours) - len(templated)) <= 0.02 * len(ours)
