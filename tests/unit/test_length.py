"""How long a document is: its words, its limits, and what is said where it is over them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from consentpack import shipped
from consentpack.length import check, count, limits_of, measure, told, words_in
from consentpack.library import load_library
from consentpack.model import Clinic, Length, Limits, Plan, ReadingRules, SectionLength
from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Paragraph,
    Pictograph,
    Run,
    Section,
    Table,
)

LIBRARY = load_library(shipped.content())


def runs(text: str) -> tuple[Run, ...]:
    return (Run(text),)


def paragraph(text: str) -> Paragraph:
    return Paragraph(runs(text))


def document(*sections: Section, **more) -> Document:
    usual = {"kind": "form", "title": "A form", "language": "en-GB", "audience": "patient"}
    facts = {"clinic_name": "An invented clinic", "reference": "X-1", "issued": "today", "sections": sections}
    return Document(**(usual | facts | more))


def section(id: str, *nodes, annex: bool = False) -> Section:
    return Section(id, "One heading", nodes, annex=annex)


# --- words --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "language", "words"),
    [
        ("", "en-GB", 0),
        ("Ring us tonight.", "en-GB", 3),
        ("Ring 020 7946 0101 now.", "en-GB", 3),  # a telephone number is one word, as in the reading score
        ("About 12 in every 100 people", "en-GB", 6),
        ("A few – not all", "en-GB", 4),  # a dash is none
        ("治疗部位出血", "zh-Hans", 6 / 1.6),
        ("治疗，治疗。", "zh-Hans", 4 / 1.6),  # marks are no signs of a word
        ("用 TCA 治疗", "zh-Hans", 1 + 3 / 1.6),  # Latin words among them are words
        ("اتصل بنا الليلة", "ar", 3),
    ],
)
def test_words_are_those_of_the_reading_score_and_chinese_ones_are_told_by_their_signs(text, language, words):
    assert count(text, language) == pytest.approx(words)


PICTURE = Pictograph(3, 100, "Seven words that nobody sees on paper")
TABLE = Table(
    ("What", "How often"), ((Cell((paragraph("A bruise"),), head=True), Cell((PICTURE,))),), (50, 50), "S"
)


@pytest.mark.parametrize(
    ("node", "words"),
    [
        (Heading(runs("Two words"), 3), 2),
        (Paragraph(runs("A name and a number"), scored=False), 5),  # not scored, and read all the same
        (Items((paragraph("one two"), paragraph("three"))), 3),
        (TABLE, 5),
        (Choice(runs("I have read this.")), 4),
        (Fields("Patient", (Field("Name"), Field("Day of signing")), runs("I agree.")), 3),
        (Facts((("Where", "left cheek"), ("When", "soon"))), 5),
        (Box("Ring now", (paragraph("if you bleed"),)), 5),
    ],
)
def test_everything_that_is_read_counts_and_nothing_else(node, words):
    found = words_in(document(section("a", node)))
    assert [each.words for each in found] == [2, 2 + words]


def test_title_notice_and_what_leads_count_as_the_opening():
    first, *others = words_in(document(notice="Ask us first.", lead=(paragraph("Keep this."),)))
    assert (first, others) == (SectionLength("", "", 7), [])


def test_minutes_are_words_by_the_usual_and_the_slow_speed_of_reading():
    """238 and 175 words a minute: Brysbaert 2019, doi:10.1016/j.jml.2019.104047."""
    assert Length("form", "en-GB", 1190).minutes == (5.0, 6.8)


# --- an annex -----------------------------------------------------------------------------------------

BEFORE = Limits(words=3, before_annex=True)


def test_only_what_is_before_the_annex_is_held_against_a_limit_that_says_so():
    made = document(section("a", paragraph("one two")), section("b", paragraph("three"), annex=True))
    found = measure(made, BEFORE)
    assert (found.words, found.annex_words, found.over) == (6, 3, ("words",))
    assert measure(made, replace(BEFORE, words=6)).over == ()
    assert measure(made, Limits(words=6)).over == ("words",)  # another limit counts the annex too


def test_a_document_without_an_annex_has_no_limit_of_what_is_before_it():
    found = measure(document(section("a", paragraph("one two three"))), BEFORE)
    assert (found.words, found.limits, found.over) == (7, Limits(), ())


# --- limits -------------------------------------------------------------------------------------------

CLINIC = Clinic(
    "Example Clinic (invented)", (), "", "", "", "999", "en-GB",
    reading=ReadingRules(), window_months=36, care={}, audit_columns={}, audit_words={}, list_covers=(),
    site_groups={}, stratum_groups={}, date_order="day-first", register_url="",
)  # fmt: skip
ONE = ("blunt-cannula", "local-infiltration")
MORE = ("blunt-cannula", "filler-after-release", "local-infiltration")


def plan(planned=ONE, *, may_become_necessary=()) -> Plan:
    from datetime import date

    return Plan(
        "X-1", date(2026, 11, 28), "en-GB", planned, "cheek", {}, 1, "a scar", "a reason", "a clinician",
        "doctor", may_become_necessary=may_become_necessary,
    )  # fmt: skip


def limits(
    kind="form", planned=ONE, *, language="en-GB", own=None, more=(), factors=()
) -> tuple[int, int, int]:
    clinic = replace(CLINIC, length={kind: own} if own else {})
    wanted = replace(plan(planned, may_become_necessary=more), factors=factors)
    found = limits_of(kind, language=language, plan=wanted, clinic=clinic, library=LIBRARY)
    return found.words, found.sides, found.large_print_sides


def test_the_limits_that_are_shipped():
    """The numbers of the task: one treatment with its anaesthetic, then any plan."""
    assert limits() == (1200, 4, 11)
    assert limits(planned=MORE) == (1800, 6, 13)
    assert limits("aftercare") == limits("aftercare", MORE) == (650, 2, 4)
    assert limits("record") == (0, 2, 0)
    assert limits("homecare") == (0, 0, 0)
    assert limits("booklet") == (4500, 0, 0)


def test_the_booklet_may_have_more_words_for_each_further_treatment_and_circumstance():
    """What is about them never moves; nobody must go without papers for having one more thing to be told."""
    assert limits("booklet", more=("filler-after-release",)) == (5500, 0, 0)
    assert limits("booklet", (*ONE, "nerve-block-face"), more=("filler-after-release",)) == (6500, 0, 0)
    assert limits("booklet", factors=("diabetes", "smoking")) == (4500, 0, 0)
    assert limits("booklet", factors=("diabetes", "smoking", "pregnancy")) == (4600, 0, 0)
    assert limits("booklet", more=("filler-after-release",), language="vi") == (7425, 0, 0)
    own = {"any_plan_words": 5000}
    assert limits("booklet", more=("filler-after-release",), own=own) == (5000, 0, 0)
    assert limits("booklet", more=("filler-after-release",), own={"words": 0}) == (0, 0, 0)
    assert limits(factors=("diabetes", "smoking", "pregnancy")) == (1200, 4, 11)


def test_a_treatment_that_may_become_necessary_and_a_second_anaesthetic_make_it_more_than_one():
    assert limits(more=("filler-after-release",)) == (1800, 6, 13)
    assert limits(planned=(*ONE, "nerve-block-face")) == (1800, 6, 13)


def test_what_the_clinic_sets_goes_before_what_is_shipped_key_by_key():
    assert limits(own={"words": 900}) == (900, 4, 11)
    assert limits(planned=MORE, own={"words": 900}) == (1800, 6, 13)
    assert limits("aftercare", MORE, own={"words": 700}) == (700, 2, 4)
    assert limits("homecare", own={"sides": 9}) == (0, 9, 0)


def test_a_plan_of_several_treatments_is_never_held_to_less_and_nought_is_no_limit():
    assert limits(planned=MORE, own={"words": 2500}) == (2500, 6, 13)
    assert limits(own={"sides": 0}) == (1200, 0, 11)
    assert limits(planned=MORE, own={"sides": 0}) == (1800, 0, 13)
    assert limits(planned=MORE, own={"any_plan_words": 0}) == (0, 6, 13)


def test_a_language_that_needs_more_words_may_have_them_and_no_more_sides():
    assert limits(language="vi") == (1620, 4, 11)
    assert limits(language="fr-CA") == (1500, 4, 11)
    assert limits(language="cy") == (1200, 4, 11)


# --- what is said -------------------------------------------------------------------------------------

SECTIONS = tuple(SectionLength(id, heading, n) for id, heading, n in (
    ("", "", 40), ("a", "What can go wrong", 700), ("b", "Your choices", 260), ("c", "Sign here", 300),
))  # fmt: skip
LONG = Length("form", "en-GB", 1300, SECTIONS, 5, 4.2, 8, limits=Limits(1200, 4, 8))


def test_a_document_at_its_limit_is_not_over_it():
    assert replace(LONG, words=1200, sides=4).over == ()
    assert check(replace(LONG, words=1200, sides=4)) == []
    assert replace(LONG, sides=None, large_print_sides=None).over == ("words",)


def test_over_the_limit_it_is_said_by_how_much_which_parts_are_longest_and_what_to_do():
    fix = (
        "  Most words: “What can go wrong” 700, “Sign here” 300, “Your choices” 260.\n"
        "  Shorten what it says, or set a limit of your own under [length.form] in clinic.toml."
        " With --draft it is made all the same, marked as a draft."
    )
    most = "the most allowed is"
    assert [str(problem) for problem in check(LONG)] == [
        f"form, en-GB: there are 1,300 words; {most} 1,200.\n{fix}",
        f"form, en-GB: there are 5 sides of paper, counted without drawing them; {most} 4.\n{fix}",
    ]
    assert "sides of paper, as drawn;" in check(replace(LONG, drawn=True))[1].what
    before = replace(LONG, limits=Limits(sides=2, before_annex=True))
    assert check(before)[0].what.startswith("there are 5 sides of paper before its annex, counted")


def test_a_length_in_one_line():
    assert told(LONG) == (
        "1,300 words of 1,200 allowed OVER, 5 sides of 4 allowed OVER, 8 in large print of 8 allowed;"
        " 5.5 minutes at 238 words a minute, 7.4 at 175"
    )
    assert told(Length("", "en-GB", 476)) == "476 words; 2.0 minutes at 238 words a minute, 2.7 at 175"
