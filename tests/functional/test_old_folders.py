"""Clinic folders that older programs made: what is told of them, and the one command that mends them.

The folders are earlier states of the examples (tests/data/old_folders); the register is one of the first
program. All that they hold is invented.
"""

from __future__ import annotations

import difflib
import shutil
import sqlite3
import tomllib
from pathlib import Path

import pytest

from consentpack import pipeline, shipped
from consentpack.plans import load_plan

DATA = Path(__file__).parents[1] / "data"
OLD = DATA / "old_folders"
STATES = ("first", "second", "third")
SAID = ("--say", "indication=rolling", "--say", "p-104:indication=boxcar")
"""What a clinician says of the four plans, two of which are named by nobody: by all, and by one."""


@pytest.fixture
def folder(tmp_path: Path):
    """The folder of one earlier state: what did not change since the first is that of the first."""

    def made(state: str) -> Path:
        clinic = tmp_path / "clinic"
        shutil.copytree(OLD / "first", clinic)
        shutil.copytree(OLD / state, clinic, dirs_exist_ok=True)
        shutil.copy(shipped.demo_clinic() / "logo.png", clinic)
        return clinic

    return made


def texts(clinic: Path) -> dict[str, str]:
    return {
        path.relative_to(clinic).as_posix(): path.read_text(encoding="utf-8")
        for path in (clinic / "clinic.toml", *sorted((clinic / "plans").iterdir()))
    }


def changed(before: str, after: str) -> list[str]:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line[:2] in ("- ", "+ ")]


@pytest.mark.parametrize(("state", "line"), [("first", 61), ("second", 66), ("third", 73)])
def test_settings_of_before_name_the_line_and_the_command(run, folder, state, line):
    done = run(folder(state), "build", "p-101")
    assert done.exit_code == 16
    assert done.stderr.startswith(
        f"clinic.toml, line {line}: [groups.skin] is called [groups.skin_type] now.\n"
        "  Write [groups.skin_type] there. `consentpack migrate` does so, for plans too.\n"
    )


def test_plans_of_before_name_each_key_with_its_line_and_what_to_write(run, folder):
    clinic = folder("third")
    settings = clinic / "clinic.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace("groups.skin]", "groups.skin_type]"))
    done = run(clinic, "build", "p-101")
    assert done.exit_code == 15
    called = (
        "'scar' is called 'condition' now.\n  Write condition = … there. `consentpack migrate` does so in all"
    )
    for line in (11, 21, 28, 35, 42, 49, 56):  # its own, and that of each language
        assert f"plans/p-101.toml, line {line}: {called}" in done.stderr
    assert "the key 'region' is missing" in done.stderr and "the key 'indication' is missing" in done.stderr


@pytest.mark.parametrize("state", STATES)
def test_one_command_brings_an_old_folder_forward_and_it_makes_a_pack(run, folder, state):
    """Takes over a second: sixty rows are imported, and a pack is made."""
    clinic = folder(state)
    done = run(clinic, "migrate", *SAID)
    assert done.exit_code == 0, done.stderr
    assert "plans/p-101.toml: region = \"cheek\" was put in: 'left cheek' lies there." in done.stdout
    place = pipeline.open_workplace(clinic)
    plans = {path.stem: load_plan(path, place.library, place.clinic) for path in pipeline.plan_files(place)}
    assert {name: (plan.region, plan.indication) for name, plan in plans.items()} == {
        "p-101": ("cheek", "rolling"),
        "p-102": ("cheek", "rolling"),
        "p-103": ("cheek", "rolling"),
        "p-104": ("forehead", "boxcar"),
    }
    assert run(clinic, "audit", "import", "audit.csv").stdout.startswith("60 rows read: 60 added")
    built = run(clinic, "build", "p-101", "--only", "form")
    assert built.exit_code == 0, built.stderr
    assert (clinic / "packs" / "HS-P-101" / "form.docx").is_file()
    # a rule that is newer than the plan stops it, and says what a clinician may write
    refused = run(clinic, "build", "p-104", "--only", "form")
    assert refused.exit_code == 19 and "[reasons.keloid-release], by = " in refused.stderr


