"""The command line: help, answers, exit codes."""

from __future__ import annotations

import json
import subprocess
import sys

import click
import pytest

from consentpack.cli.main import COMMANDS, main
from consentpack.errors import EXIT_CODES, FAULT, PIPE_CLOSED, STOPPED, ConsentpackError


def commands(group: click.Group, names: tuple[str, ...] = ()):
    """Every command with the words that call it."""
    ctx = click.Context(group)
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        yield (*names, name), command
        if isinstance(command, click.Group):
            yield from commands(command, (*names, name))


ALL = dict(commands(main))


@pytest.mark.parametrize("names", ALL, ids=" ".join)
def test_every_command_has_help_with_one_example(names):
    command = ALL[names]
    assert command.help.count("Example: consentpack") == 1
    assert all(p.help for p in command.params if isinstance(p, click.Option))


def test_the_overview_names_every_command_with_a_line(run, tmp_path):
    text = run(tmp_path, "--help").output
    assert all(name in text and line in text for name, (_, line) in COMMANDS.items())


def test_every_error_has_its_own_exit_code_in_the_table():
    kinds = ConsentpackError.__subclasses__()
    codes = [kind.exit_code for kind in kinds]
    assert len(set(codes)) == len(kinds)
    assert set(EXIT_CODES) == {0, 2, FAULT, STOPPED, PIPE_CLOSED, *codes}


def test_help_loads_none_of_the_heavy_packages():
    code = (
        "import sys; sys.argv=['consentpack','--help']\n"
        "from consentpack.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'docx','textstat','sqlalchemy','scipy','jinja2','babel','markdown_it','lxml'}\n"
        "sys.exit(' '.join(sorted(heavy & set(sys.modules))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")
EASY = tuple(kind for kind in KINDS if kind != "record")
"""The papers of the first plan, in the order of a pack; all but the record are for patients."""


def test_demo_says_what_it_made_what_it_set_aside_and_where_to_look(run, tmp_path):
    result = run(tmp_path, "demo", "d")
    assert result.exit_code == 0
    assert "720 treatments imported; 7 rows set aside." in result.stdout
    assert "audit.set-aside.csv" in result.stdout
    papers = ", ".join(f"{kind}.docx" for kind in KINDS)
    assert f"packs/HS-P-101: {papers} (draft, not approved for patients)" in result.stdout
    assert "Everything here is invented." in result.stdout
    assert "…" not in result.stdout and "… building p-101.toml" in result.stderr


def test_demo_never_writes_over_anything(run, tmp_path):
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "mine.txt").write_text("mine")
    result = run(tmp_path, "demo", "d")
    assert result.exit_code == 14
    assert "Give another name" in result.stderr
    assert [p.name for p in (tmp_path / "d").iterdir()] == ["mine.txt"]


def test_build_as_json_gives_folder_documents_rates_and_scores(run, clinic_copy):
    result = run(clinic_copy, "build", "plans/p-101.toml", "--json")
    answer = json.loads(result.stdout)
    assert result.exit_code == 0
    assert set(answer["documents"]) == {f"{kind}.{end}" for kind in KINDS for end in ("docx", "html")}
    assert {rate["outcome"] for rate in answer["rates"]} >= {"bruising", "nerve-injury"}
    assert [score["document"] for score in answer["scores"]] == list(EASY)


def test_build_works_from_a_folder_below_and_with_clinic_named(run, clinic_copy, tmp_path):
    assert run(clinic_copy / "plans", "build", "p-101.toml").exit_code == 0
    result = run(tmp_path, "build", str(clinic_copy / "plans/p-102.toml"), "--clinic", str(clinic_copy))
    assert result.exit_code == 0
    assert (clinic_copy / "packs/HS-P-102/manifest.json").is_file()


@pytest.mark.parametrize("stage", ["plan", "matches", "rates", "tree"])
def test_each_stage_can_be_shown_and_nothing_is_written(run, clinic_copy, stage):
    result = run(clinic_copy, "build", "plans/p-101.toml", "--show", stage)
    assert result.exit_code == 0 and len(result.stdout) > 200
    assert not (clinic_copy / "packs").exists()


