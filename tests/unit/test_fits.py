"""A printed figure is shown to patients only where what it counts fits the sentence said of it.

Rows of the shipped table say what their sources print; other rows are invented and say so.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date

import pytest

from consentpack import pipeline, shipped
from consentpack.assemble import Inputs, make_context
from consentpack.assemble.figures import figure_cell
from consentpack.assemble.record_figures import record_figures, record_rejected
from consentpack.assemble.sources import figure_sources
from consentpack.catalogues import load
from consentpack.library import load_library
from consentpack.library.tables import RATE_COLUMNS, published
from consentpack.match import match
from consentpack.model import COUNTED, LOOKED_FOR, Plan, PublishedRate, Told
from consentpack.rates.fits import FLATTERS, MISCOUNTED, SELF_RATED_FROM, asked, misleading, unfit
from consentpack.rates.ladder import answer_all
from consentpack.rates.published import published_rate, told, withheld
from consentpack.tree import text_of
from consentpack.wording import Words

LIBRARY = load_library(shipped.content())
SHIPPED = {rate.id: rate for rate in LIBRARY.published}
WORDS = Words(load("en-GB", [], where="test"), LIBRARY.field.units)
HARM, GAIN = "dark-marks", "shallower-scar"
HARM_ROW = PublishedRate(
    id="invented", technique="microneedling", outcome=HARM, factor="", events=40, n=100, unit="people",
    population="invented people", follow_up="invented", source="invented-source", seen="abstract",
    caveat="invented", watched_days=30,
)  # fmt: skip
GAIN_ROW = replace(HARM_ROW, outcome=GAIN, events=80, watched_days=180)


def quoted(row: PublishedRate):
    return published_rate([row], asked(LIBRARY, row.outcome), techniques=(row.technique,), factors=())


def told_of(*rows: PublishedRate, factors: tuple[str, ...] = ()) -> Told | None:
    first = rows[0]
    return told(rows, asked(LIBRARY, first.outcome), techniques=(first.technique,), factors=factors)


# --- units ----------------------------------------------------------------------------------------


def test_a_figure_for_each_syringe_is_no_rate_for_a_patient():
    assert quoted(HARM_ROW)
    for unit in ("treatments", "procedures", "visits", "face sides", "moles", "keloids", "blocks"):
        assert quoted(replace(HARM_ROW, unit=unit)), unit
    for unit in ("syringes", "doctors"):  # what was used; and what nobody has said is a patient
        row = replace(HARM_ROW, unit=unit)
        assert quoted(row) is None and told_of(row) is None
        assert unit in unfit(row, asked(LIBRARY, HARM))


def test_every_shipped_row_counts_in_a_unit_that_has_words():
    known = asked(LIBRARY, HARM).units
    assert {rate.unit for rate in SHIPPED.values()} - set(known) == {"syringes"}
    assert LIBRARY.field.materials == ("syringes",)


# --- what is counted ------------------------------------------------------------------------------


@pytest.mark.parametrize("counted", [each for each in COUNTED if each != "it"])
def test_a_number_that_counts_something_else_is_no_rate_of_the_outcome(counted):
    for row in (HARM_ROW, GAIN_ROW):
        assert quoted(row)
        assert quoted(replace(row, counted=counted)) is None
        assert MISCOUNTED[counted] in unfit(replace(row, counted=counted), asked(LIBRARY, row.outcome))


def test_two_series_with_the_same_measure_of_a_gain_are_treated_alike():
    """Both count gains over 70% (source: the abstracts): neither says who had none."""
    rows = [SHIPPED[f"{id}-shallower-scar--acid-focal"] for id in ("khunger2011", "amin_jpad")]
    assert [(row.events, row.n) for row in rows] == [(22, 30), (25, 60)]
    assert all(row.counted == "part" and quoted(row) is None for row in rows)


# --- how and when it was looked for ---------------------------------------------------------------


@pytest.mark.parametrize("looked_for", LOOKED_FOR)
def test_a_harm_from_notes_recall_or_suspects_is_for_the_clinician_only(looked_for):
    row = replace(HARM_ROW, looked_for=looked_for)
    flatters = looked_for in ("notes", "reported", "suspects")
    assert (quoted(row) is None) is flatters
    assert (told_of(replace(row, events=5, n=30)) is None) is flatters
    found = list(withheld([row], asked(LIBRARY, HARM), techniques=(row.technique,), factors=()))
    assert [each.why for each in found] == (
        [f"invented-source, 40 of 100 people: {FLATTERS[looked_for]}"] if flatters else []
    )


@pytest.mark.parametrize(
    ("days", "fits"), [(180, True), (90, True), (89, False), (30, False), (0, False), (None, False)]
)
def test_a_gain_must_have_been_judged_at_half_its_watching_time_or_later(days, fits):
    assert LIBRARY.outcome(GAIN).watch_days == 180
    assert bool(quoted(replace(GAIN_ROW, watched_days=days))) is fits
    assert quoted(replace(HARM_ROW, watched_days=days))  # a harm is shown, with its time


def test_a_gain_people_rated_themselves_must_not_be_younger_than_three_months():
    short = replace(asked(LIBRARY, GAIN), watch_days=30)
    row = replace(GAIN_ROW, looked_for="self-rated")
    for days, fits in ((SELF_RATED_FROM, True), (SELF_RATED_FROM - 1, False)):
        assert (misleading(replace(row, watched_days=days), short) == "") is fits
    assert misleading(replace(row, looked_for="examined", watched_days=30), short) == ""


# --- a source's harms are as quotable as its gains ------------------------------------------------


def test_the_darkening_a_study_saw_in_5_of_30_is_told_though_it_is_too_few_for_a_rate():
    row = SHIPPED["dogra2014-dark-marks--microneedling"]
    about = asked(LIBRARY, HARM)
    fitting = {"techniques": ("microneedling",), "factors": ("darker-skin",)}
    assert published_rate(LIBRARY.published, about, **fitting) is None
    assert unfit(row, about) == ""  # the rule of reliability alone hides it
    found = told(LIBRARY.published, about, **fitting)
    assert (found.events, found.n, found.watched_days, found.source) == (5, 30, 30, "dogra2014")
    assert WORDS.told(found) == "A study saw it in 5 of 30 people. That is too few to be sure."
    assert told(LIBRARY.published, about, techniques=("microneedling",), factors=()) is None


def test_the_gain_the_same_study_saw_at_one_month_is_not_told():
    row = SHIPPED["dogra2014-shallower-scar--microneedling"]
    assert (row.events, row.n, row.watched_days, row.looked_for) == (26, 30, 30, "self-rated")
    assert quoted(row) is None and told_of(row) is None
    assert "judged at 30 days; it is judged here at 180" in unfit(row, asked(LIBRARY, GAIN))


def test_a_thin_gain_and_a_harm_never_seen_are_not_told():
    assert told_of(replace(HARM_ROW, events=1, n=10))
    assert told_of(replace(HARM_ROW, events=0, n=10)) is None
    assert told_of(replace(GAIN_ROW, events=9, n=10)) is None


@pytest.mark.parametrize("seen", ["secondary", "memory"])
def test_what_nobody_has_read_in_the_source_is_not_told(seen):
    assert told_of(replace(HARM_ROW, events=1, n=10, seen=seen)) is None


def test_of_several_that_may_be_told_the_least_favourable_is():
    few, more = (replace(HARM_ROW, events=events, n=10) for events in (1, 3))
    for rows in ((few, more), (more, few)):
        assert told_of(*rows).events == 3
    assert told_of(more, replace(few, factor="darker-skin"), factors=("darker-skin",)).events == 1


# --- material figures that print no count ---------------------------------------------------------


@pytest.mark.parametrize(
    ("outcome", "percent", "days", "said"),
    [
        ("skin-thinning", 44, 180, "A study saw it in about 44 in every 100 raised scars."),
        ("visible-vessels", 50, 180, "A study saw it in about 50 in every 100 raised scars."),
        ("comes-back", 50, 1825, "A study saw it in about 50 in every 100 people."),
    ],
)
def test_what_a_steroid_may_do_is_told_although_the_source_prints_no_count(outcome, percent, days, said):
    found = told(LIBRARY.published, asked(LIBRARY, outcome), techniques=("steroid-injection",), factors=())
    assert (found.percent, found.events, found.n, found.watched_days) == (percent, None, None, days)
    assert WORDS.told(found) == f"{said} It does not say how many, so the true number may not be near that."


def test_a_raised_scar_that_came_back_by_one_year_is_kept_beside_the_five_years():
    row = SHIPPED["morelli2018-comes-back--steroid-injection"]
    assert (row.percent, row.watched_days) == (33, 365)


def test_a_share_under_1_in_100_is_not_told_as_0():
    small = Told("people", "", "", "", None, "", 0.2)
    assert WORDS.told(small).startswith("A study saw it in fewer than 1 in every 100 people.")


# --- a scar that can be seen is not every scar ----------------------------------------------------


def test_that_a_scar_was_seen_after_a_shave_never_says_that_the_others_had_none():
    row = SHIPPED["shave_cautery82-new-scar--shave-removal"]
    assert row.counted == "part" and quoted(row) is None
    found = told_of(row)
    assert WORDS.told(found) == "A study saw it in 52 of 82 moles."  # enough to be sure, and no "not"


# --- how long a study looked ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (None, "The study does not say for how long."),
        (0, "They were watched on the day."),
        (30, "They were watched for 30 days."),
        (1825, "They were watched for 5 years."),
    ],
)
def test_a_printed_harm_says_how_long_the_study_watched(days, said):
    assert WORDS.watched_in_study(days) == said
    assert quoted(replace(HARM_ROW, watched_days=days)).watched_days == days


# --- the table ------------------------------------------------------------------------------------


def table(**cells: str) -> str:
    row = dict.fromkeys(RATE_COLUMNS, "") | {
        "id": "a", "technique": "t", "outcome": "o", "events": "1", "n": "9", "unit": "people",
        "population": "w", "source": "s", "seen": "abstract", **cells,
    }  # fmt: skip
    out = io.StringIO()
    writer = csv.DictWriter(out, list(row))
    writer.writeheader()
    writer.writerow(row)
    return out.getvalue()


def test_the_fields_that_say_whether_a_figure_fits_are_read():
    cells = {"watched_days": "30", "looked_for": "asked", "counted": "part", "percent": "11.1"}
    ((row,), problems) = published(table(**cells), file="r.csv")
    assert problems == []
    assert (row.watched_days, row.looked_for, row.counted, row.percent) == (30, "asked", "part", 11.1)


def test_a_clinics_table_made_before_these_fields_is_still_read_and_says_nothing_of_them():
    ((row,), problems) = published(table(), file="r.csv")
    assert problems == []
    assert (row.watched_days, row.looked_for, row.counted, row.percent) == (None, "not-said", "it", None)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"watched_days": "a month"}, "'watched_days' is 'a month'; use a whole number or nothing."),
        ({"looked_for": "seen"}, f"'looked_for' is 'seen'; use {', '.join(LOOKED_FOR)}."),
        ({"counted": "all"}, f"'counted' is 'all'; use {', '.join(COUNTED)}."),
        ({"percent": "101"}, "'percent' is '101'; use a number from 0 to 100, or nothing."),
        ({"percent": "nan"}, "'percent' is 'nan'; use a number from 0 to 100, or nothing."),
    ],
)
def test_a_field_that_cannot_be_is_told_with_its_row(cells, said):
    rows, problems = published(table(**cells), file="r.csv")
    assert rows == []
    assert [str(problem) for problem in problems] == [f"r.csv, row 2: {said}"]


# --- in the documents -----------------------------------------------------------------------------

NEEDLING = Plan(
    "R-1", date(2026, 11, 25), "en-GB", planned=("microneedling",), site="left cheek", region="cheek",
    strata={"skin_type": "V"}, factors=("darker-skin",), indication="rolling",
    sessions=2, condition="dipped scars from acne", reason="Tight bands pull your scars down.",
    clinician="Dr Invented", clinician_role="skin doctor",
)  # fmt: skip


def context_of_needling():
    place = pipeline.open_workplace(shipped.demo_clinic())
    matches = match(NEEDLING, place.library, place.clinic.care)
    rates = answer_all(NEEDLING, place.library, place.clinic, matches, None)
    catalogue = load("en-GB", (), where="test")
    return make_context(Inputs(NEEDLING, place.library, place.clinic, matches, rates, catalogue))


def words(nodes) -> str:
    return " ".join(text_of(each.runs) for each in nodes)


def test_the_form_says_what_the_study_saw_in_whom_and_for_how_long_it_looked():
    said = words(figure_cell(context_of_needling(), HARM).content)
    assert said == (
        "We do not have a reliable figure. A study saw it in 5 of 30 people. That is too few to be sure. "
        "This is from a study, not our clinic. It was in people with light to dark brown skin whose acne "
        "scars were treated with a needle roller. They were watched for 30 days."
    )


def test_the_gain_of_the_same_study_has_no_figure_and_the_record_says_why():
    ctx = context_of_needling()
    assert words(figure_cell(ctx, GAIN).content) == "We do not have a reliable figure."
    (table_,) = record_rejected(ctx)
    lines = "\n".join(words(cell.content) for row in table_.rows for cell in row)
    assert "dogra2014, 26 of 30 people: it counts only some of those who had it" in lines
    assert "dogra2014, 5 of 30 people: 5 of 30 leaves the true figure too open for so few events" in lines


def test_the_record_and_the_list_of_sources_name_the_study_that_was_told():
    ctx = context_of_needling()
    (table_,) = record_figures(ctx)
    lines = "\n".join(words(cell.content) for row in table_.rows for cell in row)
    assert "Told as what a study saw, not as a rate: 5 of 30 people" in lines and "dogra2014: in" in lines
    assert "Microneedling for acne scars in Asian skin" in words(figure_sources(ctx)[-1].items)
