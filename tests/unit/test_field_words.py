"""The program knows people, treatments, outcomes and time; a field of medicine adds the rest, as content."""

from __future__ import annotations

from pathlib import Path

import pytest
from theirs import FIELD_WORDS, words_of

import consentpack

ROOT = Path(consentpack.__file__).parent
GENERAL_ENGLISH = {
    "advice/forms.py": "nouns of the body that may follow a verb in any advice: a list of general English",
    "advice/instructions.py": "things of daily life that advice names: a list of general English",
}
"""Files that may hold such a word, and why."""


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("skin_type = 1", {"skin"}), ("class SkinType:", {"skin"}), ("SKIN_TYPES", {"skin"}),
        ("a Scar here", {"scar"}), ("interface, surface, typeface, skinny", set()),
    ],
)  # fmt: skip
def test_a_word_is_found_inside_names_and_not_inside_other_words(line, found):
    assert words_of(line) & FIELD_WORDS == found


def found_in_code() -> list[tuple[str, int, str]]:
    return [
        (path.relative_to(ROOT).as_posix(), number, line.strip())
        for path in sorted(ROOT.rglob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if words_of(line) & FIELD_WORDS
    ]


def test_no_word_of_our_field_stands_in_the_program():
    assert [each for each in found_in_code() if each[0] not in GENERAL_ENGLISH] == []


def test_every_file_that_is_let_off_needs_it():
    assert {file for file, _, _ in found_in_code()} == set(GENERAL_ENGLISH)
