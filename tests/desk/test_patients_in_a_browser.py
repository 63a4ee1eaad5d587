"""A new patient from nothing to papers in the hand, in a real browser."""

from __future__ import annotations

import base64
import shutil
import tomllib
from datetime import date, timedelta

import pytest

from consentpack import pipeline

pytestmark = pytest.mark.browser
MOST_ACTIONS, MOST_SECONDS = 12, 120
TREATED = date.today() + timedelta(days=30)


@pytest.fixture
def clinic(approved_folder, tmp_path):
    return shutil.copytree(approved_folder, tmp_path / "clinic", copy_function=shutil.copy2)


def test_from_a_new_patient_to_a_pack_on_paper(hand, clinic):
    """The usual case: in no more actions than a person does between two patients, and in two minutes."""
    hand.go("/patients")
    hand.follow("New patient")
    hand.click("a[href*='like=HS-P-101']")
    hand.type("#reference", "HS-P-301")
    hand.type("#site", "right cheek")
    hand.click("input[name=skin_type][value=II]")
    hand.type("#reason", "Bands pull your scars down. We can free them, and your skin may lift.")
    hand.day("#treatment_date", TREATED)
    hand.click("input[name=asked_all]")
    hand.click("button[value=build]")
    assert "The working pack was made." in hand.words
    hand.click("form[action$='/give'] button")
    hand.click("a[href$='/given/1/form.html']")
    hand.newest_window()
    printed = hand.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    hand.actions.append("print")
    assert base64.b64decode(printed["data"]).startswith(b"%PDF-")
    assert "Do you want this treatment?" in hand.find("h1").text
    hand.first_window()
    assert len(hand.actions) <= MOST_ACTIONS, hand.actions
    assert hand.seconds <= MOST_SECONDS, hand.seconds
    plan = tomllib.loads((clinic / "plans/hs-p-301.toml").read_text())
    assert (plan["region"], plan["treatment_date"]) == ("cheek", TREATED)
    (given,) = pipeline.issued(clinic, pipeline.Filter(clinician="Ambrose"))[1:]
    assert given.given.reference == "HS-P-301" and given.state == "given"


def test_a_place_is_pointed_at_on_the_body(hand):
    hand.go("/patients/new")
    hand.click("label.area[for=region-forehead]")
    assert hand.find("#region-forehead").is_selected()


def test_what_it_means_is_shown_and_the_very_page_before_anything_is_saved(hand, clinic):
    hand.go("/patients/new?like=HS-P-101")
    hand.type("#site", "left cheek")
    hand.click("input[name=skin_type][value=V]")
    hand.click("input[name='factor.pregnancy'][value=yes]")
    hand.click("button[value=check]")
    means = hand.find(".means").text
    assert "Not together: Loosening a scar is elective" in means and "What would be told" in means
    hand.click("a[href*='/patients/paper/'][href$='/form']")
    hand.newest_window()
    assert "Do you want this treatment?" in hand.find("h1").text
    assert hand.browser.ask("getComputedStyle(document.querySelector('h1')).fontFamily").startswith("Arial")
    assert hand.browser.ask("document.styleSheets.length") == 1  # its own style is let in
    hand.first_window()
    hand.driver.refresh()
    assert hand.find("input[name='factor.pregnancy'][value=yes]").is_selected()


def test_the_whole_way_goes_by_keys_alone(hand, clinic):
    hand.go("/patients/new?like=HS-P-101")
    for css, words in (("#reference", "HS-P-302"), ("#site", "left cheek")):
        hand.tab_to(css).send_keys(words)
    hand.tab_to("#reason").send_keys("Bands pull it down.")
    hand.tab_to("input[name=skin_type]").send_keys(" ")
    hand.tab_to("input[name=asked_all]").send_keys(" ")
    hand.tab_to("#treatment_date").send_keys(TREATED.strftime("%m%d%Y"))
    hand.enter("button[value=build]")
    assert "The working pack was made." in hand.words
    hand.enter("form[action$='/give'] button")
    assert "The pack was given" in hand.words
    hand.tab_to("#answer-day")
    hand.enter("button[value=signed]")
    assert "signed by the patient" in hand.words
    assert [each.state for each in pipeline.issued(clinic)] == ["given", "signed"]


def test_no_page_has_a_fault_narrow_or_wide_light_or_dark(hand):
    hand.go("/patients/new?like=HS-P-101")
    hand.type("#site", "left cheek")
    hand.click("input[name=skin_type][value=V]")
    hand.click("input[name='factor.pregnancy'][value=yes]")
    hand.click("button[value=check]")
    draft = hand.path.partition("#")[0]
    addresses = ("/patients", "/patients?stale=1", "/patients?search=none", "/patients/new", draft,
                 "/patients/HS-P-101", "/patients/HS-P-102", "/patients/HS-P-104/plan",
                 "/patients/HS-P-101/talk", "/patients/talks")  # fmt: skip
    assert [fault for address in addresses for fault in hand.faults_on(address)] == []


def test_no_page_needs_or_has_a_script(hand):
    for address in ("/patients", "/patients/new", "/patients/HS-P-101", "/patients/HS-P-101/plan"):
        hand.go(address)
        assert hand.browser.ask("document.querySelectorAll('script, [onclick], [style]').length") == 0


def test_a_paper_cannot_reach_the_desk(hand):
    """It is sandboxed: an origin of its own, so nothing of the desk's is read or sent from it."""
    hand.go("/patients/HS-P-101/given/1/diary.html")
    assert hand.browser.ask("origin") == "null"
    assert hand.browser.ask("document.querySelector('details') !== null")
    hand.console()  # what the paper's own script cannot keep in a sandbox
