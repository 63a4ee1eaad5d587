"""What somebody says of the first file is not asked of the next one: sheet, row of the headers, columns and
words. All rows are invented."""

from __future__ import annotations

import io
import json
import tomllib
from datetime import datetime
from pathlib import Path

import pytest
from openpyxl import Workbook

from consentpack import pipeline

OLD = ["Case", "Session", "Date", "Technique", "Site", "Bruising"]
"""Headers that somebody struck out, and that are known better than those below."""
HEADERS = ["Our ref", "No.", "Done on", "How", "Where it was", "Marks"]
COLUMNS = dict(zip(HEADERS, ["case", "session", "date", "techniques", "site", "bruising"], strict=True))
ANSWERS = [part for header, meaning in COLUMNS.items() for part in ("--column", f"{header}={meaning}")]
ANSWERS += ["--word", "tube=blunt-cannula", "--sheet", "3", "--header-row", "3"]


def month(
    folder: Path,
    name: str,
    cases: range,
    *,
    sheet: str = "This year",
    above: int = 2,
    more: tuple[str, ...] = (),
) -> str:
    """A workbook whose first sheet is older, with the struck headers above those of the third."""
    book = Workbook()
    book.active.title = "Notes"
    book.active.append(["Nothing in this file is real."])
    last = book.create_sheet("Last year")
    last.append(OLD)
    last.append(["Z-1", 1, "2025-03-02", "blunt-cannula", "chin", "no"])
    for title in (sheet, *more):
        now = book.create_sheet(title)
        for _ in range(above - 1):
            now.append(["Invented, to show how a file is read"])
        now.append(OLD)
        now.append(HEADERS)
        for case in cases:
            now.append([f"A-{case}", 1, "2026-03-02", "tube", "chin", "yes"])
    book.save(folder / name)
    return name


@pytest.fixture
def clinic(clinic_copy: Path) -> Path:
    """A clinic that says where its register is, and nothing else of its audit."""
    path = clinic_copy / "clinic.toml"
    before, _, after = path.read_text(encoding="utf-8").partition("[audit]")
    bare = '[audit]\nregister = "kept.sqlite"\n# A note about the table below.\n\n[groups.sites]'
    path.write_text(before + bare + after.partition("[groups.sites]")[2], encoding="utf-8")
    return clinic_copy


@pytest.fixture
def first(run, clinic: Path) -> Path:
    """The first month is in, with all that had to be said for it."""
    month(clinic, "march.xlsx", range(1, 4))
    said = run(clinic, "audit", "map", "march.xlsx", "--save", *ANSWERS)
    assert said.exit_code == 0, said.stderr
    assert "Kept for the next file: sheet 'This year', headers in row 3." in said.stderr
    done = run(clinic, "audit", "import", "march.xlsx")
    assert done.stdout.startswith("3 rows read: 3 added"), done.stdout + done.stderr
    return clinic


def kept(clinic: Path) -> dict[str, object]:
    return tomllib.loads((clinic / "clinic.toml").read_text(encoding="utf-8"))["audit"]


def test_without_answers_another_sheet_would_be_read(run, clinic):
    """So that the tests below show something."""
    month(clinic, "march.xlsx", range(1, 4))
    found = json.loads(run(clinic, "audit", "map", "march.xlsx", "--json").stdout)
    assert (found["sheet"], found["header_rows"]) == ("Last year", [1])


def test_the_second_months_file_goes_in_with_no_answers(run, first):
    month(first, "april.xlsx", range(1, 6))
    done = run(first, "audit", "import", "april.xlsx")
    lines = done.stdout.splitlines()
    assert lines[0] == "5 rows read: 2 added, 0 updated, 3 unchanged, 0 set aside."
    assert lines[1] == "Sheet 'This year' was read; its headers are in row 3."
    assert "Sheet 'Last year' looks like an audit too, and was not read: --sheet \"Last year\"." in lines


