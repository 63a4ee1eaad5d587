"""Which figures have a picture beside their words, and that picture and words say one thing.

Below 1% there is none: with 100 marks it would show too much, and larger grids change how people see
a risk (IMI-PROTECT on icon arrays). The counts are invented, and so are the translations.
"""

from __future__ import annotations

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack import pipeline, shipped
from consentpack.assemble import Inputs, make_context
from consentpack.assemble.consent import figures_explained
from consentpack.assemble.figures import figure_cell, short_figures
from consentpack.catalogues import Catalogue, load
from consentpack.match import match
from consentpack.model import Counts, Plan, Rate, RateAnswer
from consentpack.rates.intervals import wilson
from consentpack.tree import Cell, Pictograph, text_of

PLACE = pipeline.open_workplace(shipped.demo_clinic())
ENGLISH = load("en-GB", (), where="test")
PLAN = Plan(
    "R-1", date(2026, 11, 25), "en-GB", planned=("blunt-cannula",), site="left cheek", region="cheek",
    strata={"skin_type": "III"},
    sessions=2, condition="dipped scars from acne", reason="Tight bands pull your scars down.",
    clinician="Dr Invented", clinician_role="skin doctor",
)  # fmt: skip
MATCHES = match(PLAN, PLACE.library, PLACE.clinic.care)


def own(events: int, n: int) -> Rate:
    counts, day = Counts(events, n, n, n), date(2026, 3, 2)
    return Rate("bruising", events, n, wilson(events, n), "same-techniques", "treatments", "", "own audit",
        first=day, last=day, counts=counts)  # fmt: skip


def published(events: int, n: int, follow_up: str = "12 weeks") -> Rate:
    return Rate("bruising", events, n, wilson(events, n), "published", "people", "invented people",
        "invented", follow_up=follow_up)  # fmt: skip


def context(rate: Rate, catalogue: Catalogue = ENGLISH):
    rates = {"bruising": RateAnswer("bruising", "blunt-cannula", rate)}
    return make_context(Inputs(PLAN, PLACE.library, PLACE.clinic, MATCHES, rates, catalogue))


def cell_of(rate: Rate, catalogue: Catalogue = ENGLISH) -> Cell:
    return figure_cell(context(rate, catalogue), "bruising")


def pictures(cell: Cell) -> list[Pictograph]:
    return [each for each in cell.content if isinstance(each, Pictograph)]


def words(cell: Cell) -> str:
    return " ".join(text_of(each.runs) for each in cell.content if not isinstance(each, Pictograph))


