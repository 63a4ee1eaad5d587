"""The rate sheet as table, CSV, JSON and page: the same figures in each, and a page without surprises.

Clinic and figures are invented.
"""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from html import escape, unescape
from html.parser import HTMLParser
from typing import NamedTuple

import numpy as np
import pytest
from browsers import PHONE, SCREEN, Browser

from consentpack import pipeline
from consentpack.export import funnel_plot, rate_sheet
from consentpack.export.cusum_plot import cusum_svg
from consentpack.export.rate_dots import ceiling_of
from consentpack.export.rate_page import Titles, as_html
from consentpack.model import Counts, Rate
from consentpack.pipeline.watching import whole_sheet
from consentpack.rates import cusum
from consentpack.rates.funnel import ALARM, ALERT, limits, place_adjusted
from consentpack.rates.funnel import place as placed
from consentpack.rates.intervals import wilson
from consentpack.rates.standing_out import Sheet
from consentpack.rates.survey import Funnel, Line

DAY = date(2026, 11, 25)
TODAY = ("--today", str(DAY))
HTML = {"heading": "Rate sheet", "note": "Invented."}


@pytest.fixture(scope="module")
def sheet(place: pipeline.Workplace) -> Sheet:
    return whole_sheet(place, DAY)


@pytest.fixture(scope="module")
def title(place: pipeline.Workplace) -> Titles:
    return pipeline.titles(place)


@pytest.fixture(scope="module")
def page(sheet, title) -> str:
    return as_html(sheet, title, **HTML)


class Row(NamedTuple):
    """A figure as the page shows it."""

    name: str
    figure: str
    more: list[str]
    drawing: str


def rows_of(page: str, technique: str) -> list[Row]:
    """The figures in the part of one technique."""
    start = page.index('<details class="technique', page.index("How to read this"))
    part = next(
        each for each in page[start:].split('<details class="technique')
        if f"<h2>{escape(technique)}</h2>" in each
    )  # fmt: skip
    found = re.findall(r'<div class="row[^>]*><b>(.*?)</b>(<svg.*?</svg>)<div>(.*?)</div></div>', part)
    rows = []
    for name, drawing, said in found:
        figure, *more = re.split(r"<small[^>]*>", said.replace("</small>", ""))
        rows.append(Row(unescape(name), unescape(figure), [unescape(each) for each in more], drawing))
    return rows


def drawings(page: str) -> list[str]:
    """Every drawing, those of the figures and those with a frame of their own."""
    return re.findall(r'<svg (?:aria-hidden="true"|viewBox).*?</svg>(?!</g>)', page)


def made(events: int, n: int, **more: object) -> Line:
    """An invented line."""
    counts = Counts(events, n, n, n)
    line = Line("t", "o", counts, wilson(events, n) if n else None, True, "", None, None)
    return replace(line, **more)


# --- the same figures everywhere ------------------------------------------------------------------


def test_csv_and_json_hold_the_same_figures(sheet):
    """Takes long: every figure of the demo."""
    lines = sheet.lines
    as_json = json.loads(rate_sheet.as_json(lines))
    as_csv = list(csv.DictReader(io.StringIO(rate_sheet.as_csv(lines))))
    assert len(as_json) == len(as_csv) == len(lines) > 100
    for one, other in zip(as_json, as_csv, strict=True):
        assert {key: "" if value is None else str(value) for key, value in one.items()} == other


def test_each_figure_of_the_sheet_is_that_of_its_line(sheet):
    lines = sheet.lines
    for line, row in zip(lines, rate_sheet.as_rows(lines), strict=True):
        assert tuple(row) == rate_sheet.COLUMNS
        assert (row["events"], row["watched"]) == (line.counts.events, line.counts.watched)
        assert (row["due"], row["followed_up"]) == (line.counts.due, line.counts.due_watched)
        if line.interval:
            assert row["mid_p_low_95"] <= row["events"] / row["watched"] + 1e-6 <= row["mid_p_high_95"] + 2e-6
            assert row["low_95"] == pytest.approx(line.interval.low, abs=1e-6)
            assert row["high_95"] == pytest.approx(line.interval.high, abs=1e-6)
            assert row["low_95"] <= row["events"] / row["watched"] + 1e-6
        else:
            assert row["low_95"] is row["high_95"] is None and row["watched"] == 0
        if line.published:
            assert (row["published_events"], row["published_n"]) == (line.published.events, line.published.n)
        assert row["quotable"] or row["why_not"]


