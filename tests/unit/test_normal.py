"""What is the same however it was typed. All references here are invented."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from consentpack.normal import folded, place, plain

INVISIBLE = ["\u200b", "\u200d", "\ufeff", "\u00ad", "\u2060", "\u202e", "\u200f"]
WHITE = ["\u00a0", "\u2009", "\u3000", "\t", "\n", " \r\n ", "  ", "\u2028"]


@pytest.mark.parametrize("sign", INVISIBLE)
def test_a_sign_that_nobody_sees_makes_no_difference(sign):
    assert plain(f"{sign}A{sign}-1{sign}") == "A-1"


@pytest.mark.parametrize("white", WHITE)
def test_every_run_of_white_space_is_one_space(white):
    assert plain(f"{white}left{white}cheek{white}") == "left cheek"


def test_a_letter_with_its_mark_is_one_however_it_was_typed():
    assert plain("E\u0301-1") == plain("\u00c9-1") == "\u00c9-1"
    assert plain("E\u200b\u0301-1") == "\u00c9-1"  # a sign between them does not keep them apart


def test_capitals_stay_in_what_is_shown_and_are_nothing_in_what_is_compared():
    assert plain("aB-ß") == "aB-ß"
    assert folded("aB-ß") == folded("AB-SS") == "ab-ss"
    assert place(" Left\u00a0Cheek ") == "left cheek"


@settings(derandomize=True)
@given(st.text(max_size=20))
def test_what_was_made_plain_once_stays_so(text):
    for make in (plain, folded, place):
        once = make(text)
        assert make(once) == once
        assert once == once.strip() and not any(unicodedata.category(letter) == "Cf" for letter in once)


@settings(derandomize=True)
@given(st.text(max_size=20), st.sampled_from(["NFC", "NFD"]), st.sampled_from(INVISIBLE))
def test_texts_that_look_alike_are_the_same(text, form, sign):
    other = sign.join(unicodedata.normalize(form, text)) if text else sign
    assert plain(other) == plain(text)
