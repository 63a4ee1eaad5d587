"""The reference pages are current, every page can be found, and every link leads somewhere."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
INDEX = DOCS / "index.md"
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
_FENCED = re.compile(r"^```.*?^```$", re.DOTALL | re.MULTILINE)
_CODE = re.compile(r"`[^`\n]*`")


def links(page: Path) -> list[str]:
    """What a page links to, outside code."""
    text = _CODE.sub("", _FENCED.sub("", page.read_text(encoding="utf-8")))
    return _LINK.findall(text)


def relative_links(page: Path) -> list[str]:
    return [link for link in links(page) if not re.match(r"[a-z]+:", link)]


def anchors(page: Path) -> set[str]:
    """The anchors of a page's headings, as common Markdown sites make them."""
    text = _FENCED.sub("", page.read_text(encoding="utf-8"))
    headings = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def leads_somewhere(page: Path, link: str) -> bool:
    path, _, anchor = link.partition("#")
    target = (page.parent / path).resolve() if path else page
    return target.exists() and (not anchor or anchor in anchors(target))


def test_the_reference_pages_are_what_the_program_says():
    done = subprocess.run(
        [sys.executable, "docs/build_reference.py", "--check"], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_page_is_linked_from_the_index():
    linked = {(DOCS / link.partition("#")[0]).resolve() for link in relative_links(INDEX)}
    missing = {str(page.relative_to(DOCS)) for page in DOCS.rglob("*.md") if page.resolve() not in linked}
    assert missing == {"index.md"}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_relative_link_leads_somewhere(page):
    assert [link for link in relative_links(page) if not leads_somewhere(page, link)] == []


def test_a_dead_link_or_anchor_would_be_found(tmp_path):
    page = tmp_path / "page.md"
    page.write_text(
        "# One & two\n[a](gone.md) [b](#one--two) [c](#three) `[d](code.md)` [e](https://x.org)\n"
    )
    assert [link for link in relative_links(page) if not leads_somewhere(page, link)] == ["gone.md", "#three"]