def test_the_page_holds_every_figure_of_the_sheet_as_text_too(sheet, page, title):
    """Takes long: every figure of the demo is looked for."""
    for technique in {line.technique for line in sheet.lines if line.interval}:
        rows = {row.name: row for row in rows_of(page, title(technique))}
        mine = [line for line in sheet.lines if line.technique == technique and line.interval]
        assert set(rows) == {title(line.outcome) for line in mine}
        for line in mine:
            row = rows[title(line.outcome)]
            assert line.interval is not None
            low, high = 100 * line.interval.low, 100 * line.interval.high
            figure = f"{line.counts.events} of {line.counts.watched}, {low:.1f} to {high:.1f}%"
            assert row.figure == figure and f"<title>{figure}</title>" in row.drawing
            assert line.quotable or row.more[0].startswith(f"not quoted: {line.why_not}")
            if line.published:
                printed = f"published {line.published.events} of {line.published.n}, "
                assert row.more[-1].startswith(printed) and row.more[-1].endswith(f"own: {line.verdict}")


def test_the_terminal_holds_every_line_by_technique(sheet, title):
    lines = sheet.lines
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
    lines = sheet.lines
    higher = [line for line in lines if line.verdict == "higher"]
    assert higher and page.count("own: higher") == len(higher)  # the head of the page has other words


# --- the page -------------------------------------------------------------------------------------


class Tags(HTMLParser):
    """Every start tag with its attributes, and that all are closed in order."""

    VOID = ("meta", "input")

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


def test_the_page_fetches_nothing_and_runs_nothing_but_its_own_script(page):
    tags = Tags(page)
    assert tags.open == []
    names = [tag for tag, _ in tags.found]
    assert not {*names} & {"link", "img", "iframe", "object", "embed", "form", "use", "image"}
    assert names.count("script") == names.count("style") == 1
    attributes = {name for _, attrs in tags.found for name in attrs}
    assert not {name for name in attributes if name.startswith("on")} | (attributes & {"src", "style"})
    assert all(attrs["href"].startswith("#") for _, attrs in tags.found if "href" in attrs)
    assert "url(" not in page and "@import" not in page and "http:" not in page and "https:" not in page
    policy = next(attrs["content"] for _, attrs in tags.found if attrs.get("http-equiv"))
    assert policy.startswith("default-src 'none'; ") and "unsafe" not in policy


def test_every_link_leads_to_one_place_of_the_page(page):
    tags = Tags(page)
    places = [attrs["id"] for _, attrs in tags.found if "id" in attrs]
    assert len(places) == len(set(places))
    links = {attrs["href"].removeprefix("#") for _, attrs in tags.found if "href" in attrs}
    assert len(links) > 10 and links <= set(places)


def test_the_page_says_its_language_and_names_every_picture(page):
    """A figure's drawing is hidden from readers of the screen: its counts stand beside it as text."""
    tags = Tags(page)
    assert ("html", {"lang": "en"}) in tags.found
    pictures = [attrs for tag, attrs in tags.found if tag == "svg" and "x" not in attrs]
    assert len(pictures) > 100
    for attrs in pictures:
        assert (attrs.get("role") == "img" and attrs["aria-label"]) or attrs.get("aria-hidden") == "true"


def test_what_somebody_typed_is_shown_and_never_run():
    bad = '<script>alert("x")</script>&"'
    places = (placed(bad, 30, 30, 0.1), placed("B", 3, 30, 0.1))
    sheet = Sheet([made(3, 30)], [Funnel("t", "o", "operator", 0.1, places)])
    page = as_html(sheet, lambda _: bad, heading=bad, note=bad)
    assert "<script>alert" not in page
    assert Tags(page).open == []
    assert page.count("&lt;script&gt;") >= 8  # title, heading, note, technique, outcome, group and its mark


def test_each_picture_is_well_formed_and_drawn_inside_its_frame(page):
    """A mark may reach over the edge by its own size."""
    found = drawings(page)
    assert len(found) > 100
    for svg in found:
        root = ET.fromstring(svg)
        framed = root.get("viewBox")
        width, height = (float(n) for n in framed.split()[2:]) if framed else (100.0, 34.0)
        for each in root.iter():
            for across in ("x", "x1", "x2", "cx"):
                assert 0 <= float(each.get(across, "0").removesuffix("%")) <= width
            for down in ("y", "y1", "y2", "cy"):
                assert 0 <= float(each.get(down, "0")) <= height
            for point in each.get("points", "").split():
                x, y = map(float, point.split(","))
                assert 0 <= x <= width and 0 <= y <= height


