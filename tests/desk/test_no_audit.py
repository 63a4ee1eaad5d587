"""A clinic that keeps no audit: each page says so properly, and papers are made all the same."""

from __future__ import annotations

import re

import pytest

PAGES = (
    "/audit", "/audit/due", "/audit/rates", "/audit/rates/sheet", "/audit/rates/blunt-cannula", "/audit/case",
    "/audit/case?case=HS-0001&session=1", "/audit/add", "/audit/history", "/audit/history/1",
)  # fmt: skip
OTHERS = ("/", "/?again=1", "/patients", "/patients/HS-P-101", "/patients/new", "/texts", "/score")


@pytest.fixture
def without(clinic):
    """The copy of the clinic, whose settings say that no audit is kept."""
    settings = clinic / "clinic.toml"
    text, number = re.subn(r'(?m)^register = ".*"$', 'register = "none"', settings.read_text())
    assert number == 1
    settings.write_text(text)
    return clinic


@pytest.mark.parametrize("address", PAGES)
def test_a_page_of_the_audit_says_that_none_is_kept_and_how_to_begin(without, desk, address):
    answer = desk.get(address)
    assert answer.status_code == 200 and "This clinic keeps no audit" in answer.text
    assert "register.sqlite" in answer.text and "put right" not in answer.text


@pytest.mark.parametrize("address", ["/audit/due", "/audit/case", "/audit/add", "/audit/history/1/undo"])
def test_nothing_is_entered_where_no_audit_is_kept(without, desk, address):
    answer = desk.post(address, {"by": "A", "case": "A", "session": "1"})
    assert answer.status_code == 409 and "This clinic keeps no audit" in answer.text
    assert not list(without.glob("register.sqlite*"))


def test_all_else_goes_on_and_the_first_page_says_it(without, desk):
    """Over a second: the first page counts all that needs somebody."""
    for address in OTHERS:
        answer = desk.get(address)
        assert answer.status_code == 200 and "This clinic keeps no audit" not in answer.text, address
    page = desk.get("/?again=1").text
    assert "No audit is kept" in page and "watching time" not in page and "register" not in page


def test_a_pack_is_made_at_the_desk_without_an_audit(without, desk):
    """Over a second: a pack is made."""
    digest = re.search(r'name="digest" value="(\w+)"', desk.get("/patients/HS-P-101").text)
    assert digest
    answer = desk.post("/patients/HS-P-101/build", {"digest": digest[1], "draft": "1"})
    assert answer.status_code == 303, answer.text
    assert (without / "packs/HS-P-101/manifest.json").is_file()


def test_with_a_register_again_the_pages_are_there(without, desk):
    settings = without / "clinic.toml"
    assert "This clinic keeps no audit" in desk.get("/audit").text
    settings.write_text(settings.read_text().replace('register = "none"', 'register = "register.sqlite"'))
    page = desk.get("/audit").text
    assert "This clinic keeps no audit" not in page and 'name="sheet"' in page
