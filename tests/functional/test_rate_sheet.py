"""The rate sheet as table, CSV, JSON and page: the same figures in each, and a page without surprises.

Clinic and figures are invented.
"""

from __future__ import annotations

import csv
import io
import itertools
import json
import os
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from html import unescape
from html.parser import HTMLParser

import pytest

from consentpack import pipeline
from consentpack.export import rate_sheet
from consentpack.model import Counts
from consentpack.pipeline.watching import rate_sheet as rate_sheet_of
from consentpack.rates.funnel import ALARM, ALERT, limits
from consentpack.rates.funnel import place as placed
from consentpack.rates.intervals import wilson
from consentpack.rates.survey import Funnel, Line

DAY = date(2026, 11, 25)
TODAY = ("--today", str(DAY))
HTML = {"heading": "Rate sheet", "note": "Invented."}


@pytest.fixture(scope="module")
def sheet(place: pipeline.Workplace) -> tuple[list[Line], list[Funnel]]:
    return rate_sheet_of(place, DAY)


@pytest.fixture(scope="module")
def title(place: pipeline.Workplace) -> rate_sheet.Titles:
    return pipeline.titles(place)


@pytest.fixture(scope="module")
def page(sheet, title) -> str:
    lines, funnels = sheet
    return rate_sheet.as_html(lines, funnels, title, **HTML)


def texts(svg: str) -> list[str]:
    return [unescape(found) for found in re.findall(r"<text[^>]*>([^<]*)</text>", svg)]


def plots(page: str) -> dict[str, str]:
    """Title of a technique -> its plot."""
    return {
        unescape(name): svg for name, svg in re.findall(r"<h2>([^<]*)</h2>(<svg.*?</svg>)", page, re.DOTALL)
    }


def made(events: int, n: int, **more: object) -> Line:
    """An invented line."""
    counts = Counts(events, n, n, n)
    line = Line("t", "o", counts, wilson(events, n) if n else None, True, "", None, None)
    return replace(line, **more)


# --- the same figures everywhere ------------------------------------------------------------------


def test_csv_and_json_hold_the_same_figures(sheet):
    """Takes long: every figure of the demo."""
    lines, _ = sheet
    as_json = json.loads(rate_sheet.as_json(lines))
    as_csv = list(csv.DictReader(io.StringIO(rate_sheet.as_csv(lines))))
    assert len(as_json) == len(as_csv) == len(lines) > 100
    for one, other in zip(as_json, as_csv, strict=True):
        assert {key: "" if value is None else str(value) for key, value in one.items()} == other


def test_each_figure_of_the_sheet_is_that_of_its_line(sheet):
    lines, _ = sheet
    for line, row in zip(lines, rate_sheet.as_rows(lines), strict=True):
        assert tuple(row) == rate_sheet.COLUMNS
        assert (row["events"], row["watched"]) == (line.counts.events, line.counts.watched)
        assert (row["due"], row["followed_up"]) == (line.counts.due, line.counts.due_watched)
        if line.interval:
            assert row["low_95"] == pytest.approx(line.interval.low, abs=1e-6)
            assert row["high_95"] == pytest.approx(line.interval.high, abs=1e-6)
            assert row["low_95"] <= row["events"] / row["watched"] + 1e-6
        else:
            assert row["low_95"] is row["high_95"] is None and row["watched"] == 0
        if line.published:
            assert (row["published_events"], row["published_n"]) == (line.published.events, line.published.n)
        assert row["quotable"] or row["why_not"]


def test_the_page_holds_every_figure_of_the_sheet_as_text_too(sheet, page, title):
    lines, _ = sheet
    drawn = plots(page)
    for line in lines:
        if not line.interval:
            continue
        said = texts(drawn[title(line.technique)])
        low, high = 100 * line.interval.low, 100 * line.interval.high
        at = said.index(title(line.outcome))
        figure = f"{line.counts.events} of {line.counts.watched}, {low:.1f} to {high:.1f}%"
        assert said[at + 1] == figure
        if line.published:
            printed = f"published {line.published.events} of {line.published.n}, "
            assert said[at + 2].startswith(printed) and said[at + 2].endswith(f"own: {line.verdict}")


def test_the_terminal_holds_every_line_by_technique(sheet, title):
    lines, _ = sheet
    said = rate_sheet.as_table(lines, title).splitlines()
    outcomes = [row for row in said if row.startswith("  ")]
    assert len(outcomes) == len(lines)
    for line, row in zip(lines, outcomes, strict=True):
        assert title(line.outcome)[:36] in row
        wanted = f"{line.counts.events:4} of {line.counts.watched:5}" if line.interval else "nothing watched"
        assert wanted in row
        assert line.quotable or not line.interval or f"not quoted: {line.why_not}" in row
        assert ("own is higher" in row) == (line.verdict == "higher")


