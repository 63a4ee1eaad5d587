"""Open data of published trials, through the real importer, against what the papers printed.

The data and their licences: tests/data/README.md. Two things are taken for granted and written into the
sheet: every patient was treated on one invented day, and was last seen long enough afterwards.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from support import empty, load

from consentpack.model import Counts
from consentpack.rates.intervals import wilson
from consentpack.rates.reliability import quotable
from consentpack.register import Comparison, Reading, Tally, Window, tally

DATA = Path(__file__).parents[1] / "data"
YES_NO = {True: "yes", False: "no", None: ""}

Row = dict[str, str]


def rows_of(name: str) -> list[Row]:
    with (DATA / f"{name}.csv").open(newline="") as stream:
        return list(csv.DictReader(stream))


def scored(score: str) -> bool | None:
    """An event is a score above 0; no score is not recorded."""
    return float(score) > 0 if score else None


@pytest.fixture
def trial(tmp_path) -> Callable[..., dict[str, Tally]]:
    """Arm -> its tally: trial('indo_rct', arm=..., pancreatitis=..., ...)."""

    def counted(name: str, *, arm: Callable[[Row], str], **outcomes: Callable[[Row], bool | None]):
        rows = rows_of(name)
        sheet = tmp_path / f"{name}-sheet.csv"
        with sheet.open("w", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(("case", "session", "date", "techniques", "site", "last_seen", *outcomes))
            for number, row in enumerate(rows, 1):
                cells = [YES_NO[read(row)] for read in outcomes.values()]
                writer.writerow((f"T-{number}", 1, "2026-01-05", arm(row), "invented", "2026-03-05", *cells))
        arms = {arm(row) for row in rows}
        register = empty(f"sqlite:///{tmp_path / 'register.sqlite'}")
        reading = Reading("year-first", frozenset(arms), frozenset(outcomes))
        result = load(register, sheet, reading=reading)
        assert (result.read, result.added, result.set_aside) == (len(rows), len(rows), ())
        window, days = Window(date(2026, 1, 1), date(2026, 11, 25)), dict.fromkeys(outcomes, 30)
        with register.connect() as connection:
            return {
                one: tally(connection, Comparison(frozenset({one}), frozenset(arms)), window, days)
                for one in arms
            }

    return counted


def figures(tallies: dict[str, Tally], outcome: str) -> dict[str, tuple[int, int]]:
    return {arm: (t.counts[outcome].events, t.counts[outcome].watched) for arm, t in tallies.items()}


def numbers(counts: Counts) -> tuple[int, int, int, int]:
    return (counts.events, counts.watched, counts.due, counts.due_watched)


def printed(events: int, n: int, digits: int) -> float:
    return round(100 * events / n, digits)


# --- Elmunzer, N Engl J Med 2012;366:1414: 27 of 295 (9.2%) v 52 of 307 (16.9%) -------------------


def indo_arm(row: Row) -> str:
    return {"1_indomethacin": "indomethacin", "0_placebo": "placebo"}[row["rx"]]


def test_inflammation_of_the_pancreas_is_as_elmunzer_printed_it(trial):
    tallies = trial("indo_rct", arm=indo_arm, pancreatitis=lambda row: row["outcome"] == "1_yes")
    found = figures(tallies, "pancreatitis")
    assert found == {"indomethacin": (27, 295), "placebo": (52, 307)}
    assert printed(*found["indomethacin"], 1) == 9.2
    assert printed(*found["placebo"], 1) == 16.9
    assert {t.counts["pancreatitis"].completeness for t in tallies.values()} == {1.0}


def test_the_two_arms_of_elmunzer_are_apart(trial):
    # printed P = .005; each arm's proportion lies outside the other arm's interval
    tallies = trial("indo_rct", arm=indo_arm, pancreatitis=lambda row: row["outcome"] == "1_yes")
    found = figures(tallies, "pancreatitis")
    drug, placebo = wilson(*found["indomethacin"]), wilson(*found["placebo"])
    assert drug.high < 52 / 307 and placebo.low > 27 / 295
    assert drug.low < 0.092 < drug.high and placebo.low < 0.169 < placebo.high


def test_a_blank_that_meant_no_must_be_said_by_whoever_keeps_the_sheet(trial):
    """575 blanks in `bleed` meant 'did not bleed'. The importer cannot know that, and must not guess."""
    blanks_kept = trial("indo_rct", arm=lambda _: "ercp", bleed=lambda row: scored(row["bleed"]))
    counts = blanks_kept["ercp"].counts["bleed"]
    assert numbers(counts) == (27, 27, 602, 27)  # not 27 of 602
    assert not quotable(counts).ok

    said = trial("indo_rct", arm=lambda _: "ercp", bleed=lambda row: bool(row["bleed"]))
    assert numbers(said["ercp"].counts["bleed"]) == (27, 602, 602, 602)


def test_three_patients_without_an_event_are_no_figure(trial):
    tallies = trial(
        "indo_rct",
        arm=lambda row: "balloon" if row["pneudil"] == "1_yes" else "no-balloon",
        pancreatitis=lambda row: row["outcome"] == "1_yes",
    )
    counts = tallies["balloon"].counts["pancreatitis"]
    assert (counts.events, counts.watched) == (0, 3)
    assert quotable(counts).why == "only 3 treatments; at least 30 are needed"
    assert wilson(0, 3).high > 0.5  # none in 3 fits a true figure of over half


# --- Ruetzler, Anesth Analg 2013;117:614: sore throat at 4 hours 21% v 45% ------------------------


def gargle_arm(row: Row) -> str:
    return {"0": "sugar", "1": "licorice"}[row["treat"]]


def test_sore_throats_at_four_hours_are_as_ruetzler_printed_them(trial):
    tallies = trial(
        "licorice_gargle", arm=gargle_arm, sore_throat=lambda row: scored(row["postOp4hour_throatPain"])
    )
    found = figures(tallies, "sore_throat")
    assert found == {"licorice": (24, 117), "sugar": (52, 116)}
    assert printed(*found["licorice"], 0) == 21
    assert printed(*found["sugar"], 0) == 45


def test_the_two_patients_without_a_score_are_in_nobodys_denominator(trial):
    tallies = trial(
        "licorice_gargle", arm=gargle_arm, sore_throat=lambda row: scored(row["postOp4hour_throatPain"])
    )
    assert {arm: t.treatments for arm, t in tallies.items()} == {"licorice": 118, "sugar": 117}
    counts = tallies["sugar"].counts["sore_throat"]
    assert numbers(counts) == (52, 116, 117, 116)


# --- Abdallah, Anesth Analg 2011: first attempt succeeded in 86% v 92% ----------------------------


def scope_arm(row: Row) -> str:
    return {"0": "plain-laryngoscope", "1": "video-laryngoscope"}[row["Randomization"]]


def test_first_attempts_are_as_abdallah_printed_them(trial):
    tallies = trial("laryngoscope", arm=scope_arm, first_attempt=lambda row: row["attempt1_S_F"] == "1")
    found = figures(tallies, "first_attempt")
    assert found == {"video-laryngoscope": (43, 50), "plain-laryngoscope": (45, 49)}
    assert printed(*found["video-laryngoscope"], 0) == 86
    assert printed(*found["plain-laryngoscope"], 0) == 92


def test_none_failed_of_49_leaves_room_for_some(trial):
    # Abdallah: all patients of the plain laryngoscope were intubated with it
    tallies = trial("laryngoscope", arm=scope_arm, failed=lambda row: row["intubation_overall_S_F"] == "0")
    assert figures(tallies, "failed") == {"video-laryngoscope": (4, 50), "plain-laryngoscope": (0, 49)}
    assert wilson(0, 49).high > 3 / 49  # rule of three, Hanley and Lippman-Hand 1983
    assert not quotable(tallies["plain-laryngoscope"].counts["failed"]).ok


def test_one_missing_score_is_not_a_throat_that_was_fine(trial):
    tallies = trial("laryngoscope", arm=scope_arm, sore_throat=lambda row: scored(row["sore_throat"]))
    counts = tallies["plain-laryngoscope"].counts["sore_throat"]
    assert numbers(counts) == (16, 48, 49, 48)
