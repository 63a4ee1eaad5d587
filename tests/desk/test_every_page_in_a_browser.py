"""Every page of the desk in Chromium at 200%; new pages narrow and wide, light and dark; jobs by keyboard."""

from __future__ import annotations

import re
import shutil
from datetime import datetime

import pytest
from desk.at_browser import at_desk

from consentpack import pipeline

pytestmark = pytest.mark.browser
BY = "Ms Fern Odell"
GIVEN = "/patients/HS-P-101"
PAGES = (
    "/", "/?again=1", "/patients", "/patients/new", GIVEN, "/patients/HS-P-102", f"{GIVEN}/plan",
    f"{GIVEN}/talk", "/patients/talks", "/audit", "/audit/due", "/audit/due?only=not-asked", "/audit/rates",
    "/audit/rates/blunt-cannula", "/audit/rates/blunt-cannula/bruising", "/audit/case",
    "/audit/case?case=HS-03",
    "/audit/case?case=HS-0334&session=2", "/audit/add", "/audit/history", "/audit/history/1", "/texts",
    "/texts?language=pl", "/texts/risks/bruising", "/texts/risks/bruising/edit", "/texts/new",
    "/texts/approve",
    "/score", "/again", "/no-such-page",
)  # fmt: skip
"""An address of each page that stands without something having been sent to it before."""


@pytest.fixture
def clinic(approved_folder, tmp_path):
    return shutil.copytree(approved_folder, tmp_path / "clinic", copy_function=shutil.copy2)


@pytest.fixture
def at_screen(browser, clinic):
    with at_desk(browser, clinic) as screen:
        yield screen
        assert [each for each in screen.console() if "404" not in each] == []


def test_every_page_that_can_be_looked_at_is_among_them(clinic):
    """Else a new page would be tried by nobody."""
    from consentpack.desk.app import create_app
    from consentpack.desk.guard import Keys

    app = create_app(clinic, keys=Keys(), hosts=frozenset)
    rules = [rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    adapter = app.url_map.bind("127.0.0.1")
    tried = {adapter.match(path.partition("?")[0])[0] for path in PAGES if path != "/no-such-page"}
    sent_before = {
        "enter", "static", "audit_rates.whole", "audit_sheet.aside", "audit_sheet.sheet",
        "new_plan.shown", "new_plan.unfinished", "patients.code", "patients.given_paper",
        "patients.print_given", "patients.print_working", "patients.working_paper", "score.page",
        "score.result",
    }  # fmt: skip
    assert {rule.endpoint for rule in rules} - tried - sent_before == set()


def test_at_200_percent_no_page_runs_over_its_side_and_no_words_are_cut(at_screen):
    """Over a second: thirty pages. A window of 1280 px at 200% has 640 (WCAG 1.4.4). The desk is English
    alone, so no page runs from right to left."""
    found = []
    for path in PAGES:
        size = {"width": 640, "height": 400, "deviceScaleFactor": 2, "mobile": False}
        at_screen.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        at_screen.go(path)
        if at_screen.browser.ask("document.documentElement.scrollWidth > innerWidth"):
            found.append(f"{path}: wider than the window")
        found += [f"{path}: cut: {words}" for words in at_screen.browser.ask(CUT)]
        assert at_screen.browser.ask("document.documentElement.lang") == "en"
    assert found == []


CUT = """[...document.querySelectorAll('button, th, a, label, legend, h1, h2, h3, summary, caption')]
  .filter(e => e.offsetParent && e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline'
    && !e.closest('.skip, .cards thead, .hidden, .unseen') && !e.querySelector('.hidden, .unseen'))
  .map(e => e.textContent.trim().slice(0, 60))"""
"""What is wider than the room it has, of what is there to be seen."""


def test_the_new_pages_have_no_fault_narrow_or_wide_light_or_dark(at_screen, clinic):
    """Over a second: four pages, each looked at four times by axe."""
    place = pipeline.open_workplace(clinic, whole=False)
    first = pipeline.due_visits(place, datetime.now().date())[0].due
    told = pipeline.FollowUp("lost", datetime.now().date())
    pipeline.say_follow_up(place, [(first.case, first.session)], told, now=datetime.now(), by=BY)
    addresses = ("/audit/due?case=HS-03", "/audit/due?only=not-asked", "/?again=1", "/again")
    assert [fault for address in addresses for fault in at_screen.faults_on(address)] == []


def test_the_page_of_a_clinic_without_an_audit_has_no_fault(at_screen, clinic):
    """Over a second: axe looks at it four times."""
    settings = clinic / "clinic.toml"
    settings.write_text(re.sub(r'(?m)^register = ".*"$', 'register = "none"', settings.read_text()))
    assert at_screen.faults_on("/audit/due") == [] and "keeps no audit" in at_screen.words


def test_by_the_keyboard_alone_somebody_is_lost_and_found_again(at_screen, clinic):
    place = pipeline.open_workplace(clinic, whole=False)
    before = pipeline.overdue(place, datetime.now().date())
    at_screen.go("/audit/due")
    at_screen.tab_to("input[name=treatment]")
    at_screen.driver.switch_to.active_element.send_keys(" ")
    at_screen.choose("What is so", "lost")
    at_screen.choose("Who is doing this", BY)
    at_screen.enter("form[method=post] button")
    assert "1 lost to follow-up" in at_screen.words
    assert len(pipeline.overdue(place, datetime.now().date())) == len(before) - 1
    at_screen.go("/audit/due?only=not-asked")
    at_screen.tab_to("input[name=treatment]")
    at_screen.driver.switch_to.active_element.send_keys(" ")
    at_screen.choose("Who is doing this", BY)
    at_screen.enter("form[method=post] button")
    assert "Nobody." in at_screen.words
    assert pipeline.overdue(place, datetime.now().date()) == before


def test_the_square_of_a_given_pack_is_read_off_the_screen(at_screen, clinic, tmp_path):
    """By a program for cameras; the picture comes through the desk's own policy."""
    from PIL import Image
    from squares import texts_in

    at_screen.go(GIVEN)
    at_screen.browser.run("document.querySelector('img.square').closest('details').open = true")
    picture = at_screen.find("img.square")
    at_screen.driver.execute_script("arguments[0].scrollIntoView()", picture)
    assert at_screen.browser.ask("document.querySelector('img.square').naturalWidth > 0")
    picture.screenshot(str(tmp_path / "square.png"))
    image = Image.open(tmp_path / "square.png").convert("L")
    (given,) = pipeline.plan_row(pipeline.open_workplace(clinic), "HS-P-101").given
    assert texts_in(image.resize((image.width * 3, image.height * 3))) == [given.given.code]
    assert at_screen.faults_on(GIVEN) == []
