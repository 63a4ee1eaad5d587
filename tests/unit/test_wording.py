"""Figures in plain words. The counts are invented; the rules have their sources beside them."""

from __future__ import annotations

import math
import re
from datetime import date

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from consentpack.catalogues import load
from consentpack.model import Counts, Rate, Worse
from consentpack.rates.intervals import exact, wilson
from consentpack.wording import (
    BANDS,
    Words,
    frequency_band,
    natural,
    percent,
    percent_range,
    range_of,
    rare_out_of,
)

WORDS = Words(load("en-GB", [], where="test"))
WORDS.number(1)  # reads the locale once, outside the time hypothesis allows one example


def rate(events: int, n: int, unit: str = "treatments") -> Rate:
    return Rate("bruising", events, n, wilson(events, n), "published", unit, "invented people", "invented")


def own_rate(events: int, n: int) -> Rate:
    counts, day = Counts(events, n, n, n), date(2026, 3, 2)
    return Rate("bruising", events, n, wilson(events, n), "same-techniques", "treatments", "", "own audit",
        first=day, last=day, counts=counts)  # fmt: skip


def said(events: int, n: int, made=rate) -> str:
    """All a patient reads of one figure."""
    one = made(events, n)
    return " ".join((f"{WORDS.headline(one)}.", WORDS.other_frame(one), WORDS.honest_range(one)))


def counts(fewest: int = 1, most: int = 50_000):
    return st.integers(fewest, most).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


def rare_counts():
    """Counts as rare harms have them: few events among many."""
    return st.tuples(st.integers(0, 40), st.integers(40, 100_000))


ANY = st.one_of(counts(), rare_counts(), counts(most=150))


# --- EU frequency bands, for the record only ------------------------------------------------------


# European Commission, A guideline on summary of product characteristics, September 2009, section 4.8:
# very common >=1/10; common >=1/100 to <1/10; uncommon >=1/1,000 to <1/100; rare >=1/10,000 to
# <1/1,000; very rare <1/10,000. (Thresholds seen in BMC Med Inform Decis Mak 2014;14:76, table 1.)
@pytest.mark.parametrize(
    ("events", "n", "band"),
    [
        (1, 1, "very common"),
        (1, 10, "very common"),
        (100_000, 1_000_000, "very common"),
        (99_999, 1_000_000, "common"),
        (1, 11, "common"),
        (1, 100, "common"),
        (10_000, 1_000_000, "common"),
        (9_999, 1_000_000, "uncommon"),
        (1, 101, "uncommon"),
        (1, 1_000, "uncommon"),
        (999, 1_000_000, "rare"),
        (1, 1_001, "rare"),
        (1, 10_000, "rare"),
        (100, 1_000_000, "rare"),
        (99, 1_000_000, "very rare"),
        (1, 10_001, "very rare"),
        # thirds and tenths that floating point cannot hold
        (3, 30, "very common"),
        (7, 70, "very common"),
        (29, 2_900, "common"),
        (3, 3_000, "uncommon"),
    ],
)
def test_a_frequency_belongs_to_the_band_whose_lower_bound_it_reaches(events, n, band):
    assert frequency_band(events, n) == band


@pytest.mark.parametrize("n", [1, 30, 1_000_000])
def test_none_seen_has_no_band(n):
    assert frequency_band(0, n) == ""


@given(ANY)
def test_no_frequency_word_reaches_a_patient(some):
    words = said(*some) + WORDS.so_far(worse(*some), harm=True)
    for word in {word for _, band in BANDS for word in band.split()} - {"very"}:
        assert not re.search(rf"\b{word}(ly)?\b", words, re.IGNORECASE), words
    assert not re.search(r"\b(often|seldom|frequent(ly)?|usual(ly)?|negligible)\b", words, re.IGNORECASE)


# --- natural frequencies --------------------------------------------------------------------------


@given(some=ANY, out_of=st.sampled_from([100, 1_000, 10_000]))
def test_both_frames_add_up_to_the_denominator(some, out_of):
    found = natural(*some, out_of)
    assert found.number + found.rest == out_of
    assert found.number >= 0 and found.rest >= 0


@given(some=ANY)
def test_the_words_of_both_frames_add_up_to_a_hundred(some):
    one = rate(*some)
    headline, frame = WORDS.headline(one), WORDS.other_frame(one)
    assume(frame)
    have = re.match(r"\w+(?: than)? (\d+) in every 100 ", headline)
    have_not = re.match(r"\w+(?: than)? (\d+) in every 100 did not", frame)
    assert int(have[1]) + int(have_not[1]) == 100
    opposite = {"About": "About", "Fewer than": "More than", "More than": "Fewer than"}
    assert frame.startswith(opposite[re.match(r"About|Fewer than|More than", headline)[0]])


