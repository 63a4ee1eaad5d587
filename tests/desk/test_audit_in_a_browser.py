"""The audit in a real browser: from a messy sheet to figures, by what somebody sees and can press."""

from __future__ import annotations

import re
from datetime import date

import pytest
from desk.at_browser import at_desk
from desk.audit_jobs import NAMES, audited, messy, new_clinic
from messy_sheet import UNREADABLE

from consentpack import pipeline

pytestmark = pytest.mark.browser
BY = "Ms Fern Odell"
DAY = date(2026, 11, 25)


@pytest.fixture
def at_screen(browser, clinic):
    """In the end nothing may stand in the browser's console."""
    with at_desk(browser, clinic) as screen:
        screen.console()
        yield screen
        assert screen.console() == []


def numbers(words: str) -> list[int]:
    return [int(number) for number in re.findall(r"^(\d+)$", words, re.MULTILINE)]


def test_a_new_clinics_messy_sheet_goes_from_drop_to_kept_audit_and_back(at_screen, clinic, tmp_path):
    """Three words explain three hundred rows; the column of names is refused and ruled out."""
    new_clinic(clinic)
    path, expected = messy(tmp_path / "Scar audit.xlsx")
    at_screen.go("/audit")
    at_screen.find("#sheet").send_keys(str(path))
    at_screen.press("Read it")
    at = at_screen.path
    assert "Refused: Remarks Patient name" in at_screen.words
    for word, meaning in (("cannula", "blunt-cannula"), ("block", "nerve-block-face")):
        at_screen.choose(f"“{word}” means", meaning)
    at_screen.choose("“la” means", "local-infiltration")
    at_screen.choose("“Usual” means", "blunt-cannula")
    at_screen.choose("“Usual” means, and also", "local-infiltration")
    at_screen.choose("Remarks Patient name", "ignore")
    at_screen.press("Look again")
    assert at_screen.path == at and "Refused: Remarks" not in at_screen.words
    assert numbers(at_screen.words)[:5] == [300, len(expected), 0, 0, len(UNREADABLE)]
    assert not any(name in at_screen.driver.page_source for name in NAMES)
    at_screen.driver.refresh()  # nothing is lost
    assert numbers(at_screen.words)[:5] == [300, len(expected), 0, 0, len(UNREADABLE)]
    at_screen.choose("Who is doing this", BY)
    at_screen.press("Keep")
    assert at_screen.path == at and "The spreadsheet is taken away" in at_screen.words
    place = pipeline.open_workplace(clinic, whole=False)
    (entry,) = pipeline.past_imports(place)
    assert (entry.added, entry.by, entry.file_name) == (len(expected), BY, "Scar-audit.xlsx")
    at_screen.go("/audit/history/1")
    at_screen.choose("Who is doing this", BY)
    at_screen.press("Take it back")
    assert "Taken back" in at_screen.words
    (entry,) = pipeline.past_imports(place)
    assert entry.undone and not [
        line for line in pipeline.figures_on(place, DAY).sheet.lines if line.interval
    ]


def test_a_figure_opens_to_its_rows_and_a_row_to_its_outcomes(at_screen, clinic):
    """Over a second: all figures are counted, in the process of the server."""
    audited(clinic)
    at_screen.go(f"/audit/rates?on={DAY}")
    at_screen.click("ul.out a")
    assert "What it is compared with" in at_screen.words
    at_screen.click("table tbody th a[href^='/audit/case']")
    case = at_screen.find("input[name=case]").get_attribute("value")
    session = int(at_screen.find("input[name=session]").get_attribute("value"))
    at_screen.choose("Who is doing this", BY)
    at_screen.find("select[name='seen:infection']").send_keys("yes")
    at_screen.press("Save")
    assert "Entered." in at_screen.words
    told = pipeline.values(pipeline.open_workplace(clinic, whole=False), case, session)
    assert [(each.grade, each.by) for each in told if each.outcome == "infection" and not each.replaced] == [
        (1, BY)
    ]


def test_the_whole_sheet_runs_nothing_and_is_whole(at_screen, clinic):
    audited(clinic)
    at_screen.go(f"/audit/rates/sheet?on={DAY}")
    assert at_screen.driver.find_elements("css selector", "svg")
    assert at_screen.browser.ask("getComputedStyle(document.body).maxWidth") == "1152px"  # its own style


def test_by_the_keyboard_alone_a_sheet_is_kept(at_screen, clinic, tmp_path):
    new_clinic(clinic)
    path = tmp_path / "a.csv"
    path.write_text("case,session,date,techniques,site\nZ-1,1,2026-03-02,blunt-cannula,chin\n")
    at_screen.go("/audit")
    at_screen.tab_to("#sheet")
    at_screen.driver.switch_to.active_element.send_keys(str(path))
    at_screen.enter(".drop button")
    at_screen.tab_to("#by")
    at_screen.driver.switch_to.active_element.send_keys(BY)
    at_screen.enter("button[value=keep]")
    assert "The spreadsheet is taken away" in at_screen.words


PAGES = (
    "/audit", "/audit/history", "/audit/history/1", f"/audit/rates?on={DAY}",
    f"/audit/rates/blunt-cannula?on={DAY}", f"/audit/rates/blunt-cannula/bruising?on={DAY}",
    f"/audit/due?on={DAY}", "/audit/case?case=HS-03", "/audit/case?case=HS-0334&session=2", "/audit/add",
)  # fmt: skip


def test_no_page_has_a_fault_narrow_or_wide_light_or_dark(at_screen, clinic):
    """Over a second: ten pages, each looked at four times by axe."""
    audited(clinic)
    assert [fault for address in PAGES for fault in at_screen.faults_on(address)] == []


def test_the_pages_of_a_sheet_have_no_fault_before_and_after_it_is_kept(at_screen, clinic, tmp_path):
    """Over a second: the same for four more."""
    new_clinic(clinic)
    path, _ = messy(tmp_path / "a.xlsx")
    at_screen.go("/audit")
    at_screen.find("#sheet").send_keys(str(path))
    at_screen.press("Read it")
    at = at_screen.path
    assert at_screen.faults_on(at) == []
    at_screen.choose("Remarks Patient name", "ignore")
    at_screen.press("Look again")
    assert at_screen.faults_on(at) == [] and at_screen.faults_on("/audit") == []
    at_screen.go(at)
    at_screen.choose("Who is doing this", BY)
    at_screen.press("Keep")
    assert at_screen.faults_on(at) == []
