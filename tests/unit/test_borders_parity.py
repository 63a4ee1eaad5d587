"""Translations at the borders of each check: the slip that is only just found, and what is only just right.

The languages are invented, so that each has one word and no more.
"""

from __future__ import annotations

import pytest

from consentpack.translate.languages import Language
from consentpack.translate.parity import (
    Pair,
    braces,
    left_over,
    length,
    letters,
    links,
    marks,
    negations,
    numbers,
    one_kind_of_digit,
    one_term,
    units,
    values,
)  # fmt: skip

PLAIN = Language("xx")


def of(check, source: str, target: str, language: Language = PLAIN, terms=None, **more) -> str:
    return check(Pair(source, target, **more), language, terms or {})


def test_a_placeholder_that_the_original_has_not_is_named():
    assert of(values, "Ring us.", "Ring {{ clinic.phone }}.") == (
        "it has {{clinic.phone}}, which the original has not"
    )
    assert of(values, "Ring {{ a.b }}.", "Ring {{ a.b }} {{ a.b }}.").startswith("it has {{a.b}}")
    assert of(values, "Ring {{ a.b }}.", "Ring.") == "it lacks {{a.b}}"
    assert of(values, "{{ a.b }} {{ c.d }}", "{{a.b}} {{c.d}}") == ""


def test_only_the_number_itself_may_become_a_word_and_only_where_forms_depend_on_it():
    assert of(values, "{number} days", "two days", plural=True) == ""
    assert of(values, "{number} of {of}", "two", plural=True) == "it lacks {of}"
    assert of(values, "{number} days", "two days") == "it lacks {number}"


@pytest.mark.parametrize(("target", "found"), [("a } b", True), ("a { b", True), ("a {{ b }} c", False)])
def test_a_single_brace_of_either_kind_is_found(target, found):
    assert bool(of(braces, "a", target)) is found


def test_numbers_are_compared_as_often_as_they_stand_and_in_any_digits():
    assert of(numbers, "2 and 2", "2") == "its numbers are 2, those of the original 2, 2"
    assert of(numbers, "9 to 10, or 3", "8") == "its numbers are 8, those of the original 10, 3, 9"
    assert of(numbers, "2 days", "many days") == "its numbers are none, those of the original 2"
    assert of(numbers, "12 days", "١٢ days") == ""
    assert of(numbers, "1,000 of 1.5", "1 000 of 1,5") == ""
    assert of(numbers, "{{ a.b2 }} 3", "3") == ""


def test_digits_of_another_script_are_named_and_those_of_ours_are_not():
    assert "٢" in of(one_kind_of_digit, "2", "٢")
    assert of(one_kind_of_digit, "2", "2") == ""


def test_a_unit_must_be_there_when_it_stood_after_a_number():
    days = Language("xx", units={"days": ("tag*",)})
    assert of(units, "for 2 days", "2 Stunden", days) == "it has no word for “days”"
    assert of(units, "for 2 days", "2 Tage", days) == ""
    assert of(units, "for days", "Stunden", days) == ""
    assert of(units, "for 2 weeks", "2 Stunden", days) == ""  # no words are known for it


@pytest.mark.parametrize(
    ("word", "text", "there"),
    [
        ("nie", "nie teraz", True),
        ("nie", "niemals", False),
        ("nie*", "niemals", True),
        ("nie*", "nimmt", False),  # the whole beginning counts
        ("*不*", "请不要", True),
        ("*不*", "请要", False),
        ("never more", "Never more here", True),  # two words in a row
        ("never more", "never here, more there", False),
        ("ever", "never", False),  # a word is no part of another
    ],
)
def test_how_a_word_for_not_is_looked_for(word, text, there):
    assert (of(negations, "Do not.", text, Language("xx", negations=(word,))) == "") is there


def test_a_not_is_asked_for_only_where_there_is_one_and_a_language_has_words_for_it():
    assert of(negations, "Do it.", "X", Language("xx", negations=("nie",))) == ""
    assert of(negations, "Do not.", "X") == ""
    assert of(negations, "{{ a.not }} it.", "X", Language("xx", negations=("nie",))) == ""


def test_bold_words_are_as_many_and_closed():
    assert of(marks, "**a** b", "**a** b** c") == "it has 1 words in bold, the original 1"
    assert of(marks, "**a** b", "a b") == "it has 0 words in bold, the original 1"
    assert of(marks, "**a** b", "**a** b") == ""


def test_a_row_of_a_table_stays_one():
    assert of(marks, "**a**: b", "b **a**").startswith("it should begin with words in bold")
    assert of(marks, "**a**: b", "**c**: d") == ""
    assert of(marks, "a **b**", "**b** a") == ""


