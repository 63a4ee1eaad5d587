"""What `.ci/run` runs is everything: what plain `pytest` leaves out is in one of its other runs."""

from __future__ import annotations

import os
import re
import subprocess
import tomllib
from pathlib import Path

from every_module import LEAST, untouched

ROOT = Path(__file__).parents[2]
CI = ROOT / ".ci" / "run"
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["pytest"]["ini_options"]


def left_out() -> list[str]:
    """The marks that plain `pytest` leaves out."""
    (chosen,) = re.findall(r"-m '(.*)'", SETTINGS["addopts"])
    return [each.removeprefix("not ") for each in chosen.split(" and ")]


def test_a_test_that_plain_pytest_leaves_out_is_in_one_other_run_and_in_no_two():
    (others,) = re.findall(r"^others='\((.*)\) and not alone'$", CI.read_text(encoding="utf-8"), re.MULTILINE)
    assert sorted([*others.split(" or "), "alone"]) == sorted(left_out())


def test_every_mark_is_left_out_of_plain_pytest():
    """Each stands for something that takes long or is not there."""
    assert sorted(re.match(r"\w+", mark)[0] for mark in SETTINGS["markers"]) == sorted(left_out())


def ci(folder: Path, **programs: str) -> subprocess.CompletedProcess[str]:
    """The script with programs that only say what they were called with, and end as told."""
    for name in ("ruff", "mypy", "python", "pytest"):
        script = f'#!/bin/sh\necho "called: {name} $*"\n{programs.get(name, "exit 0")}\n'
        (folder / name).write_text(script, encoding="utf-8")
        (folder / name).chmod(0o755)
    path = f"{folder}{os.pathsep}{os.environ.get('PATH', os.defpath)}"
    return subprocess.run(
        [CI, "--here"], env={**os.environ, "PATH": path, "JOBS": "1"}, capture_output=True, text=True
    )


def test_the_last_line_says_that_all_passed(tmp_path):
    done = ci(tmp_path)
    assert done.returncode == 0 and done.stdout.splitlines()[-1].startswith("ALL PASSED in ")
    assert done.stdout.count("called: pytest") == 3
    for called in ("ruff check .", "ruff format --check .", "mypy", "python docs/build_reference.py --check"):
        assert f"called: {called}" in done.stdout


def test_one_failure_stops_nothing_and_the_last_line_names_each(tmp_path):
    done = ci(tmp_path, mypy="exit 1", pytest='case "$*" in *"-m alone") exit 1;; esac')
    assert done.returncode == 1
    assert re.fullmatch(r"FAILED after \d+ s: types, tests that run alone", done.stdout.splitlines()[-1])
    assert done.stdout.count("called: pytest") == 3


def test_in_ci_a_missing_program_fails_a_test_instead_of_skipping_it(tmp_path):
    assert ci(tmp_path, pytest='echo "CI=$CI"').stdout.count("CI=true") == 3


def test_a_word_it_does_not_know_runs_nothing():
    done = subprocess.run([CI, "--her"], capture_output=True, text=True)
    assert done.returncode == 2 and ".ci/run --here" in done.stdout and "===" not in done.stdout


# --- every module ---------------------------------------------------------------------------------


def file(share: float, **functions: list[int]) -> dict[str, object]:
    called = {name: {"executed_lines": lines} for name, lines in functions.items()}
    return {"summary": {"percent_covered": share}, "functions": {"": {"executed_lines": [1]}, **called}}


def test_a_module_that_is_only_imported_is_named():
    """Its constants and signatures run when it is imported, which can be most of its lines."""
    found = untouched({"a.py": file(90, go=[], come=[]), "b.py": file(90, go=[3], come=[])})
    assert found == ["a.py: no function of it is called"]


def test_a_module_that_is_hardly_run_is_named_and_one_of_constants_alone_is_not():
    found = untouched({"a.py": file(LEAST - 1, go=[3]), "b.py": file(LEAST, go=[3]), "c.py": file(100)})
    assert found == [f"a.py: {LEAST - 1:.0f}% of its lines are run, not {LEAST:.0f}%"]
