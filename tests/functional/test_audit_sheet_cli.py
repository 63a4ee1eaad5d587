"""`consentpack audit map` and `import` of a sheet that nobody tidied. All rows are invented."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import messy_sheet
import pytest

WORDS = [part for word, ids in messy_sheet.WORDS.items() for part in ("--word", f"{word}={ids}")]


@pytest.fixture
def messy(clinic_copy: Path) -> Path:
    """A clinic that says only how it types dates, with its workbook beside it."""
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    before, _, after = text.partition("[audit]")
    bare = '[audit]\nregister = "messy.sqlite"\ndates = "day-first"\n\n[groups.sites]'
    settings.write_text(before + bare + after.partition("[groups.sites]")[2], encoding="utf-8")
    messy_sheet.as_workbook(clinic_copy / "audit.xlsx", messy_sheet.rows()[0])
    return clinic_copy


def test_map_names_the_sheet_and_the_words_that_nobody_has_explained(run, messy):
    said = run(messy, "audit", "map", "audit.xlsx").stdout
    assert said.startswith("# Sheet 'All treatments' was read; its headers are in row 4 and 5.\n")
    assert '# "cannula + block" = ?  (' in said and " times in What we did; may be: " in said
    assert list(tomllib.loads(said)["audit"]["columns"])[:3] == ["Ref", "Visit", "Treatment Date"]
    found = json.loads(run(messy, "audit", "map", "audit.xlsx", "--json").stdout)
    assert (found["sheet"], found["header_rows"], found["other_sheets"]) == ("All treatments", [4, 5], [])
    assert found["columns"]["Infected?"] == "infection"


def test_words_are_kept_when_somebody_says_them_and_only_then(run, messy):
    before = (messy / "clinic.toml").read_text(encoding="utf-8")
    assert run(messy, "audit", "map", "audit.xlsx", *WORDS).exit_code == 2
    assert (messy / "clinic.toml").read_text(encoding="utf-8") == before
    assert run(messy, "audit", "map", "audit.xlsx", "--save").exit_code == 0
    assert "words" not in tomllib.loads((messy / "clinic.toml").read_text(encoding="utf-8"))["audit"]
    assert run(messy, "audit", "map", "audit.xlsx", "--save", *WORDS[:2]).exit_code == 0
    assert run(messy, "audit", "map", "audit.xlsx", "--save", *WORDS[2:]).exit_code == 0
    kept = tomllib.loads((messy / "clinic.toml").read_text(encoding="utf-8"))["audit"]
    assert kept["words"] == messy_sheet.WORDS and kept["columns"]["Ref"] == "case"


def test_a_word_that_means_nothing_is_not_kept(run, messy):
    result = run(messy, "audit", "map", "audit.xlsx", "--save", "--word", "block=nerve-blok-face")
    assert result.exit_code != 0
    assert "'block' should mean 'nerve-blok-face'" in result.stderr
    assert "Did you mean 'nerve-block-face'?" in result.stderr
    assert "columns" not in tomllib.loads((messy / "clinic.toml").read_text(encoding="utf-8"))["audit"]


def test_import_tells_what_it_did_by_word_and_by_reason(run, messy):
    run(messy, "audit", "map", "audit.xlsx", "--save", *WORDS)
    said = run(messy, "audit", "import", "audit.xlsx").stdout.splitlines()
    assert said[0] == "300 rows read: 294 added, 0 updated, 0 unchanged, 6 set aside."
    assert said[1] == "Sheet 'All treatments' was read; its headers are in row 4 and 5."
    assert "1 row holds totals, and left out: 307." in said
    assert any(line.startswith("'?' stands in Bruise ") for line in said)
    assert len(said) < 50
    found = json.loads(run(messy, "audit", "import", "audit.xlsx", "--json").stdout)
    assert (found["unchanged"], found["set_aside"]) == (294, 6)
    assert sum(group["times"] for group in found["set_aside_by_reason"]) == 6
    assert {each["kind"] for each in found["left_out"]} == {"empty", "totals", "note"}
    unknown = next(each for each in found["repairs"] if (each["column"], each["word"]) == ("Bruise", "?"))
    assert unknown["read_as"] == "not recorded" and len(unknown["rows"]) == 5


@pytest.mark.parametrize("row", ["x", "0-", "2-4", "5-4", "-1"])
def test_a_row_of_headers_is_a_number_or_two_that_follow(run, messy, row):
    result = run(messy, "audit", "import", "audit.xlsx", "--header-row", row)
    assert result.exit_code == 2 and "such as 3" in result.stderr


def test_sheet_and_rows_can_be_said(run, messy):
    run(messy, "audit", "map", "audit.xlsx", "--save", *WORDS)
    where = ("--sheet", "2", "--header-row", "4-5")
    found = json.loads(run(messy, "audit", "import", "audit.xlsx", *where, "--dry-run", "--json").stdout)
    assert (found["sheet"], found["added"]) == ("All treatments", 294)
    result = run(messy, "audit", "import", "audit.xlsx", "--sheet", "Read me")
    assert result.exit_code == 11 and "no column holds 'case'" in result.stderr


def test_the_clinics_words_count_when_a_treatment_is_entered_by_hand(run, messy):
    run(messy, "audit", "map", "audit.xlsx", "--save", *WORDS)
    common = ("--case", "H-1", "--session", "1", "--date", "2026-03-02", "--site", "chin")
    result = run(messy, "audit", "add", *common, "--technique", "Usual", "--stratum", "skin_type=2")
    assert result.exit_code == 0, result.stderr
