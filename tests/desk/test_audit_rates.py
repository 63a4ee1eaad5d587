"""Figures at the desk: what stands out, each technique, and one figure opened. Everything is invented."""

from __future__ import annotations

import csv
import re
from datetime import date, datetime

import pytest
from desk.audit_jobs import audited
from lxml import html

from consentpack import pipeline
from consentpack.pipeline.registers import existing_register
from consentpack.rates.counting import window_of
from consentpack.register import PARTS, rows_behind

DAY = date(2026, 11, 25)
BRUISED = f"/audit/rates/blunt-cannula/bruising?on={DAY}"


@pytest.fixture
def place(clinic):
    audited(clinic)
    return pipeline.open_workplace(clinic, whole=False)


def rows_of(page: str) -> list[list[str]]:
    table = html.fromstring(page).xpath("//table[caption[contains(., 'newest first')]]/tbody/tr")
    return [["".join(cell.itertext()).strip() for cell in row] for row in table]


def test_every_figure_is_what_its_rows_say(place):
    """For each of the demo's hundreds of figures: two ways of counting, one of them row by row.

    Over a second: each figure is one query.
    """
    figures, window = pipeline.figures_on(place, DAY), window_of(DAY, place.clinic.window_months)
    looked = 0
    with existing_register(place).connect() as connection:
        for line in figures.sheet.lines:
            days = place.library.outcomes[line.outcome].watch_days
            found = rows_behind(
                connection, line.technique, line.outcome, window=window, days=days, most=10**6
            )
            counted = [row for row in found.shown if row.counted]
            events = [row for row in counted if row.grade]
            numbers = {"seen": len(events), "counted": len(counted), "all": len(found.shown)}
            numbers["left-out"] = numbers["all"] - numbers["counted"]
            assert found.numbers == numbers
            assert (len(events), len(counted)) == (line.counts.events, line.counts.watched), line
            assert all(row.why_not for row in found.shown if not row.counted)
            assert all(line.technique in row.techniques for row in found.shown)
            looked += bool(counted)
    assert looked > 100


@pytest.mark.parametrize("part", PARTS)
def test_the_rows_of_a_part_are_as_many_as_it_says(place, desk, part):
    numbers = pipeline.open_figure(place, "blunt-cannula", "bruising", DAY, part=part).rows.numbers
    seen: list[list[str]] = []
    for page in range(1, 100):
        rows = rows_of(desk.get(f"{BRUISED}&rows={part}&page={page}").text)
        seen += rows
        if not rows:
            break
    assert len(seen) == numbers[part] > 0 and len({row[0] for row in seen}) == len(seen)
    yes = {row[7] == "yes" for row in seen}
    assert yes == {"seen": {True}, "counted": {True}, "left-out": {False}, "all": {True, False}}[part]


def test_a_figure_says_its_counts_its_comparison_and_why_rows_do_not_count(place, desk):
    page = desk.get(f"{BRUISED}&rows=left-out").text
    told = pipeline.open_figure(place, "blunt-cannula", "bruising", DAY).told
    assert f"<strong>{told.counts}</strong>" in page and told.interval in page and told.published in page
    assert "The same after other techniques" in page and "Operators side by side" in page
    reasons = {re.sub(r"\d+", "n", row[7]) for row in rows_of(page)}
    assert reasons <= {
        "no: nothing is written down",
        "no: its watching time is not over",
        "no: nobody knows when the patient was last seen",
        "no: watched for n of n days",
    }


def test_what_stands_out_comes_first_and_each_line_leads_to_its_figure(place, desk):
    page = desk.get(f"/audit/rates?on={DAY}").text
    listed = html.fromstring(page).xpath("//ul[@class='out']/li/a[1]/@href")
    assert listed and all(desk.get(address).status_code == 200 for address in listed)
    assert page.index("What stands out") < page.index("By technique")
    assert "as much" in page or "by luck alone" in page
    for address in html.fromstring(page).xpath("//th/a/@href"):
        assert desk.get(address).status_code == 200


def test_the_whole_sheet_is_shown_where_it_can_do_nothing(place, desk):
    answer = desk.get(f"/audit/rates/sheet?on={DAY}")
    policy = answer.headers["Content-Security-Policy"]
    assert "sandbox" in policy and "style-src 'sha256-" in policy
    assert "unsafe" not in policy and "script-src" not in policy and "<script" not in answer.text
    ours = desk.get("/audit/rates").headers["Content-Security-Policy"]
    assert "sha256" not in ours and "script-src" not in ours


def test_no_case_goes_into_anything_that_is_written(place, desk, tmp_path):
    """Over a second: every figure is written in three forms, and shown as a page."""
    desk.get(BRUISED)
    for ending in (".csv", ".json", ".html"):
        pipeline.write_rate_sheet(place, tmp_path / f"a{ending}", DAY)
    with (place.folder / "audit.csv").open(encoding="utf-8") as file:
        cases = {row["Case no"] for row in csv.DictReader(file)}
    written = "".join(each.read_text(encoding="utf-8") for each in tmp_path.glob("a.*"))
    sheet = desk.get(f"/audit/rates/sheet?on={DAY}").text
    assert not [case for case in cases if case in written or case in sheet]
    assert desk.get(BRUISED).headers["Cache-Control"] == "no-store"


def test_figures_are_counted_anew_when_the_audit_changes(place, desk):
    before = pipeline.figures_on(place, DAY)
    assert pipeline.figures_on(place, DAY) is before
    pipeline.take_back(place, now=datetime(2026, 11, 25), by="A", number=1)
    after = pipeline.figures_on(place, DAY)
    assert after is not before and not any(line.counts.watched for line in after.sheet.lines)


@pytest.mark.parametrize(
    "address",
    ["/audit/rates/none", "/audit/rates/none/bruising", "/audit/rates/blunt-cannula/none",
     BRUISED + "&rows=none", BRUISED + "&page=0", BRUISED + "&page=-1"],
)  # fmt: skip
def test_what_is_no_figure_has_no_page(place, desk, address):
    assert desk.get(address).status_code == 404


def test_a_day_that_is_none_is_refused(place, desk):
    assert desk.get("/audit/rates?on=32").status_code == 400


def test_a_clinic_without_an_audit_is_told_how_to_begin(clinic, desk):
    answer = desk.get("/audit/rates")
    assert answer.status_code == 409 and "there is no audit register here" in answer.text
