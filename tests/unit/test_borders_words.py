"""Figures in words at the borders, and braces that are only just no placeholder."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from test_wording import WORDS, own_rate, rate

from consentpack import shipped
from consentpack.fill import Filler, NotAPlaceholder, placeholders
from consentpack.library import load_library
from consentpack.model import Counts, Interval, Told, Worse
from consentpack.wording import in_sentence, percent, percent_range, range_of, rare_out_of


def between(low: float, high: float, events: int = 10, n: int = 100):
    return replace(rate(events, n), interval=Interval(low, high))


@pytest.mark.parametrize("hundredths", range(1, 100))
def test_an_interval_that_ends_on_a_whole_number_ends_there(hundredths):
    """0.07 times 100 is 7.000000000000001 to a computer, and 0.29 times 100 is 28.999999999999996."""
    share = hundredths / 100
    assert range_of(between(share, 1.0)) == (hundredths, 100)
    assert range_of(between(0.0, share)) == (0, hundredths)
    assert range_of(between(share - 0.001, share + 0.001)) == (hundredths - 1, hundredths + 1)


def test_a_range_under_one_is_said_as_that_and_one_from_under_one_with_its_other_end():
    assert WORDS.honest_range(between(0.001, 0.01)) == (
        "The true number is likely to be fewer than 1 in every 100."
    )
    said = "If many more were counted, it would most likely be from {} to 2 in every 100."
    assert WORDS.honest_range(between(0.001, 0.011)) == said.format("fewer than 1")
    assert WORDS.honest_range(between(0.01, 0.02)) == said.format(1)


@pytest.mark.parametrize(("n", "out_of"), [(499, 0), (500, 1_000), (4_999, 1_000), (5_000, 10_000)])
def test_a_finer_denominator_needs_half_as_many_seen(n, out_of):
    assert rare_out_of(n) == out_of


def test_a_thin_figure_says_which_way_it_lies_for_a_harm_and_for_a_gain():
    seen = "In our own clinic we saw it in 3 of 12 treatments so far. That is too few to be sure."
    thin = Worse("lead-technique", Counts(3, 12, 12, 12), "published", (1, 100), True)
    assert WORDS.so_far(thin, harm=True).startswith(seen)
    assert WORDS.so_far(thin, harm=True).endswith("But it is more than the study found.")
    assert WORDS.so_far(thin, harm=False).endswith("But it is less than the study found.")


def test_digits_of_a_percentage_follow_the_width_of_its_interval():
    assert percent(between(0.05, 0.15)) == "10%"
    assert percent(between(0.0949, 0.1048)) == "10.0%"  # under 1 in 100 wide
    assert percent_range(between(0.0949, 0.1048)) == "9.5 to 10.5%"
    assert percent_range(between(0.05, 0.15)) == "5 to 15%"
    assert percent(between(0.1, 0.1)) == "10%" and percent_range(between(0.1, 0.1)) == "10 to 10%"


def test_a_title_inside_a_sentence_loses_its_capital_and_nothing_else():
    assert in_sentence("Skin LOSS") == "skin LOSS"
    assert in_sentence("") == ""


@pytest.mark.parametrize(
    ("unit", "one", "many"),
    [
        ("treatments", "1 treatment", "2 treatments"),
        ("people", "1 person", "2 people"),
        ("face sides", "1 side of the face", "2 sides of the face"),
        ("syringes", "1 syringe of gel", "2 syringes of gel"),
        ("blocks", "1 numbing block", "2 numbing blocks"),
        ("procedures", "1 operation", "2 operations"),
        ("moles", "1 mole", "2 moles"),
        ("keloids", "1 raised scar", "2 raised scars"),
        ("visits", "1 visit", "2 visits"),
        ("stitches", "1 stitches", "2 stitches"),  # the clinic's own word is said as it stands
    ],
)
def test_what_is_counted_has_its_words_for_one_and_for_more(unit, one, many):
    words = replace(WORDS, units=load_library(shipped.content()).field.units)
    assert (words.counted(1, unit), words.counted(2, unit)) == (one, many)


@pytest.mark.parametrize("unit", ["minute", "hour", "day", "week", "month", "year"])
def test_a_time_has_its_words_for_one_and_for_more(unit):
    assert (WORDS.span(1, f"{unit}s"), WORDS.span(2, f"{unit}s")) == (f"1 {unit}", f"2 {unit}s")


@pytest.mark.parametrize(
    ("days", "words"), [(365, "1 year"), (730, "2 years"), (366, "12 months"), (60, "2 months"),
                        (75, "2 months"), (76, "3 months"), (59, "59 days"), (14, "2 weeks"), (8, "8 days")]
)  # fmt: skip
def test_a_watching_time_is_said_in_the_largest_unit_that_fits(days, words):
    assert WORDS.watching(days) == words


def test_empty_sentences_leave_no_gap():
    assert WORDS.sentences("a.", "", "b.") == "a. b."
    assert WORDS.series(["a, b", "c"]) == "a, b; c"
    assert WORDS.sentence("a") == "a."


def test_an_own_figure_is_so_far_and_a_study_is_over():
    assert WORDS.headline(own_rate(5, 5)) == "All of 5 treatments so far"
    assert WORDS.headline(rate(5, 5)) == "All of 5 treatments"


# --- what a study saw -----------------------------------------------------------------------------

TOLD = Told("people", "", "", "", None, "", 25.0, 5, 20, few=True)
NO_COUNT = "It does not say how many, so the true number may not be near that."


def test_a_study_with_its_count_is_told_by_its_count():
    seen = "A study saw it in 5 of 20 people."
    assert WORDS.told(TOLD) == f"{seen} That is too few to be sure."
    assert WORDS.told(replace(TOLD, few=False)) == seen
    assert WORDS.told(replace(TOLD, events=1, n=1_000)).startswith("A study saw it in 1 of 1,000 people.")


@pytest.mark.parametrize("half", [{"events": None}, {"n": None}, {"events": None, "n": None}])
def test_a_study_without_its_whole_count_is_told_in_every_hundred(half):
    assert WORDS.told(replace(TOLD, **half)) == f"A study saw it in about 25 in every 100 people. {NO_COUNT}"


@pytest.mark.parametrize(
    ("percent_", "words"),
    [
        (0.499, "fewer than 1"), (0.5, "about 1"), (1.499, "about 1"), (1.5, "about 2"), (44.0, "about 44"),
        (98.5, "about 99"), (99.6, "about 99"), (100.0, "about 100"),
    ],
)  # fmt: skip
def test_a_printed_percentage_is_rounded_half_up_and_never_to_none_or_all(percent_, words):
    found = WORDS.told(replace(TOLD, events=None, n=None, percent=percent_))
    assert found == f"A study saw it in {words} in every 100 people. {NO_COUNT}"


def test_for_how_long_a_study_looked_is_said_or_that_it_is_not_known():
    assert WORDS.watched_in_study(None) == "The study does not say for how long."
    assert WORDS.watched_in_study(0) == "They were watched on the day."
    assert WORDS.watched_in_study(1) == "They were watched for 1 day."
    assert WORDS.watched_in_study(30) == "They were watched for 30 days."


def test_lists_numbers_and_days_are_said_as_the_language_has_them():
    assert WORDS.listed(["a", "b", "c"]) == "a, b and c"
    assert WORDS.either(["a", "b", "c"]) == "a, b or c"
    assert WORDS.number(12_345) == "12,345"
    assert WORDS.day(date(2026, 3, 2)) == "2 March 2026"


def test_both_frames_of_what_is_rare_and_of_what_nearly_all_have():
    assert WORDS.headline(rate(1, 10_000)) == (
        "Fewer than 1 in every 100 treatments (about 1 in every 10,000)"
    )
    assert WORDS.headline(rate(1, 499)) == "Fewer than 1 in every 100 treatments"
    assert WORDS.headline(rate(1, 100_000)).endswith("(fewer than 1 in every 10,000)")
    assert WORDS.other_frame(rate(1, 10_000)) == "More than 99 in every 100 did not have it."
    assert WORDS.headline(rate(9_999, 10_000)) == "More than 99 in every 100 treatments"
    assert WORDS.other_frame(rate(9_999, 10_000)) == "Fewer than 1 in every 100 did not have it."
    assert WORDS.other_frame(rate(1, 100)) == "About 99 in every 100 did not have it."
    assert WORDS.other_frame(rate(0, 100)) == WORDS.other_frame(rate(100, 100)) == ""


# --- braces ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "Ring {{- clinic.phone }}.",
        "Ring {{ clinic.phone -}}.",
        "{% if a %}",
        "{# a #}",
        "{{ rate('a', *b) }}",
        "{{ rate(*b) }}",
        "{{ rate('a', **b) }}",
        "{{ rate('a').name }}",
        "{{ rate('a')('b') }}",
        "{{ a.b('c') }}",
        "{{ a }} {{ 7 }}",
    ],
)
def test_what_would_glue_words_or_holds_more_than_one_word_is_refused(text):
    with pytest.raises(NotAPlaceholder):
        placeholders(text)


def test_what_can_be_filled_is_filled_and_plain_text_stays():
    filler = Filler({"a": {"b": "c"}}, {"rate": str.upper})
    assert filler.fill("{{ a.b }} {{ rate('x') }}") == "c X"
    assert filler.fill("{ a }") == "{ a }"
    assert filler.fill("a\n") == "a\n"
