"""The first try of a sheet that nobody tidied: what nobody could read is set aside, and nothing else.

Each takes a second or two of processor: the library is read anew after each change of clinic.toml, and 300
rows go in and are compared.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import messy_sheet
import pytest
from support import contents

from consentpack import pipeline
from consentpack.errors import RegisterError
from consentpack.register import open_register

NOW = datetime(2026, 11, 25, 9, 0)
BARE = '[audit]\nregister = "messy.sqlite"\ndates = "day-first"\n'
COLUMNS = {
    "Ref": "case", "Visit": "session", "What we did": "techniques", "Area": "site", "Skin type": "skin_type",
    "Filler (ml)": "volume_ml", "Bruise": "bruising", "Swelling": "swelling", "Infected?": "infection",
    "Treatment Date": "date", "Follow-up Date": "last_seen", "Remarks": "ignore",
}  # fmt: skip


@pytest.fixture
def clinic(tmp_path: Path) -> Path:
    """A clinic that has said how it types a date, and nothing else of its audit."""
    folder = pipeline.copy_demo(tmp_path / "clinic")
    text = (folder / "clinic.toml").read_text(encoding="utf-8")
    before, _, after = text.partition("[audit]")
    (folder / "clinic.toml").write_text(
        f"{before}{BARE}\n[groups.sites]{after.partition('[groups.sites]')[2]}"
    )
    return folder


@pytest.fixture(params=["comma", "semicolon", "workbook"])
def sheet(request, tmp_path: Path) -> tuple[Path, messy_sheet.Expected]:
    made, expected = messy_sheet.rows()
    if request.param == "workbook":
        return messy_sheet.as_workbook(tmp_path / "audit.xlsx", made), expected
    sign = "," if request.param == "comma" else ";"
    return messy_sheet.as_csv(tmp_path / "audit.csv", made, sign), expected


def taken(clinic: Path, path: Path) -> tuple[pipeline.Workplace, object]:
    """The sheet as it goes in on the first try: the map kept as proposed, the words as somebody said them."""
    place = pipeline.open_workplace(clinic)
    found = pipeline.propose_columns(place, path)
    pipeline.save_columns(place, found.columns, messy_sheet.WORDS)
    place = pipeline.open_workplace(clinic)
    result, _ = pipeline.import_audit(place, path, now=NOW, by="tests")
    return place, result


def test_the_map_of_a_messy_sheet_is_proposed_without_a_word_from_the_clinic(clinic, sheet):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    found = pipeline.propose_columns(pipeline.open_workplace(clinic), sheet[0])
    assert found.columns == COLUMNS
    assert found.place.header_rows == (4, 5)
    assert found.place.sheet == ("All treatments" if sheet[0].suffix == ".xlsx" else "")
    assert found.identities == ()
    words = {each.word: each for each in found.words}
    assert "blunt-cannula" in words["cannula + block"].may_mean
    assert words["perhaps"].times == 1


def test_the_first_try_sets_aside_only_what_nobody_could_read(clinic, sheet):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    _, result = taken(clinic, sheet[0])
    aside = {item.row for item in result.set_aside}
    below = {number: number + messy_sheet.FIRST_ROW + (number > 149) for number in messy_sheet.UNREADABLE}
    assert aside == set(below.values())
    assert (result.read, result.added) == (300, 294)
    assert result.rows_set_aside <= 0.03 * messy_sheet.ROWS
    left = {each.kind: each for each in result.left_out}
    assert {kind: each.times for kind, each in left.items()} == {"empty": 2, "totals": 1, "note": 1}
    assert left["totals"].rows == (307,)


def test_each_treatment_of_a_messy_sheet_is_what_was_meant(clinic, sheet):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    place, _ = taken(clinic, sheet[0])
    held = contents(open_register(place.clinic.register_url))
    outcomes = ("bruising", "swelling", "infection")
    found = {
        row["case_ref"]: (
            session, row["day"], tuple(row["techniques"].split("+")), row["skin_type"], row["volume_ml"],
            row["watched_days"], *(row["outcomes"].get(outcome) for outcome in outcomes),
        )
        for (_, session), row in held.items()
    }  # fmt: skip
    assert found == sheet[1]


def test_what_was_read_otherwise_is_told_by_word_and_not_by_row(clinic, sheet):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    _, result = taken(clinic, sheet[0])
    told = {(each.column, each.word): each for each in result.repairs}
    unknown = told["Bruise", "?"]
    assert unknown.read_as == "not recorded" and unknown.times > 5 and len(unknown.rows) == 5
    assert told["Skin type", "type 3"].read_as == "III"
    assert told["What we did", "CANNULA and block"].read_as == "blunt-cannula + nerve-block-face"
    forms = {each.typed for each in result.repairs if each.column == "Treatment Date"}
    assert {"with a short year", "with the month's name", "as the number of a day"} <= forms
    assert len(result.repairs) < 60  # of more than a thousand cells


def test_the_next_file_needs_no_word_more(clinic, sheet):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    place, first = taken(clinic, sheet[0])
    again, _ = pipeline.import_audit(place, sheet[0], now=NOW, by="tests")
    assert (again.unchanged, again.added) == (first.added, 0)
    assert again.place == first.place
    found = pipeline.propose_columns(place, sheet[0])
    assert found.columns == COLUMNS
    assert {each.word for each in found.words} == {"tbc", "perhaps", "cannula or blade"}


def test_without_an_order_of_day_and_month_the_sheet_is_asked_about_and_nothing_goes_in(clinic, tmp_path):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    made, _ = messy_sheet.rows()
    slip = next(row for row in made[messy_sheet.FIRST_ROW :] if len(row) > 3 and row[3].count("/") == 2)
    slip[3] = "11/25/2025"
    path = messy_sheet.as_csv(tmp_path / "audit.csv", made)
    place = pipeline.open_workplace(clinic)
    pipeline.save_columns(place, COLUMNS, messy_sheet.WORDS)
    place = pipeline.open_workplace(clinic)
    place = replace(place, clinic=replace(place.clinic, date_order=None))
    with pytest.raises(RegisterError) as caught:
        pipeline.import_audit(place, path, now=NOW, by="tests")
    (problem,) = caught.value.problems
    assert "nothing tells whether day or month stands first in 'Treatment Date'" in problem.what
    assert (
        "1 fit only month-first (row " in problem.what
        and "can be read in more than one order" in problem.what
    )
    assert 'dates = "day-first"' in problem.fix
    assert open_register(place.clinic.register_url) is None or not contents(
        open_register(place.clinic.register_url)
    )


def test_without_an_order_a_column_that_tells_it_as_a_whole_is_read_by_it(clinic, sheet):
    """Over a second: the library is read anew after each change of clinic.toml, and 300 rows are compared."""
    place = pipeline.open_workplace(clinic)
    found = pipeline.propose_columns(place, sheet[0])
    pipeline.save_columns(place, found.columns, messy_sheet.WORDS)
    place = pipeline.open_workplace(clinic)
    place = replace(place, clinic=replace(place.clinic, date_order=None))
    pipeline.import_audit(place, sheet[0], now=NOW, by="tests")
    held = contents(open_register(place.clinic.register_url))
    assert {row["case_ref"]: row["day"] for row in held.values()} == {c: v[1] for c, v in sheet[1].items()}
