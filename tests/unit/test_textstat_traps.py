"""Fifteen ways in which textstat is fooled by the texts of a clinic, and that each is met.

The defects and their measurements are those of the project's reading notes on textstat 0.7.13; where
the version installed here has the defect itself, the test shows it, so that a mended textstat is
noticed. (D1 to D15 are the notes' own numbers.)
"""

from __future__ import annotations

import pytest
import textstat
from textstat.backend import counts, metrics, selections

from consentpack import shipped
from consentpack.library import load_library
from consentpack.pipeline import scorer_of
from consentpack.readability import measures_for, prepare, root, scored_text, split, textstat_grade
from consentpack.readability import scoring as scoring_module
from consentpack.readability.textstats_own import forget
from consentpack.readability.vowels import nuclei
from consentpack.tree import Document, Heading, Items, Paragraph, Run, Section

LIBRARY = load_library(shipped.content())
SCORER = scorer_of(LIBRARY)


def para(text: str) -> Paragraph:
    return Paragraph((Run(text),))


def score(*nodes, language: str = "en-GB"):
    document = Document("x", "X", language, "patient", "", "", "", (Section("a", "A", nodes),))
    return SCORER.score(document, LIBRARY.targets["ama"])


def test_d1_a_regional_tag_never_reaches_textstat_and_never_means_english_silently():
    text = "Die Narbe kann nach der Behandlung etwas flacher werden."
    assert metrics.flesch_reading_ease(text, "de-DE") != metrics.flesch_reading_ease(text, "de")  # the defect
    assert root("de-DE") == root("de_AT") == root("DE") == "de"
    assert (
        [m.id for m in measures_for("de-DE")] == [m.id for m in measures_for("de")] == ["amstad", "vienna-1"]
    )


def test_d1_british_english_is_scored_with_the_dictionary():
    text = "You may feel sore for a few days after the treatment. " * 4
    assert score(para(text), language="en-GB").grade == score(para(text), language="en").grade


@pytest.mark.parametrize(
    "written",
    ["It is 2.5 mm.", "About 1,234.5 of them.", "On 3.12.2025 we met.", "Come at 8 a.m. today.",
     "Take it, e.g. at noon.", "See www.example.org/help.html now.", "Dr. Ambrose is here."],
)  # fmt: skip
def test_d2_a_stop_inside_a_sentence_ends_none(written):
    assert counts.count_sentences(f"{written} We can help you with that.") <= 3
    assert len(split(prepare(written))) == 1


def test_d2_decimal_points_do_not_make_hard_text_look_easy():
    raw = "The needle goes 2.5 mm in and then 1.5 mm more and then 0.5 mm out again in steps."
    assert textstat_grade(prepare(raw)) > metrics.flesch_kincaid_grade(raw, "en_US")


def test_d3_sentences_of_one_or_two_words_count_as_sentences_for_us():
    text = "Stop. Wait here. Then ring us and tell us what you see."
    assert counts.count_sentences(text) == 1  # the defect: two sentences are lost, their words are not
    assert SCORER.counts(text).sentences == 3


def test_d4_bullets_without_stops_and_headings_do_not_run_together():
    bullets = Items(tuple(para(t) for t in ("Wash your hands", "Keep the pad dry", "Press on it gently")))
    prepared = scored_text((Heading((Run("After your visit"),), 3), bullets))
    assert prepared == "Wash your hands. Keep the pad dry. Press on it gently."
    assert counts.count_sentences("Wash your hands\nKeep the pad dry\nPress on it gently") == 1  # the defect


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("It is safe—but sore.", 5),
        ("Bring cream and/or a hat.", 6),
        ("Your follow-up visit.", 4),
        ("2–3 days", 4),
    ],
)
def test_d5_dashes_slashes_and_hyphens_glue_no_words(written, words):
    assert counts.count_words(prepare(written)) == words
    assert SCORER.counts(written).words == words


@pytest.mark.parametrize("word", ["haematoma", "paracetamol", "ileostomy", "cholecystectomy", "isotretinoin"])
def test_d6_clinical_words_are_not_under_counted(word):
    found = SCORER.syllables.of(word)
    assert found.corrected > found.textstat


def test_d7_a_figure_is_one_word_of_one_syllable_for_the_grade():
    found = SCORER.counts("It happens to 1 in 100 people.")
    assert (found.words, found.syllables) == (7, 9)


def test_d8_words_of_other_languages_are_counted_by_vowels_not_by_hyphenation():
    assert counts.count_syllables("agua", "es") == 1  # the defect
    assert nuclei("agua", "es") == 2


