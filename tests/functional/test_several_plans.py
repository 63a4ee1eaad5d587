"""`build` of several plans, `--clinic` in either place, and lists that begin with the hardest."""

from __future__ import annotations

import json

import pytest

from consentpack.cli.edge import worst
from consentpack.errors import EXIT_CODES

PLANS = ("plans/p-101.toml", "plans/p-102.toml")


def spoil_plan(clinic, name: str, old: str, new: str) -> None:
    path = clinic / "plans" / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_several_plans_are_built_and_one_that_fails_stops_no_other(run, clinic_copy):
    """Three packs, one command: the first plan is wrong, the others are made all the same."""
    spoil_plan(clinic_copy, "p-101.toml", "blunt-cannula", "blunt-canula")
    result = run(clinic_copy, "build", *PLANS)
    assert result.exit_code == 15
    assert (clinic_copy / "packs/HS-P-102/form.docx").exists()
    assert not (clinic_copy / "packs/HS-P-101").exists()
    assert "plans/p-101.toml: not made." in result.stderr and "plans/p-102.toml: made." in result.stderr
    assert "there is no technique 'blunt-canula'" in result.stderr
    assert "1 pack made, 1 not." in result.stderr


def test_all_builds_every_plan_of_the_folder(run, clinic_copy):
    for name in ("p-103.toml", "p-104.toml"):
        (clinic_copy / "plans" / name).unlink()
    result = run(clinic_copy, "build", "--all", "--only", "form", "--json")
    assert result.exit_code == 0
    assert [each["folder"].rsplit("/", 1)[1] for each in json.loads(result.stdout)] == [
        "HS-P-101",
        "HS-P-102",
    ]
    assert run(clinic_copy, "build", "HS-P-101", "--json", "--only", "form").stdout.startswith("{")


@pytest.mark.parametrize("typed", [(), ("--all", PLANS[0]), (*PLANS, "--out", "here")])
def test_what_cannot_be_meant_is_refused(run, clinic_copy, typed):
    result = run(clinic_copy, "build", *typed)
    assert result.exit_code == 2 and not (clinic_copy / "packs").exists()


def test_the_worst_of_several_errors_is_the_one_that_touches_most():
    assert worst([22, 13, 15, 19]) == 15
    assert worst([13, 22]) == 13
    assert worst([22, 10]) == 10
    assert all(worst([code, code]) == code for code in EXIT_CODES)


# --- --clinic ------------------------------------------------------------------------------------


def test_the_clinic_may_be_named_before_the_command(run, clinic_copy, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shown = [
        run(elsewhere, *words)
        for words in (
            ("--clinic", str(clinic_copy), "build", "HS-P-101", "--show", "plan"),
            ("build", "HS-P-101", "--show", "plan", "--clinic", str(clinic_copy)),
            ("--clinic", str(clinic_copy), "audit", "due", "--today", "2026-11-25"),
            ("audit", "due", "--today", "2026-11-25", "--clinic", str(clinic_copy)),
        )
    ]
    assert [each.exit_code for each in shown] == [0, 0, 0, 0]
    assert shown[0].stdout == shown[1].stdout and shown[2].stdout == shown[3].stdout
    assert "reference = 'HS-P-101'" in shown[0].stdout


def test_two_clinics_at_once_or_one_for_a_command_without_are_refused(run, clinic_copy, tmp_path):
    twice = run(tmp_path, "--clinic", "a", "library", "list", "--clinic", "b")
    assert twice.exit_code == 2 and "--clinic is there twice: a and b." in twice.stderr
    none = run(tmp_path, "--clinic", "a", "demo", "d")
    assert none.exit_code == 2 and "'demo' takes no --clinic." in none.stderr
    assert not (tmp_path / "d").exists()


# --- the hardest first ---------------------------------------------------------------------------


def test_the_list_begins_with_the_hardest_that_is_judged(run, tmp_path):
    """It began with every text of a language for which there is no measure; where a high value is easy it
    began with the easiest."""
    result = run(tmp_path, "library", "score", "bruising", "infection", "sun", "--json")
    rows = json.loads(result.stdout)
    judged = [row["grade"] is not None for row in rows]
    assert judged == sorted(judged, reverse=True) and len(set(judged)) == 2
    spanish = [row["grade"] for row in rows if row["language"] == "es"]
    assert len(spanish) == 3 and spanish == sorted(spanish)  # 100 is the easiest of that measure
    english = [row["grade"] for row in rows if row["language"].startswith("en")]
    assert english == sorted(english, reverse=True)
    printed = run(tmp_path, "library", "score", "bruising", "infection", "sun").stdout.splitlines()
    assert "no validated measure" not in printed[0]
    assert "no validated measure" in [line for line in printed if "/" in line][-1]


# --- days ----------------------------------------------------------------------------------------


def test_a_plans_days_are_read_by_the_clinics_order(run, clinic_copy):
    """Day-first is what this clinic says in [audit]."""
    spoil_plan(clinic_copy, "p-101.toml", "prepared = 2026-11-20", "prepared = 05/11/2026")
    shown = run(clinic_copy, "build", "p-101", "--show", "plan")
    assert shown.exit_code == 0 and "prepared = datetime.date(2026, 11, 5)" in shown.stdout, shown.stdout
    spoil_plan(clinic_copy, "../clinic.toml", 'dates = "day-first"', 'dates = "year-first"')
    refused = run(clinic_copy, "build", "p-101", "--show", "plan")
    assert refused.exit_code == 15
    assert "'prepared' is '05/11/2026', which may be 5 November 2026 or 11 May 2026" in refused.stderr