def test_outside_a_clinic_folder_the_error_says_what_to_do(run, tmp_path):
    result = run(tmp_path, "build", "x.toml")
    assert result.exit_code == 16
    assert "there is no clinic.toml here or above" in result.stderr
    assert "add --clinic DIR" in result.stderr


def test_a_misspelt_technique_gets_a_suggestion(run, clinic_copy):
    plan = clinic_copy / "plans/p-101.toml"
    text = plan.read_text(encoding="utf-8").replace('"blunt-cannula"', '"canula-blunt"')
    plan.write_text(text, encoding="utf-8")
    result = run(clinic_copy, "build", "plans/p-101.toml")
    assert result.exit_code == 15
    assert "plans/p-101.toml, line 6: there is no technique 'canula-blunt'." in result.stderr
    assert "Did you mean 'blunt-cannula'?" in result.stderr
    assert "`consentpack library list` shows all 29." in result.stderr


def test_a_plan_that_is_not_there_names_those_that_are(run, clinic_copy):
    result = run(clinic_copy, "build", "plans/p-1001.toml")
    assert result.exit_code == 15 and "plans/p-101.toml" in result.stderr


def test_audit_import_adds_up_and_sets_bad_rows_aside(run, clinic_copy):
    (clinic_copy / "register.sqlite").unlink()
    answer = json.loads(run(clinic_copy, "audit", "import", "audit.csv", "--json").stdout)
    assert answer["read"] == 727
    assert answer["added"] + answer["updated"] + answer["unchanged"] + answer["set_aside"] == 727
    aside = (clinic_copy / "audit.set-aside.csv").read_text(encoding="utf-8")
    assert aside.startswith("row,column,value,reason\n")
    assert "31/02/2025,is no day of the calendar; dates here are typed 25/11/2026." in aside
    assert "Did you mean 'needle-fan-one-entry'" in aside


def test_mending_the_bad_rows_takes_the_set_aside_file_away(run, clinic_copy):
    sheet = clinic_copy / "audit.csv"
    aside = clinic_copy / "audit.set-aside.csv"
    bad = {int(line.split(",")[0]) for line in aside.read_text().splitlines()[1:]}
    lines = sheet.read_text(encoding="utf-8").splitlines()
    good = [line for number, line in enumerate(lines, 1) if number not in bad]
    sheet.write_text("\n".join(good) + "\n", encoding="utf-8")
    result = run(clinic_copy, "audit", "import", "audit.csv")
    assert "0 set aside" in result.stdout and not aside.exists()


def test_an_audit_without_a_needed_column_is_refused_with_the_remedy(run, clinic_copy):
    sheet = clinic_copy / "audit.csv"
    text = sheet.read_text(encoding="utf-8").replace("Techniques,", "What we did,", 1)
    sheet.write_text(text, encoding="utf-8")
    result = run(clinic_copy, "audit", "import", "audit.csv")
    assert result.exit_code == 11
    assert "no column holds 'techniques'" in result.stderr
    assert '"Your header" = "techniques"' in result.stderr


def test_audit_rates_prints_a_line_per_outcome(run, clinic_copy):
    result = run(clinic_copy, "audit", "rates", "plans/p-101.toml")
    assert result.exit_code == 0
    assert "Bruising: " in result.stdout and " treatments = " in result.stdout
    as_json = json.loads(run(clinic_copy, "audit", "rates", "plans/p-101.toml", "--json").stdout)
    lines = result.stdout.splitlines()
    assert len(as_json) == sum(not line.startswith("  ") for line in lines)


def test_audit_rates_says_why_a_share_is_missing_and_what_is_told_instead(run, clinic_copy):
    lines = run(clinic_copy, "audit", "rates", "plans/p-101.toml").stdout.splitlines()
    counts = next(at for at, line in enumerate(lines) if line.startswith("A pocket of clear fluid: "))
    assert "told as counts: 2 of 53 treatments (95% 1.0 to 12.8%), closest" in lines[counts]
    assert lines[counts + 1] == "  closest: 2 of 53 leaves the true figure too open for so few events"
    nothing = lines.index("Cold sores: no reliable figure")
    assert lines[nothing + 1 : nothing + 3] == [
        "  closest, same-techniques, lead-technique: no treatment was watched for this",
        "  published: no published figure that may be quoted",
    ]


