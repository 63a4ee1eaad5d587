"""The list of contents of the long papers: every part is named, can be led to, and has its page."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date

import pytest
from docx import Document as open_word
from packs.test_rendered import drawn

from consentpack.export.docx import export_docx
from consentpack.export.html import export_html
from consentpack.tree import Items, led_to, text_of

DAY = date(2026, 11, 20)
LONG = ("booklet", "more")


def long_papers(packs):
    for plan, pack in packs.items():
        yield from ((f"{plan}-{each.kind}", each) for each in pack.documents if each.kind in LONG)


def lines_of(word_file: bytes) -> list[tuple[str, int]]:
    """The lines of the contents with their pages, read by a library that is not ours."""
    found = [p.text for p in open_word(io.BytesIO(word_file)).paragraphs if p.style.name == "Contents"]
    return [(words, int(page)) for words, page in (line.split("\t") for line in found)]


def test_each_part_stands_in_the_contents_in_order(packs):
    for name, document in long_papers(packs):
        (contents,) = [node for node in document.lead if isinstance(node, Items)]
        assert [text_of(item.runs) for item in contents.items] == [s.heading for s in document.sections], name
        assert led_to(document) == tuple(section.id for section in document.sections), name


def test_every_link_of_the_word_file_has_its_bookmark_and_every_line_its_page(packs):
    for name, document in long_papers(packs):
        made = export_docx(document, day=DAY)
        body = zipfile.ZipFile(io.BytesIO(made)).read("word/document.xml").decode()
        anchors = re.findall(r'w:anchor="(\w+)"', body)
        assert anchors == re.findall(r'<w:bookmarkStart w:id="\d+" w:name="(\w+)"', body), name
        assert anchors == re.findall(r"PAGEREF (\w+) ", body), name
        assert len(set(anchors)) == len(anchors) == len(lines_of(made)), name
        pages = [page for _, page in lines_of(made)]
        assert pages == sorted(pages) and pages[0] >= 1, name


def test_every_link_of_the_page_leads_to_a_place_inside_the_part_that_it_opens(packs):
    for name, document in long_papers(packs):
        page = export_html(document).decode()
        links = re.findall(r'<a href="#(to-[\w-]+)">', page)
        assert len(links) == len(document.sections), name
        for link, section in zip(links, document.sections, strict=True):
            (place,) = re.findall(
                rf'<h2[^>]*>([^<]+)</h2>(?:</summary>)?\s*<span class="led" id="{link}">', page
            )
            assert place == section.heading, name


@pytest.mark.office
def test_the_pages_are_those_on_which_a_word_processor_puts_the_parts(office, packs, tmp_path):
    """LibreOffice counts them anew when it draws; what was reckoned is the same, or one beside it."""
    files = {name: export_docx(document, day=DAY) for name, document in long_papers(packs)}
    for name, made in files.items():
        (tmp_path / f"{name}.docx").write_bytes(made)
    right = total = 0
    for name, pages in drawn(office, tmp_path).items():
        told = dict(re.findall(r"(?m)^\s*(\S.*?)\s*\.{3,}\s*(\d+)$", "\n".join(pages)))
        for heading, reckoned in lines_of(files[name]):
            (page,) = [
                n for n, text in enumerate(pages, 1) if re.search(rf"(?m)^\s*{re.escape(heading)}$", text)
            ]
            assert int(told[heading]) == page, (name, heading)
            assert abs(reckoned - page) <= 1, (name, heading)
            right, total = right + (reckoned == page), total + 1
    # a line more in a text moves many parts; a word processor counts anew, and this stands there until then
    assert right / total > 2 / 3, (right, total)