@pytest.mark.parametrize(
    ("events", "n", "number"),
    [(12, 100, 12), (1, 8, 13), (1, 40, 3), (9, 200, 5), (89, 2000, 4), (44, 1000, 4), (1, 200, 1)],
)
def test_halves_are_rounded_up_and_never_to_even(events, n, number):
    assert natural(events, n).number == number


@given(ANY)
def test_rounding_moves_a_figure_by_half_of_one_in_a_hundred_at_most(some):
    events, n = some
    found = natural(events, n)
    if not (found.below or found.above):
        assert abs(found.number * n - 100 * events) * 2 <= n


@given(ANY)
def test_something_seen_is_never_shown_as_none_and_something_spared_never_as_all(some):
    events, n = some
    found = natural(events, n)
    assert (found.number == 0) == (events == 0)
    assert (found.rest == 0) == (events == n)


def read_as(headline: str) -> tuple[float, ...]:
    """How much a reader takes from a headline: comparable, the rarer reading first."""
    if headline.startswith("None "):
        return (0.0,)
    if headline.startswith("All "):
        return (2.0,)
    few = re.search(r"\((about|fewer than) (\d+) in every ([\d,]+)\)", headline)
    if few:
        share = int(few[2].replace(",", "")) / int(few[3].replace(",", ""))
        return (share / 2 if few[1] == "fewer than" else share,)
    number = int(re.search(r"(\d+) in every 100", headline)[1])
    return (number / 100 + {"About": 0, "Fewer": -0.009, "More ": 0.001}[headline[:5]],)


@given(ANY, st.integers(1, 500))
@example((0, 300), 1)
@example((1, 300), 1)
@example((4, 1000), 1)
@example((49, 10_000), 1)
@example((50, 10_000), 50)
@example((298, 300), 1)
@example((299, 300), 1)
def test_more_events_among_as_many_never_read_rarer(some, more):
    events, n = some
    assume(events + more <= n)
    fewer, most = WORDS.headline(rate(events, n)), WORDS.headline(rate(events + more, n))
    assert read_as(fewer) <= read_as(most), (fewer, most)


def test_more_events_never_read_rarer_for_any_count_up_to_260():
    for n in (*range(1, 60), 99, 100, 101, 199, 200, 201, 260):
        read = [read_as(WORDS.headline(rate(events, n))) for events in range(n + 1)]
        assert read == sorted(read)


@given(ANY)
def test_there_is_never_a_decimal(some):
    assert not re.search(r"\d\.\d", said(*some))
    assert "%" not in said(*some)


@given(ANY)
def test_the_form_one_in_a_number_is_never_used(some):
    # Sirota 2014 (doi 10.1177/0272989X13514776): "1 in X" makes the same risk look larger
    words = said(*some)
    assert not re.search(r"\b(1|one) in \d", words, re.IGNORECASE)
    assert not re.search(r"\d in (?!every )", words)


@given(ANY)
def test_one_denominator_is_used_but_for_what_is_under_one_in_a_hundred(some):
    events, n = some
    others = set(re.findall(r"in every ([\d,]+)", said(*some))) - {"100"}
    assert others <= ({"1,000", "10,000"} if 0 < 200 * events < n else set())


# --- the range ------------------------------------------------------------------------------------


@given(ANY)
def test_the_number_shown_lies_inside_the_range_shown(some):
    one = rate(*some)
    low, high = range_of(one)
    number = natural(*some).number
    assert 0 <= low <= number <= high <= 100


@given(ANY)
def test_the_range_shown_is_never_narrower_than_the_interval(some):
    one = rate(*some)
    low, high = range_of(one)
    assert low / 100 <= one.interval.low + 1e-9
    assert high / 100 >= one.interval.high - 1e-9
    assert one.interval.low - low / 100 < 0.01 + 1e-9
    assert high / 100 - one.interval.high < 0.01 + 1e-9


@pytest.mark.parametrize(
    ("events", "n", "words"),
    [
        # Wilson ends by statsmodels: 6.7-20% / .06-1.9% / .09-.2% / 97-100%
        (12, 100, "If many more were counted, it would most likely be from 6 to 20 in every 100."),
        (1, 300, "If many more were counted, it would most likely be from fewer than 1 to 2 in every 100."),
        (50, 41_000, "The true number is likely to be fewer than 1 in every 100."),
        (0, 100, "The true number could be up to about 4 in every 100."),
        (100, 100, "The true number could be as low as 96 in every 100."),
        (299, 300, "If many more were counted, it would most likely be from 98 to 100 in every 100."),
    ],
)
def test_a_range_is_said_in_whole_numbers_rounded_outwards(events, n, words):
    assert WORDS.honest_range(rate(events, n)) == words