counts = st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
few = st.integers(100, 5000).flatmap(lambda n: st.tuples(st.integers(0, n // 50), st.just(n)))
any_counts = st.one_of(counts, few)
own_or_published = st.sampled_from([own, published])


@given(any_counts, own_or_published)
def test_the_picture_shows_the_number_that_the_words_say(some, made):
    cell = cell_of(made(*some))
    for picture in pictures(cell):
        said = re.match(r"About (\d+) in every (\d+) ", words(cell))
        assert (picture.marked, picture.total) == (int(said[1]), int(said[2]))
        rest = re.search(r"About (\d+) in every 100 did not", words(cell))
        assert picture.total - picture.marked == int(rest[1])


@given(any_counts, own_or_published)
def test_a_figure_has_a_picture_when_it_is_at_least_1_percent_and_said_as_about_some_in_100(some, made):
    events, n = some
    cell = cell_of(made(*some))
    said_in_100 = words(cell).startswith("About ")
    assert len(pictures(cell)) == (1 if said_in_100 and 100 * events >= n else 0)


@pytest.mark.parametrize(
    ("events", "n", "marked"),
    [
        (1, 100, [1]),
        (10, 1000, [1]),
        (9, 1000, []),  # 0.9%: its words say about 1, but it is below 1%
        (1, 200, []),
        (1, 300, []),  # fewer than 1
        (0, 80, []),  # none in 80 is no promise of none in 100
        (40, 40, []),  # nor are all of 40 all of 100
        (299, 300, []),  # more than 99
        (198, 200, [99]),
        (1, 8, [13]),  # 12.5 is rounded up, as in the words
        (12, 100, [12]),
    ],
)
def test_figures_with_and_without_a_picture(events, n, marked):
    assert [each.marked for each in pictures(cell_of(own(events, n)))] == marked


def test_no_reliable_figure_has_no_picture():
    ctx = context(own(12, 100))
    ctx.rates["bruising"] = RateAnswer("bruising", "blunt-cannula", None)
    assert pictures(figure_cell(ctx, "bruising")) == []


def test_the_picture_stands_right_under_the_number():
    kinds = [type(each).__name__ for each in cell_of(own(12, 100)).content]
    assert kinds[:3] == ["Paragraph", "Pictograph", "Paragraph"]


# --- what a screen reader says --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rate", "alt"),
    [
        (
            own(12, 100),
            "12 of 100 marks are filled. Bruising: about 12 in every 100 treatments, watched for 2 weeks.",
        ),
        (
            own(1, 100),
            "1 of 100 marks is filled. Bruising: about 1 in every 100 treatments, watched for 2 weeks.",
        ),
        (
            published(30, 90),
            "33 of 100 marks are filled. Bruising: about 33 in every 100 people. "
            "Time in the study: 12 weeks.",
        ),
        (
            published(30, 90, follow_up=""),
            "33 of 100 marks are filled. Bruising: about 33 in every 100 people. "
            "Time in the study: not stated.",
        ),
    ],
)
def test_the_words_of_a_picture_hold_outcome_events_denominator_and_time(rate, alt):
    assert [each.alt for each in pictures(cell_of(rate))] == [alt]


POLISH = (
    'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n"Plural-Forms: nplurals=3; '
    'plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);\\n"\n\n'
    'msgid "{number} of {of} marks is filled."\nmsgid_plural "{number} of {of} marks are filled."\n'
    'msgstr[0] "[one] {number}/{of}"\nmsgstr[1] "[few] {number}/{of}"\nmsgstr[2] "[many] {number}/{of}"\n\n'
    'msgid "{marks} {outcome}: {figure}, watched for {time}."\nmsgstr "{marks} | {outcome} | {time}"\n\n'
    'msgid "Bruising"\nmsgstr "Siniaki"\n\n'
    'msgid "{number} week"\nmsgid_plural "{number} weeks"\n'
    'msgstr[0] "{number} t1"\nmsgstr[1] "{number} t2"\nmsgstr[2] "{number} t5"\n'
)
"""Polish has one, few and many (Unicode CLDR plural rules for pl). The words are stand-ins."""


@pytest.mark.parametrize(
    ("events", "form"), [(1, "one"), (2, "few"), (12, "many"), (22, "few"), (25, "many")]
)
def test_the_words_of_a_picture_are_in_the_language_of_the_document_by_its_plural_rule(
    events, form, tmp_path
):
    file = tmp_path / "pl/LC_MESSAGES/content.po"
    file.parent.mkdir(parents=True)
    file.write_text(POLISH, encoding="utf-8")
    polish = load("pl", [tmp_path], where="test")
    ctx = context(own(events, 100), polish)
    (picture,) = pictures(figure_cell(ctx, "bruising"))
    assert picture.alt == f"[{form}] {events}/100 | Siniaki | 2 t2"
    assert not any("filled" in message for message in ctx.printed.lacking)


# --- side by side ---------------------------------------------------------------------------------


def side_by_side(*some: tuple[int, int]) -> list[list[int]]:
    cells = short_figures(context(own(1, 2)), tuple(own(*each) for each in some))
    return [[each.marked for each in pictures(cell)] for cell in cells]


def test_compared_techniques_have_pictures_of_one_scale():
    assert side_by_side((12, 100), (30, 90)) == [[12], [33]]


@pytest.mark.parametrize("other", [(0, 80), (1, 300), (40, 40)])
def test_compared_techniques_have_a_picture_each_or_none(other):
    assert side_by_side((12, 100), other) == [[], []]


# --- what the form says about pictures ------------------------------------------------------------


@pytest.mark.parametrize(("events", "told"), [(12, True), (0, False)])
def test_a_form_with_pictures_says_how_to_read_them_and_one_without_does_not(events, told):
    said = " ".join(text_of(node.runs) for node in figures_explained(context(own(events, 100))))
    assert ("picture of 100 marks" in said) == told