def test_only_what_is_called_otherwise_changes_and_notes_and_order_stay(run, folder):
    clinic = folder("third")
    before = texts(clinic)
    run(clinic, "migrate", *SAID)
    after = texts(clinic)
    assert changed(before["clinic.toml"], after["clinic.toml"]) == ["- [groups.skin]", "+ [groups.skin_type]"]
    assert changed(before["plans/p-104.toml"], after["plans/p-104.toml"]) == [
        '+ region = "forehead"',
        '- scar = "small tight scars from chickenpox"',
        '+ condition = "small tight scars from chickenpox"',
        '+ indication = "boxcar"',
    ]
    translated = tomllib.loads(after["plans/p-101.toml"])["translated"]
    assert len(translated) == 6 and all("condition" in words for words in translated.values())


def test_each_file_is_kept_as_it_was_and_a_second_time_changes_nothing(run, folder):
    clinic = folder("first")
    before = texts(clinic)
    done = run(clinic, "migrate", *SAID)
    (kept,) = clinic.glob("before-migrate-*")
    assert f"The files as they were are in {kept}." in done.stdout
    assert texts(kept) == before
    after = texts(clinic)
    again = run(clinic, "migrate", *SAID)
    assert (
        again.exit_code == 0 and "Nothing here is called otherwise now: nothing was changed." in again.stdout
    )
    assert texts(clinic) == after and len(list(clinic.glob("before-migrate-*"))) == 1


def test_what_only_a_clinician_knows_is_asked_and_the_rest_is_done(run, folder):
    clinic = folder("first")
    done = run(clinic, "migrate")
    assert done.exit_code == 15
    lacks = "plans/p-104.toml: it does not say 'indication', and nothing in it tells."
    assert f"{lacks} The plan says: 'small tight scars from chickenpox'." in done.stderr
    assert "\n  Say it with --say p-104:indication=VALUE.\n" in done.stderr
    assert done.stderr.count("rolling (a wavy, shallow dip, held down by bands)") == 1
    plan = tomllib.loads((clinic / "plans/p-104.toml").read_text(encoding="utf-8"))
    assert plan["region"] == "forehead" and "condition" in plan and "indication" not in plan
    assert run(clinic, "migrate", *SAID).exit_code == 0


def test_a_site_that_lies_in_no_region_is_asked_for(run, folder):
    clinic = folder("first")
    path = clinic / "plans/p-101.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"left cheek"', '"near the old mark"'))
    done = run(clinic, "migrate", *SAID)
    assert done.exit_code == 15 and "plans/p-101.toml: it does not say 'region'" in done.stderr
    assert run(clinic, "migrate", "--say", "HS-P-101:region=cheek").exit_code == 0  # by its reference
    assert 'region = "cheek"' in path.read_text(encoding="utf-8")


def test_a_dry_run_changes_nothing_and_says_the_same(run, folder):
    clinic = folder("second")
    there = sorted(clinic.rglob("*"))
    before = texts(clinic)
    tried = run(clinic, "migrate", *SAID, "--dry-run")
    assert tried.exit_code == 0 and tried.stdout.endswith("Nothing was changed, as you asked.\n")
    assert texts(clinic) == before and sorted(clinic.rglob("*")) == there
    done = run(clinic, "migrate", *SAID)
    assert done.stdout.splitlines()[:-1] == tried.stdout.splitlines()[:-1]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("indication=roling", "there is no indication 'roling'.\n  Did you mean 'rolling'?"),
        ("p-109:indication=rolling", "there is no plan 'p-109'.\n  Did you mean 'p-10"),
        ("colour=red", "a plan need not say 'colour'.\n  There are: region, indication, skin_type."),
        ("skin_type=VII", "there is no skin_type 'VII'.\n  "),
    ],
)
def test_a_slip_in_what_is_said_changes_nothing(run, folder, said, told):
    clinic = folder("first")
    before = texts(clinic)
    done = run(clinic, "migrate", "--say", said)
    assert done.exit_code == 15 and told in done.stderr, done.stderr
    assert texts(clinic) == before and not list(clinic.glob("before-migrate-*"))


