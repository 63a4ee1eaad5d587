"""The auditor's page, in a real browser."""

from __future__ import annotations

import pytest

from consentpack.export.ledger_page import LedgerPage, Line, ledger_page

LONG = "given/" + "A-very-long-reference-" * 4 + "/1/form.docx"
PAGE = LedgerPage(
    title="The ledger",
    verdict="Not all of it is as it was given.",
    holds=False,
    facts=(("Head of the ledger", "3 " + "7" * 64), ("Entries", "3")),
    faults=((LONG, "it is not as it was given."), ("ledger, entry 2", "<script>alert(1)</script>")),
    warnings=(("ledger, entry 3", "it was entered before entry 2."),),
    packs=(Line("HS-P-101", 1, "K7QF2-M9XAB", "signed", ("given on 2026-11-20 (entry 1)",)),),
)


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_it_and_nothing_is_wider_than_the_screen(browser, tmp_path, width, scheme):
    path = tmp_path / "page.html"
    path.write_text(ledger_page(PAGE), encoding="utf-8")
    browser.show(path, width=width, scheme=scheme)
    assert browser.faults() == []
    assert browser.ask("document.documentElement.scrollWidth") <= width


def test_it_needs_nothing_else_and_no_word_of_it_becomes_markup():
    page = ledger_page(PAGE)
    assert "<script" not in page and "src=" not in page and "http" not in page
    assert "&lt;script&gt;" in page


def test_where_nothing_is_wrong_nothing_is_listed_as_wrong():
    page = ledger_page(LedgerPage("The ledger", "All of it is as it was given.", True, (), (), (), ()))
    assert "What is not as it was given" not in page and "What was given" not in page