# --- none seen ------------------------------------------------------------------------------------


def test_none_seen_says_in_how_many_and_how_high_the_truth_may_be():
    assert said(0, 80, own_rate) == (
        "None in 80 treatments so far.  The true number could be up to about 5 in every 100."
    )
    # a study is over
    assert said(0, 80) == "None in 80 treatments.  The true number could be up to about 5 in every 100."


@given(st.integers(30, 100_000), st.sampled_from([own_rate, rate]))  # fewer are never quoted
def test_none_seen_is_never_said_alone_and_never_means_no_risk(n, made):
    words = said(0, n, made)
    assert words.startswith(f"None in {n:,} treatments{' so far' if made is own_rate else ''}. ")
    assert not re.search(r"no risk|zero|never|cannot|safe|\b0\b", words, re.IGNORECASE)
    high = int(re.search(r"could be up to about (\d+) in every 100", words)[1])
    assert high >= 1
    # one-sided 95% bound, Hanley and Lippman-Hand, JAMA 1983;249:1743
    assert high / 100 >= 1 - 0.05 ** (1 / n)


def test_all_seen_says_so_and_how_low_the_truth_may_be():
    low = " The true number could be as low as 91 in every 100."
    assert said(40, 40, own_rate) == f"All of 40 treatments so far. {low}"
    assert said(40, 40) == f"All of 40 treatments. {low}"  # a study is over


# --- fewer than 1 ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("events", "n", "words"),
    [
        (1, 300, "Fewer than 1 in every 100 treatments"),  # 300 cannot carry a finer number
        (1, 499, "Fewer than 1 in every 100 treatments"),
        (2, 500, "Fewer than 1 in every 100 treatments (about 4 in every 1,000)"),
        (1, 1_294, "Fewer than 1 in every 100 treatments (about 1 in every 1,000)"),
        (1, 4_999, "Fewer than 1 in every 100 treatments (fewer than 1 in every 1,000)"),
        (1, 5_000, "Fewer than 1 in every 100 treatments (about 2 in every 10,000)"),
        (23, 4_702, "Fewer than 1 in every 100 treatments (about 5 in every 1,000)"),
        (1, 40_882, "Fewer than 1 in every 100 treatments (fewer than 1 in every 10,000)"),
        (23, 12_668, "Fewer than 1 in every 100 treatments (about 18 in every 10,000)"),
        (1, 200, "About 1 in every 100 treatments"),
        (1, 201, "Fewer than 1 in every 100 treatments"),
    ],
)
def test_under_one_in_a_hundred_is_said_so_and_once_more_where_the_data_can_carry_it(events, n, words):
    assert WORDS.headline(rate(events, n)) == words


@given(st.integers(1, 200_000))
def test_a_rarer_denominator_is_used_only_when_one_event_would_round_to_at_most_two_in_it(n):
    out_of = rare_out_of(n)
    assert out_of in (0, 1_000, 10_000)
    assert out_of <= 2 * n
    assert (out_of == 0) == (n < 500)


def test_nearly_all_is_more_than_99():
    assert said(299, 300) == (
        "More than 99 in every 100 treatments. Fewer than 1 in every 100 did not have it. "
        "If many more were counted, it would most likely be from 98 to 100 in every 100."
    )


def test_an_ordinary_figure_reads_like_this():
    assert said(12, 100) == (
        "About 12 in every 100 treatments. About 88 in every 100 did not have it. "
        "If many more were counted, it would most likely be from 6 to 20 in every 100."
    )


# --- percentages, for the record ------------------------------------------------------------------


@given(ANY)
def test_a_percentage_has_no_more_digits_than_its_interval_supports(some):
    """One step of the last digit is no finer than a tenth of the interval, and no coarser than all of
    it unless it is a whole percent."""
    one = rate(*some)
    width = 100 * one.interval.width
    for shown in re.findall(r"[\d.]+", percent(one) + " " + percent_range(one)):
        step = 10.0 ** -len(shown.partition(".")[2])
        assert step > width / 10 * (1 - 1e-9) or step == 1
        assert step <= max(1, width) * (1 + 1e-9)


@given(ANY)
def test_a_percentage_and_its_range_have_the_same_digits(some):
    one = rate(*some)
    decimals = {len(n.partition(".")[2]) for n in re.findall(r"[\d.]+", percent(one) + percent_range(one))}
    assert len(decimals) == 1


