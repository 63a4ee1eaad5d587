"""`consentpack start`: from a few answers to a clinic folder that makes a pack. The clinics are invented;
their numbers are from the range that is kept for drama (Ofcom, from memory)."""

from __future__ import annotations

import shutil
import tomllib
from datetime import date

import pytest
from click.testing import CliRunner
from openpyxl import Workbook

from consentpack import pipeline, shipped
from consentpack.cli import main
from consentpack.cli import start as command
from consentpack.clinic import KEYS
from consentpack.errors import OutputError
from consentpack.pipeline.start_answers import QUESTIONS

GIVEN = {
    "name": 'Alder Lane "Skin" Clinic (invented)',
    "address": "2 Alder Lane, Example Town, EX2 2EX",
    "phone": "020 7946 0102",
    "out-of-hours": "020 7946 0198",
    "rules": "uk-cosmetic",
}
SHEET = (
    "Case no,Session,Date,Techniques,Area,Skin type,Bruise,Patient name,Mystery\n"
    "A-1,1,03/04/2026,blunt-cannula,left cheek,II,yes,X,?\n"
)


def words(**more: str) -> list[str]:
    return [word for key, value in {**GIVEN, **more}.items() for word in (f"--{key}", value)]


def test_the_options_are_the_questions():
    assert tuple(command._OPTIONS) == tuple(question.name for question in QUESTIONS)


def test_from_nothing_to_a_first_pack_in_two_commands(run, tmp_path):
    made = run(tmp_path, "start", "c", "--yes", *words())
    assert made.exit_code == 0, made.stderr
    assert "Next: cd c && consentpack build first-plan" in made.stdout
    folder = tmp_path / "c"
    assert {path.name for path in folder.iterdir()} == {"clinic.toml", "plans", "content", "locales"}
    built = run(folder, "build", "first-plan")
    assert built.exit_code == 0 and "Marked as a draft:" in built.stderr
    assert (folder / "packs/FIRST-PLAN/form.docx").exists()
    assert run(folder, "library", "check", "--today", "2026-11-28").exit_code == 0


def test_every_line_of_what_is_written_says_what_it_is_for(run, tmp_path):
    """Each key and table has a note above it."""
    shutil.copy(shipped.demo_clinic() / "logo.png", tmp_path)
    run(tmp_path, "start", "c", "--yes", *words(logo="logo.png", audit="yes"))
    for name in ("clinic.toml", "plans/first-plan.toml"):
        lines = (tmp_path / "c" / name).read_text(encoding="utf-8").splitlines()
        for above, line in zip(["", *lines], lines, strict=False):
            if line and not line.startswith("#"):
                assert above.startswith(("# ", "[")) and (above.startswith("# ") or not line.startswith("["))
    text = (tmp_path / "c/clinic.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["brand"]["logo"] == "logo.png" and (tmp_path / "c/logo.png").exists()
    required = [key for key, spec in KEYS["clinic"].items() if spec.required]
    assert set(required) <= set(tomllib.loads(text)["clinic"])


def test_what_stands_there_as_a_note_is_right_once_it_is_taken_up(run, tmp_path):
    run(tmp_path, "start", "c", "--yes", *words())
    path = tmp_path / "c/clinic.toml"
    text = path.read_text(encoding="utf-8")
    for line in (
        "wait_days",
        "colour",
        "[groups.sites]",
        '"cheeks"',
        "[groups.skin_type]",
        '"I to',
        '"IV to',
    ):
        assert f"\n# {line}" in text
        text = text.replace(f"\n# {line}", f"\n{line}")
    path.write_text(text, encoding="utf-8")
    place = pipeline.open_workplace(tmp_path / "c")
    assert place.clinic.consent.wait_days == 7 and place.clinic.stratum_groups["skin_type"]["V"] == "IV to VI"


def test_a_spreadsheet_is_copied_in_and_mapped_and_what_is_not_clear_is_said(run, tmp_path):
    (tmp_path / "sheet.csv").write_text(SHEET, encoding="utf-8")
    made = run(tmp_path, "start", "c", "--yes", *words(sheet="sheet.csv"))
    assert made.exit_code == 0, made.stderr
    assert "'Mystery': it could not be told what this column holds; it is not read." in made.stderr
    assert "'Patient name': this column looks as if it says who a patient is" in made.stderr
    settings = tomllib.loads((tmp_path / "c/clinic.toml").read_text(encoding="utf-8"))
    assert settings["audit"]["columns"]["Bruise"] == "bruising" and settings["audit"]["dates"] == "day-first"
    assert (tmp_path / "c/sheet.csv").read_text(encoding="utf-8") == SHEET
    assert run(tmp_path / "c", "build", "first-plan").exit_code == 0
    (tmp_path / "c/sheet.csv").write_text(
        SHEET.replace(",Patient name", "").replace(",X", ""), encoding="utf-8"
    )
    imported = run(tmp_path / "c", "audit", "import", "sheet.csv")
    assert "1 rows read: 1 added" in imported.stdout, imported.stdout + imported.stderr


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"phone": "soon"}, "--phone: This should be a number that can be rung; it is 'soon'."),
        (
            {"rules": "uk-cosmetics"},
            "There is no rule 'uk-cosmetics' about consent. Did you mean 'uk-cosmetic'",
        ),
        ({"languages": "pl,en-GB"}, "The first is the clinic's own"),
        ({"languages": "en-GB,xx-yy"}, "'xx-yy' is not a language tag."),
        ({"languages": "en-GB,de"}, "There is no translation for 'de' yet."),
        ({"logo": "logo.gif"}, "There is no file 'logo.gif'."),
        ({"audit": "yes", "dates": "european"}, "Say one of: day-first, month-first, year-first."),
        ({"name": " "}, "--name: This cannot be left out."),
        ({"emergency": "the police"}, "--emergency: This should be a number that can be rung"),
    ],
)
def test_a_wrong_answer_is_said_and_nothing_is_written(run, tmp_path, more, said):
    result = run(tmp_path, "start", "c", "--yes", *words(**more))
    assert result.exit_code == 14 and said in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_all_that_is_left_out_is_said_in_one_run(run, tmp_path):
    result = run(tmp_path, "start", "c", "--yes")
    assert result.exit_code == 14
    for option in ("--name", "--address", "--phone", "--out-of-hours", "--rules", "--emergency"):
        assert f"{option}: This cannot be left out." in result.stderr


