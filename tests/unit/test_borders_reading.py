"""Reading scores at their borders: what is just on a line, syllables, the hardest sentence."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_readability import EASY, HARD, SCORER, SIX, document, of, para

from consentpack.model import Measured
from consentpack.readability import formulas, syllables
from consentpack.readability.counts import Counts, familiar, sentence_counts, spoken_number
from consentpack.readability.measures import MEASURES, measures_for
from consentpack.readability.scoring import (
    FEWEST_WORDS,
    SHORTEST_NAMED,
    SMOG_ABOVE,
    USUAL_SPREAD,
    Scorer,
    _spread,
    parts,
)  # fmt: skip
from consentpack.readability.syllables import Syllables, vowel_groups

# --- formulas -------------------------------------------------------------------------------------


def test_fog_counts_complex_words_and_not_every_word_of_three_syllables():
    assert formulas.fog(Counts(sentences=1, words=10, complex_words=1, polysyllables=5)) == 0.4 * (10 + 10)


def test_dale_chall_adds_its_constant_over_five_percent_and_not_at_it():
    at = formulas.dale_chall(Counts(sentences=1, words=20, unlisted=1))
    over = formulas.dale_chall(Counts(sentences=1, words=20, unlisted=2))
    assert at == pytest.approx(0.1579 * 5 + 0.0496 * 20)
    assert over == pytest.approx(0.1579 * 10 + 0.0496 * 20 + 3.6365)


@pytest.mark.parametrize(
    ("raw", "grade"),
    [(4.9, 4), (5.0, 5.5), (6.0, 7.5), (7.0, 9.5), (8.0, 11.5), (9.0, 14), (9.9, 14), (10.0, 16)],
)
def test_a_dale_chall_band_begins_at_its_number(monkeypatch, raw, grade):
    """Dale and Chall's table: 4.9 and below is grade 4 and below, 5.0 to 5.9 is grades 5 and 6, and so on."""
    monkeypatch.setattr(formulas, "dale_chall", lambda _: raw)
    assert formulas.dale_chall_grade(Counts()) == grade


# --- counts ---------------------------------------------------------------------------------------

LEXICON = {
    "xa": 1, "xeming": 4, "xem": 2, "xebed": 3, "xeb": 3, "xeces": 3, "xec": 2, "xofu": 3, "xogu": 4,
    "xa's": 1, "ga": 9,
}  # fmt: skip
OURS = Syllables(LEXICON)


def counted(sentence: str, language: str = "en") -> Counts:
    return sentence_counts(sentence, OURS, language)


def test_a_long_word_has_seven_letters_and_nothing_but_letters():
    """LIX: more than six letters."""
    assert counted("abcdef abcdefg.").long_words == 1
    assert counted("abcdef7 abcde77 abcdefgh.").long_words == 1


def test_a_name_is_no_complex_word_but_the_first_word_has_its_capital_for_another_reason():
    assert counted("Xofu xa.").complex_words == 1
    assert counted("Xa Xofu.").complex_words == 0
    assert counted("Xa xofu.").complex_words == 1


@pytest.mark.parametrize(
    ("word", "complex_"), [("xeces", 0), ("xebed", 1), ("xeming", 1), ("xofu", 1), ("xem", 0)]
)
def test_an_ending_makes_no_complex_word_when_it_brings_the_third_syllable(word, complex_):
    """Gunning 1952: not -es, -ed. A word of four, or one that had three without it, stays complex."""
    assert counted(f"xa {word}.").complex_words == complex_


def test_words_of_three_syllables_and_of_four_are_counted_apart():
    assert (counted("xofu.").polysyllables, counted("xofu.").four_syllables) == (1, 0)
    assert (counted("xogu.").polysyllables, counted("xogu.").four_syllables) == (1, 1)
    assert (counted("xem.").polysyllables, counted("xa.").one_syllable, counted("xem.").one_syllable) == (
        0,
        1,
        0,
    )


@pytest.mark.parametrize(
    ("low", "known"),
    [
        ("stop", True), ("stopped", True), ("mopping", True), ("carried", True), ("bakes", True),
        ("7up", True), ("ad", False), ("id", False), ("xes", False), ("stoped", True),
    ],
)  # fmt: skip
def test_regular_forms_of_listed_words_are_familiar_and_one_letter_is_no_stem(low, known):
    assert familiar(low) is known


@pytest.mark.parametrize(
    ("digits", "n"),
    [
        ("0", 2), ("7", 2), ("11", 3), ("17", 3), ("19", 2), ("20", 2), ("21", 3), ("70", 3), ("77", 5),
        ("99", 3), ("100", 3), ("101", 5), ("120", 6), ("999", 7), ("1000", 3), ("1001", 4), ("20000", 4),
        ("100000", 5), ("1234567", 8),
    ],
)  # fmt: skip
def test_numbers_have_the_syllables_of_their_words(digits, n):
    """Counted by hand; over six figures they are read one by one."""
    assert spoken_number(digits) == n


# --- syllables ------------------------------------------------------------------------------------


