"""`score --html`: one page with both scores, marked text, words explained, advice; before and after."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from browsers import PHONE, SCREEN

from consentpack.export.text_report import WIDEST

OLD = """CONSENT TO TREATMENT

Prior to commencement of the procedure, local anaesthetic will be administered by the clinician. In the event
that haemostasis is not achieved, the procedure may be discontinued. Patients are advised to
abstain from sport.

AFTERWARDS

It is not uncommon for discomfort and oedema to persist for approximately 2 weeks. Tom & Jerry <b>said</b> so.
"""
NEW = """YOUR TREATMENT

We numb the skin first. If you bleed a lot, we may stop. Rest for 2 days: no sport and no heavy work.

AFTERWARDS

Many people are sore for about 2 weeks. That is normal. Ring us if the skin gets hot or you feel ill at home.
"""
SPANISH = "Le dormimos la piel con una inyección. Si sangra mucho, paramos. Descanse dos días. " * 3


class Outside(HTMLParser):
    """What a page would fetch."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attrs):
        self.found += [
            value for name, value in attrs if name in ("src", "href") and not value.startswith("#")
        ]
        self.found += [tag] if tag in ("script", "link", "iframe", "img") else []


@pytest.fixture
def folder(tmp_path):
    for name, text in (("old.txt", OLD), ("new.txt", NEW), ("hoja.txt", SPANISH)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


@pytest.fixture
def page(folder, run):
    assert run(folder, "score", "new.txt", "--before", "old.txt", "--html", "p.html").exit_code == 0
    return folder / "p.html"


def words(path):
    return " ".join(re.sub(r"<[^>]+>", " ", path.read_text(encoding="utf-8").split("<body>")[1]).split())


def test_it_needs_nothing_from_outside(page):
    found = Outside()
    found.feed(page.read_text(encoding="utf-8"))
    assert found.found == []
    assert "default-src 'none'" in page.read_text(encoding="utf-8")


def test_before_and_after_stand_side_by_side(page):
    said = words(page)
    first, _, then = said.partition("Side by side")
    assert "before" in first and "Easier than" in first and "What an editor would change:" in first
    heads = re.search(r"What old.txt \(before\) new.txt", then)
    assert heads, then[:300]
    old, new = map(float, re.search(r"grade: (-?[\d.]+) before, (-?[\d.]+) after", said).groups())
    assert old > 6 > new


def test_hard_sentences_are_marked_and_easy_ones_are_not(page):
    marked = re.findall(r"<p lang[^>]*>.*?</p>", page.read_text(encoding="utf-8"))
    hard = [each for line in marked for each in re.findall(r'<mark class="hard">(.*?)</mark>', line)]
    text = [re.sub("<[^>]+>", "", each) for each in hard]
    assert any(each.startswith("Prior to commencement") for each in text)
    assert not any("We numb" in each for each in text)


def test_rare_words_are_marked_and_terms_are_explained(page):
    html = page.read_text(encoding="utf-8")
    assert (
        '<span class="rare">commencement</span>' in html and '<span class="rare">procedure</span>' not in html
    )
    assert "stopping bleeding" in words(page) and "commencement – Rare: 3.5" in words(page)


def test_what_was_written_cannot_become_a_part_of_the_page(page):
    assert "<b>said</b>" not in page.read_text(encoding="utf-8") and "Tom and Jerry" in words(page)


def test_each_part_has_a_bar_as_long_as_its_value(folder, run):
    """A part with too few words for a value has none."""
    easy, hard = "We clean it well and you rest at home. " * 5, OLD.split("\n\n")[1] + "\n"
    text = f"EASY\n\n{easy}\n\nHARD\n\n{hard * 2}\n\nSHORT\n\nRing us.\n"
    (folder / "three.txt").write_text(text, encoding="utf-8")
    run(folder, "score", "three.txt", "--html", "p.html")
    html = (folder / "p.html").read_text(encoding="utf-8")
    rows = re.findall(r'<td class="number[^"]*">(-?[\d.]+|–)[^<]*</td>(.*)</tr>', html)
    drawn = {value: int(found[1]) for value, rest in rows if (found := re.search(r"width: (\d+)%", rest))}
    assert len(rows) == 3 and len(drawn) == 2 and rows[-1][0] == "–"
    for value, width in drawn.items():
        assert abs(width - 100 * min(max(float(value), 0), WIDEST) / WIDEST) <= 1, (value, width)


def test_minutes_layout_and_advice_are_there(page):
    said = words(page)
    sought = ("minutes at 238", "items that a program can see", "A person must still judge", "Instead: ")
    for wanted in (*sought, "a deed hidden"):
        assert wanted in said, wanted


def test_several_files_stand_beside_each_other_and_the_exit_code_stays(folder, run):
    done = run(folder, "score", "old.txt", "new.txt", "--html", "p.html")
    assert done.exit_code == 13 and done.output.strip() == "p.html"
    said = words(folder / "p.html")
    assert "What old.txt new.txt" in said and "Before and after" not in said


def test_a_language_without_a_second_score_says_so_by_a_dash(folder, run):
    assert run(folder, "score", "hoja.txt", "--language", "es", "--html", "p.html").exit_code == 0
    html = (folder / "p.html").read_text(encoding="utf-8")
    assert "INFLESZ" in html and 'lang="es"' in html and "Easier than" not in html


def test_before_without_a_page_is_refused(folder, run):
    done = run(folder, "score", "new.txt", "--before", "old.txt")
    assert done.exit_code == 2 and "--html" in done.output


def test_plans_have_a_page_too(demo_clinic, tmp_path, run):
    """Takes seconds: a whole pack is judged."""
    page = tmp_path / "p.html"
    assert run(demo_clinic, "score", "plans/p-101.toml", "--html", str(page)).exit_code in (0, 13, 22)
    assert "p-101" in words(page).lower() and "sides" in words(page)


@pytest.mark.browser
def test_axe_finds_nothing_on_a_phone_and_a_screen(page, browser):
    for width in (PHONE, SCREEN):
        for scheme in ("light", "dark"):
            browser.show(page, width=width, scheme=scheme)
            assert browser.faults() == [], (width, scheme)
            assert browser.ask("document.documentElement.scrollWidth") <= width
