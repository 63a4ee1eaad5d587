"""Single words that stand in several cells which cannot be read: said once, they explain all of them."""

from __future__ import annotations

import pytest

from consentpack.register import Reading, UnknownWord, parts_of

READING = Reading(
    "day-first",
    frozenset(("blunt-cannula", "nerve-block")),
    frozenset(),
    names={"blunt-cannula": ("thin tube",), "nerve-block": ("numbing",)},
)


def parts(*cells: tuple[str, int], column: str = "Done") -> list[tuple[str, int]]:
    words = [UnknownWord(column, word, times, ()) for word, times in cells]
    return [(each.word, each.times) for each in parts_of(words, "Done", READING)]


def test_a_word_of_several_cells_is_told_with_all_of_its_times():
    assert parts(("Tube + jab", 5), ("TUBE, LA", 3), ("jab", 1)) == [("tube", 8), ("jab", 6)]


def test_what_may_be_meant_is_told():
    words = [UnknownWord("Done", word, 1, ()) for word in ("cannula / jab", "cannula x")]
    (part,) = parts_of(words, "Done", READING)
    assert (part.word, part.may_mean) == ("cannula", ("blunt-cannula",))


@pytest.mark.parametrize("cell", ["jab without tube", "no jab", "tube or jab", "jab?", "jab vs tube"])
def test_a_cell_that_says_what_was_not_done_or_may_have_been_explains_nothing(cell):
    assert parts((cell, 9), (f"{cell} again", 9)) == []


def test_joining_words_figures_known_words_and_other_columns_are_not_asked_about():
    assert parts(("jab and 22 thin tube", 1), ("zap with 22 numbing", 1)) == []
    assert parts(("jab a1", 1), ("jab b1", 1), column="Other") == []