def test_every_word_has_a_syllable(monkeypatch):
    monkeypatch.setattr(syllables, "in_dictionary", {"shh": 0}.get)
    assert Syllables({}).of("shh").corrected == 1


def test_a_plural_that_is_said_as_a_syllable_of_its_own_adds_one(monkeypatch):
    monkeypatch.setattr(syllables, "in_dictionary", {"xerge": 1, "xerk": 1}.get)
    assert Syllables({}).of("xerges").corrected == 2
    assert Syllables({}).of("xerks").corrected == 1


def test_a_word_of_three_letters_loses_no_ending():
    assert OURS.of("gas").corrected == 1
    assert OURS.of("gags").corrected == 1


@pytest.mark.parametrize(
    ("low", "n"), [("frobate", 2), ("frobble", 2), ("froba", 2), ("frobed", 1), ("frobted", 2), ("frr", 1),
                   ("frobiat", 3)]
)  # fmt: skip
def test_a_last_e_that_is_not_said_is_taken_off_the_guess(low, n):
    assert vowel_groups(low) == n


# --- scores ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("language", "high_is_hard"),
    [("en-GB", True), ("es", False), ("fr", False), ("de", False), ("pl", True), ("ar", True)],
)
def test_the_hardest_sentence_comes_first_in_every_language(language, high_is_hard):
    """Spanish, French, German and others have measures in which a high number is easy."""
    easy, hard = "La sal es de mar y de sol.", f"La {'anestesiologia ' * 9}contraindicada."
    doc = document(("All", (para(f"{easy} {hard}"),)), language=language)
    first, second = SCORER.worst_sentences(doc)
    assert first.text.startswith("La anestesiologia")
    assert (first.grade > second.grade) is high_is_hard


def words(n: int) -> str:
    return " ".join(["The", *["cat"] * (n - 1)]) + "."


def test_a_sentence_of_six_words_is_named_and_a_shorter_one_is_not():
    doc = document(("All", (para(f"{words(SHORTEST_NAMED)} {words(SHORTEST_NAMED - 1)}"),)))
    assert [each.words for each in SCORER.worst_sentences(doc)] == [SHORTEST_NAMED]


def test_a_hard_word_has_three_syllables_and_the_hardest_comes_first():
    found = Scorer(LEXICON).hard_words("xem xofu xogu.")
    assert [(each.word, each.syllables) for each in found] == [("xogu", 4), ("xofu", 3)]


def test_thirty_words_have_a_grade_and_fewer_have_none():
    assert of(words(FEWEST_WORDS)).grade is not None
    assert of(words(FEWEST_WORDS - 1)).grade is None
    assert of(words(FEWEST_WORDS)).measures[0].value is not None
    assert of(words(FEWEST_WORDS - 1)).measures[0].value is None


def test_a_document_with_nothing_before_its_sections_has_no_opening():
    doc = document(("All", (para(EASY),)))
    assert [id for id, *_ in parts(doc)] == ["all"]
    assert [id for id, *_ in parts(replace(doc, lead=(para(HARD),)))] == ["opening", "all"]
    assert [s.id for s in SCORER.score(doc, SIX).sections] == ["all"]


def graded(**grades: float) -> tuple[Measured, ...]:
    return tuple(
        Measured(name.replace("_", "-"), name, grade, "", grade, None) for name, grade in grades.items()
    )


@pytest.mark.parametrize(
    ("measures", "warned"),
    [
        (graded(fog=4.0, ari=4.0 + USUAL_SPREAD), False),
        (graded(fog=4.0, ari=4.1 + USUAL_SPREAD), True),
        # SMOG reads higher, which is no disagreement
        (graded(fog=4.0, smog=4.0 + USUAL_SPREAD + SMOG_ABOVE), False),
        (graded(fog=4.0, smog=4.1 + USUAL_SPREAD + SMOG_ABOVE), True),
        # "grade 4 or below" disagrees with nothing
        (graded(dale_chall=4.0, ari=12.0), False),
        (graded(dale_chall=5.5, ari=12.0), True),
        # no grade is below the first
        (graded(fog=-3.0, ari=1.0 + USUAL_SPREAD), False),
        (graded(fog=2.0), False),
    ],
)  # fmt: skip
def test_measures_disagree_when_they_are_more_than_five_grades_apart(measures, warned):
    assert bool(_spread(measures)) is warned


def test_the_words_of_a_disagreement_name_both_ends():
    (said,) = _spread(graded(fog=3.0, ari=10.0, flesch=5.0))
    assert said == ("the measures are 7 grades apart (fog says grade 3, ari 10); let a person read it.")


def test_a_measure_needs_its_fewest_sentences_and_a_word():
    smog = next(each for each in MEASURES if each.id == "smog")
    assert smog.of(Counts(sentences=29, words=100)) is None
    assert smog.of(Counts(sentences=30, words=100)) is not None
    assert smog.of(Counts(sentences=30)) is None
    assert measures_for("xx") == ()


def test_the_lexicon_goes_before_the_dictionary():
    assert Syllables({"cat": 5}).of("cat").corrected == 5
