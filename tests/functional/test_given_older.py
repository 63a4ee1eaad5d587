"""Packs that an older program gave: what it had not is not missed when they are made once more."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from given import approved, give

from consentpack import shipped
from consentpack.ledger import Entry, standings
from consentpack.pipeline.kept_inputs import INPUTS
from consentpack.pipeline.ledgers import given_folder, reading_ledger
from consentpack.pipeline.rebuilding import rebuild
from consentpack.pipeline.stored import fetch, keep, path_of


@pytest.fixture(scope="module")
def _given(tmp_path_factory, demo_clinic) -> Path:
    folder = Path(shutil.copytree(demo_clinic, tmp_path_factory.mktemp("older") / "clinic"))
    give(approved(folder))
    return folder


@pytest.fixture
def given(tmp_path, _given) -> Path:
    """A clinic that has given one pack."""
    return Path(shutil.copytree(_given, tmp_path / "clinic"))


def entry_in(clinic: Path) -> Entry:
    with reading_ledger(clinic) as connection:
        return next(iter(standings(connection))).given


def inputs_changed(clinic: Path, **changed: str) -> None:
    """Let the list of what a pack was made from say something else."""
    path = given_folder(clinic, "HS-P-101", 1) / INPUTS
    inputs = json.loads(path.read_bytes()) | changed
    path.parent.chmod(0o700)
    path.unlink()
    path.write_text(json.dumps(inputs), encoding="utf-8")


def kept_without(clinic: Path, table: str) -> None:
    """Let what the program had be one that never had a table."""
    path = given_folder(clinic, "HS-P-101", 1) / INPUTS
    had = json.loads(fetch(clinic, json.loads(path.read_bytes())["shipped"]))
    del had[f"content/{table}"]
    inputs_changed(clinic, shipped=keep(clinic, json.dumps(had).encode()))


@pytest.mark.parametrize("table", ["familiarity.toml", "waits.toml"])
def test_a_table_that_did_not_exist_when_a_pack_was_given_is_not_missed(given, table):
    """Over a second: the pack is made once more. It said: this table is not there."""
    kept_without(given, table)
    found = rebuild(given, entry_in(given))
    assert (found.failed, found.figures) == ("", ())


def test_a_table_that_did_exist_then_and_is_gone_is_missed(given):
    path = given_folder(given, "HS-P-101", 1) / INPUTS
    shipped = json.loads(fetch(given, json.loads(path.read_bytes())["shipped"]))
    path_of(given, shipped["content/familiarity.toml"]).unlink()
    assert "cannot be read" in rebuild(given, entry_in(given)).failed


def test_a_pack_that_cannot_be_made_again_is_told_and_no_fault_of_the_program(given, run):
    """Exit 70 it was, and no word of which pack."""
    path_of(given, json.loads((given_folder(given, "HS-P-101", 1) / INPUTS).read_bytes())["plan"]).unlink()
    found = run(given, "verify", "--again")
    assert found.exit_code == 23
    assert "HS-P-101, version 1: " in found.stdout


@pytest.mark.parametrize(
    ("code", "told"),
    [("", True), ("0" * 64, True), (shipped.code(), False)],
    ids=["not kept", "another", "this"],
)
def test_papers_of_another_checkout_with_the_same_number_may_be_set_differently(given, code, told):
    """Over a second: the pack is made once more. It said: the program is the same."""
    inputs_changed(given, code=code)
    assert ("another consentpack" in rebuild(given, entry_in(given)).newer) == told


def test_a_changed_line_of_the_program_gives_another_digest(tmp_path, monkeypatch):
    (tmp_path / "a.py").write_text("x = 1\n", encoding="utf-8")
    monkeypatch.setattr(shipped, "_PACKAGE", tmp_path)
    before = shipped.code.__wrapped__()
    (tmp_path / "a.py").write_text("x = 2\n", encoding="utf-8")
    assert before != shipped.code.__wrapped__()
