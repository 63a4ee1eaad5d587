"""Reading scores at their borders: what is just on a line, syllables, the hardest sentence."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_readability import EASY, HARD, SCORER, SIX, document, of, para
from textstat.backend import utils

from consentpack.model import HardWord, Measured, ReadingRules, ReadingTarget, Sentence, Term
from consentpack.readability import formulas, syllables
from consentpack.readability.counts import Counts, familiar, sentence_counts, spoken_number
from consentpack.readability.explain import check, described
from consentpack.readability.measures import MEASURES, measure, measures_for
from consentpack.readability.plain_terms import PlainTerms
from consentpack.readability.prepare import prepare, words_of
from consentpack.readability.scoring import (
    Scorer,
    _spread,
    parts,
)  # fmt: skip
from consentpack.readability.syllables import Syllables, vowel_groups
from consentpack.readability.targets import target_for
from consentpack.readability.textstats_own import textstat_value
from consentpack.readability.vowels import nuclei

# --- formulas -------------------------------------------------------------------------------------


def test_fog_counts_complex_words_and_not_every_word_of_three_syllables():
    assert formulas.fog(Counts(sentences=1, words=10, complex_words=1, polysyllables=5)) == 0.4 * (10 + 10)


def test_dale_chall_adds_its_constant_over_five_percent_and_not_at_it():
    at = formulas.dale_chall(Counts(sentences=1, words=20, unlisted=1))
    over = formulas.dale_chall(Counts(sentences=1, words=20, unlisted=2))
    assert at == pytest.approx(0.1579 * 5 + 0.0496 * 20)
    just = formulas.dale_chall(Counts(sentences=1, words=1000, unlisted=51))
    assert just == pytest.approx(0.1579 * 5.1 + 0.0496 * 1000 + 3.6365)
    assert over == pytest.approx(0.1579 * 10 + 0.0496 * 20 + 3.6365)


@pytest.mark.parametrize(
    ("raw", "grade"),
    [
        (4.9, 4),
        (5.0, 5.5),
        (5.9, 5.5),
        (6.0, 7.5),
        (6.9, 7.5),
        (7.0, 9.5),
        (7.9, 9.5),
        (8.0, 11.5),
        (8.9, 11.5),
        (9.0, 14),
        (9.9, 14),
        (10.0, 16),
    ],
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
        ("0", 2), ("1", 1), ("7", 2), ("10", 1), ("11", 3), ("12", 1), ("13", 2), ("17", 3),
        ("19", 2), ("20", 2), ("21", 3), ("70", 3), ("77", 5),
        ("99", 3), ("100", 3), ("101", 5), ("120", 6), ("999", 7), ("1000", 3), ("1001", 4), ("20000", 4),
        ("100000", 5), ("1234567", 8),
        ("22", 3), ("27", 4), ("198", 7), ("693", 7), ("700", 4), ("1998", 10), ("6993", 10), ("7000", 4),
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
    doc = document(("All", (para(f"{words(6)} {words(5)}"),)))
    assert [each.words for each in SCORER.worst_sentences(doc)] == [6]


def test_a_hard_word_has_three_syllables_and_the_hardest_comes_first():
    found = Scorer(LEXICON).hard_words("xem xofu xogu.")
    assert [(each.word, each.syllables) for each in found] == [("xogu", 4), ("xofu", 3)]


def test_thirty_words_have_a_grade_and_fewer_have_none():
    thirty, fewer = of(words(30)), of(words(29))
    assert thirty.grade is not None and fewer.grade is None
    assert thirty.sections[0].grade == thirty.grade and fewer.sections[0].grade is None
    assert thirty.plain_terms is not None and fewer.plain_terms is None
    assert thirty.measures[0].value is not None and fewer.measures[0].value is None
    assert fewer.measures[0].why_not == "it needs 30 words; there are 29"
    assert thirty.measures[0].why_not == ""
    assert (fewer.measures[0].as_grade, fewer.measures[0].textstat) == (None, None)
    assert thirty.measures[0].as_grade == thirty.measures[0].value
    assert (thirty.measure, thirty.measures[0].id) == ("Flesch-Kincaid grade", "flesch-kincaid")


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
        (graded(fog=4.0, ari=9.0), False),
        (graded(fog=4.0, ari=9.1), True),
        # SMOG reads higher, which is no disagreement
        (graded(fog=4.0, smog=11.5), False),
        (graded(fog=4.0, smog=11.6), True),
        # "grade 4 or below" disagrees with nothing
        (graded(dale_chall=4.0, ari=12.0), False),
        (graded(dale_chall=5.5, ari=12.0), True),
        # no grade is below the first
        (graded(fog=-3.0, ari=6.0), False),
        (graded(fog=-3.0, ari=6.1), True),
        (graded(fog=2.0), False),
    ],
)  # fmt: skip
def test_measures_disagree_when_they_are_more_than_five_grades_apart(measures, warned):
    assert bool(_spread(measures)) is warned


def test_a_measure_that_speaks_in_no_grade_disagrees_with_none():
    ease = Measured("szigriszt", "INFLESZ", 65.0, "", None, None)
    assert _spread((*graded(fog=9.0), ease)) == () == _spread((ease, ease)) == _spread(())
    assert _spread((*graded(fog=9.0, ari=3.0), ease)) != ()


def test_a_section_of_thirty_words_has_the_harder_of_the_two_counts():
    """textstat takes 'No.' for no sentence, so its grade is the higher one."""
    found = of(f"No. {words(29)}")
    assert found.textstat > found.corrected
    assert found.sections[0].grade == found.grade == found.textstat


def test_another_language_is_scored_by_its_own_measure_alone():
    hard = "Anestesiología contraindicada. " * 20
    found = of(hard, language="es")
    assert found.grade == found.sections[0].grade == SCORER.grade(hard, "es") == found.measures[0].value
    assert found.grade < 0  # high is easy there; an English grade would be above it
    assert (found.textstat, found.corrected, found.plain_terms) == (None, None, None)
    assert {(m.as_grade, m.textstat) for m in found.measures} == {(None, None)}
    assert SCORER.worst_sentences(document(("All", (para(words(9)),)), language="es"))[0].hard == ()
    assert of(hard, language="ar").target is None


def test_the_words_of_a_disagreement_name_both_ends():
    (said,) = _spread(graded(fog=3.0, ari=10.0, flesch=5.0))
    assert said == ("the measures are 7 grades apart (fog says grade 3, ari 10); let a person read it.")


def test_a_measure_needs_its_fewest_sentences_and_a_word():
    smog = next(each for each in MEASURES if each.id == "smog")
    assert smog.of(Counts(sentences=29, words=100)) is None
    assert smog.of(Counts(sentences=30, words=100)) is not None
    assert smog.of(Counts(sentences=30)) is None
    assert measures_for("xx") == ()


@pytest.mark.parametrize("one", MEASURES, ids=lambda one: f"{one.id}-{one.language}")
def test_every_measure_needs_a_sentence_and_a_word_and_is_found_by_its_name(one):
    assert one.of(Counts(words=5)) is None and one.of(Counts(sentences=1)) is None
    whole = Counts(sentences=30, words=300, syllables=450, textstat_syllables=450, letters=1500)
    assert one.of(whole) == one.formula(whole)
    assert (one.of(Counts(sentences=1, words=9, syllables=9)) is None) is (one.id == "smog")
    assert measure(one.id).id == one.id and one in measures_for(one.language)


def test_textstat_has_no_number_of_nothing_and_none_for_other_languages():
    assert textstat_value("smog", "") is None
    assert textstat_value("szigriszt", "La sal.") is None
    assert textstat_value("ari", "The cat sat.") is not None


def test_no_word_of_a_text_stays_in_the_hyphenation():
    of(words(30).replace("cat", "zzyzxian"))
    assert not utils.get_pyphen("en_US").hd.cache


@pytest.mark.parametrize(
    ("word", "n"),
    [
        ("WHZ", 5), ("MRI", 3), ("MRIs", 3), ("W", 3), ("5aside", 1), ("7", 1),
        ("zzyzxian", 3), ("haemolytic", 4),  # textstat's points; groups of vowels: the larger of the two
        ("'cat'", 1), ("cat's", 1), ("cats'", 1),
    ],
)  # fmt: skip
def test_what_nobody_looked_up_is_spelt_out_or_guessed_by_the_larger_guess(word, n):
    assert Syllables({}).of(word).corrected == n


@pytest.mark.parametrize(
    ("word", "sure"),
    [("xofu", True), ("xofus", True), ("cat", True), ("cats", True), ("MRI", True), ("5x", True),
     ("zzyzxian", False), ("xa'", False)],
)  # fmt: skip
def test_a_count_is_looked_up_or_spelt_out_and_else_a_guess(word, sure):
    assert Syllables({"xofu": 3}).checked(word) is sure


@pytest.mark.parametrize(
    ("word", "language", "n"),
    [
        ("lune", "fr", 1), ("hm", "es", 1), ("word", "ar", 1), ("historia", "es", 3), ("história", "pt", 3),
        ("vida", "pt", 2), ("energia", "pt", 4), ("géant", "fr", 2), ("poésie", "fr", 3), ("siedem", "pl", 2),
    ],
)  # fmt: skip
def test_vowels_that_sound_together_are_one_syllable(word, language, n):
    """Counted by ear by the rules of each language; common practice, no source."""
    assert nuclei(word, language) == n


@pytest.mark.parametrize(
    ("text", "scored"),
    [
        ("Use soap etc.", "Use soap and so on."),
        ("Come at 8 a.m.", "Come at 8 am."),
        ("Etc.", "Etc."),
        ("etc.", "and so on."),
        ("Stop.", "Stop."),
        ("Stop", "Stop."),
        ("Ask Dr. Ambrose", "Ask Doctor Ambrose."),
        ("Rest for 10 min. Then go", "Rest for 10 minutes. Then go."),
    ],
)
def test_an_abbreviation_is_read_aloud_and_ends_a_sentence_where_one_begins(text, scored):
    assert prepare(text) == scored


def test_units_and_abbreviations_are_english():
    assert prepare("Toma 5 mg etc.", "es") == "Toma 5 mg etc."
    assert prepare("Take 5 mg.") == "Take 5 milligrams."


def test_a_mark_that_stands_alone_is_no_word():
    assert words_of("Yes “no” ¿qué? ... 7 don't !") == ["Yes", "no", "qué", "7", "don't"]


def test_the_lexicon_goes_before_the_dictionary():
    assert Syllables({"cat": 5}).of("cat").corrected == 5


def test_a_score_says_how_long_sentences_and_words_are():
    """Five words and three: four a sentence; 'doctors' and 'explain' have seven letters: 2 of 8."""
    found = of("The doctors explain it well. You may go.")
    assert (found.words, found.sentences) == (8, 2)
    assert (found.sentence_length, found.long_words) == (4.0, 25.0)
    assert dict(found.left_out) == {"headings": 1}  # of what there is none, nothing is said
    nothing = of("")
    assert (nothing.sentence_length, nothing.long_words, nothing.textstat) == (0.0, 0.0, None)


def test_prepared_text_has_a_value_however_short_and_none_where_nothing_was_made():
    assert SCORER.grade("The cat sat on the mat.") == pytest.approx(0.39 * 6 + 11.8 - 15.59)  # one each
    assert (SCORER.grade(""), SCORER.grade("La sal.", "ar")) == (0.0, 0.0)
    assert SCORER.grade("La sal.", "es") == pytest.approx(206.835 - 62.3 - 2)  # high is easy there


def sentences_of(*numbers: int):
    return para(" ".join(words(n) for n in numbers))


def test_the_five_hardest_are_named_or_as_many_as_are_asked_for_and_of_one_section():
    doc = document(("One", (sentences_of(6, 7, 8, 9),)), ("Two", (sentences_of(10, 11, 12),)))
    assert [each.words for each in SCORER.worst_sentences(doc)] == [12, 11, 10, 9, 8]
    assert [each.words for each in SCORER.worst_sentences(doc, 2)] == [12, 11]
    assert [each.words for each in SCORER.worst_sentences(doc, 9, "one")] == [9, 8, 7, 6]
    (first, *_) = SCORER.worst_sentences(doc)
    assert (first.text, first.source, first.hard) == (words(12), "content/x.md, line 7", ())
    assert first.grade == pytest.approx(0.39 * 12 + 11.8 - 15.59)


def test_where_no_measure_was_made_the_longest_sentence_is_the_hardest():
    doc = document(("All", (sentences_of(6, 9),)), language="ar")
    assert [each.grade for each in SCORER.worst_sentences(doc)] == [9.0, 6.0]


# --- in words -------------------------------------------------------------------------------------


def target_of(limit: float) -> ReadingTarget:
    return ReadingTarget("own", "flesch-kincaid", limit, "an invented target")


def test_each_part_over_its_target_is_told_with_its_three_hardest_sentences():
    doc = document(("Easy", (sentences_of(*[6] * 6),)), ("Long", (sentences_of(30, 31, 32, 33),)))
    found = SCORER.score(doc, target_of(2.5))
    whole, part = check(SCORER, doc, found)
    assert (whole.where, part.where) == ("consent", "consent, “Long”")
    assert (
        part.what
        == f"the reading grade is {found.sections[1].grade:.1f}; the target is 2.5 (an invented target)."
    )
    assert whole.what.startswith(f"the reading grade is {found.grade:.1f};")
    hardest = [
        f"content/x.md, line 7: grade {0.39 * n + 11.8 - 15.59:.1f}, {n} words: {words(n)}"
        for n in (33, 32, 31)
    ]
    assert part.fix == whole.fix == "\n  ".join(hardest)


def test_what_is_too_short_is_told_as_that_and_a_measure_by_its_name():
    doc = document(("All", (para("You can say no."),)))
    (problem,) = check(SCORER, doc, SCORER.score(doc, SIX))
    assert problem.what == "there are too few words to score."
    doc = document(("All", (para("Anestesiología contraindicada. " * 20),)), language="es")
    easy = ReadingTarget("own", "szigriszt", 65, "an invented target", high_is_hard=False)
    found = SCORER.score(doc, easy)
    assert check(SCORER, doc, found)[0].what == (
        f"the INFLESZ (Szigriszt-Pazos) is {found.grade:.1f}; the target is 65 (an invented target)."
    )
    assert check(SCORER, doc, replace(found, target=None)) == []


def test_four_hard_words_are_named_beside_a_sentence():
    hard = tuple(HardWord(f"w{n}", n) for n in (7, 6, 5, 4, 3))
    one = Sentence("Text.", "a.md, line 1", 9.25, 12, hard)
    assert described(one) == (
        "a.md, line 1: grade 9.2, 12 words; long words: w7 (7), w6 (6), w5 (5), w4 (4): Text."
    )
    assert described(replace(one, hard=())) == "a.md, line 1: grade 9.2, 12 words: Text."


# --- plain terms ----------------------------------------------------------------------------------

TERMS = (
    Term("skin graft", "moved skin", ""), Term("graft", "patch", ""), Term("Oedema", "swelling", ""),
    Term("skin graft loss", "loss of it", ""),
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("A skin  graft and a graft.", "A moved skin and a patch."),  # the longest first
        ("Skin graft loss.", "Loss of it."),
        ("Skin grafts heal.", "Moved skin heal."),
        ("Grafts heal.", "Patch heal."),
        ("GRAFT", "Patch"),
        ("oedema", "swelling"),
        ("The skin.", "The skin."),
        ("Engraft it.", "Engraft it."),
        ("", ""),
    ],
)
def test_terms_are_said_plainly_whole_longest_first_with_their_capital(text, plain):
    assert PlainTerms(TERMS).in_(text) == plain


def test_without_terms_a_text_stays():
    assert PlainTerms(()).in_("A graft.") == "A graft."


# --- targets --------------------------------------------------------------------------------------

A, B = (ReadingTarget(id, "flesch-kincaid", 6, "invented") for id in "ab")
GERMAN = ReadingTarget("c", "amstad", 60, "invented", language="de", high_is_hard=False)


def chosen(language: str = "en-GB", known=(A, B, GERMAN), **rules) -> ReadingTarget | None:
    return target_for("consent", language, ReadingRules(**rules), {each.id: each for each in known})


def test_a_target_is_the_languages_then_the_documents_then_the_clinics_then_the_default():
    every = {"languages": {"en": "a"}, "documents": {"consent": "b"}, "target": 4}
    assert chosen(**every) == A
    assert chosen(**{**every, "languages": {"de": "c"}}) == B
    own = ReadingTarget("own", "flesch-kincaid", 4.0, "the clinic's own target")
    assert chosen(**{**every, "languages": {}, "documents": {}}) == own
    assert chosen() is None  # none is the default
    default = replace(B, default=True)
    assert chosen(known=(A, default, replace(GERMAN, default=True))) == default
    assert chosen(target="c", known=(A, default, GERMAN)) == default  # of another language
    assert chosen(target="unknown", known=(A, default)) == default
    assert chosen("de-AT", target=4, known=(default, GERMAN)) is None  # a grade is English
    assert chosen("de-AT", target="c") == GERMAN
    assert chosen("ar", target="a") is None
    arabic = ReadingTarget("d", "invented", 6, "invented", language="ar", default=True)
    assert chosen("ar", target="d", known=(arabic,)) is None  # nothing measures it