def test_library_list_shows_the_shipped_modules_outside_a_clinic(run, tmp_path):
    modules = json.loads(run(tmp_path, "library", "list", "--json").stdout)
    kinds = [module["kind"] for module in modules]
    assert kinds.count("techniques") >= 26 and kinds.count("risks") >= 36 and kinds.count("factors") >= 18
    assert f"techniques ({kinds.count('techniques')})" in run(tmp_path, "library", "list").stdout


def test_library_show_prints_a_module_with_its_sources(run, tmp_path):
    text = run(tmp_path, "library", "show", "vessel-blockage").stdout
    assert "A blocked blood vessel from filler" in text
    assert "Sources: alam2021" in text and "## What is done about it" in text


def test_library_show_of_a_misspelt_module_suggests_one(run, tmp_path):
    result = run(tmp_path, "library", "show", "brusing")
    assert result.exit_code == 10 and "Did you mean 'bruising'" in result.stderr


def test_library_check_of_the_shipped_library_is_clean(run, tmp_path):
    result = run(tmp_path, "library", "check", "--today", "2026-11-25")
    assert result.exit_code == 0, result.output
    assert "0 problems" in result.stdout


def test_library_check_finds_what_is_out_of_date(run, tmp_path):
    result = run(tmp_path, "library", "check", "--today", "2040-01-01")
    assert result.exit_code == 10
    assert "should have been reviewed by" in result.stdout


def test_library_approve_asks_for_ids_or_all(run, clinic_copy):
    result = run(clinic_copy, "library", "approve", "--by", "Dr A", "--role", "doctor")
    assert result.exit_code == 2
    result = run(clinic_copy, "library", "approve", "--all", "--by", "Dr A", "--role", "doctor")
    assert "modules approved by Dr A" in result.stdout
    assert "[[approval]]" in (clinic_copy / "approvals.toml").read_text(encoding="utf-8")


def test_score_prints_the_grade_by_section_and_names_the_hardest_sentences(run, clinic_copy):
    result = run(clinic_copy, "score", "plans/p-101.toml")
    assert result.exit_code == 0
    for kind in EASY:
        assert f"HS-P-101 {kind}: grade " in result.stdout
    assert "What can go wrong" in result.stdout
    assert "hardest: " in result.stdout and ", line " in result.stdout


def test_the_text_that_is_scored_gives_the_same_grade_to_anybody(run, clinic_copy):
    import textstat

    scores = json.loads(run(clinic_copy, "score", "plans/p-101.toml", "--json").stdout)
    text = run(clinic_copy, "score", "plans/p-101.toml", "--text").stdout
    assert textstat.lexicon_count(text) == sum(score["words"] for score in scores)
    (form,) = (score for score in scores if score["name"] == "HS-P-101 form")
    alone = text[: text.index("This booklet is part of the form.")]
    assert textstat.flesch_kincaid_grade(alone) == pytest.approx(form["textstat"], abs=0.2)


def test_score_over_the_target_exits_with_13(run, clinic_copy):
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8").replace("target_grade = 6", "target_grade = 1")
    settings.write_text(text, encoding="utf-8")
    result = run(clinic_copy, "score", "plans/p-101.toml")
    assert result.exit_code == 13 and "OVER" in result.stdout
    assert run(clinic_copy, "build", "plans/p-101.toml").exit_code == 13
    assert run(clinic_copy, "build", "plans/p-101.toml", "--draft").exit_code == 0


def test_a_language_without_a_translation_is_refused_by_name(run, clinic_copy):
    plan = clinic_copy / "plans/p-101.toml"
    plan.write_text('language = "cs"\n' + plan.read_text(encoding="utf-8"), encoding="utf-8")
    result = run(clinic_copy, "build", "plans/p-101.toml")
    assert result.exit_code == 12
    assert "there is no translation for 'cs' yet" in result.stderr
