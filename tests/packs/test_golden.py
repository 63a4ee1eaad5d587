"""Tree, Word file and page say the same, and the same as when somebody last read them."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser

import pytest
from docx import Document as WordDocument
from golden import FOLDER, trees
from panels import as_in_word
from readings import said

from consentpack.export.text import export_text

PLANS = ("p-101", "p-102", "p-103", "p-104")
KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")
every_document = pytest.mark.parametrize(("plan", "kind"), [(plan, kind) for plan in PLANS for kind in KINDS])


@pytest.fixture(scope="module")
def now(demo_clinic) -> dict[str, str]:
    return trees(demo_clinic)


def test_the_same_documents_are_kept(now):
    """Takes long: every example, two of them in other languages."""
    assert {path.name for path in FOLDER.glob("*.txt")} == set(now)


@pytest.mark.parametrize("name", sorted(path.name for path in FOLDER.glob("*.txt")))
def test_an_example_says_what_it_said_when_it_was_last_read(now, name):
    """A change that is meant: `python tests/golden.py`, then read the difference as a patient would."""
    kept = (FOLDER / name).read_text(encoding="utf-8").splitlines()
    assert now[name].splitlines() == kept


class Page(HTMLParser):
    """The words of the main part of a page, with those of its pictures; captions are not in the tree."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in ("input", "meta", "col", "rect", "circle", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag in self.open:
            del self.open[len(self.open) - 1 - self.open[::-1].index(tag) :]

    def handle_data(self, data):
        if ("main" in self.open or "h1" in self.open) and "caption" not in self.open:
            self.words.append(data)


def words(text: str) -> str:
    return re.sub(r"[\W_]+", "", text)


def _unnumbered(text: str) -> str:
    """Numbers of a list are drawn, not typed."""
    return re.sub(r"^\d+\. ", "", text, flags=re.M).replace("/ 1. ", "/ ")


@every_document
def test_tree_word_file_and_page_have_the_same_words_in_the_same_order(packs, plan, kind):
    pack = packs[plan]
    document = next(d for d in pack.documents if d.kind == kind)
    tree, for_word = (_unnumbered(export_text(d)) for d in (document, as_in_word(document)))
    page = Page()
    page.feed(pack.files[f"{kind}.html"].decode())
    body = WordDocument(io.BytesIO(pack.files[f"{kind}.docx"])).element.body
    in_word = said(body)
    assert words("".join(page.words)) == words(tree)
    assert words(in_word) == words(for_word)