@pytest.mark.parametrize("begin", ["- ", "* ", "# ", "> ", "1. ", "2) "])
def test_no_translation_begins_like_a_list_or_a_heading(begin):
    assert of(marks, "a", f"{begin}a") == "it begins like a list or a heading"


def test_the_length_is_compared_from_40_letters_on_and_both_limits_are_right():
    half = Language("xx", shortest=0.5, longest=2.0)
    assert of(length, "a" * 39, "b", half) == ""
    assert of(length, "a" * 40, "b", half).startswith("it has 0.0 times the letters")
    assert of(length, "a" * 40, "b" * 20, half) == of(length, "a" * 40, "b" * 80, half) == ""
    assert of(length, "a" * 40, "b" * 19, half) == (
        "it has 0.5 times the letters of the original; usual are 0.5 to 2.0"
    )
    assert of(length, "a" * 40, "b" * 81, half)
    filled_in = "{{ clinic.phone }}"  # says nothing of the length
    assert of(length, "a" * 39 + filled_in, "b", half) == ""
    assert of(length, "a" * 40, "b" * 19 + filled_in, half)


@pytest.mark.parametrize(
    ("source", "target", "left"),
    [
        ("one two three four", "eins one two three four", True),  # the last four of both
        ("zero one two three four", "one two three four eins", True),
        ("one two three vier", "one two three fünf", False),  # three are a name
        ("one two", "one two", True),
        ("one", "one", False),  # one word may be alike
        ("one two", "two one", False),
    ],
)
def test_four_english_words_in_a_row_were_left_and_so_was_a_whole_text(source, target, left):
    assert bool(of(left_over, source, target)) is left


def test_words_that_stay_as_they_are_were_not_left():
    kept = Language("xx", kept=("One", "two", "three", "four"))
    assert of(left_over, "one two three four", "eins one two three four", kept) == ""
    assert of(left_over, "one two", "one two", kept) == ""
    assert of(left_over, "one five", "one five", kept) == "it is the same as the original"


def test_the_languages_own_letters_are_there_unless_the_original_is_a_word_that_stays():
    arabic = Language("ar", letters="ARABIC", kept=("TCA",))
    assert of(letters, "Bleeding", "Bleeding", arabic) == "it has no Arabic letter"
    assert of(letters, "TCA", "TCA", arabic) == ""
    assert of(letters, "12", "12", arabic) == ""
    assert of(letters, "TCA", "TCA т", arabic) == "it has letters of another script: CYRILLIC"
    assert of(letters, "Bleeding", "Bleeding") == ""


def test_a_word_of_the_trade_keeps_its_name_also_where_the_list_has_it_in_brackets():
    terms = {"needling": "nadeln (needling)", "peel": "(säure)peeling"}
    stems = Language("xx", stem=4)
    assert of(one_term, "**needling**", "**nadelnd**", stems, terms) == ""
    assert of(one_term, "**needling**", "**stechen**", stems, terms) == (
        "“needling” is called “nadeln (needling)” in the list of words; here it has another name"
    )
    assert of(one_term, "**peel**", "**schleifen**", stems, terms)
    assert of(one_term, "**unknown**", "**x**", stems, terms) == ""


def test_one_of_several_words_that_stay_is_enough():
    arabic = Language("ar", letters="ARABIC", kept=("TCA", "gel"))
    assert of(letters, "TCA", "TCA", arabic) == ""


def test_single_signs_are_compared_where_words_are_not_parted():
    chinese = Language("zh", letters="CJK")
    assert of(one_term, "**peel**", "**换肤术**，轻", chinese, {"peel": "换肤"}) == ""
    assert of(one_term, "**peel**", "**磨皮**", chinese, {"peel": "换肤"})


def test_links_are_the_same_in_the_same_order():
    assert of(links, "[a](b) [c](d)", "[x](b) [y](d)") == ""
    assert of(links, "[a](b) [c](d)", "[x](d) [y](b)").startswith("its links are ['d', 'b']")


def test_the_first_unit_that_is_lost_is_named_and_digits_in_their_order():
    both = Language("xx", units={"days": ("Tag*",), "weeks": ("Woche*",)})
    assert of(units, "2 weeks or 3 days", "2 oder 3", both) == "it has no word for “days”"
    assert of(one_kind_of_digit, "2", "٢ ١").startswith("it has the digits ١ ٢;")
    assert of(negations, "Do not.", "nie teraz", Language("xx", negations=("nie*",))) == ""