def test_what_is_kept_stands_in_clinic_toml_with_a_note_and_all_else_stays(run, first):
    audit = kept(first)
    assert (audit["sheet"], audit["header_row"]) == ("This year", "3")
    assert (audit["columns"], audit["words"]) == (COLUMNS, {"tube": "blunt-cannula"})
    text = (first / "clinic.toml").read_text(encoding="utf-8")
    assert "# The sheet of the workbook that you asked for.\n" in text
    assert "# A note about the table below.\n" in text and "\n[groups.sites]\n" in text


def test_an_import_keeps_what_was_said_with_it_and_says_so(run, first):
    month(first, "may.xlsx", range(1, 3), sheet="From May")
    tried = run(first, "audit", "import", "may.xlsx", "--sheet", "from may", "--dry-run")
    assert tried.exit_code == 0 and "Kept" not in tried.stderr and kept(first)["sheet"] == "This year"
    done = run(first, "audit", "import", "may.xlsx", "--sheet", "from may")
    assert "In clinic.toml: Kept for the next file: sheet 'From May'." in done.stderr
    assert (kept(first)["sheet"], kept(first)["header_row"]) == ("From May", "3")


def test_headers_that_have_moved_are_told_and_the_wrong_ones_never_read(run, first):
    """Where the struck headers are found instead, the file is refused by its columns, and never read by the
    wrong ones."""
    month(first, "april.xlsx", range(1, 6), above=3)
    done = run(first, "audit", "import", "april.xlsx", "--json", "--header-row", "4")
    assert json.loads(done.stdout)["added"] == 2 and kept(first)["header_row"] == "4"
    month(first, "may.xlsx", range(1, 6), above=1)
    done = run(first, "audit", "import", "may.xlsx")
    assert (
        done.exit_code == 11 and "clinic.toml names the column 'Our ref', which is not there." in done.stderr
    )
    assert "The headers are not in row 4, where clinic.toml says that they are. Row 1 was read" in done.stderr
    done = run(first, "audit", "import", "may.xlsx", "--header-row", "2")
    assert done.stdout.startswith("5 rows read: 0 added, 0 updated, 5 unchanged")


def test_a_sheet_that_is_gone_is_told_where_only_one_is_like_an_audit(run, first):
    name = month(first, "april.xlsx", range(1, 6), sheet="April")
    _without(first / name, "Last year")
    done = run(first, "audit", "import", name, "--json")
    found = json.loads(done.stdout)
    assert (found["sheet"], found["added"]) == ("April", 2)
    assert found["not_as_kept"] == [
        "The sheet 'This year' of clinic.toml is not in this file, or empty. 'April' was read."
    ]


def test_a_sheet_that_is_gone_is_asked_for_where_several_are_like_an_audit(run, first):
    month(first, "april.xlsx", range(1, 6), sheet="April", more=("May",))
    done = run(first, "audit", "import", "april.xlsx")
    assert done.exit_code == 11
    assert "the sheet 'This year' of clinic.toml is not in this file, or empty, and several" in done.stderr
    assert "'April'" in done.stderr and "'May'" in done.stderr and "--sheet" in done.stderr


