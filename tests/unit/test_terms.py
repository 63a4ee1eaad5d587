"""Whether a clinical word of the glossary stands in a text."""

from __future__ import annotations

import pytest

from consentpack.model import Term


@pytest.mark.parametrize(
    ("word", "text", "there"),
    [
        ("Keloid", "a keloid may grow", True),
        ("Keloid", "keloids may grow", True),
        ("Keloid", "a keloidal scar", False),
        ("graft", "an autograft", False),
        ("graft", "an autograft, then a graft", True),
        ("Z-plasty", "the z-plasty.", True),
        ("a.b", "axb", False),
        ("a.b", "(a.b)", True),
    ],
)
def test_a_term_is_found_as_a_whole_word_or_its_plural(word, text, there):
    assert Term(word, "plain", "explained").stands_in(text) is there
