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
    assert build_hardest.UNEXPLAINED not in made


def test_what_is_called_rewritten_stands_in_a_text_and_is_easier():
    """A sentence that was changed once more must not stay on the page as it was."""
    assert build_hardest.gone() == []
    for each in build_hardest.rewritten()["mended"]:
        assert build_hardest.worst_of(each["after"]) < build_hardest.worst_of(each["before"]), each["after"]


def test_the_texts_are_easier_than_they_were():
    """Before: the page as it stood when nothing had been rewritten."""
    was = build_hardest.rewritten()["before"]
    values = [value for value, _, _ in build_hardest.hardest()][: build_hardest.SENTENCES]
    assert values[0] < was["sentences_first"] and values[-1] < was["sentences_last"]
    assert sum(values) / len(values) < was["sentences_mean"]
    assert f"easier than {was['hardest_text_school']} and" not in build_hardest.summary()


def test_every_shipped_field_is_read():
    files = [file for file, _ in build_hardest.texts()]
    assert len(files) == len(set(files))
    assert {file.split("/")[2] for file in files if file.startswith("content/fields/")} == {
        name for name in build_hardest.fields_there(build_hardest.shipped.content()) if name != "usual"
    }


def test_a_hard_sentence_without_a_reason_would_be_named_so():
    assert build_hardest.why_it_stays("The numbed fuliginous part is odd.") == build_hardest.UNEXPLAINED
    assert build_hardest.why_it_stays("A keloid is a scar.").startswith("says what a keloid is")


def test_a_word_that_nothing_explains_would_be_named_so():
    assert build_hardest.dealt_with("fuliginous") == build_hardest.UNEXPLAINED
    assert build_hardest.dealt_with("keloids").startswith("glossary: ")
    assert build_hardest.dealt_with("bruises").startswith("listed: ")
    assert build_hardest.dealt_with("neater") == "children of about ten know it"


def test_tables_are_as_long_as_they_say():
    """Takes a second: every text is scored."""
    assert build_hardest.words_table().count("\n") == build_hardest.WORDS + 2
    assert build_hardest.sentences_table().count("\n") == build_hardest.SENTENCES + 2