def test_a_file_of_text_has_no_sheet_and_is_read_by_the_same_rows(run, first):
    lines = ["Invented", ",".join(OLD), ",".join(HEADERS), "A-9,1,2026-04-02,tube,chin,no"]
    (first / "april.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    done = run(first, "audit", "import", "april.csv")
    assert done.stdout.startswith("1 rows read: 1 added"), done.stdout + done.stderr
    assert "The headers are in row 3." in done.stdout


def test_what_is_chosen_at_the_desk_is_kept_for_the_next_file_too(clinic):
    now = datetime(2026, 11, 25, 9, 0)

    def drop(name: str) -> pipeline.Dropped:
        sent = io.BytesIO((clinic / name).read_bytes())
        return pipeline.drop_sheet(clinic, name, sent, now=now)

    dropped = drop(month(clinic, "march.xlsx", range(1, 4)))
    choices = pipeline.Choices("This year", (3,), COLUMNS, {"tube": "blunt-cannula"})
    with pipeline.held(dropped) as waiting:
        dropped = pipeline.say_of(waiting, choices)
    place = pipeline.open_workplace(clinic)
    look = pipeline.look_at(place, dropped, now.date())
    assert pipeline.keep_dropped(place, dropped, mark=look.mark, now=now, by="tests")
    assert (kept(clinic)["sheet"], kept(clinic)["header_row"]) == ("This year", "3")
    place, dropped = pipeline.open_workplace(clinic), drop(month(clinic, "april.xlsx", range(1, 6)))
    look = pipeline.look_at(place, dropped, now.date())
    assert look.result and (look.result.added, look.result.unchanged) == (2, 3), look.problems


@pytest.mark.parametrize("rows", ["x", "0-", "2-4", "third"])
def test_a_row_of_headers_in_clinic_toml_that_is_none_is_named_with_its_line(run, first, rows):
    path = first / "clinic.toml"
    text = path.read_text(encoding="utf-8").replace('header_row = "3"', f'header_row = "{rows}"')
    path.write_text(text, encoding="utf-8")
    line = next(number for number, each in enumerate(text.splitlines(), 1) if each.startswith("header_row"))
    done = run(first, "audit", "import", "march.xlsx")
    assert done.exit_code == 16
    assert f"clinic.toml, line {line}: 'header_row' should be the number of a row" in done.stderr


def test_a_sheets_name_with_quotes_is_kept_as_it_is(run, first):
    month(first, "odd.xlsx", range(1, 3), sheet='The "new" list')
    assert run(first, "audit", "import", "odd.xlsx", "--sheet", 'The "new" list').exit_code == 0
    assert kept(first)["sheet"] == 'The "new" list'


def test_a_column_with_names_is_said_to_be_left_unread_once(run, first):
    path = first / "names.csv"
    path.write_text(f"{','.join(HEADERS)},Patient name\nA-1,1,2026-03-02,tube,chin,yes,B. Invented\n")
    assert run(first, "audit", "import", "names.csv").exit_code == 11
    said = run(first, "audit", "map", "names.csv", "--save", "--column", "Patient name=ignore")
    assert said.exit_code == 0, said.stderr
    assert kept(first)["columns"]["Patient name"] == "ignore"
    assert run(first, "audit", "map", "names.csv", "--save").exit_code == 0  # what was said stays
    done = run(first, "audit", "import", "names.csv")
    assert done.stdout.startswith("1 rows read: 0 added, 0 updated, 1 unchanged"), done.stdout + done.stderr


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Mark=bruising", "there is no column 'Mark' in the file.\n  Did you mean 'Marks'?"),
        (
            "Marks=brusing",
            "'Marks' should hold 'brusing', which no column can hold.\n  Did you mean 'bruising'",
        ),
        (
            "Patient name=case",
            "'Patient name' looks as if it says who a patient is: it can hold nothing that",
        ),
    ],
)
def test_a_slip_in_what_is_said_of_a_column_keeps_nothing(run, first, said, told):
    (first / "names.csv").write_text(f"{','.join(HEADERS)},Patient name\n")
    before = (first / "clinic.toml").read_bytes()
    done = run(first, "audit", "map", "names.csv", "--save", "--column", said)
    assert done.exit_code == 16 and told in done.stderr, done.stderr
    assert (first / "clinic.toml").read_bytes() == before


def test_words_that_are_said_are_not_asked_again_in_the_same_answer(run, clinic):
    month(clinic, "march.xlsx", range(1, 4))
    said = run(clinic, "audit", "map", "march.xlsx", "--save", *ANSWERS).stdout
    assert '"tube" = "blunt-cannula"' in said and '"tube" = ?' not in said


def _without(path: Path, sheet: str) -> None:
    from openpyxl import load_workbook

    book = load_workbook(path)
    del book[sheet]
    book.save(path)
