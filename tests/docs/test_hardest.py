"""The page of the hardest words and sentences is current, and no rare word on it stands unexplained."""

from __future__ import annotations

import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parents[2] / "docs"
sys.path.insert(0, str(DOCS))

import build_hardest  # noqa: E402


def test_the_page_is_what_the_program_says():
    """Takes seconds: every shipped English text is scored."""
    made = build_hardest.page()
    assert build_hardest.PAGE.read_text(encoding="utf-8") == made, "run: python docs/build_hardest.py"
    assert "NOT EXPLAINED" not in made


def test_a_word_that_nothing_explains_would_be_named_so():
    assert build_hardest.dealt_with("fuliginous") == "NOT EXPLAINED"
    assert build_hardest.dealt_with("keloids").startswith("glossary: ")
    assert build_hardest.dealt_with("bruises").startswith("listed: ")
    assert build_hardest.dealt_with("neater") == "children of about ten know it"


def test_tables_are_as_long_as_they_say():
    assert build_hardest.words_table().count("\n") == build_hardest.WORDS + 2
    assert build_hardest.sentences_table().count("\n") == build_hardest.SENTENCES + 2
