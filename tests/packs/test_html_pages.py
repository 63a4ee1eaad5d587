"""The pages as a browser shows and prints them: on a phone and a screen, in light and dark."""

from __future__ import annotations

from pathlib import Path

import pytest
from browsers import PHONE, SCREEN

from consentpack.export.html import export_html
from consentpack.tree import (
    Cell,
    Document,
    Field,
    Fields,
    Paragraph,
    Run,
    Section,
    Table,
    paragraphs,
    text_of,
)

pytestmark = pytest.mark.browser

PLANS = ("p-101", "p-102", "p-103", "p-104")
KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")
OPENED = "document.querySelectorAll('details').forEach(part => part.open = true)"
every_document = pytest.mark.parametrize(("plan", "kind"), [(plan, kind) for plan in PLANS for kind in KINDS])


@pytest.fixture(scope="module")
def files(packs, tmp_path_factory) -> dict[tuple[str, str], Path]:
    """Plan and kind -> its page in a folder by itself."""
    folder = tmp_path_factory.mktemp("pages")
    found = {(plan, kind): folder / f"{plan}-{kind}.html" for plan in PLANS for kind in KINDS}
    for (plan, kind), path in found.items():
        path.write_bytes(packs[plan].files[f"{kind}.html"])
    return found


def saved(folder: Path, *nodes, **more) -> Path:
    labels = {"page": "Page", "of": "of", "reference": "Ref", "version": "1", "draft": "DRAFT"}
    sections = (Section("part", "Part", nodes),)
    values = {"clinic_name": "Clinic", "reference": "R-1", "issued": "today"} | more
    made = Document("booklet", "Title", "en-GB", "patient", sections=sections, labels=labels, **values)
    (folder / "page.html").write_bytes(export_html(made))
    return folder / "page.html"


@every_document
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(browser, files, plan, kind):
    """axe-core: WCAG 2.0, 2.1 and 2.2, A and AA, and its own best practices."""
    for width in (PHONE, SCREEN):
        for scheme in ("light", "dark"):
            browser.show(files[plan, kind], width=width, scheme=scheme)
            assert browser.faults() == [], (width, scheme)
            browser.run(OPENED)
            assert browser.faults() == [], (width, scheme, "all parts open")
            assert browser.ask("document.documentElement.scrollWidth") <= width


@every_document
def test_letters_of_18_points_keep_every_rule_and_the_width_of_a_phone(browser, files, plan, kind):
    """Large print on a screen is the reader's own setting: letters half as large again, nothing cut off."""
    browser.show(files[plan, kind], width=PHONE)
    browser.run(f"document.documentElement.style.fontSize = '24px'; {OPENED}")
    assert browser.faults() == []
    assert browser.ask("document.documentElement.scrollWidth") <= PHONE


def test_axe_would_find_a_fault(browser, files, tmp_path):
    """A page with no language, pale words and a level of heading left out."""
    page = files["p-101", "booklet"].read_text(encoding="utf-8")
    broken = page.replace(' lang="en-GB"', "", 1).replace("#1b2430", "#aaaaaa").replace("<h3>", "<h5>")
    (tmp_path / "page.html").write_text(broken, encoding="utf-8")
    browser.show(tmp_path / "page.html", width=SCREEN)
    browser.run(OPENED)
    found = {fault.split(":")[0] for fault in browser.faults()}
    assert found == {"html-has-lang", "color-contrast", "heading-order"}


def test_dark_is_dark_and_light_is_light(browser, files):
    shades = []
    for scheme in ("light", "dark"):
        browser.show(files["p-101", "booklet"], width=PHONE, scheme=scheme)
        shades.append(browser.ask("getComputedStyle(document.body).backgroundColor"))
    assert shades == ["rgb(255, 255, 255)", "rgb(20, 24, 29)"]


def test_on_a_phone_cells_stand_below_each_other_each_under_its_columns_name(browser, files):
    label = "getComputedStyle(document.querySelectorAll('tbody tr > *')[1], '::before').content"
    beside = "new Set([...document.querySelectorAll('tbody tr')[0].children].map(c => c.offsetTop)).size"
    browser.show(files["p-101", "homecare"], width=PHONE)
    assert (browser.ask(label), browser.ask(beside)) == ('"Do this too"', 2)
    browser.show(files["p-101", "homecare"], width=SCREEN)
    assert (browser.ask(label), browser.ask(beside)) == ("none", 1)


def test_cards_are_still_a_table_for_screen_readers(browser, files):
    browser.show(files["p-101", "homecare"], width=PHONE)
    tree = browser.driver.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    roles = [node["role"]["value"] for node in tree if not node["ignored"]]
    assert {"table", "row", "columnheader", "rowheader", "cell"} <= set(roles)
    names = [n["name"]["value"] for n in tree if not n["ignored"] and n["role"]["value"] == "table"]
    assert names[0] == "Emergency signs, and what to do at once."


def test_words_without_a_break_do_not_widen_the_page(browser, tmp_path):
    endless = "x" * 400
    table = Table((endless, endless), ((Cell((Paragraph((Run(endless),)),)),) * 2,), (50, 50), endless)
    path = saved(tmp_path, table, Fields(endless, (Field(endless),)), clinic_name=endless)
    for width in (PHONE, SCREEN):
        browser.show(path, width=width)
        assert browser.ask("document.documentElement.scrollWidth") <= width


