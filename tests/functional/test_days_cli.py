"""When something was first noticed, and what is lacking to say over what time: through the command line.

Clinic, cases and figures are invented.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

HEAD = "Case,Session,Date,Done,Area,Bruise,Bruise first noticed"
COLUMNS = (
    ("Case", "case"), ("Session", "session"), ("Date", "date"), ("Done", "techniques"), ("Area", "site"),
    ("Bruise", "bruising"), ("Bruise first noticed", "noticed:bruising"), ("Seen last", "last_seen"),
)  # fmt: skip


@pytest.fixture
def clinic(clinic_copy: Path) -> Path:
    """The demo clinic with an empty register and another map of columns."""
    (clinic_copy / "register.sqlite").unlink()
    settings = clinic_copy / "clinic.toml"
    before, _, after = settings.read_text(encoding="utf-8").partition("[audit.columns]")
    mapped = "\n".join(f'"{header}" = "{meaning}"' for header, meaning in COLUMNS[:-1])
    settings.write_text(f"{before}[audit.columns]\n{mapped}\n\n[{after.partition(chr(10) + '[')[2]}")
    return clinic_copy


def sheet(clinic: Path, *rows: str, head: str = HEAD) -> str:
    (clinic / "ours.csv").write_text("\n".join([head, *rows]), encoding="utf-8")
    return "ours.csv"


def row(case="D-1", bruise="yes", on="05/03/2026") -> str:
    return f"{case},1,02/03/2026,blunt-cannula,chin,{bruise},{on}"


def test_the_import_asks_for_last_seen_days_and_says_what_is_said_without(run, clinic):
    result = run(clinic, "audit", "import", sheet(clinic, row()))
    assert "No column says on which day each patient was last seen. Is there one?" in result.stdout
    assert '"Your header" = "last_seen"' in result.stdout and "at some time" in result.stdout
    said = json.loads(run(clinic, "audit", "import", "ours.csv", "--json").stdout)
    assert (said["last_seen_read"], said["without_last_seen"]) == (False, 1)


def test_rows_without_a_last_seen_day_are_counted_where_the_column_is_there(run, clinic):
    settings = clinic / "clinic.toml"
    settings.write_text(
        settings.read_text().replace("[audit.columns]", '[audit.columns]\n"Seen last" = "last_seen"')
    )
    rows = (f"{row('D-1')},20/03/2026", f"{row('D-2', 'no', '')},", f"{row('D-3', '', '')},")
    result = run(clinic, "audit", "import", sheet(clinic, *rows, head=f"{HEAD},Seen last"))
    assert "1 rows say what was seen, and not on which day the patient was last seen." in result.stdout
    again = run(clinic, "audit", "import", sheet(clinic, rows[0], head=f"{HEAD},Seen last"))
    assert "was last seen" not in again.stdout


def test_what_was_noticed_by_hand_stays_and_is_named(run, clinic):
    run(clinic, "audit", "import", sheet(clinic, row(bruise="no", on="")))
    words = ("bruising=yes", "--on", "2026-03-07", "--seen-on", "2026-03-20", "--by", "Sam Invented")
    assert "watched for 18 days" in run(clinic, "audit", "outcome", "D-1", "1", *words).stdout
    told = run(clinic, "audit", "history", "--case", "D-1").stdout
    assert "bruising: yes, hand, number 2" in told and "first noticed 5 days after" in told
    result = run(clinic, "audit", "import", sheet(clinic, row()))
    assert (
        "bruising: yes, first noticed 5 days after, by hand, yes, first noticed 3 days after, in the file."
        in result.stdout
    )
    assert "They were kept." in result.stdout
    run(clinic, "audit", "import", "ours.csv", "--overwrite-by-hand")
    assert "first noticed 3 days after" in run(clinic, "audit", "history", "--case", "D-1").stdout


def test_treated_again_can_be_said_without_an_outcome(run, clinic):
    run(clinic, "audit", "import", sheet(clinic, row()))
    words = ("--treated-again", "2026-03-19", "--seen-on", "2026-03-19")
    assert run(clinic, "audit", "outcome", "D-1", "1", *words).exit_code == 0
    nothing = run(clinic, "audit", "outcome", "D-1", "1", "--seen-on", "2026-03-19")
    assert nothing.exit_code == 2 and "Name an outcome, or --treated-again." in nothing.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bruising=no", "--on", "2026-03-07"), "needs something that was seen"),
        (("bruising=yes", "--on", "2026-03-21"), "cannot be first noticed on 2026-03-21 and seen before"),
        (("bruising=yes", "--on", "2026-02-21"), "is before the day of the treatment"),
    ],
)
def test_a_day_that_cannot_be_does_not_go_in(run, clinic, words, said):
    run(clinic, "audit", "import", sheet(clinic, row(bruise="", on="")))
    result = run(clinic, "audit", "outcome", "D-1", "1", *words, "--seen-on", "2026-03-20")
    assert result.exit_code == 11 and said in result.stderr


def test_a_column_of_days_for_no_outcome_is_named_with_the_nearest(run, clinic):
    settings = clinic / "clinic.toml"
    settings.write_text(settings.read_text().replace("noticed:bruising", "noticed:brusing"))
    result = run(clinic, "audit", "import", sheet(clinic, row()))
    assert result.exit_code == 11 and "Did you mean 'noticed:bruising'" in result.stderr
