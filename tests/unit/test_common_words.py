"""How common a word is: the shipped table beside the list it is made from, and what counts as rare."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from consentpack.errors import ContentError
from consentpack.readability import common
from consentpack.readability.common import LOWEST, TABLE, UNLISTED, has_content, rare, zipf
from consentpack.readability.grouped import grouped_text, groups

ROOT = Path(__file__).parents[2]


def wordfreq():
    if os.environ.get("CI"):
        pass
    return pytest.importorskip("wordfreq")


def test_the_table_is_built_from_the_list_that_is_installed():
    """Takes a second: every word of the list is looked at."""
    wordfreq()
    done = subprocess.run(
        [sys.executable, "docs/build_common_words.py", "--check"], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr


def test_a_words_value_is_that_of_the_list():
    """Takes a second, as the list has 300,000 words."""
    package = wordfreq()
    table = common._table()
    assert len(table) > 90_000
    for word in [*list(table)[::997], "the", "bruise", "keloid", "zzyzx"]:
        listed = package.zipf_frequency(word, "en", wordlist="large")
        assert table.get(word, UNLISTED) == (listed if listed >= LOWEST else UNLISTED), word


def test_the_table_names_its_licence_and_its_makers():
    """Its data may be passed on under CC BY-SA 4.0, with credit: the file carries both."""
    head = TABLE.read_text(encoding="utf-8").partition("= ")[0]
    for said in ("Attribution-ShareAlike 4.0", "Robyn Speer", "Marc Brysbaert", "OpenSubtitles", "Changed"):
        assert said in head


@pytest.mark.parametrize(
    ("word", "is_rare"),
    [
        ("scar's", True), ("walked", False), ("WALKING", False), ("the", False), ("haematoma", True),
        ("grandmother", False), ("5", False), ("48", False), ("don't", False), ("zzyzx", True),
        ("swabs", True), ("happier", False), ("gapes", True),
    ],
)  # fmt: skip
def test_what_is_rare(word, is_rare):
    assert rare(word) is is_rare


def test_a_word_that_children_know_is_not_rare_however_seldom_it_is_written():
    assert zipf("buttercup") < common.RARE and not rare("buttercup")


def test_figures_and_closed_classes_have_no_content():
    assert not any(map(has_content, ("The", "of", "they", "should", "5", "2nd", "")))
    assert all(map(has_content, ("scar", "ring", "quickly", "G6PD")))


def test_half_a_table_is_refused():
    text = TABLE.read_text(encoding="utf-8")
    with pytest.raises(ContentError, match=r"common.txt.*damaged"):
        list(groups(text[:-20], name=TABLE.name, harm="rare words look common"))


def test_a_grouped_table_reads_back_as_it_was_written():
    text = grouped_text({"b": "2.10", "a": "2.10", "c": "7.00"}, "# from a test\n", order=["7.00", "2.10"])
    assert list(groups(text, name="x", harm="y")) == [("7.00", ["c"]), ("2.10", ["a", "b"])]