def test_a_figure_higher_than_published_is_never_hidden(sheet, page):
    lines, _ = sheet
    higher = [line for line in lines if line.verdict == "higher"]
    assert higher and page.count("own: higher") == len(higher)


# --- the page -------------------------------------------------------------------------------------


class Tags(HTMLParser):
    """Every start tag with its attributes, and that all are closed in order."""

    VOID = ("meta",)

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_page_has_no_script_and_fetches_nothing(page):
    tags = Tags(page)
    assert tags.open == []
    names = {tag for tag, _ in tags.found}
    assert not names & {"script", "link", "img", "iframe", "object", "embed", "form", "use", "image"}
    attributes = {name for _, attrs in tags.found for name in attrs}
    assert not {name for name in attributes if name.startswith("on")} | (attributes & {"src", "href"})
    assert "url(" not in page and "@import" not in page and "http" not in page


def test_the_page_says_its_language_and_names_every_picture(page):
    tags = Tags(page)
    assert ("html", {"lang": "en"}) in tags.found
    pictures = [attrs for tag, attrs in tags.found if tag == "svg"]
    assert pictures and all(attrs["role"] == "img" and attrs["aria-label"] for attrs in pictures)


def test_what_somebody_typed_is_shown_and_never_run():
    bad = '<script>alert("x")</script>&"'
    funnel = Funnel("t", "o", "operator", 0.1, (placed(bad, 3, 30, 0.1), placed("B", 3, 30, 0.1)))
    page = rate_sheet.as_html([made(3, 30)], [funnel], lambda _: bad, heading=bad, note=bad)
    assert "<script" not in page
    assert Tags(page).open == []
    assert page.count("&lt;script&gt;") >= 6  # title, heading, note, technique, outcome, group


def test_each_picture_is_well_formed_and_drawn_inside_its_frame(page):
    found = plots(page)
    assert found
    for svg in found.values():
        root = ET.fromstring(svg)
        *_, width, height = (float(number) for number in root.attrib["viewBox"].split())
        for each in root.iter():
            for across in ("x", "x1", "x2", "cx"):
                assert 0 <= float(each.get(across, 0)) <= width
            for down in ("y", "y1", "y2", "cy"):
                assert 0 <= float(each.get(down, 0)) <= height


LETTER = 0.5
"""Mean width of letters, digits and blanks as a share of the height of Arial (from memory)."""


def test_no_label_runs_into_the_plot_or_into_the_next_row(page):
    for svg in plots(page).values():
        root = ET.fromstring(svg)
        width = float(root.attrib["viewBox"].split()[2])
        left_edge = min(float(each.attrib["x1"]) for each in root.iter("line"))
        rows: dict[float, list[float]] = {}
        for each in root.iter("text"):
            x, size = float(each.attrib["x"]), 12 if "12px" in each.get("style", "") else 14
            end = x + LETTER * size * len(each.text or "")
            if each.get("text-anchor") != "middle":
                assert end <= (left_edge if x < left_edge else width) + 1, each.text
            rows.setdefault(x, []).append(float(each.attrib["y"]))
        for downs in rows.values():
            assert all(after - before >= 12 for before, after in itertools.pairwise(downs) if after != before)