def test_without_colour_it_can_still_be_read():
    """Own and published differ by shape, quotable and thin by filling; who is outside by shape too."""
    page = as_html(Sheet([made(3, 30), made(3, 30, outcome="p", quotable=False)]), str, **HTML)
    assert "● the clinic’s own" in page and "◇ published" in page and "○ too thin to quote" in page
    assert "▲ above and ▼ below" in page
    assert page.count('class="dot"') == page.count('class="dot thin"') == 1


def test_the_dot_lies_between_the_ends_of_its_interval(page):
    found = re.findall(
        r'<line class="own" x1="([\d.]+)%" x2="([\d.]+)%"[^>]*/><circle class="dot[^"]*" cx="([\d.]+)%"', page
    )
    assert len(found) > 100
    assert all(float(low) <= float(at) <= float(high) for low, high, at in found)


@pytest.mark.parametrize(
    ("events", "n", "ceiling"),
    [(0, 95, 0.05), (1, 1000, 0.05), (6, 99, 0.2), (24, 99, 1.0), (0, 3, 1.0), (30, 30, 1.0)],
)
def test_the_scale_fits_a_rare_harm(events, n, ceiling):
    line = made(events, n)
    assert ceiling_of(line) == ceiling
    assert f"scale from 0 to {100 * ceiling:g} in every 100" in as_html(Sheet([line]), str, **HTML)
    assert line.interval is not None and line.interval.high <= ceiling


def test_a_published_figure_beyond_the_scale_stretches_it():
    line = made(0, 200)
    assert ceiling_of(line) == 0.05
    study = Rate("o", 30, 100, wilson(30, 100), "published", "people", "in people", "paper-2020")
    assert ceiling_of(replace(line, published=study)) == 1.0


def test_nothing_watched_is_no_dot_at_zero():
    page = as_html(Sheet([made(0, 0)]), str, **HTML)
    assert "<svg" not in page and "1 technique has no figure yet" in page


# --- what stands out ------------------------------------------------------------------------------


def first_of(page: str) -> str:
    return unescape(page[page.index('id="first"') : page.index("</section>")])


def test_what_stands_out_is_listed_first_and_nothing_else(sheet, page, title):
    found = re.findall(r'<a href="#([^"]*)">([^<]*)</a>', first_of(page))
    expected = [(each.technique, each.outcome, "time") for each, _ in sheet.signals()]
    expected += [(f.technique, f.outcome, f.grouping) for f, _ in sheet.above()]
    expected += [(line.technique, line.outcome, "figure") for line in sheet.worse()]
    expected += [(f.technique, f.outcome, f.grouping) for f, _ in sheet.below()]
    assert [at for at, _ in found] == ["--".join(key) for key in expected] != []
    assert [name for _, name in found] == [f"{title(t)}: {title(o)}" for t, o, _ in expected]
    assert page.index('id="first"') < page.index('id="contents"') < page.index("<h3>")


def test_nothing_that_stands_out_is_hidden_when_only_that_is_shown(sheet, page):
    for key in sheet.standing_out():
        (tag,) = re.findall(rf'<div class="([^"]*)" id="{"--".join(key)}"', page)
        assert "quiet" not in tag
    shown = re.findall(r'<div class="(?:row|panel)" id="([^"]*)"', page)
    assert set(shown) == {"--".join(key) for key in sheet.standing_out()}


def test_a_group_above_the_limits_is_listed_and_one_below_stands_apart_from_it():
    places = (placed("A", 30, 60, 0.2), placed("B", 12, 60, 0.2), placed("C", 1, 80, 0.2))
    page = as_html(Sheet([made(43, 200)], [Funnel("t", "o", "site", 0.2, places)]), str, **HTML)
    above, below = first_of(page).split("Seen less than elsewhere")
    assert "place A: 30 of 60, above 99.8% limits (20.0% in all)." in above and "place B" not in above
    assert "place C: 1 of 80, below 99.8% limits" in below


def test_how_much_was_looked_at_and_what_luck_brings_is_said(sheet, page):
    said = first_of(page)
    assert f"{sum(line.interval is not None for line in sheet.lines)} figures were looked at." in said
    assert f"{sheet.luck.groups} operators and places, outcome by outcome" in said
    assert f"above the 99.8% limits by luck alone with a chance of up to {sheet.luck.said}" in said
    false = sheet.false_signals
    assert f"{len(sheet.watched)} harms over time: if nothing had changed, about {false.expected:.1f}" in said


def test_a_gain_that_is_lower_than_published_stands_out_and_a_harm_does_not():
    study = Rate("o", 60, 100, wilson(60, 100), "published", "people", "in people", "paper-2020")
    line = made(30, 100, published=study, verdict="lower")
    assert Sheet([line]).worse() == [line] and Sheet([line], harms={"o"}).worse() == []


