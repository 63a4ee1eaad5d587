"""Counts: ten passages counted by hand, syllables one by one, and what the formulas make of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.library import load_library
from consentpack.readability.counts import Counts, count, familiar, sentence_counts, spoken_number, total
from consentpack.readability.prepare import prepare, split
from consentpack.readability.scoring import Scorer
from consentpack.readability.syllables import Syllables, textstat_syllables
from consentpack.readability.vowels import nuclei

LIBRARY = load_library(shipped.content())
SYLLABLES = Syllables({word: spoken.syllables for word, spoken in LIBRARY.syllables.items()})
TERMS = LIBRARY.terms

# Counted by hand on paper, sentence by sentence, on the prepared text: sentences, words, syllables,
# words of three or more syllables (figures as they are read aloud: 3,500 and 24 count, 20 does not).
BY_HAND = {
    "The cat sat on the mat.": (1, 6, 6, 0),
    "Ring us at 10.30 if it hurts. We will help.": (2, 10, 10, 1),
    "Take paracetamol, e.g. 2 tablets. It is 0.5 mm wide.": (2, 11, 21, 3),
    "Wash your hands\nKeep the pad dry\nNo make-up": (3, 10, 10, 0),
    "Haematoma is a pocket of blood—it may need help.": (1, 10, 14, 1),
    "Dr. Ambrose saw 3,500 people. Was it safe? Yes!": (3, 9, 12, 1),
    "Rest for 24–48 hours.": (1, 6, 7, 2),
    "Subcision loosens tight bands. An anaesthetist numbs you.": (2, 8, 14, 2),
    "If it bleeds, press on it for 20 minutes; don’t look.": (1, 11, 12, 0),
    "Hyaluronidase dissolves the filler. You may need more than 1 dose, i.e. we may ask you back on "
    "3.12.2025.": (2, 20, 27, 1),
}


@pytest.mark.parametrize(("passage", "by_hand"), BY_HAND.items(), ids=range(1, 11))
def test_ten_passages_are_counted_as_by_hand(passage, by_hand):
    prepared = " ".join(prepare(line) for line in passage.splitlines())
    found = count(prepared, SYLLABLES)
    assert (found.sentences, found.words, found.syllables, found.polysyllables) == by_hand


@pytest.mark.parametrize(
    ("word", "said"),
    [
        # British pronunciation, counted by ear; the words are those textstat gets most wrong
        ("paracetamol", 5), ("haematoma", 4), ("pancreatitis", 5), ("fistula", 3), ("subcision", 3),
        ("hyaluronidase", 6), ("anaesthetic", 4), ("anaesthetist", 4), ("keloid", 2), ("oedema", 3),
        ("microneedling", 4), ("isotretinoin", 6), ("erythema", 4), ("cannula", 3), ("seroma", 3),
    ],
)  # fmt: skip
def test_clinical_words_have_the_syllables_one_hears(word, said):
    assert SYLLABLES.of(word).corrected == said
    assert SYLLABLES.of(word.capitalize()).corrected == said


def test_textstats_own_count_stays_beside():
    found = SYLLABLES.of("paracetamol")
    assert (found.corrected, found.textstat) == (5, 3)


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("keloids", 2),
        ("haematoma's", 4),
        ("NHS", 3),
        ("UVW", 5),
        ("blotchiness", 3),
        ("wheezier", 3),
        ("7", 1),
    ],
)
def test_forms_and_letters_are_counted_too(word, said):
    assert SYLLABLES.of(word).corrected == said


@given(st.from_regex(r"[a-z]{1,12}", fullmatch=True))
def test_no_word_has_fewer_than_one_syllable(word):
    found = SYLLABLES.of(word)
    assert found.corrected >= 1  # textstat gives 'hm' none at all


def test_every_word_a_patient_reads_in_the_library_is_looked_up_and_not_guessed():
    """Otherwise the correction is itself a guess. Names of people and places aside."""
    from consentpack.check import module_document

    scorer = Scorer({})
    unknown = set()
    for folder, module in LIBRARY.modules():
        if getattr(module, "audience", "patient") == "clinician":
            continue
        for piece in scorer.pieces(module_document(folder, module, LIBRARY)):
            words = piece.text.replace("“", " ").replace("”", " ").split()
            unknown |= {w.strip(".,;:!?()'\"") for w in words}
    guessed = {w for w in unknown if w and any(map(str.isalpha, w)) and not SYLLABLES.checked(w)}
    assert guessed == set()


def test_the_lexicon_is_large_enough_and_each_entry_shows_how_it_is_said():
    assert len(LIBRARY.syllables) >= 400
    for spoken in LIBRARY.syllables.values():
        parts = spoken.said.split("-")
        assert len(parts) == spoken.syllables and all(parts), spoken.word


def test_the_lexicon_leaves_no_letters_out_of_what_is_said():
    """A slip in a word shows as letters that are not in its spoken form."""
    for spoken in LIBRARY.syllables.values():
        said = spoken.said.replace("-", "").lower()
        if spoken.word.isalpha() and spoken.kind != "everyday" and len(spoken.word) > 4:
            missing = set(spoken.word) - set(said)
            assert len(missing) <= 3, spoken


# --- arithmetic ----------------------------------------------------------------------------------

some_text = st.lists(
    st.sampled_from(
        ["We press on it.", "Take paracetamol now!", "Is 24 enough?", "Stop.", "It may swell; tell us."]
    ),
    max_size=8,
).map(" ".join)


@given(some_text, some_text)
def test_counts_of_parts_add_up_to_the_whole(one, other):
    both = count(prepare(f"{one} {other}"), SYLLABLES)
    assert count(prepare(one), SYLLABLES) + count(prepare(other), SYLLABLES) == both
    assert both - count(prepare(other), SYLLABLES) == count(prepare(one), SYLLABLES)


@given(some_text)
def test_the_order_of_sentences_changes_no_count(text):
    sentences = split(prepare(text))
    assert total(sentence_counts(s, SYLLABLES) for s in reversed(sentences)) == count(
        prepare(text), SYLLABLES
    )


def test_no_text_has_no_counts():
    assert count("", SYLLABLES) == Counts()


@pytest.mark.parametrize(
    ("number", "syllables"),
    [
        # common practice, no source: English as it is read aloud
        ("0", 2), ("7", 2), ("11", 3), ("17", 3), ("20", 2), ("24", 3), ("70", 3), ("77", 5), ("100", 3),
        ("101", 5), ("120", 6), ("999", 7), ("1000", 3), ("3500", 6), ("12000", 3), ("1234567", 8),
    ],
)  # fmt: skip
def test_figures_are_read_aloud_for_smog(number, syllables):
    assert spoken_number(number) == syllables


@pytest.mark.parametrize(
    ("word", "known"),
    [("cat", True), ("cats", True), ("running", True), ("hoped", True), ("carried", True), ("7", True),
     ("haematoma", False), ("hypodermic", False)],
)  # fmt: skip
def test_regular_forms_of_listed_words_are_familiar_as_dale_and_chall_have_it(word, known):
    assert familiar(word) is known


def test_fog_spares_names_and_words_long_only_by_their_ending():
    """Gunning 1952, as later copies give it: 'created' and 'Ambrosia' are no complex words."""
    found = sentence_counts("We created it for Ambrosia with an operation.", SYLLABLES)
    assert (found.polysyllables, found.complex_words) == (3, 1)


@pytest.mark.parametrize(
    ("language", "word", "syllables"),
    [
        # counted by ear by the rules of each language; common practice, no source
        ("es", "agua", 2), ("es", "área", 3), ("es", "anestesia", 4), ("es", "día", 2), ("es", "cicatriz", 3),
        ("es", "cuidado", 3), ("es", "hoy", 1), ("es", "oído", 3),
        ("fr", "opération", 4), ("fr", "cicatrice", 3), ("fr", "patient", 2), ("fr", "peau", 1),
        ("de", "aber", 2), ("de", "oder", 2), ("de", "Narbe", 2), ("de", "Betäubung", 3),
        ("it", "ospedale", 4), ("it", "cicatrice", 4), ("it", "dolore", 3),
        ("nl", "litteken", 3), ("nl", "huid", 1), ("nl", "pijn", 1),
        ("pt", "cicatriz", 3), ("pt", "dia", 2), ("pt", "anestesia", 5),
        ("pl", "blizna", 2), ("pl", "skóra", 2), ("pl", "zabieg", 2), ("pl", "znieczulenie", 4),
        ("pl", "miesiąc", 2),
        ("sv", "ärr", 1), ("sv", "bedövning", 3),
    ],
)  # fmt: skip
def test_syllables_of_other_languages_are_counted_by_nuclei(language, word, syllables):
    assert nuclei(word, language) == syllables


def test_textstats_count_of_one_word_is_textstats_own():
    import textstat

    for word in ("paracetamol", "haematoma", "don't", "clinic", "colour"):
        assert textstat_syllables(word) == textstat.syllable_count(word)