def test_the_same_command_brings_the_register_of_the_first_program_forward(run, folder):
    clinic = folder("first")
    raw = sqlite3.connect(clinic / "register.sqlite")
    raw.executescript((DATA / "register_schema_1.sqlite.sql").read_text(encoding="utf-8"))
    raw.close()
    done = run(clinic, "migrate", *SAID)
    assert done.exit_code == 0 and "the register was brought from schema 1 to " in done.stderr
    (copy,) = clinic.glob("register.sqlite.schema-1.*")
    assert copy.stat().st_size > 0
    history = run(clinic, "audit", "history")
    assert history.exit_code == 0 and len(history.stdout.splitlines()) >= 6
    assert "schema" not in run(clinic, "migrate").stderr  # once is enough


def test_a_module_of_ones_own_follows_and_its_words_stay(run, folder):
    clinic = folder("first")
    module = clinic / "content" / "options" / "silicone.md"
    module.parent.mkdir(parents=True)
    now = (shipped.content() / "options" / "silicone.md").read_text(encoding="utf-8")
    assert "\nindications = " in now
    then = now.replace("\nindications = ", "\nscars = ", 1) + "\nscars = these words are no key.\n"
    module.write_text(then, encoding="utf-8")
    done = run(clinic, "migrate", *SAID)
    assert "content/options/silicone.md: 'scars' is called 'indications' now." in done.stdout
    assert module.read_text(encoding="utf-8") == now + "\nscars = these words are no key.\n"


def test_what_cannot_be_changed_line_by_line_is_named_and_left(run, folder):
    clinic = folder("first")
    path = clinic / "clinic.toml"
    head, _, _ = path.read_text(encoding="utf-8").partition("[groups")
    text = head + '[groups]\nskin = { "all" = ["I", "II"] }\n'
    path.write_text(text, encoding="utf-8")
    done = run(clinic, "migrate", *SAID)
    assert done.exit_code == 15
    assert (
        "clinic.toml: [groups.skin] is called [groups.skin_type] now.\n  Change it there by hand."
        in done.stderr
    )
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize("field", ["scar-care", "joint-injections"])
def test_folders_of_today_are_left_as_they_are(run, tmp_path, field):
    name = "" if field == "scar-care" else field
    clinic = (
        pipeline.copy_demo(tmp_path / "clinic", name) if name else pipeline.copy_demo(tmp_path / "clinic")
    )
    before = texts(clinic)
    done = run(clinic, "migrate")
    assert (done.exit_code, done.stdout) == (
        0,
        "Nothing here is called otherwise now: nothing was changed.\n",
    )
    assert texts(clinic) == before


def test_a_plan_that_said_the_kind_under_its_old_name_is_asked_nothing(run, folder):
    clinic = folder("first")
    for path in (clinic / "plans").iterdir():
        path.unlink()
    old = DATA.parent / "bad_plans" / "from-before.toml"
    shutil.copy(old, clinic / "plans")
    done = run(clinic, "migrate")
    assert done.exit_code == 0, done.stderr
    assert "plans/from-before.toml: 'scar_kind' is called 'indication' now." in done.stdout
    place = pipeline.open_workplace(clinic)
    assert load_plan(clinic / "plans" / old.name, place.library, place.clinic).indication == "rolling"


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("reference = “X”\n".encode(), "plans/odd.toml, line 1: this line has typographic quotes"),
        (b"reference = \xff\n", "plans/odd.toml: "),
    ],
)
def test_a_plan_that_cannot_be_read_is_named_and_stops_no_other(run, folder, written, told):
    clinic = folder("first")
    (clinic / "plans" / "odd.toml").write_bytes(written)
    done = run(clinic, "migrate", *SAID)
    assert done.exit_code == 15 and told in done.stderr
    assert (clinic / "plans" / "odd.toml").read_bytes() == written
    assert 'indication = "boxcar"' in (clinic / "plans/p-104.toml").read_text(encoding="utf-8")