def test_without_rules_nothing_is_watched_and_the_page_says_so():
    page = as_html(Sheet([made(0, 95)]), str, **HTML)
    assert "Nothing stands out." in page and "clinic.toml has no table [watch]" in page


def test_a_very_long_list_says_how_many_more_there_are():
    places = (placed("A", 30, 60, 0.2), placed("B", 2, 60, 0.3))
    funnels = [Funnel("t", f"o{at}", "site", 0.2, places) for at in range(100)]
    assert "And 60 more: see the contents." in as_html(Sheet([made(1, 30)], funnels), str, **HTML)


# --- over time ------------------------------------------------------------------------------------


def test_each_course_is_drawn_with_its_limit_and_its_signals(sheet, page):
    drawn = re.findall(r'<div class="panel[^"]*" id="([^"]*--time)"', page)
    assert drawn == ["--".join((w.technique, w.outcome, "time")) for w in sorted_by_library(sheet) if w.since]
    signals = [signal for each in sheet.watched for signal in each.signals]
    for signal in signals:
        said = f"{signal.day}: {signal.events} seen in {signal.treatments} treatments since {signal.since}"
        assert page.count(f"<title>{said}") == 2  # in its course, and at the head of the page


def sorted_by_library(sheet: Sheet):
    order = list(dict.fromkeys(line.technique for line in sheet.lines))
    return sorted(sheet.watched, key=lambda each: order.index(each.technique))


def test_no_crossing_is_lost_where_the_path_is_shortened():
    days = np.arange(1000) + DAY.toordinal()
    seen = np.array([at == 500 for at in range(1000)])
    chart = cusum.chart(days, seen, np.full(1000, 0.3), odds_ratio=2, limit=0.4)
    svg = cusum_svg(chart, "Made")
    points = re.search(r'points="([^"]*)"', svg)
    assert points and len(points.group(1).split()) <= 150
    assert min(float(point.split(",")[1]) for point in points.group(1).split()) < 20 and "day" not in svg


# --- operators and sites --------------------------------------------------------------------------


def test_each_group_stands_with_its_limits_in_the_order_given_and_without_a_rank(sheet, page):
    """Takes long: every group of the demo."""
    assert sheet.funnels
    for funnel in sheet.funnels:
        start = page.index(f'id="{funnel.technique}--{funnel.outcome}--{funnel.grouping}"')
        panel = page[start : page.index("</table>", start)]
        cells = [re.findall(r"<td>([^<]*)</td>", row) for row in re.findall(r"<tr>(.*?)</tr>", panel)[1:]]
        expected = []
        for each in funnel.places:
            shares = [limits(funnel.target, each.n, share) for share in (ALERT, ALARM)]
            said = [f"{100 * low:.1f} to {100 * high:.1f}%" for low, high in shares]
            expected.append([each.group, f"{each.events} of {each.n}", *said, each.state])
            assert f"<title>{each.group}: {each.events} of {each.n}, {each.state}</title>" in panel
        assert cells == expected
    assert "no ranking" in page


def test_who_is_adjusted_for_stands_with_what_was_expected():
    place = place_adjusted("A", 30, ((40, 0.5), (20, 0.1)))
    funnel = Funnel("t", "o", "operator", 0.3, (place, place_adjusted("B", 5, ((50, 0.1),))), ("skin_type",))
    page = as_html(Sheet([made(35, 110)], [funnel]), str, **HTML)
    assert "<td>A</td><td>30 of 60</td><td>22.0</td>" in page and "adjusted for skin_type" in page
    assert 'class="near"' not in page  # each group has limits of its own


def test_groups_too_small_to_be_placed_do_not_stretch_the_scale():
    places = (placed("A", 2, 100, 0.02), placed("B", 2, 100, 0.02), placed("C", 1, 2, 0.02))
    assert funnel_plot.ceiling_of(Funnel("t", "o", "site", 0.02, places)) == 0.1


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
    lines = sheet.lines
    assert run(clinic_copy, "audit", "sheet", *TODAY).stdout == rate_sheet.as_table(lines, title) + "\n"


@pytest.mark.parametrize("name", ["rates.pdf", "rates", "rates.html.txt", "rates.xlsx"])
def test_another_ending_is_a_mistake_in_the_command_and_writes_nothing(run, clinic_copy, name):
    result = run(clinic_copy, "audit", "sheet", "--out", name, *TODAY)
    assert result.exit_code == 2
    assert "Give a file that ends in .csv, .json or .html." in result.stderr
    assert not (clinic_copy / name).exists()


