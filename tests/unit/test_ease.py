"""The score beside the grade: what it counts, what it warns of, and that nothing passes by it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.check import check_rare_words, module_document
from consentpack.check.rare_words import rare_unexplained
from consentpack.library import ease_table, load_library
from consentpack.library.roots import fields_there
from consentpack.pipeline import open_library, scorer_of
from consentpack.readability import ease_of, has_ease, prepare, rare_in, split
from consentpack.readability.common import bare, rare
from consentpack.readability.counts import regular_of
from consentpack.readability.ease import INGREDIENTS, PASSAGE_WORDS, counts_of, value_of

LIBRARY = load_library(shipped.content())
SCORER = scorer_of(LIBRARY)
EASY = "We numb the skin. Then we clean it and put a small pad on top. You can go home in an hour. " * 3
HARD = (
    "Subcutaneous haemostasis necessitates meticulous intraoperative attention notwithstanding "
    "concomitant anticoagulation, whereupon postoperative ecchymosis predominates. "
) * 4


def pieces(text):
    return [SCORER.piece(sentence, source="a") for sentence in split(prepare(text))]


def ease(text, rules=LIBRARY.ease):
    return ease_of(pieces(text), rules, LIBRARY.terms)


# --- what it counts -------------------------------------------------------------------------------


def test_the_table_weighs_what_can_be_counted_and_all_of_it():
    assert tuple(INGREDIENTS) == ease_table.INGREDIENTS == tuple(i.id for i in LIBRARY.ease.ingredients)
    assert {abs(i.weight) for i in LIBRARY.ease.ingredients} == {1 / len(INGREDIENTS)}


def test_four_sentences_counted_by_hand():
    """'small' is 5.51 and 'pad' 4.01 in the package wordfreq; 'a' is a function word."""
    found = counts_of(pieces("A small pad. A small small small pad."))
    assert found["familiarity"] == pytest.approx((5.51 * 4 + 4.01 * 2) / 6, abs=0.02)
    assert found["unlisted"] == 0 and found["ideas"] == 3
    assert found["longest"] == pytest.approx(1.609, abs=0.001)  # the logarithm of 5


def test_an_easy_text_is_easier_than_most_and_a_hard_one_than_few():
    easy, hard = ease(EASY), ease(HARD)
    assert [each.kind for each in easy.easier_than] == ["school", "public"]
    assert all(each.of_100 >= 90 for each in easy.easier_than) and not easy.harder_than_half
    assert all(each.of_100 == 0 for each in hard.easier_than) and len(hard.harder_than_half) == 2


@given(st.lists(st.sampled_from(EASY.split(". ")[:4]), min_size=8, max_size=14))
def test_a_rare_word_in_the_place_of_a_common_one_never_makes_it_easier(chosen):
    text = f"{'. '.join(chosen)}."
    assert ease(text.replace("skin", "dermis")).value >= ease(text).value


def test_a_document_is_no_harder_for_being_long():
    """The longest sentence of a whole document grows with it; that of each passage does not."""
    once = EASY + "This one sentence goes on a good deal longer than all the others do here. "
    times = round(PASSAGE_WORDS / len(once.split())) * 8
    assert ease(once * times).value == pytest.approx(ease(once * (times // 8)).value, abs=0.15)


def test_numbers_are_told_and_do_not_enter():
    few = ease(EASY.replace("an hour", "1 hour"))
    assert few.numbers == pytest.approx(1 / 3, abs=0.1) and "numbers" not in few.counted


def test_the_longest_sentence_and_the_rare_words_are_named_with_their_place():
    found = ease(EASY + "A haematoma or two haematomas may come of a zzyzx.")
    assert found.longest_words == 11 and "pad on top" in found.longest
    first, *others = found.rare
    assert {first.word, *(each.word for each in others)} == {"haematoma", "haematomas", "zzyzx"}
    assert {each.plain for each in found.rare if each.word.startswith("h")} == {"pocket of trapped blood"}
    assert first.zipf <= others[-1].zipf and first.source == "a"


def test_too_few_words_and_other_languages_have_none():
    assert ease("We numb the skin. Then we clean it.") is None
    assert has_ease("en-GB") and has_ease("en") and not has_ease("es") and not has_ease("ar")
    assert ease(EASY, replace(LIBRARY.ease, ingredients=())) is None


def test_the_value_is_the_weighted_distance_from_the_mean():
    means = {i.id: i.mean for i in LIBRARY.ease.ingredients}
    assert value_of(means, LIBRARY.ease) == 0
    one = LIBRARY.ease.ingredients[0]
    assert value_of({**means, one.id: one.mean + one.sd}, LIBRARY.ease) == pytest.approx(-0.25)


# --- nothing passes by it -------------------------------------------------------------------------

SHORT_RARE_FREE_BUT_LONG = "Information about medication and operation is necessary. " * 12


def test_a_text_whose_grade_fails_fails_however_easy_it_is_beside_others(tmp_path, run):
    """Common words of many syllables: easier than most, and over its target all the same."""
    form = tmp_path / "form.txt"
    form.write_text(SHORT_RARE_FREE_BUT_LONG)
    done = run(tmp_path, "score", str(form))
    assert done.exit_code == 13 and "OVER" in done.output
    assert all(each.of_100 > 50 for each in ease(SHORT_RARE_FREE_BUT_LONG).easier_than)


def test_no_rule_of_the_table_changes_what_is_over(tmp_path):
    """Rules by which everything is easiest of all, and rules by which nothing is, judge alike."""
    library = open_library(None)
    kinds = tuple(replace(kind, cuts=(1e9,) * 99) for kind in library.ease.kinds)
    easiest = replace(library, ease=replace(library.ease, kinds=kinds))
    form = tmp_path / "form.txt"
    form.write_text(HARD)
    from consentpack.model import ReadingRules
    from consentpack.pipeline import score_file

    ours, theirs = (score_file(form, each, ReadingRules(), advice=False) for each in (library, easiest))
    assert all(each.of_100 == 99 for each in theirs.ease.easier_than)
    assert ours.score == theirs.score and theirs.score.over


# --- on the screen --------------------------------------------------------------------------------


def test_score_says_both_and_names_the_words_behind_it(tmp_path, run):
    form = tmp_path / "form.txt"
    form.write_text(HARD)
    said = run(tmp_path, "score", str(form)).output
    assert "beside the grade: easier than 0 of 100 passages" in said
    assert "warning: most medical summaries written for the public are easier" in said
    assert "haemostasis (1.5, 4 times; “stopping bleeding”)" in said


def test_another_language_is_told_that_it_has_none(tmp_path, run):
    form = tmp_path / "hoja.txt"
    form.write_text("Le dormimos la piel con una inyección. " * 8)
    assert (
        "no second score; it is made for English alone"
        in run(tmp_path, "score", str(form), "--language", "es").output
    )


def test_json_has_it_apart_from_the_score(tmp_path, run):
    import json

    form = tmp_path / "form.txt"
    form.write_text(EASY)
    (found,) = json.loads(run(tmp_path, "score", str(form), "--json").output)
    beside = found["beside_the_grade"]
    assert set(beside["easier_than_of_100"]) == {"school", "public"} and beside["rare_words"] == []


# --- rare words of the library --------------------------------------------------------------------


def test_each_rare_word_of_the_shipped_library_is_explained_or_listed_with_a_reason():
    """Takes a second: every text that a patient reads."""
    assert [f"{file}: {word.word}" for file, word in rare_unexplained(LIBRARY, SCORER)] == []
    assert check_rare_words(LIBRARY, SCORER) == []


def test_no_word_is_listed_in_vain():
    """Takes a second: every text. A word that is listed stands in the library of a shipped field, is rare,
    and is no term."""
    names = ["" if name == "usual" else name for name in fields_there(shipped.content())]
    there = {
        form
        for library in [load_library(shipped.content(), field=name) for name in names]
        for folder, module in library.modules()
        for piece in SCORER.pieces(module_document(folder, module, library))
        for word in piece.words
        if rare(word)
        for form in (bare(word), *regular_of(bare(word)))
    }
    assert sorted(set(LIBRARY.ease.known) - there) == []
    assert set(LIBRARY.ease.known).isdisjoint(term.clinical.lower() for term in LIBRARY.terms)
    assert all(LIBRARY.ease.known.values())


def test_a_rare_word_that_is_not_listed_is_found_with_its_place():
    """Break it once: without the list of words that may stand, hundreds are found."""
    bare_rules = replace(LIBRARY, ease=replace(LIBRARY.ease, known={}))
    found = check_rare_words(bare_rules, SCORER)
    assert len(found) > 300
    assert any("bevelled" in each.what and ", line " in each.where for each in found)


def test_a_clinics_own_rare_word_is_noted_and_is_no_problem(run, tmp_path):
    """Takes seconds: a whole library is checked, for a clinic of its own."""
    run(tmp_path, "demo", str(tmp_path / "clinic"))
    file = next((shipped.content() / "risks").glob("bruising.md"))
    own = tmp_path / "clinic" / "content" / "risks"
    own.mkdir(parents=True, exist_ok=True)
    text = file.read_text(encoding="utf-8")
    place = text.rindex("\n\n", 0, len(text) - 2)
    (own / file.name).write_text(f"{text[:place]}\n\nIt looks like a fuliginous mark.{text[place:]}")
    done = run(tmp_path, "library", "check", "--clinic", str(tmp_path / "clinic"))
    assert "note: " in done.output and "“fuliginous” is a rare word" in done.output, done.output
    assert "0 problems" in done.output and done.exit_code == 0


# --- the table ------------------------------------------------------------------------------------

WRONG = {
    '[ingredients.familarity]\nname = "x"\nweight = 1.0\nmean = 1.0\nsd = 1.0\nwhy = "x"': "nothing counts",
    '[ingredients.ideas]\nname = "x"\nweight = 1.0\nmean = 1.0\nsd = 0.0\nwhy = "x"': "'sd'",
    '[kinds.x]\nname = "x"\ntexts = 3\ncuts = [1, 2]\nwhy = "x"': "99 numbers",
    '[[known]]\nreason = "x"\nwords = ["Scar"]': "small letters",
    '[[known]]\nreason = "x"\nwords = ["scar"]\n[[known]]\nreason = "y"\nwords = ["scar"]': "twice",
    '[[known]]\nwords = ["scar"]': "'reason' is missing",
    "[known]\na = 1": "double brackets",
    "kinds = 3": "should hold tables",
    "[weights]": "no table 'weights'",
}


@pytest.mark.parametrize(("text", "said"), WRONG.items(), ids=WRONG.values())
def test_what_is_wrong_in_the_table_is_told(text, said):
    _, problems = ease_table.ease_rules(text, file="familiarity.toml")
    assert any(said in each.what for each in problems) and all(
        "familiarity.toml" in p.where for p in problems
    )


def test_a_clinic_lays_its_words_over_ours_and_keeps_our_numbers():
    own, problems = ease_table.ease_rules(
        '[[known]]\nreason = "ours"\nwords = ["fuliginous"]', file="familiarity.toml"
    )
    both = ease_table.over(LIBRARY.ease, own)
    assert not problems and both.kinds == LIBRARY.ease.kinds and "scar" in both.known
    assert rare_in(pieces("It is fuliginous."), both) == ()
    assert [each.word for each in rare_in(pieces("It is fuliginous."), LIBRARY.ease)] == ["fuliginous"]
