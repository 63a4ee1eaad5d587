"""Two clinic folders on one register: one of them gives and marks, the other is told, and may read."""

from __future__ import annotations

import re
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from given import BY, MORNING, approved, give, mark

from consentpack import pipeline
from consentpack.errors import KeptError, LedgerError
from consentpack.pipeline import ledgers

ELSEWHERE = "was not made from this clinic folder"
LATER = MORNING + timedelta(days=1)


@pytest.fixture(scope="module")
def _first(tmp_path_factory, demo_clinic) -> Path:
    """It has given one pack."""
    folder = Path(shutil.copytree(demo_clinic, tmp_path_factory.mktemp("one-folder") / "clinic"))
    give(approved(folder))
    return folder


@pytest.fixture
def two(tmp_path, _first) -> tuple[Path, Path]:
    """A clinic folder, and a copy of it from before the last entry that names the same register."""
    first = Path(shutil.copytree(_first, tmp_path / "clinic"))
    settings = first / "clinic.toml"
    text = settings.read_text("utf-8")
    named, times = re.subn(r"(?m)^register = .*$", f'register = "{first / "register.sqlite"}"', text)
    assert times == 1
    settings.write_text(named, encoding="utf-8")
    second = Path(shutil.copytree(first, tmp_path / "second"))
    (second / "register.sqlite").unlink()
    mark(first, "HS-P-101", "more-time", now=LATER)
    return first, second


def sizes(*clinics: Path) -> set[int]:
    return {pipeline.head(clinic).size for clinic in clinics}


def test_whoever_has_not_the_last_receipt_enters_nothing(two):
    """Both entered before, and each folder then lacked what the other had."""
    first, second = two
    for refused in (
        lambda: give(second, "p-102", now=LATER),
        lambda: mark(second, "HS-P-101", "signed", now=LATER),
        lambda: pipeline.new_key(second, by=BY, now=LATER),
    ):
        with pytest.raises(LedgerError, match=ELSEWHERE) as error:
            refused()
        assert "go-on" in error.value.problems[0].fix and str(first) in error.value.problems[0].where
    assert sizes(first, second) == {2} and not (second / "given/HS-P-102").exists()
    mark(first, "HS-P-101", "signed", now=LATER)
    assert pipeline.verify_all(first).holds


def test_the_other_folder_may_read_and_is_told_what_it_has_not(two):
    _, second = two
    assert [each.given.reference for each in pipeline.issued(second)] == ["HS-P-101"]
    assert pipeline.story(second, "HS-P-101").told[0].standing.state == "more-time"
    found = {each.where: each.what for each in pipeline.verify_all(second).findings}
    assert "another clinic folder that uses the same register" in found["ledger, entry 2"]
    assert "another clinic folder" in str(pipeline.check_folder(second).noticed)


def test_a_folder_takes_the_ledger_over_and_what_it_lacks_is_brought_to_it(two, run):
    """Over a second: a pack is given."""
    first, second = two
    said = run(second, "ledger", "go-on", "--by", BY)
    assert said.exit_code == 0 and "with entry 3" in said.stdout
    give(second, "p-102", now=LATER)
    with pytest.raises(LedgerError, match=ELSEWHERE):
        mark(first, "HS-P-101", "signed", now=LATER)
    assert not pipeline.verify_all(second).holds
    for name in ("given", "kept"):
        shutil.copytree(
            first / name, second / name, dirs_exist_ok=True, ignore=_there(second / name, first / name)
        )
    assert pipeline.verify_all(second).holds


def _there(target: Path, source: Path):
    """Nothing that is there is written over."""

    def there(folder: str, names: list[str]) -> list[str]:
        here = target / Path(folder).relative_to(source)
        return [name for name in names if (here / name).is_file()]

    return there


def test_nobody_goes_on_where_he_is(two):
    first, _ = two
    with pytest.raises(LedgerError, match="goes on with it already"):
        pipeline.go_on_here(first, by=BY, now=LATER)
    assert sizes(first) == {2}


def test_a_last_receipt_that_was_damaged_keeps_nobody_from_entering(two):
    first, _ = two
    receipt = first / "given/HS-P-101/entry-2.json"
    receipt.chmod(0o600)
    receipt.write_bytes(b"x")
    mark(first, "HS-P-101", "signed", now=LATER)
    assert sizes(first) == {3} and not pipeline.verify_all(first).holds


def test_the_receipt_of_another_ledger_is_none(two, tmp_path):
    """Two clinics whose ledgers began apart, and one of which is then told to use the other's register."""
    first, second = two
    (second / "given/HS-P-101/entry-2.json").write_bytes(
        (first / "given/HS-P-101/1/receipt.json").read_bytes()
    )
    with pytest.raises(LedgerError, match=ELSEWHERE):
        mark(second, "HS-P-101", "signed", now=LATER)


def test_what_this_very_process_could_not_put_in_its_place_is_not_taken_for_another_folders(two, monkeypatch):
    """A desk runs for days: a disk that was full once must not keep it from entering ever after."""
    first, _ = two

    def full(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(ledgers, "move_whole", full)
        with pytest.raises(KeptError):
            mark(first, "HS-P-101", "signed", now=LATER)
    mark(first, "HS-P-101", "confirmed", now=LATER)
    assert sizes(first) == {4} and pipeline.verify_all(first).holds