def test_without_colour_it_can_still_be_read(page):
    """Greys only; own and published differ by shape, quotable and thin by filling."""
    for colour in re.findall(r"#([0-9a-fA-F]{3,6})\b", page):
        shades = [colour[i : i + len(colour) // 3] for i in range(0, len(colour), len(colour) // 3)]
        assert len(set(shades)) == 1, colour
    assert "● the clinic’s own" in page and "◇ published" in page and "○ own figure that is too thin" in page


@pytest.mark.parametrize(("quotable", "fill"), [(True, "#111"), (False, "#fff")])
def test_a_figure_too_thin_to_quote_is_drawn_hollow(quotable, fill):
    page = rate_sheet.as_html([made(3, 30, quotable=quotable)], [], str, **HTML)
    (circle,) = re.findall(r"<circle [^>]*>", page)
    assert f'fill="{fill}"' in circle


def test_the_dot_lies_between_the_ends_of_its_interval(page):
    for svg in plots(page).values():
        rows = {}
        for each in ET.fromstring(svg).iter():
            if each.tag == "line" and each.attrib["y1"] == each.attrib["y2"]:
                rows[each.attrib["y1"]] = (float(each.attrib["x1"]), float(each.attrib["x2"]))
            elif each.tag == "circle":
                low, high = rows[each.attrib["cy"]]
                assert low <= float(each.attrib["cx"]) <= high


def test_nothing_watched_is_no_dot_at_zero():
    page = rate_sheet.as_html([made(0, 0)], [], str, **HTML)
    assert "<svg" not in page and "<h2>" not in page


# --- operators and sites --------------------------------------------------------------------------


def test_each_group_stands_with_its_limits_in_the_order_given_and_without_a_rank(sheet, page, title):
    _, funnels = sheet
    assert funnels
    for funnel in funnels:
        heading = f"{title(funnel.technique)}: {title(funnel.outcome)}, by {funnel.grouping}"
        start = page.index(f"<h3>{heading}</h3>")
        table = page[start : page.index("</table>", start)]
        cells = [re.findall(r"<td>([^<]*)</td>", row) for row in re.findall(r"<tr>(.*?)</tr>", table)[1:]]
        expected = []
        for each in funnel.places:
            shares = [limits(funnel.target, each.n, share) for share in (ALERT, ALARM)]
            said = [f"{100 * low:.1f} to {100 * high:.1f}%" for low, high in shares]
            expected.append([each.group, f"{each.events} of {each.n}", *said, each.state])
        assert cells == expected
    assert "No ranking." in page


def test_the_funnel_is_drawn():
    funnel = Funnel("t", "o", "operator", 0.1, (placed("A", 3, 30, 0.1), placed("B", 3, 30, 0.1)))
    assert "<svg" in rate_sheet.as_html([], [funnel], str, **HTML)


# --- the command ----------------------------------------------------------------------------------


def test_the_command_writes_each_kind_of_file_with_the_same_figures(run, clinic_copy):
    """Takes long: every figure of the demo, once for each kind of file."""
    for ending in ("csv", "json", "html"):
        result = run(clinic_copy, "audit", "sheet", "--out", f"rates.{ending}", *TODAY)
        assert result.exit_code == 0 and result.stdout == f"rates.{ending}\n"
    as_json = json.loads((clinic_copy / "rates.json").read_text(encoding="utf-8"))
    with (clinic_copy / "rates.csv").open(newline="", encoding="utf-8") as stream:
        as_csv = list(csv.DictReader(stream))
    page = (clinic_copy / "rates.html").read_text(encoding="utf-8")
    assert [(row["technique"], row["outcome"], str(row["events"])) for row in as_json] == [
        (row["technique"], row["outcome"], row["events"]) for row in as_csv
    ]
    for row in as_json:
        assert not row["watched"] or f">{row['events']} of {row['watched']}, " in page
    assert "Invented clinic, invented people, invented figures." in page
    assert "As of 2026-11-25, the 36 months before. Per treatment session." in page


def test_the_command_prints_a_table_without_a_file(run, clinic_copy, sheet, title):
    lines, _ = sheet
    assert run(clinic_copy, "audit", "sheet", *TODAY).stdout == rate_sheet.as_table(lines, title) + "\n"


@pytest.mark.parametrize("name", ["rates.pdf", "rates", "rates.html.txt", "rates.xlsx"])
def test_another_ending_is_a_mistake_in_the_command_and_writes_nothing(run, clinic_copy, name):
    result = run(clinic_copy, "audit", "sheet", "--out", name, *TODAY)
    assert result.exit_code == 2
    assert "Give a file that ends in .csv, .json or .html." in result.stderr
    assert not (clinic_copy / name).exists()


def test_the_same_register_gives_the_same_bytes(run, clinic_copy, page, sheet, title):
    """Takes long: every figure of the demo, twice."""
    lines, funnels = sheet
    assert rate_sheet.as_html(lines, funnels, title, **HTML) == page
    for name in ("one.html", "two.html"):
        run(clinic_copy, "audit", "sheet", "--out", name, *TODAY)
    assert (clinic_copy / "one.html").read_bytes() == (clinic_copy / "two.html").read_bytes()


@pytest.mark.browser
def test_a_browser_draws_the_page(page, tmp_path):
    chromium = shutil.which("chromium")
    if not chromium and os.environ.get("CI"):
        pytest.fail("CI must have Chromium; see .ci/run")
    if not chromium:
        pytest.skip("needs chromium")
    (tmp_path / "rates.html").write_text(page, encoding="utf-8")
    picture = tmp_path / "rates.png"
    subprocess.run(
        [
            chromium, "--headless", "--no-sandbox", "--disable-gpu", "--window-size=1000,1400",
            "--disable-background-networking", "--disable-component-update", "--disable-sync",
            f"--user-data-dir={tmp_path / 'profile'}",
            f"--screenshot={picture}", (tmp_path / "rates.html").as_uri(),
        ],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    assert picture.stat().st_size > 20_000