@pytest.mark.parametrize("there", ["clinic.toml", "plans/first-plan.toml", "sheet.csv"])
def test_nothing_is_ever_written_over(run, tmp_path, there):
    (tmp_path / "sheet.csv").write_text(SHEET, encoding="utf-8")
    mine = tmp_path / "c" / there
    mine.parent.mkdir(parents=True)
    mine.write_text("mine", encoding="utf-8")
    result = run(tmp_path, "start", "c", "--yes", *words(sheet="sheet.csv"))
    assert result.exit_code == 14 and f"{there}: there is something here already." in result.stderr
    assert [path for path in (tmp_path / "c").rglob("*") if path.is_file()] == [mine]
    assert mine.read_text(encoding="utf-8") == "mine"


def test_a_spreadsheet_that_lies_in_the_folder_stays_there(run, tmp_path):
    (tmp_path / "sheet.csv").write_text(SHEET, encoding="utf-8")
    (tmp_path / "letter.txt").write_text("mine", encoding="utf-8")
    result = run(tmp_path, "start", ".", "--yes", *words(sheet="sheet.csv"))
    assert result.exit_code == 0, result.stderr
    assert (tmp_path / "sheet.csv").read_text(encoding="utf-8") == SHEET
    assert not [path for path in tmp_path.parent.iterdir() if path.name.startswith(".start-")]


def test_each_question_is_asked_and_a_wrong_answer_asked_again(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(command, "can_ask", lambda: True)
    typed = ["Alder Lane", "2 Alder Lane, Example Town", "soon", "020 7946 0102", "", "mine", "", "ours",
             "us-general", "", "", "", "", "yes", ""]  # fmt: skip
    result = CliRunner().invoke(
        main, ["start", "c", "--out-of-hours", "020 7946 0198"], input="\n".join(typed) + "\n"
    )
    assert result.exit_code == 0, result.output
    assert "Error: This should be a number that can be rung; it is 'soon'." in result.output
    assert "Error: There is no field 'mine' here." in result.output
    assert "Error: There is no rule 'ours' about consent." in result.output
    assert "uk-cosmetic: United Kingdom, cosmetic work" in result.output
    clinic = tomllib.loads((tmp_path / "c/clinic.toml").read_text(encoding="utf-8"))
    assert clinic["clinic"]["emergency_number"] == "911" and clinic["clinic"]["phone"] == "020 7946 0102"
    assert clinic["audit"] == {"register": "register.sqlite", "dates": "month-first"}


@pytest.mark.parametrize("rule", sorted(pipeline.open_library(None).rules))
def test_under_every_rule_the_first_plan_makes_a_pack(tmp_path, rule):
    given = {key.replace("-", "_"): value for key, value in {**GIVEN, "rules": rule}.items()}
    made = pipeline.start(tmp_path / "c", given, today=date(2026, 11, 28))
    judged = pipeline.judge_plan(pipeline.open_workplace(made.folder), made.folder / "plans/first-plan.toml",
                                 today=date(2026, 11, 28))  # fmt: skip
    assert judged.problems == ()


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "c").write_text("mine", encoding="utf-8")
    given = {key.replace("-", "_"): value for key, value in GIVEN.items()}
    with pytest.raises(OutputError, match="this is a file, and a clinic is a folder"):
        pipeline.start(tmp_path / "c", given, today=date(2026, 11, 28))


def test_a_second_sheet_of_treatments_is_told_and_a_column_of_names_with_what_to_type(run, tmp_path):
    """Takes over a second: a folder is made, and its first plan is tried."""
    book = Workbook()
    for sheet in (book.active, book.create_sheet("Last year")):
        for line in SHEET.splitlines():
            sheet.append(line.split(","))
    book.save(tmp_path / "audit.xlsx")
    made = run(tmp_path, "start", "c", "--yes", *words(sheet="audit.xlsx"))
    assert made.exit_code == 0, made.stderr
    assert (
        "Sheet 'Last year' looks like an audit too, which was not looked at: consentpack audit" in made.stderr
    )
    assert '\n  consentpack audit map audit.xlsx --save --column "Patient name=ignore"\n' in made.stderr
    typed = ("audit.xlsx", "--save", "--sheet", "Last year", "--column", "Patient name=ignore")
    assert run(tmp_path / "c", "audit", "map", *typed).exit_code == 0
    imported = run(tmp_path / "c", "audit", "import", "audit.xlsx")
    assert "1 rows read: 1 added" in imported.stdout and "Sheet 'Last year' was read" in imported.stdout