@pytest.mark.parametrize(
    ("events", "n", "shown", "between"),
    [
        (12, 100, "12%", "7 to 20%"),  # Wilson .0670 .1981 by statsmodels
        (1, 40, "2%", "0 to 13%"),  # n = 40 cannot give 2.5%
        (18, 2209, "0.8%", "0.5 to 1.3%"),
        (1, 6_410, "0.02%", "0.00 to 0.09%"),
        (0, 164, "0%", "0 to 2%"),
    ],
)
def test_percentages_of_known_figures(events, n, shown, between):
    assert (percent(rate(events, n)), percent_range(rate(events, n))) == (shown, between)


@pytest.mark.parametrize(
    ("events", "n", "shown"),
    [
        (1, 300, "<1%"),
        (2, 563, "<1%"),
        (1, 40_882, "<0.01%"),
        (299, 300, ">99%"),
        (40_881, 40_882, ">99.99%"),
    ],
)
def test_a_real_risk_is_never_shown_as_0_percent_nor_a_spared_patient_as_100(events, n, shown):
    # all may be quoted: their exact interval is under .05 wide. 2 of 563 is in the shipped table.
    assert exact(events, n).width <= 0.05
    assert percent(rate(events, n)) == shown


@given(ANY)
def test_0_and_100_percent_are_said_only_of_none_and_all(some):
    events, n = some
    shown = percent(rate(events, n))
    plain = shown[0] not in "<>"
    assert (plain and float(shown.rstrip("%")) == 0) == (events == 0)
    assert (plain and float(shown.rstrip("%")) == 100) == (events == n)


# --- times, dates, numbers ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (1, "1 day"),
        (2, "2 days"),
        (7, "7 days"),
        (13, "13 days"),
        (14, "2 weeks"),
        (15, "15 days"),
        (21, "3 weeks"),
        (30, "30 days"),
        (42, "6 weeks"),
        (56, "8 weeks"),
        (59, "59 days"),
        (60, "2 months"),
        (90, "3 months"),
        (180, "6 months"),
        (364, "12 months"),
        (365, "1 year"),
        (730, "2 years"),
    ],
)
def test_a_watching_time_is_said_as_a_person_would(days, words):
    assert WORDS.watching(days) == words


@given(st.integers(1, 3650))
def test_a_watching_time_is_never_off_by_more_than_half_a_month_and_its_drift(days):
    number, unit = WORDS.watching(days).split()
    length = {"day": 1, "week": 7, "month": 365.25 / 12, "year": 365}[unit.rstrip("s")]
    assert abs(int(number) * length - days) <= 15 + 0.02 * days
    assert unit.endswith("s") == (number != "1")


@pytest.mark.parametrize("unit", ["minutes", "hours", "days", "weeks", "months", "years"])
def test_one_is_singular_and_any_other_number_plural(unit):
    assert WORDS.span(1, unit) == f"1 {unit[:-1]}"
    assert WORDS.span(2, unit) == f"2 {unit}"
    assert WORDS.span(0, unit) == f"0 {unit}"


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("treatments", "treatments"),
        ("people", "people"),
        ("procedures", "operations"),
        ("stitches", "stitches"),
    ],
)
def test_what_is_counted_is_said_in_plain_words(unit, words):
    assert WORDS.headline(rate(12, 100, unit)) == f"About 12 in every 100 {words}"


def worse(events: int, n: int) -> Worse:
    return Worse("lead-technique", Counts(events, n, n, n), "published", (1, 100), True)


@pytest.mark.parametrize(("harm", "than"), [(True, "more"), (False, "less")])
def test_a_thin_figure_that_is_worse_is_said_with_both_counts_and_how_little_it_is(harm, than):
    assert WORDS.so_far(worse(3, 20), harm=harm) == (
        "In our own clinic we saw it in 3 of 20 treatments so far. That is too few to be sure. "
        f"But it is {than} than the study found."
    )


@given(st.integers(1, 30))
def test_the_digits_of_percent_follow_the_width_by_powers_of_ten(times):
    """Ten times narrower, one digit more; a hundred times as many treatments make it ten times narrower."""
    few, many = rate(100 * times, 1_000 * times), rate(10_000 * times, 100_000 * times)
    digits = [len(percent(each).rstrip("%").partition(".")[2]) for each in (few, many)]
    expected = [max(0, math.ceil(-math.log10(100 * each.interval.width))) for each in (few, many)]
    assert digits == expected
    assert digits[1] - digits[0] in (0, 1)