@pytest.mark.parametrize("language", ["ar", "hi", "zh", "vi"])
def test_d9_d10_scripts_that_textstat_breaks_are_not_scored(language):
    found = score(para("هل تحتاج إلى مساعدة؟ 你需要帮助吗。 क्या आपको मदद चाहिए। " * 20), language=language)
    assert found.grade is None and found.measures == () and found.over == ()


def test_d10_an_arabic_question_mark_or_ideographic_stop_still_ends_a_sentence_for_the_lengths():
    assert score(para("你 需要 帮助 吗。我们 在 这里。"), language="zh").sentences == 2
    assert score(para("هل تحتاج إلى مساعدة؟ نحن هنا."), language="ar").sentences == 2
    assert score(para("क्या मदद चाहिए। हम यहाँ हैं।"), language="hi").sentences == 2


def test_d11_no_list_that_textstat_caches_is_ever_changed_by_us():
    text = prepare("Subcutaneous haemostasis necessitates meticulous attention. " * 4)
    first = list(selections.list_difficult_words(text, 2, "en_US"))
    score(para(text))
    assert selections.list_difficult_words(text, 2, "en_US") == first


HELD = (
    counts.count_words, counts.count_syllables, counts.count_sentences, metrics.flesch_kincaid_grade,
    metrics.words_per_sentence, metrics.gunning_fog, selections.list_words,
)  # fmt: skip
"""Functions of textstat that remember the texts they were given."""
SECRET = "Zebra quokka told us her story about the scar. " * 5


def remembered() -> list[int]:
    return [function.cache_info().currsize for function in HELD]


@pytest.mark.parametrize(
    "scoring",
    [lambda: score(para(SECRET)), lambda: SCORER.grade(prepare(SECRET))],
    ids=["a document", "a sentence"],
)
def test_d12_no_patients_text_stays_in_textstats_caches(scoring):
    """Each way of scoring by itself: what one forgets does not show that the other does."""
    metrics.flesch_kincaid_grade(SECRET, "en_US"), metrics.gunning_fog(SECRET, "en_US")
    assert sum(remembered()) > 4  # the defect, and that these are the caches
    forget()
    scoring()
    assert remembered() == [0] * len(HELD)


def test_d12_a_text_that_cannot_be_scored_does_not_stay_either(monkeypatch):
    monkeypatch.setattr(scoring_module, "_deciding", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        score(para(SECRET))
    assert remembered() == [0] * len(HELD)


def test_d12_the_dictionary_is_not_thrown_away_with_the_texts():
    from textstat.backend.utils import get_cmudict

    textstat_grade("The cat sat on the mat.")
    before = get_cmudict.cache_info().misses
    forget()
    textstat_grade("The cat sat on the mat.")
    assert get_cmudict.cache_info().misses == before


def test_d13_dale_chall_adds_its_constant_above_five_percent_and_not_above_a_score():
    easy = "The cat sat on the mat. We go to the door and look at the dog. " * 8
    value = next(m for m in score(para(easy)).measures if m.id == "dale-chall").value
    assert value < 1
    assert metrics.dale_chall_readability_score_v2(prepare(easy), "en_US") > 3.6  # the defect


@pytest.mark.parametrize("text", ["", "Risks", "Ring us."])
def test_d14_text_that_is_too_short_is_not_scored_and_never_zero_or_below(text):
    found = score(para(text)) if text else score()
    assert found.grade is None and found.sections[0].grade is None
    assert all(m.value is None for m in found.measures)


def test_d15_word_lists_are_read_whatever_the_locale_of_the_machine():
    import subprocess
    import sys

    code = (
        "from consentpack.readability.counts import familiar\nprint(familiar('cat'), familiar('haematoma'))"
    )
    plain = {"LC_ALL": "C", "PYTHONUTF8": "0"}
    done = subprocess.run([sys.executable, "-c", code], env=plain, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "False"]


def test_silent_english_constants_are_never_used_for_another_language():
    """Portuguese and Polish get English constants from textstat without a word."""
    text = "A cicatriz pode ficar mais rasa depois do tratamento."
    english, portuguese = (metrics.flesch_reading_ease(text, tag) for tag in ("en_US", "pt"))
    assert portuguese == pytest.approx(206.835 - 1.015 * 9 - 84.6 * counts.count_syllables(text, "pt") / 9)
    assert english != portuguese
    ids = {m.id for language in ("pt", "pl", "es", "fr") for m in measures_for(language)}
    assert not ids & {m.id for m in measures_for("en")}


def test_the_language_of_the_shared_textstat_object_is_left_alone():
    before = textstat.textstat._textstatistics__lang
    score(para("Una cicatriz puede bajar. " * 20), language="es")
    assert textstat.textstat._textstatistics__lang == before
