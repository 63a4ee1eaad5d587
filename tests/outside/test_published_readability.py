"""Readability formulas against their published coefficients and printed values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textstat.backend import metrics

from consentpack import shipped
from consentpack.library import load_library
from consentpack.pipeline import scorer_of
from consentpack.readability import formulas, prepare, textstat_grade
from consentpack.readability.counts import Counts

SCORER = scorer_of(load_library(shipped.content()))

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

A = Counts(
    sentences=8, words=100, syllables=150, textstat_syllables=150, polysyllables=15, complex_words=15,
    letters=450, characters=460, unlisted=10,
)  # fmt: skip
A_200 = Counts(sentences=8, words=100, syllables=200, letters=450)
"""The inputs of the reference's arithmetic vectors (its §6.3, worked out from the definitions)."""


@pytest.mark.parametrize(
    ("formula", "counts", "expected"),
    [
        (formulas.flesch, A, 67.2475),
        (formulas.flesch_kincaid, A, 6.985),
        (formulas.flesch_kincaid_textstat, A, 6.985),
        (formulas.smog, A, 1.0430 * (15 * 30 / 8) ** 0.5 + 3.1291),
        (formulas.fog, A, 11.0),
        (formulas.coleman_liau, A, 8.292),
        (formulas.ari, A, 6.486),
        (formulas.dale_chall, A, 5.8355),
        (formulas.dale_chall, Counts(sentences=8, words=100, unlisted=4), 1.2516),
        (formulas.fernandez_huerta, A_200, 74.09),
        (formulas.szigriszt, A_200, 69.735),
        (formulas.gulpease, A, 68.0),
        (formulas.kandel_moles, A_200, 47.1125),
        (formulas.martins, A_200, 66.9475),
        (formulas.amstad, Counts(sentences=8, words=100, syllables=180), 62.2),
        (formulas.douma, A, 206.84 - 0.93 * 12.5 - 77 * 1.5),
        (
            formulas.vienna_1,
            Counts(sentences=8, words=100, polysyllables=20, long_words=30, one_syllable=50),
            7.341,
        ),
        (formulas.lix, Counts(sentences=8, words=100, long_words=30), 42.5),
        (formulas.pisarek, Counts(sentences=10, words=100, four_syllables=10), 0.5 * (100 + 100) ** 0.5),
    ],
)
def test_each_formula_has_its_published_coefficients(formula, counts, expected):
    assert formula(counts) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("measure", "words", "sentences", "syllables", "printed", "within"),
    [
        # encyclopaedia examples of the formulas, read second hand
        ("flesch", 13, 1, 24, 37.5, 0.05),
        ("flesch_kincaid", 13, 1, 24, 11.3, 0.05),
        ("flesch", 6, 1, 6, 116, 0.5),
        ("flesch_kincaid", 6, 1, 6, -1.45, 0.005),
        ("flesch", 16, 1, 23, 69, 0.05),
        # "Green Eggs and Ham": 5.7 words a sentence, 1.02 syllables a word; printed -1.3
        ("flesch_kincaid", 5700, 1000, 5814, -1.3, 0.05),
    ],
)
def test_printed_examples_of_flesch_and_kincaid(measure, words, sentences, syllables, printed, within):
    found = getattr(formulas, measure)(Counts(sentences=sentences, words=words, syllables=syllables))
    assert found == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.", 11.3),
        ("The cat sat on the mat.", -1.45),
    ],
)
def test_the_same_examples_from_their_text(text, printed):
    assert SCORER.grade(prepare(text)) == pytest.approx(printed, abs=0.05)
    assert textstat_grade(prepare(text)) == pytest.approx(printed, abs=0.05)


def test_coleman_and_liaus_own_abstract():
    """639 letters, 119 words, 5 sentences; printed 14.5 (Coleman and Liau 1975, read second hand)."""
    assert formulas.coleman_liau(Counts(sentences=5, words=119, letters=639)) == pytest.approx(14.5, abs=0.05)


@pytest.mark.parametrize(("polysyllables", "precise"), [(95, 13.295), (110, 14.068)])
def test_mclaughlins_own_examples_of_smog(polysyllables, precise):
    """30 sentences; by hand both give grade 13 (nearest square 100), 3 + 10."""
    found = formulas.smog(Counts(sentences=30, words=1, polysyllables=polysyllables))
    assert found == pytest.approx(precise, abs=0.001)
    assert abs(found - 13) < 1.5159  # the standard error McLaughlin prints, in grades


@pytest.mark.parametrize(
    ("sentence", "counted"), list(zip(GETTYSBURG, BY_HAND, strict=True)), ids=range(1, 11)
)
def test_words_and_syllables_of_a_public_domain_passage_are_those_counted_by_hand(sentence, counted):
    found = SCORER.counts(sentence)
    assert found.sentences == 1 and found.words == counted[0]
    assert abs(found.syllables - counted[1]) <= 1  # by ear, 'power' and 'prayer' have one or two


def test_the_grade_of_the_passage_is_the_formula_on_the_hand_counts():
    words, syllables = (sum(each) for each in zip(*BY_HAND, strict=True))
    by_hand = formulas.flesch_kincaid(Counts(sentences=len(BY_HAND), words=words, syllables=syllables))
    found = SCORER.counts(" ".join(GETTYSBURG))
    assert formulas.flesch_kincaid(found) == pytest.approx(by_hand, abs=0.15)
    assert textstat_grade(prepare(" ".join(GETTYSBURG))) == pytest.approx(11.05, abs=0.15)


@given(
    st.lists(
        st.sampled_from([*GETTYSBURG, "We press on it.", "You may feel a sting when we numb you."]),
        min_size=3,
        max_size=12,
    )
)
def test_where_counts_agree_every_formula_agrees_with_textstat(sentences):
    """A second implementation on the same words agrees to the digit, but for two of textstat's own
    ways: it counts marks as characters in ARI (published: letters and figures), and has 0.058 for the
    published 0.0588 in Coleman-Liau."""
    prepared = " ".join(map(prepare, sentences))
    found = SCORER.counts(" ".join(sentences))
    marks = sum(not c.isalnum() and not c.isspace() for c in prepared)
    with_marks = formulas.ari(found) + 4.71 * marks / found.words
    assert with_marks == pytest.approx(metrics.automated_readability_index(prepared), abs=1e-9)
    ours = formulas.coleman_liau(found) - (0.0588 - 0.058) * 100 * found.letters / found.words
    assert ours == pytest.approx(metrics.coleman_liau_index(prepared), abs=1e-9)
    assert formulas.flesch_kincaid_textstat(found) == pytest.approx(textstat_grade(prepared), abs=1e-9)
