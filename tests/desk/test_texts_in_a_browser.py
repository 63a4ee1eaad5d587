"""Texts, scores and the first page in Chromium: each job from end to end, and every page by axe."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from browsers import PHONE, SCREEN
from desk.at_browser import AtBrowser, at_desk

from consentpack import pipeline

pytestmark = pytest.mark.browser


@pytest.fixture
def at(browser, clinic, audited):
    with at_desk(browser, clinic) as browsing:
        yield browsing


@pytest.fixture(scope="module")
def reading(browser, demo_folder, audited_register, tmp_path_factory):
    """A desk that nobody changes anything at."""
    folder = Path(shutil.copytree(demo_folder, tmp_path_factory.mktemp("read") / "clinic"))
    shutil.copy2(audited_register, folder / "register.sqlite")
    with at_desk(browser, folder) as browsing:
        yield browsing


PAGES = (
    "/?again=1", "/texts", "/texts?q=bruis&language=pl", "/texts/risks/bruising",
    "/texts/risks/bruising?language=ar", "/texts/documents/form", "/texts/tables/care-settings",
    "/texts/risks/bruising/edit", "/texts/new", "/texts/approve", "/texts/approve?plan=HS-P-101",
    "/texts/approve?plan=HS-P-101&language=ar", "/score", "/score/no-such-result",
)  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
def test_axe_finds_nothing_on_a_phone_and_a_screen_in_light_and_dark(reading: AtBrowser, path):
    """Four times axe, and the audit is counted once."""
    found = [*reading.faults_on(path), *reading.console()]
    # the console tells of a page that is not there, as it should
    assert [each for each in found if not (path.endswith("no-such-result") and " 404 " in each)] == []


def test_everything_is_reached_by_keyboard_in_the_order_it_is_read(reading: AtBrowser):
    """Some steps with the key, at two widths."""
    from selenium.webdriver import Keys

    for width in (PHONE, SCREEN):
        reading.size(width)
        reading.go("/texts/risks/bruising/edit")
        reading.driver.find_element("tag name", "body").send_keys(Keys.TAB)
        seen = []
        for _ in range(10):
            focused = reading.driver.switch_to.active_element
            seen.append(focused.get_attribute("id") or focused.text[:20])
            assert focused.value_of_css_property("outline-style") != "none", seen
            focused.send_keys(Keys.TAB)
        assert seen[:2] == ["To the page itself", "Today"]
        assert seen[7:10] == ["text", "Save", "Look it over"]


def test_a_text_is_changed_with_the_editors_help(at: AtBrowser, clinic):
    """From the shelf to the clinic's own file, past a mistake."""
    at.go("/texts")
    at.write("Look for", "bruis")
    at.press("Show")
    at.follow("Bruising")
    at.follow("Change it")
    text = at.field("The file").get_attribute("value")
    hard = text.replace("It fades on its own.", "It generally resolves. {{ clinic.phnoe }}")
    at.paste("The file", hard)
    at.press("Save")
    assert "Did you mean 'clinic.phone'" in at.words
    at.paste("The file", at.field("The file").get_attribute("value").replace(" {{ clinic.phnoe }}", ""))
    at.press("Look it over")
    assert "Say “mostly”." in at.words and "not saved yet" in at.words
    at.press("Put this in: “It mostly")
    assert "It mostly resolves." in at.field("The file").get_attribute("value")
    assert not (clinic / "content").exists()
    at.press("Save")
    assert at.path == "/texts/risks/bruising" and "It mostly resolves." in at.words
    assert "It mostly resolves." in (clinic / "content/risks/bruising.md").read_text()
    assert [each for each in at.console() if " 400 " not in each] == []


def test_two_windows_do_not_write_over_each_other(at: AtBrowser, clinic):
    """A second window opens the same text."""
    at.go("/texts/risks/swelling/edit")
    first, mine = at.driver.current_window_handle, at.field("The file").get_attribute("value")
    at.driver.switch_to.new_window("tab")
    at.go("/texts/risks/swelling/edit")
    at.paste("The file", mine.replace('version = "', 'version = "theirs-'))
    at.press("Save")
    at.driver.close()
    at.driver.switch_to.window(first)
    at.paste("The file", mine.replace('version = "', 'version = "mine-'))
    at.press("Save")
    assert "Somebody else changed this text" in at.words
    assert "theirs-" in at.driver.find_element("css selector", "ins").text
    assert 'version = "mine-' in at.field("The file").get_attribute("value")
    assert 'version = "theirs-' in (clinic / "content/risks/swelling.md").read_text()


def test_a_new_text_is_begun_and_stays_aside(at: AtBrowser, clinic):
    """From the shelf to the template and back to the shelf."""
    at.go("/texts")
    at.follow("Begin a new text")
    at.choose("What it is about", "aftercare")
    at.write("Its name", "glasses")
    at.press("Begin it")
    assert at.path == "/texts/aftercare/glasses/edit" and "it is not finished" in at.words
    assert (clinic / "content/aftercare/glasses.md").is_file()
    at.go("/texts")
    assert "Set aside, as they have mistakes" in at.words


def test_what_changed_is_read_and_approved_by_plan(at: AtBrowser, clinic):
    """The library is approved by the command, one text is changed, and that one is approved at the desk."""
    from datetime import date

    place = pipeline.open_workplace(clinic)
    pipeline.approve(place, [], by="Dr Ruth Ambrose", role="skin doctor", day=date.today(), until=None)
    pipeline.copy_module(place, "bruising")
    own = clinic / "content/risks/bruising.md"
    own.write_text(own.read_text().replace("It fades on its own.", "It goes away on its own."))
    at.go("/texts")
    at.follow("Approve by plan")
    at.choose("Plan", "HS-P-101")
    at.press("Show its reading list")
    assert "1 is not approved." in at.words
    assert at.driver.find_element("css selector", "del").text == "fades"
    assert at.driver.find_element("css selector", "ins").text == "goes away"
    at.driver.find_element("css selector", "input[name=read]").click()
    at.choose("Who is doing this", "Dr Ruth Ambrose")
    at.write("Your role", "skin doctor")
    at.press("Approve what is ticked")
    assert "All are approved." in at.words and at.console() == []


def test_an_old_form_is_scored_and_saved_as_a_page(at: AtBrowser, clinic):
    """A Word file is handed in, and every page of its result looked at."""
    at.go("/score")
    at.field("The form").send_keys(str(clinic / "old-form.docx"))
    at.press("Score it")
    assert "over the target of 6" in at.words and "Can everybody use the Word file?" in at.words
    assert at.driver.find_elements("css selector", "mark") and at.driver.find_elements(
        "css selector", "svg rect"
    )
    result = at.path
    assert at.driver.find_element("link text", "Save it as a page").get_attribute("href").endswith("/page")
    assert [*at.faults_on(result), *at.console()] == []


def test_the_first_page_leads_to_where_things_are_mended_and_saves_a_backup(at: AtBrowser, clinic):
    """The audit of the demo is counted."""
    at.go("/?again=1")
    assert "treatments have outcomes" in at.words and "Nothing needs" not in at.words
    at.press("Make a backup now")
    assert "The last one in the clinic folder is backups/backup-" in at.words
    at.follow("The approval of")
    assert at.path.startswith("/texts/approve")
