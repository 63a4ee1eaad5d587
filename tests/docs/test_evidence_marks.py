"""Every mark of the library's evidence notes is explained, and every mark explained is used."""

from __future__ import annotations

import re
from pathlib import Path

from consentpack import shipped

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "evidence-marks.md"
_MARK = re.compile(r"\[[A-Z0-9]{1,2}(?:/[A-Z0-9]{1,2})?\]|≠")


def marks(text: str) -> set[str]:
    return set(_MARK.findall(text))


def parts(text: str) -> set[str]:
    """Each way of knowing by itself: of [S2/S], S2 and S."""
    return {part for mark in marks(text) for part in mark.strip("[]").split("/")}


def test_the_page_explains_the_marks_that_are_used_and_no_others():
    rows = "\n".join(line.split("|")[1] for line in PAGE.read_text("utf-8").splitlines() if line[:1] == "|")
    content = "\n".join(path.read_text("utf-8") for path in shipped.content().rglob("*.md"))
    assert len(marks(content)) > 5
    assert marks(rows) >= marks(content)
    assert parts(rows) == parts(content)


def test_a_mark_nobody_explained_would_be_found():
    assert marks("Seen once [S], and [X/S]; differs ≠; a [link](x.md) and [1234].") == {"[S]", "[X/S]", "≠"}
