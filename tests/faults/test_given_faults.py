"""A part of the trials of what was given: damage, kills, a full disk, several at once. All of it by hand."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
import full_disk
import give_at_once
import kill_given
import ledger_damage
from given_clinic import clinic_in

BAD = ("lost", "doubled", "half-written", "silent", "strays", "tracebacks", "unclear")


def bad(counts):
    return {name: counts[name] for name in BAD if counts[name]}


@pytest.mark.slow("some hundreds of changes, each with a look at the whole ledger")
def test_whatever_is_changed_is_found_at_its_place(tmp_path):
    trial = ledger_damage.tried(300, 11, ledger_damage.made(tmp_path / "clinic"))
    assert trial.missed == [] and trial.counts["tried"] == 300
    kinds = " ".join(name for name, count in trial.counts.items() if count)
    for each in (
        "edited, fit: all",
        "removed",
        "inserted",
        "swapped",
        "truncated",
        "bit in page",
        "receipt: ",
    ):
        assert each in kinds


@pytest.mark.postgres
@pytest.mark.slow("a hundred changes, each with a look at the whole ledger")
def test_whatever_is_changed_is_found_on_postgresql_too(tmp_path, postgres):
    with postgres.empty_database() as url:
        trial = ledger_damage.tried(100, 12, ledger_damage.made(tmp_path / "clinic", url), url)
    assert trial.missed == [] and trial.counts["tried"] > 80


def test_the_judge_of_the_trial_sees_what_nobody_found(tmp_path, monkeypatch):
    """The same changes, judged when every receipt is left out of account."""
    from consentpack.pipeline import verifying_all

    clinic = ledger_damage.made(tmp_path / "clinic")
    trial = ledger_damage.Trial(clinic, f"sqlite:///{clinic / 'register.sqlite'}")
    monkeypatch.setattr(verifying_all, "is_receipt", lambda _path: False)
    monkeypatch.setattr(verifying_all, "_receipts", lambda *_: [])
    monkeypatch.setattr(verifying_all, "_without_entry", lambda *_: [])
    last = trial.rows.entries[-1] | {"by": "Dr Other"}
    rows = ledger_damage.ledger_rows.fitted([*trial.rows.entries[:-1], last], "all", [], trial.rows.head)
    trial._put(rows)
    trial.judged("edited", ["ledger, entry 9"])
    assert trial.counts["silent"] == 1


@pytest.mark.slow("packs given and killed")
def test_a_give_that_is_killed_leaves_all_or_nothing(tmp_path):
    counts = kill_given.tried(6, 3, clinic_in(tmp_path / "clinic"))
    assert bad(counts) == {} and counts["killed"] >= 1


@pytest.mark.postgres
@pytest.mark.slow("packs given and killed")
def test_a_give_that_is_killed_leaves_all_or_nothing_on_postgresql(tmp_path, postgres):
    with postgres.empty_database() as url:
        counts = kill_given.tried(4, 4, clinic_in(tmp_path / "clinic", url))
    assert bad(counts) == {} and counts["killed"] >= 1


@pytest.mark.slow("packs given on a full disk")
@pytest.mark.skipif(not shutil.which("cc"), reason="needs a C compiler")
def test_a_full_disk_leaves_nothing_half_and_a_retry_works():
    command = [sys.executable, full_disk.__file__, "--every", "60"]
    said = subprocess.run(command, capture_output=True, text=True)
    assert said.returncode == 0, said.stderr
    counts = {name: int(n) for name, n in (each.rsplit(" ", 1) for each in said.stdout.strip().split(" | "))}
    assert bad(counts | dict.fromkeys(set(BAD) - set(counts), 0)) == {} and counts["tried"] > 8, said.stderr


@pytest.mark.slow("packs given by several at once")
def test_when_processes_give_at_once_none_is_lost(tmp_path):
    counts = give_at_once.tried(2, 5, give_at_once.folders(tmp_path, ""))
    assert bad(counts) == {} and counts["entered"] == 6


@pytest.mark.postgres
@pytest.mark.slow("packs given by several at once")
def test_when_two_clinic_folders_share_a_register_one_goes_on_and_the_other_is_refused(tmp_path, postgres):
    with postgres.empty_database() as url:
        counts = give_at_once.tried(2, 6, give_at_once.folders(tmp_path, url))
    assert bad(counts) == {} and counts["entered"] >= 2 and counts["refused"] >= 4
