"""The Flesch-Kincaid grade against its published coefficients and printed values."""

from __future__ import annotations

import pytest
import textstat

from consentpack.readability import grade_of, prepare

# Lincoln, Gettysburg Address, 1863, Bliss copy: public domain.
GETTYSBURG = (
    "Four score and seven years ago our fathers brought forth on this continent, a new nation, "
    "conceived in Liberty, and dedicated to the proposition that all men are created equal.",
    "Now we are engaged in a great civil war, testing whether that nation, or any nation so "
    "conceived and so dedicated, can long endure.",
    "We are met on a great battle-field of that war.",
    "We have come to dedicate a portion of that field, as a final resting place for those who here "
    "gave their lives that that nation might live.",
    "It is altogether fitting and proper that we should do this.",
    "But, in a larger sense, we can not dedicate — we can not consecrate — we can not hallow — this ground.",
    "The brave men, living and dead, who struggled here, have consecrated it, far above our poor "
    "power to add or detract.",
    "The world will little note, nor long remember what we say here, but it can never forget what "
    "they did here.",
    "It is for us the living, rather, to be dedicated here to the unfinished work which they who "
    "fought here have thus far so nobly advanced.",
    "It is rather for us to be here dedicated to the great task remaining before us — that from "
    "these honored dead we take increased devotion to that cause for which they gave the last full "
    "measure of devotion — that we here highly resolve that these dead shall not have died in vain — "
    "that this nation, under God, shall have a new birth of freedom — and that government of the "
    "people, by the people, for the people, shall not perish from the earth.",
)
# Counted by hand, sentence by sentence: words, syllables. "Battle-field" is scored as two words,
# because we part what a hyphen joins.
BY_HAND = (
    (30, 49), (24, 36), (11, 12), (27, 33), (11, 16), (19, 25), (21, 30), (21, 26), (26, 35), (82, 107),
)  # fmt: skip


def by_the_formula(words: int, sentences: int, syllables: int) -> float:
    """Kincaid, Fishburne, Rogers and Chissom 1975, Naval Technical Training, Research Branch Report
    8-75."""
    return 0.39 * words / sentences + 11.8 * syllables / words - 15.59


@pytest.mark.parametrize(
    ("sentence", "counted"), list(zip(GETTYSBURG, BY_HAND, strict=True)), ids=range(1, 11)
)
def test_words_of_a_public_domain_passage_are_those_counted_by_hand(sentence, counted):
    assert textstat.lexicon_count(prepare(sentence)) == counted[0]


def test_the_grade_of_the_passage_is_the_formula_on_the_hand_counts():
    words, syllables = (sum(each) for each in zip(*BY_HAND, strict=True))
    expected = by_the_formula(words, len(BY_HAND), syllables)
    assert grade_of(prepare(" ".join(GETTYSBURG))) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("text", "words", "syllables", "printed"),
    [
        # encyclopaedia examples of the formula, read second hand
        ("The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.", 13, 24, 11.3),
        ("The cat sat on the mat.", 6, 6, -1.45),
    ],
)
def test_printed_examples(text, words, syllables, printed):
    assert by_the_formula(words, 1, syllables) == pytest.approx(printed, abs=0.05)
    assert grade_of(prepare(text)) == pytest.approx(printed, abs=0.05)
