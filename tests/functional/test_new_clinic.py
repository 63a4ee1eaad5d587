"""A new clinic from an empty folder to a patient's papers, as somebody there would do it: started by one
command, its spreadsheet of 300 rows imported as it is, and a pack made, in at most fifteen commands.

The spreadsheet is that of messy_sheet, with a column of names beside; all of it is invented. The clinic's
numbers are from the range that is kept for drama (Ofcom, from memory).
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import messy_sheet
import pytest
from click.testing import CliRunner
from docx import Document

from consentpack.cli import main

COMMANDS = 15
MINUTES = 10
"""What starting a clinic may take. Ten times what it takes here: only a program that hangs is found by it."""
UNREAD = 0.03
"""Share of the rows that may be set aside."""
WORDS = [part for word, ids in messy_sheet.WORDS.items() for part in ("--word", f"{word}={ids}")]
NAMES = "Patient Name"


@dataclass(frozen=True)
class Said:
    """What a command ended with."""

    code: int
    out: str
    told: str


def in_process(folder: Path, arguments: tuple[str, ...]) -> Said:
    before = Path.cwd()
    os.chdir(folder)
    try:
        done = CliRunner().invoke(main, list(arguments), catch_exceptions=False)
    finally:
        os.chdir(before)
    return Said(done.exit_code, done.stdout, done.stderr)


def whole(folder: Path, arguments: tuple[str, ...]) -> Said:
    """The program started anew, as a person starts it."""
    command = [sys.executable, "-m", "consentpack", *arguments]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False)
    return Said(done.returncode, done.stdout, done.stderr)


class Somebody:
    """Who starts a clinic: types commands, and changes a file now and then. All of it counts."""

    def __init__(self, folder: Path, call: Callable[[Path, tuple[str, ...]], Said]):
        self.folder, self._call, self.did = folder, call, 0

    def types(self, *arguments: str, ends: int = 0) -> Said:
        self.did += 1
        said = self._call(self.folder, arguments)
        assert said.code == ends, f"{arguments}\n{said.out}\n{said.told}"
        return said

    def writes(self, name: str, text: str) -> None:
        self.did += 1
        (self.folder / name).write_text(text, encoding="utf-8")


def with_names(path: Path) -> messy_sheet.Expected:
    """The messy workbook with a name in each row, at its end; what each treatment that can be read is."""
    made, expected = messy_sheet.rows()
    groups, headers = made[3], made[4]
    made[3], made[4] = [*groups, "Patient"], [*headers, "Name"]
    for number, row in enumerate(made[5:]):
        if len(row) == len(headers) and row[1] != "Total":
            row.append(f"A{number}. Invented")
    messy_sheet.as_workbook(path, made)
    return expected


def plan(first: str) -> str:
    """The plan of a patient, from the first plan of the folder, with the patient's own in its place and with
    days that stay as the years go by."""
    own = {
        "reference": '"AL-P-1"', "prepared": "2026-11-20", "information_given": "2026-11-20",
        "treatment_date": "2026-12-15", "planned": '["blunt-cannula", "local-infiltration"]',
        "site": '"left cheek"', "region": '"cheek"', "indication": '"rolling"', "skin_type": '"III"',
        "condition": '"a dipped scar"', "clinician": '"Dr A. Invented"',
    }  # fmt: skip
    lines = [
        f"{key} = {own[key]}" if (key := line.partition(" = ")[0]) in own else line
        for line in first.splitlines()
    ]
    assert {line.partition(" = ")[0] for line in lines} >= set(own)
    return "\n".join(lines) + "\n"


def words_of(path: Path) -> str:
    """All words of a Word file, those in tables too."""
    found = Document(str(path))
    cells = [cell.text for table in found.tables for row in table.rows for cell in row.cells]
    return "\n".join([*(paragraph.text for paragraph in found.paragraphs), *cells])


@pytest.mark.parametrize(
    "call",
    [in_process, pytest.param(whole, marks=pytest.mark.slow("each command is a start of the program"))],
)
def test_a_clinic_is_started_its_sheet_imported_and_a_pack_made_in_fifteen_commands(tmp_path, call):
    """Takes some seconds: ten commands, and among them two packs and three readings of 300 rows."""
    expected = with_names(tmp_path / "audit.xlsx")
    somebody, began = Somebody(tmp_path, call), time.monotonic()

    made = somebody.types(
        "start", "alder-lane", "--yes", "--name", "Alder Lane Clinic (invented)", "--address",
        "2 Alder Lane, Example Town, EX2 2EX", "--phone", "020 7946 0102", "--out-of-hours", "020 7946 0198",
        "--rules", "uk-cosmetic", "--sheet", "audit.xlsx",
    )  # fmt: skip
    assert f"'{NAMES}': this column looks as if it says who a patient is" in made.told
    assert f'consentpack audit map audit.xlsx --save --column "{NAMES}=ignore"' in made.told
    somebody.folder = clinic = tmp_path / "alder-lane"

    refused = somebody.types("audit", "import", "audit.xlsx", "--dry-run", ends=11)
    assert f"the column '{NAMES}' looks as if it says who a patient is" in refused.told
    asked = somebody.types("audit", "map", "audit.xlsx", "--save", "--column", f"{NAMES}=ignore")
    assert '# "cannula + block" = ?  (43 times in What we did; may be: blunt-cannula' in asked.out
    tried = somebody.types("audit", "import", "audit.xlsx", "--dry-run")
    assert "52 rows (6, 14, 16, 19, 24 …), What we did: 'blunt cannula with LA' names" in tried.out
    assert len(tried.out.splitlines()) < 30  # by word, and not by row
    assert 'consentpack audit map audit.xlsx --save --word "WORD=IDS"' in tried.told
    somebody.types("audit", "map", "audit.xlsx", "--save", *WORDS)
    done = somebody.types("audit", "import", "audit.xlsx", "--by", "Sam Invented")
    assert done.out.splitlines()[0] == "300 rows read: 294 added, 0 updated, 0 unchanged, 6 set aside."
    assert len(messy_sheet.UNREADABLE) == 6 <= UNREAD * messy_sheet.ROWS

    first = (clinic / "plans" / "first-plan.toml").read_text(encoding="utf-8")
    somebody.writes("plans/al-p-1.toml", plan(first))
    built = somebody.types("build", "al-p-1")
    assert "Marked as a draft:" in built.told  # nobody has approved a text yet
    rates = somebody.types("audit", "rates", "al-p-1")
    somebody.types("check")

    assert somebody.did <= COMMANDS
    assert time.monotonic() - began < MINUTES * 60
    _is_the_patients(clinic / "packs" / "AL-P-1", expected, rates.out)
    _knows_no_name(clinic)


def _is_the_patients(pack: Path, expected: messy_sheet.Expected, rates: str) -> None:
    """The Word files open, and their figure of bruises is what is counted in the sheet by hand."""
    bruises = [value[6] for value in expected.values() if value[6] is not None]  # all were watched 14 days
    count = f"{sum(bruises)} of {len(bruises)}"
    assert f"Bruising: told as counts: {count} treatments" in rates
    form, record = words_of(pack / "form.docx"), words_of(pack / "record.docx")
    assert f"Bruising: {count}" in form and f"Bruising: the patient reads your count, {count}" in record
    assert "a dipped scar" in form and "Alder Lane Clinic (invented)" in words_of(pack / "booklet.docx")
    papers = json.loads((pack / "manifest.json").read_text(encoding="utf-8"))["documents"]
    assert len(papers) > 5
    for path in pack.glob("*.docx"):
        assert len(words_of(path)) > 300, path.name


def _knows_no_name(clinic: Path) -> None:
    """No name of the sheet is in any file that was made of it."""
    for path in clinic.rglob("*"):
        if path.is_file() and path.name != "audit.xlsx":
            words = words_of(path).encode() if path.suffix == ".docx" else path.read_bytes()
            assert not re.search(rb"A\d+\. Invented", words), path


def test_the_page_of_it_has_fifteen_commands_and_no_more():
    """They are run by the tests of the docs; the first makes the spreadsheet that stands in for one's own."""
    page = Path(__file__).parents[2] / "docs" / "how-to" / "new-clinic-in-fifteen-commands.md"
    typed = [line for line in page.read_text(encoding="utf-8").splitlines() if line.startswith("$ ")]
    assert typed[0].startswith("$ cat > audit.csv") and 10 < len(typed[1:]) <= COMMANDS
