"""Patients watched for different times, from a spreadsheet through the command line to figure and form.

Two data sets of R's package survival, which its users print again and again. `aml`: remission of leukaemia
in 23 people of two arms, weeks taken for days here (Miller 1997; data from Embury 1977). `lung`: 228 people
with lung cancer, days. Printed values: the output of summary(survfit(…)), as it stands in published
tutorials; each is worked out by statsmodels once more. Clinic and places are invented.
"""

from __future__ import annotations

import csv
import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
from statsmodels.duration.survfunc import SurvfuncRight

DATA = Path(__file__).parents[1] / "data"
CLOSING = date(2026, 11, 20)
"""The day of the demo's plan p-101: what comes after it does not count."""
POCKET, SINKS = "fluid-pocket", "scar-sinks-again"
"""Outcomes that are watched for 30 and for 365 days."""

Person = tuple[int, bool]
"""Days, and whether it was seen on the last of them."""


def people(name: str, arm: str = "") -> list[Person]:
    with (DATA / name).open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if not arm or row["x"] == arm]
    return [(int(row["time"]), row["status"] == "1") for row in rows]


def sheet(found: list[Person], outcome: str, *, days: bool = True, last_seen: bool = True) -> str:
    """Their spreadsheet. Who was not watched further was treated so many days before the closing day."""
    head = ["case", "session", "date", "techniques", "site", "skin_type", outcome]
    head += ["last_seen"] * last_seen + [f"noticed:{outcome}"] * days
    lines = [",".join(head)]
    for number, (time, seen) in enumerate(found):
        # the study was open for three years, so that most of those with an event were treated long before
        day = CLOSING - timedelta(max(time, 700) if seen else time)
        end = (day + timedelta(time)).isoformat()
        cells = [f"I-{number}", "1", day.isoformat(), "blunt-cannula", "left cheek", "III"]
        cells += ["yes" if seen else "no"] + [end] * last_seen
        lines.append(",".join([*cells, *([end if seen else ""] * days)]))
    return "\n".join(lines) + "\n"


@pytest.fixture
def told(clinic_copy, command):
    """What `audit rates` says of an outcome, as JSON, and what the form does; through the command line."""

    def asked(text: str, outcome: str):
        (clinic_copy / "register.sqlite").unlink()
        settings = clinic_copy / "clinic.toml"
        words = re.sub(r"(?s)\[audit\.columns\].*?\n\[", "[", settings.read_text(encoding="utf-8"), count=1)
        settings.write_text(words, encoding="utf-8")
        (clinic_copy / "ours.csv").write_text(text, encoding="utf-8")
        said = command("audit", "import", "ours.csv")
        found = json.loads(command("audit", "rates", "plans/p-101.toml", "--json"))
        (answer,) = [each for each in found if each["outcome"] == outcome]
        tree = command("build", "plans/p-101.toml", "--draft", "--show", "tree")
        return said, answer, tree

    return asked


@pytest.fixture
def command(clinic_copy, monkeypatch):
    from click.testing import CliRunner

    from consentpack.cli import main

    monkeypatch.chdir(clinic_copy)

    def run(*words: str) -> str:
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, done.output
        return done.stdout

    return run


def by_statsmodels(found: list[Person], end: int) -> float:
    times, seen = zip(*((min(t, end), s and t <= end) for t, s in found), strict=True)
    return float(1 - SurvfuncRight(times, [int(s) for s in seen]).surv_prob[-1])


@pytest.mark.parametrize(("arm", "survival"), [("Maintained", 0.614), ("Nonmaintained", 0.2917)])
def test_both_arms_of_the_leukaemia_example_are_as_printed(told, arm, survival):
    """By day 30, of 11 and 12 people: too few for a share of 100, so the clinician's line has it."""
    found = people("aml.csv", arm)
    _, answer, _ = told(sheet(found, POCKET), POCKET)
    by_days = answer["told_as_counts"]["by_days"]
    assert 1 - by_days["share"] == pytest.approx(survival, abs=5e-5 if arm == "Nonmaintained" else 5e-4)
    assert by_days["share"] == pytest.approx(by_statsmodels(found, 30), abs=1e-6)
    assert by_days["n"] == len(found)


def test_one_year_of_the_lung_example_is_as_printed_on_the_form(told):
    """Survival at 365 days is printed as 0.409; the people still watched and the deaths, 65 and 121."""
    found = people("lung.csv")
    _, answer, tree = told(sheet(found, SINKS), SINKS)
    quoted = answer["quoted"]
    assert 1 - quoted["proportion"] == pytest.approx(0.409, abs=5e-4)
    assert quoted["proportion"] == pytest.approx(by_statsmodels(found, 365), abs=1e-6)
    assert (quoted["by_days"]["events"], quoted["n"], quoted["over"]) == (121, 228, "up to")
    assert "About 59 in every 100 treatments." in tree and "About 41 in every 100 did not have it." in tree
    assert (
        "From 228 treatments here like yours, in the same kind of place and skin, watched for up to 1" in tree
    )
    assert "About 53 in every 100" not in tree  # 121 of 228, as if all had been watched for a year


def test_without_days_the_form_does_not_speak_of_a_time_in_which_it_came(told):
    """Of those watched for a year at least: some were seen after it, and nobody knows which."""
    found = [(max(time, 400), seen) for time, seen in people("lung.csv")]
    _, answer, tree = told(sheet(found, SINKS, days=False), SINKS)
    assert answer["quoted"]["over"] == "at least" and answer["quoted"]["by_days"] is None
    assert (answer["quoted"]["events"], answer["quoted"]["n"]) == (165, 228)
    assert "watched for at least 1 year." in tree and "watched for 1 year" not in tree
    assert "within 1 year" not in tree


def test_without_last_seen_days_the_import_asks_and_the_form_says_at_some_time(told):
    said, answer, tree = told(sheet(people("lung.csv"), SINKS, days=False, last_seen=False), SINKS)
    assert "No column says on which day each patient was last seen." in said
    assert answer["quoted"]["over"] == "some time"
    assert "treatments here, at some time. We may not have watched each of them for 1 year." in tree
    assert "watched for 1 year" not in tree


def test_a_gain_that_nobody_can_date_is_not_counted(told):
    head = "case,session,date,techniques,site,skin_type,shallower-scar,scar-sinks-again\n"
    rows = "".join(f"I-{n},1,2025-03-02,blunt-cannula,left cheek,III,yes,no\n" for n in range(60))
    _, answer, tree = told(head + rows, "shallower-scar")
    assert answer["quoted"] is None or answer["quoted"]["level"] == "published"
    assert answer["told_as_counts"] is None
    assert "All of 60 treatments" not in tree