def test_the_same_register_gives_the_same_bytes(run, clinic_copy, page, sheet, title):
    """Takes long: every figure of the demo, twice."""
    assert as_html(sheet, title, **HTML) == page
    for name in ("one.html", "two.html"):
        run(clinic_copy, "audit", "sheet", "--out", name, *TODAY)
    assert (clinic_copy / "one.html").read_bytes() == (clinic_copy / "two.html").read_bytes()


# --- in a browser ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def file(page, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheet") / "rates.html"
    path.write_text(page, encoding="utf-8")
    return path


def only_shown(browser: Browser, what: str) -> int:
    return browser.ask(
        f"[...document.querySelectorAll('{what}')].filter(each => each.checkVisibility()).length"
    )


OPEN = "document.querySelectorAll('details').forEach(each => { each.open = true; })"


@pytest.mark.browser
@pytest.mark.parametrize("width", [PHONE, 360, SCREEN])
def test_it_fits_a_telephone_and_axe_finds_nothing(browser, file, width):
    browser.show(file, width=width)
    assert browser.ask("document.documentElement.scrollWidth") <= width
    assert browser.faults() == []
    browser.run(OPEN)
    assert browser.ask("document.documentElement.scrollWidth") <= width


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_one_technique_opened_is_without_fault_too(browser, file, scheme):
    browser.show(file, width=SCREEN, scheme=scheme)
    browser.run("document.querySelector('details.technique').open = true")
    browser.run("document.querySelector('.panel details').open = true")
    assert browser.faults() == []


@pytest.mark.browser
def test_it_opens_on_what_stands_out_within_three_screens(browser, file):
    """123 screens before anything stood first."""
    browser.show(file, width=SCREEN)
    assert browser.ask("document.documentElement.scrollHeight") < 3 * 800
    assert browser.ask("document.querySelector('#first').getBoundingClientRect().top") < 400
    assert only_shown(browser, ".row, .panel") == 0


@pytest.mark.browser
def test_the_filter_shows_only_what_stands_out_or_one_kind(browser, file, sheet):
    browser.show(file, width=SCREEN)
    browser.run("document.querySelector('#only').click()")
    assert only_shown(browser, ".row, .panel") == len(sheet.standing_out())
    browser.run("document.querySelector('#only').click()")
    browser.run(OPEN)
    for kind in ("figure", "time", "operator", "site"):
        browser.run(f"document.querySelector('#show-{kind}').click()")
        assert only_shown(browser, f"section.{kind}") > 0
        assert only_shown(browser, ":is(.figure, .time, .operator, .site) > h3") == only_shown(
            browser, f".{kind} > h3"
        )


@pytest.mark.browser
def test_words_find_a_technique_and_an_outcome(browser, file):
    browser.show(file, width=SCREEN)
    browser.run("find.value = 'Round END bruis'; find.dispatchEvent(new Event('input'))")
    shown = browser.ask(
        "[...document.querySelectorAll('[data-name]')].filter(each => each.checkVisibility())"
        ".map(each => each.closest('.technique').id + ' ' + each.dataset.name)"
    )
    assert len(shown) >= 3 and {*shown} == {"blunt-cannula Bruising"}
    assert browser.ask("document.querySelector('#found').textContent").startswith("1 of ")


@pytest.mark.browser
def test_without_its_script_the_page_can_still_be_filtered_and_followed(browser, page, tmp_path):
    path = tmp_path / "plain.html"
    path.write_text(re.sub(r"<script>.*?</script>", "", page, flags=re.DOTALL), encoding="utf-8")
    browser.show(path, width=SCREEN)
    assert only_shown(browser, "#find") == 0  # what would do nothing is not shown
    browser.run("document.querySelector('.first a').click()")
    assert browser.ask("document.querySelector(location.hash).checkVisibility()")
    before = only_shown(browser, "details.technique")
    browser.run("document.querySelector('#only').click()")
    assert 0 < only_shown(browser, "details.technique") < before


@pytest.mark.browser
def test_a_figure_is_read_by_pointing_at_it(browser, file):
    browser.show(file, width=SCREEN)
    browser.run("document.querySelector('details.technique').open = true")
    said = browser.ask("document.querySelector('.row circle title').textContent")
    beside = browser.ask("document.querySelector('.row > div').firstChild.textContent")
    assert said == beside != ""


@pytest.mark.browser
def test_printed_it_holds_every_figure(browser, file, sheet, title, tmp_path):
    browser.show(file, width=SCREEN)
    text = " ".join(" ".join(browser.pages(tmp_path)).split())
    for line in sheet.lines:
        assert not line.interval or f"{line.counts.events} of {line.counts.watched}, " in text
