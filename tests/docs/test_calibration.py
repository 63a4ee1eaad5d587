"""The page about reading grades is current, and what it says is so: nothing is left unexplained, the
printed values come out, and the study of small edits does what it says it does."""

from __future__ import annotations

import sys
from dataclasses import fields, replace
from pathlib import Path
from random import Random
from statistics import pstdev

import pytest

DOCS = Path(__file__).resolve().parents[2] / "docs"
sys.path.insert(0, str(DOCS))

import build_calibration  # noqa: E402
from calibration import compare, published, small_edits  # noqa: E402
from calibration.passages import passages, scorer  # noqa: E402
from calibration.synonyms import OTHER  # noqa: E402
from readability import getmeasures  # noqa: E402

from consentpack.readability.counts import Counts  # noqa: E402

# --- the page -------------------------------------------------------------------------------------


def checked(monkeypatch: pytest.MonkeyPatch, page: Path) -> int:
    monkeypatch.setattr(build_calibration, "PAGE", page)
    monkeypatch.setattr(sys, "argv", ["build_calibration.py", "--check"])
    return build_calibration.main()


@pytest.mark.slow("thousands of small edits of texts")
def test_the_page_is_what_the_program_says(monkeypatch):
    assert checked(monkeypatch, build_calibration.PAGE) == 0, "run: python docs/build_calibration.py"


def test_a_page_with_another_number_is_out_of_date_and_left_alone(monkeypatch, tmp_path, capsys):
    page = tmp_path / "page.md"
    changed = build_calibration.PAGE.read_text(encoding="utf-8").replace("67.2475", "67.2476")
    page.write_text(changed, encoding="utf-8")
    assert checked(monkeypatch, page) == 1
    assert "is out of date" in capsys.readouterr().out
    assert page.read_text(encoding="utf-8") == changed


# --- printed and worked values --------------------------------------------------------------------


def test_a_printed_value_comes_out_as_printed_or_the_page_says_why():
    for value in published.printed():
        places = len(f"{value.printed}".partition(".")[2]) if value.printed % 1 else 0
        as_printed = abs(value.ours - value.printed) <= 0.5 * 10**-places
        assert as_printed or value.why, value


@pytest.mark.parametrize(("name", "formula", "counts", "on_paper"), published.WORKED)
def test_every_worked_value_comes_out_to_four_places(name, formula, counts, on_paper):
    assert formula(counts) == pytest.approx(on_paper, abs=0.00005), name


# --- other programs -------------------------------------------------------------------------------


@pytest.mark.parametrize("program", build_calibration.PROGRAMS)
@pytest.mark.parametrize("measure", compare.MEASURES, ids=lambda measure: measure.id)
def test_every_difference_from_another_program_is_explained_to_the_last_digit(program, measure):
    for passage in passages():
        *_, left = compare.walk(program, measure, passage)
        assert left.cause == compare.LEFT_OVER and left.by == pytest.approx(0, abs=1e-9), passage.name


def test_a_cause_that_is_missing_would_be_left_over(monkeypatch):
    steps = compare.steps
    monkeypatch.setattr(compare, "steps", lambda *arguments: steps(*arguments)[1:])
    ari = next(measure for measure in compare.MEASURES if measure.id == "ari")
    *_, left = compare.walk(compare.TEXTSTAT, ari, passages()[0])
    assert left.by > 0.3


@pytest.mark.parametrize(("word", "syllables"), [("the", 0), ("It", 0), ("it", 1), ("scar", 1)])
def test_the_second_program_counts_no_syllable_in_the_words_the_page_names(word, syllables):
    assert getmeasures(f"{word} .", lang="en", merge=True)["syllables"] == syllables


# --- small edits ----------------------------------------------------------------------------------


@pytest.fixture
def text() -> small_edits.Text:
    return small_edits.passage(300, Random(1))


def recounted(sentences: list[str]) -> Counts:
    return scorer().counts_of(" ".join(sentences))


def changed_fields(before: Counts, after: Counts) -> set[str]:
    return {f.name for f in fields(Counts) if getattr(before, f.name) != getattr(after, f.name)}


def test_a_passage_is_a_run_of_sentences_with_its_own_counts(text):
    assert 300 <= text.counts.words < 340
    assert text.counts == recounted(list(text.sentences))


def test_leaving_out_a_sentence_gives_the_counts_of_the_text_without_it(text):
    without = [
        recounted([s for i, s in enumerate(text.sentences) if i != j]) for j in range(len(text.sentences))
    ]
    assert small_edits.drop_one(text, Random(2)) in without


def test_splitting_adds_one_sentence_and_no_word(text):
    after = small_edits.split_one(text, Random(3))
    assert after.sentences == text.counts.sentences + 1
    # a capital that stands inside a sentence no longer shows a name, which Fog leaves out
    assert changed_fields(text.counts, after) <= {"sentences", "complex_words"}


def test_a_synonym_changes_one_word_and_no_sentence(text):
    found = [small_edits.synonym(text, Random(seed)) for seed in range(20)]
    assert {(c.words, c.sentences) for c in found} == {(text.counts.words, text.counts.sentences)}
    assert any(c.letters != text.counts.letters for c in found)
    longest = max(abs(len(one) - len(other)) for one, other in OTHER.items())
    assert all(abs(c.letters - text.counts.letters) <= longest for c in found)


def test_no_synonym_is_of_the_same_length_in_letters_and_each_goes_back():
    assert [pair for pair in OTHER.items() if len(pair[0]) == len(pair[1])] == []
    assert {OTHER[OTHER[word]] for word in OTHER} == set(OTHER)


def test_five_in_200_changes_that_many_words_and_no_sentence(text, monkeypatch):
    spans = []
    original = small_edits._with_others
    monkeypatch.setattr(
        small_edits, "_with_others", lambda s, where, rng: (spans.extend(where), original(s, where, rng))[1]
    )
    after = small_edits.five_in_200(text, Random(4))
    assert len(spans) == round(text.counts.words / 40)
    assert (after.words, after.sentences) == (text.counts.words, text.counts.sentences)


def test_spread_and_range_of_known_changes():
    found = small_edits.change([float(n) for n in range(1001)])
    assert (found.low, found.high, found.most) == (25, 975, 975)
    assert found.spread == pytest.approx(pstdev(range(1001)), rel=0.001)


@pytest.mark.parametrize("edit", [small_edits.synonym, small_edits.drop_one], ids=lambda edit: edit.__name__)
def test_one_edit_moves_ten_times_the_words_by_about_a_tenth(edit):
    short, long = (small_edits.study(edit, words)[build_calibration.FK] for words in (100, 1000))
    assert 7 < short.spread / long.spread < 14


def test_the_same_seed_gives_the_same_study():
    once, again = (small_edits.study(small_edits.drop_one, 100) for _ in range(2))
    assert once == again


def test_smog_is_left_out_where_a_passage_has_fewer_than_thirty_sentences():
    assert "smog" not in small_edits.study(small_edits.drop_one, 100)
    assert "smog" in small_edits.study(small_edits.drop_one, 1000)


def test_a_split_does_what_the_formula_says(text):
    fk = next(m for m in compare.MEASURES if m.id == build_calibration.FK).formula
    c, after = text.counts, small_edits.split_one(text, Random(3))
    by_hand = 0.39 * c.words * (1 / (c.sentences + 1) - 1 / c.sentences)
    assert fk(after) - fk(c) == pytest.approx(by_hand) and fk(replace(c, sentences=1)) > fk(c)