def test_numbers_in_an_arabic_page_are_drawn_from_left_to_right(browser, tmp_path):
    path = saved(tmp_path, Paragraph((Run("اتصل 020 7946 0101 الآن"),)), rtl=True, issued="اليوم")
    browser.show(path, width=SCREEN)
    place = (
        "(from => { const r = document.createRange();"
        "const t = document.querySelector('main p bdi').firstChild;"
        "r.setStart(t, from); r.setEnd(t, from + 1); return r.getBoundingClientRect().left })"
    )
    assert browser.ask(f"{place}(0)") < browser.ask(f"{place}(4)") < browser.ask(f"{place}(9)")


def test_a_phone_shows_the_emergency_number_wherever_one_reads_and_over_no_word(browser, files):
    place = "document.querySelector('.ring a').getBoundingClientRect()"
    seen = f"(r => r.top >= 0 && r.bottom <= innerHeight)({place})"
    for plan, kind in (("p-101", "form"), ("p-101", "aftercare"), ("p-101", "homecare")):
        browser.show(files[plan, kind], width=PHONE)
        for place in (0, 0.5, 1):
            browser.run(f"scrollTo(0, {place} * document.documentElement.scrollHeight)")
            assert browser.ask(seen), (kind, place)
        bottom = "document.querySelector('{}').getBoundingClientRect().{}"
        # at its end the page stands above the bar, so no last line is hidden by it
        assert browser.ask(bottom.format("footer", "bottom")) <= browser.ask(bottom.format(".ring", "top"))


def test_no_number_is_broken_and_each_that_is_shown_can_be_tapped(browser, files):
    browser.show(files["p-101", "aftercare"], width=PHONE)
    browser.run(OPENED)
    lines = (
        "[...document.querySelectorAll('a[href^=tel]')].filter(a => a.getClientRects().length !== 1).length"
    )
    assert browser.ask(lines) == 0
    assert browser.ask("document.querySelectorAll('main a[href=\"tel:02079460101\"]').length") > 0


def test_parts_are_closed_on_a_phone_and_all_are_printed(browser, files, packs, tmp_path):
    browser.show(files["p-101", "aftercare"], width=PHONE)
    assert browser.ask("document.querySelectorAll('details[open]').length") == 0
    assert browser.ask("document.querySelectorAll('details').length") > 5
    # as a browser prints that runs no script
    page = files["p-101", "aftercare"].read_text(encoding="utf-8").split("<script>")[0]
    (tmp_path / "page.html").write_text(page, encoding="utf-8")
    browser.show(tmp_path / "page.html", width=SCREEN)
    printed = " ".join(" ".join(browser.pages(tmp_path)).split())
    document = next(d for d in packs["p-101"].documents if d.kind == "aftercare")
    for section in document.sections:
        first = next(p for node in section.nodes for p in (*paragraphs(node), None))
        assert section.heading in printed
        said = " ".join(text_of(first.runs)[:40].split()) if first else ""
        assert said in printed, section.heading
    assert printed.count("DRAFT – not approved") == len(browser.pages(tmp_path))


def test_the_diary_keeps_what_is_chosen_on_the_phone_and_shows_it(browser, files):
    show = OPENED
    first = "document.querySelectorAll('[data-asked] button')[{}]"
    page = files["p-101", "diary"]
    browser.show(page, width=PHONE)
    browser.run(f"localStorage.clear(); {show}")
    assert browser.ask("document.querySelector('.chosen').hidden") is True
    browser.run(f"{first.format(0)}.click(); {first.format(3)}.click()")
    browser.show(page, width=PHONE)
    browser.run(show)
    assert "Day 1: Y, Day 3: N" in browser.ask("document.querySelector('.chosen').innerText")
    assert browser.ask(f"{first.format(0)}.getAttribute('aria-pressed')") == "true"
    assert browser.faults() == []
    browser.show(files["p-102", "diary"], width=PHONE)
    assert browser.ask("document.querySelector('.chosen').hidden") is True, "another reference, other answers"
    browser.show(page, width=PHONE)
    browser.run(f"{first.format(0)}.click()")  # a second tap takes it back: not looked is not no
    assert "Day 1" not in browser.ask("document.querySelector('.chosen').textContent")
    browser.run("document.querySelector('.chosen button').click()")
    assert browser.ask("document.querySelector('.chosen').hidden") is True


def test_where_nothing_can_be_kept_the_diary_stays_a_table_for_paper(browser, files, tmp_path):
    page = files["p-101", "diary"].read_text(encoding="utf-8").split("<script>")[0]
    (tmp_path / "page.html").write_text(page, encoding="utf-8")
    browser.show(tmp_path / "page.html", width=PHONE)
    browser.run(OPENED)
    assert browser.ask("document.querySelectorAll('button').length") == 0
    assert "Y / N" in browser.ask("document.querySelector('.diary').innerText")


@every_document
def test_print_names_pack_page_and_draft_on_every_page(browser, files, tmp_path, plan, kind):
    browser.show(files[plan, kind], width=SCREEN, scheme="dark")
    pages = browser.pages(tmp_path)
    for number, page in enumerate(pages, 1):
        assert "DRAFT – not approved for patients" in page.splitlines()[2]
        assert f"Page {number} of {len(pages)}" in page and f"Reference HS-P-{plan[2:]}" in page


@pytest.mark.parametrize("plan", PLANS)
def test_all_emergency_signs_are_printed_on_page_one(browser, files, packs, tmp_path, plan):
    browser.show(files[plan, "aftercare"], width=SCREEN)
    first, second, *_ = browser.pages(tmp_path)
    table = next(d for d in packs[plan].documents if d.kind == "aftercare").lead[0]
    for row in table.rows:
        assert row[0].content[0].runs[0].text in first
    assert "Ring 999 now" in first and "Ring 999 now if you see this" not in second
