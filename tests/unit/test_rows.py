"""From a spreadsheet row to a treatment, or to everything that is wrong with it. Rows are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import support

from consentpack.register.columns import ColumnMap
from consentpack.register.doubting import doubts
from consentpack.register.rows import Reader, Reading, SetAside, Treatment, is_blank
from consentpack.register.treatment import from_json

HEADERS = (
    "Case no", "Visit", "Date", "Done", "Area", "Skin", "Last seen", "Bruise", "Infection", "Seen", "By",
    "Needle", "Gel",
)  # fmt: skip
COLUMNS = ColumnMap(
    fields={
        "case": 0, "session": 1, "date": 2, "techniques": 3, "site": 4, "skin_type": 5, "last_seen": 6,
        "outcomes_seen": 9, "operator": 10, "gauge": 11, "volume_ml": 12,
    },
    outcomes={"bruising": 7, "infection": 8},
    ignored=(),
    headers=HEADERS,
)  # fmt: skip
READING = Reading(
    date_order="day-first",
    techniques=frozenset({"blunt-cannula", "needle-fan-one-entry", "local-infiltration"}),
    outcomes=frozenset({"bruising", "infection", "swelling"}),
    strata=support.READING.strata,
    measurements=support.MEASUREMENTS,
    words={"cannula": "blunt-cannula", "Bluterguss": "bruising", "LA": "local-infiltration"},
)
READER = Reader(COLUMNS, READING, today=date(2026, 11, 25))
GOOD = {
    "Case no": "T-1", "Visit": "1", "Date": "03/04/2026", "Done": "blunt-cannula", "Area": "Left cheek",
    "Skin": "iii", "Last seen": "17/04/2026", "Bruise": "yes", "Infection": "",
    "Seen": "", "By": "", "Needle": "", "Gel": "",
}  # fmt: skip


def read(reader: Reader = READER, **changes: str) -> Treatment | list[SetAside]:
    """A good row with some cells changed; '_' in a keyword stands for a space."""
    row = GOOD | {name.replace("_", " "): cell for name, cell in changes.items()}
    assert set(row) == set(GOOD)
    return reader.read(7, [row[header] for header in HEADERS])


def test_a_good_row_is_a_treatment():
    assert read() == Treatment(
        case="T-1",
        session=1,
        day=date(2026, 4, 3),
        techniques=("blunt-cannula",),
        site="left cheek",
        strata={"skin_type": "III"},
        watched_days=14,
        outcomes={"bruising": 1},
    )


def test_a_blank_outcome_is_left_out_and_not_kept_as_no():
    assert read(Bruise="", Infection="no").outcomes == {"infection": 0}


@pytest.mark.parametrize(
    "typed",
    [
        "blunt-cannula;local-infiltration",
        "local-infiltration; blunt-cannula",
        "blunt-cannula + local-infiltration",
        "blunt-cannula | local-infiltration ;",
        "blunt-cannula;local-infiltration;blunt-cannula",
    ],
)
def test_techniques_used_together_are_the_same_in_any_order_and_separator(typed):
    assert read(Done=typed).techniques == ("blunt-cannula", "local-infiltration")
    assert read(Done=typed).digest == read(Done="blunt-cannula;local-infiltration").digest


@pytest.mark.parametrize(
    ("header", "cell", "reason"),
    [
        ("Case no", " ", "is blank."),
        ("Visit", "first", "is not a whole number of 1 or more."),
        ("Visit", "0", "is not a whole number of 1 or more."),
        ("Date", "", "is blank."),
        ("Date", "04/13/2026", "is no day of the calendar; dates here are typed 25/11/2026."),
        ("Date", "26/11/2026", "is in the future."),
        ("Done", "", "is blank; name at least one technique."),
        ("Done", " ; ", "is blank; name at least one technique."),
        ("Done", "laser", "names 'laser', which is no technique."),
        ("Area", "", "is blank."),
        ("Skin", "VII", "is no skin type; use I, II, III, IV, V, VI."),
        ("Skin", "3", "is no skin type; use I, II, III, IV, V, VI."),
        ("Last seen", "02/04/2026", "is before the day of the treatment."),
        ("Last seen", "26/11/2026", "is in the future."),
        ("Last seen", "soon", "is not a date; dates here are typed 25/11/2026."),
        (
            "Bruise",
            "slight",
            "is neither yes, no nor a grade (mild, moderate, severe, 0 to 5); leave the cell blank when "
            "it was not recorded.",
        ),
        ("Seen", "rash", "names 'rash', which is no outcome."),
        ("Needle", "wide", "is not a whole number of 1 or more."),
        ("Gel", "a drop", "is not a number."),
    ],
)
def test_a_bad_cell_keeps_the_row_out_with_row_column_value_and_reason(header, cell, reason):
    assert read(**{header.replace(" ", "_"): cell}) == [SetAside(7, header, cell.strip(), reason)]


def test_everything_that_is_wrong_with_a_row_is_told_at_once():
    found = read(Case_no="", Visit="x", Done="laser", Bruise="hm")
    assert [item.column for item in found] == ["Case no", "Visit", "Done", "Bruise"]


def test_a_bad_treatment_day_does_not_make_a_good_last_seen_day_look_bad():
    assert [item.column for item in read(Date="31/02/2026")] == ["Date"]


def test_today_is_not_the_future():
    assert read(Date="25/11/2026", Last_seen="25/11/2026").watched_days == 0


def test_a_patient_never_seen_again_was_watched_for_no_known_time():
    assert read(Last_seen="").watched_days is None


def test_a_skin_type_that_was_not_recorded_is_no_reason_to_lose_the_row():
    assert read(Skin="").strata == {}


def test_a_mistyped_technique_names_the_nearest_one():
    (found,) = read(Done="blunt-canula")
    assert "Did you mean 'blunt-cannula'?" in found.reason


def test_a_reason_ends_with_one_mark_only():
    (found,) = read(Done="blunt-canula")
    assert found.reason.endswith("'?")
    for header, cell in (("Case no", ""), ("Date", "soon"), ("Skin", "VII"), ("Seen", "brusing")):
        (found,) = read(**{header.replace(" ", "_"): cell})
        assert found.reason[-1] in ".?" and found.reason[-2] not in ".?!"


def test_a_short_row_has_blank_cells_at_its_end():
    cells = [GOOD[header] for header in HEADERS][:5]
    treatment = READER.read(2, cells)
    assert (treatment.strata, treatment.watched_days, treatment.outcomes) == ({}, None, {})


def test_a_row_with_more_cells_than_headers_is_set_aside_whatever_they_hold():
    cells = [GOOD[header] for header in HEADERS]
    (found,) = READER.read(9, [*cells, "no"])
    assert (found.row, found.column, found.value) == (9, "", "")  # which cell is too many nobody can say
    assert found.reason == "the row has more cells than the header row; is there a comma inside a cell?"
    assert READER.read(9, [*cells, "", " "]) == READER.read(9, cells)


def test_a_column_the_sheet_does_not_have_is_not_recorded():
    fields = {name: at for name, at in COLUMNS.fields.items() if name not in ("skin_type", "last_seen")}
    reader = replace(READER, columns=replace(COLUMNS, fields=fields))
    treatment = reader.read(2, [GOOD[header] for header in HEADERS])
    assert (treatment.strata, treatment.watched_days) == ({}, None)


@pytest.mark.parametrize(
    ("header", "cell"),
    [
        ("Visit", "2"), ("Date", "02/04/2026"), ("Done", "needle-fan-one-entry"), ("Area", "chin"),
        ("Skin", "IV"), ("Last seen", "18/04/2026"), ("Bruise", "no"), ("Bruise", ""),
        ("Infection", "no"), ("Bruise", "severe"), ("Seen", "swelling"), ("By", "AQ"), ("Needle", "22"),
        ("Gel", "0.01"),
    ],
)  # fmt: skip
def test_any_correction_changes_the_digest(header, cell):
    assert read(**{header.replace(" ", "_"): cell}).digest != read().digest


def test_the_way_a_cell_is_typed_does_not_change_the_digest():
    same = read(Area=" LEFT CHEEK", Skin="III ", Date="2026-04-03", Bruise="mild")
    assert same.digest == read().digest


@pytest.mark.parametrize("cells", [[], [""], ["", "  ", "\t"]])
def test_rows_of_nothing_are_known(cells):
    assert is_blank(cells)
    assert not is_blank([*cells, "0"])


def test_a_treatment_comes_back_from_its_json():
    full = read(Infection="no", Seen="swelling", By="AQ", Needle="22G", Gel="0,015")
    assert from_json(full.as_json()) == full
    assert from_json(full.as_json()).digest == full.digest
    bare = read(Skin="", Last_seen="", Bruise="")
    assert from_json(bare.as_json()) == bare


# --- the clinic's own words -----------------------------------------------------------------------


def test_the_clinics_own_words_stand_for_techniques_and_outcomes():
    assert read(Done="cannula + LA").techniques == ("blunt-cannula", "local-infiltration")
    assert read(Done="cannula;LA").digest == read(Done="blunt-cannula;local-infiltration").digest
    assert read(Bruise="", Seen="Bluterguss").outcomes == {"bruising": 1}


def test_an_own_word_for_an_outcome_is_no_technique():
    (found,) = read(Done="Bluterguss")
    assert (found.column, found.value) == ("Done", "Bluterguss")
    assert "names 'Bluterguss', which is no technique." in found.reason


# --- grades and lists -----------------------------------------------------------------------------


@pytest.mark.parametrize(("typed", "grade"), [("mild", 1), ("moderate", 2), ("severe", 3), ("4", 4)])
def test_a_grade_is_kept(typed, grade):
    assert read(Bruise=typed).outcomes == {"bruising": grade}


COVERING = replace(READER, reading=replace(READING, list_covers=("infection", "swelling")))


@pytest.mark.parametrize("typed", ["none", "No", "nil", "-"])
def test_a_list_that_says_none_says_so_of_every_outcome_it_covers(typed):
    assert read(COVERING, Bruise="", Seen=typed).outcomes == {"infection": 0, "swelling": 0}
    assert read(READER, Bruise="", Seen=typed).outcomes == {}


@pytest.mark.parametrize("typed", ["", "  ", ";", " ; ; "])
def test_a_list_that_is_blank_says_nothing(typed):
    assert read(COVERING, Bruise="", Seen=typed).outcomes == {}


def test_what_a_list_covers_and_does_not_name_was_looked_for_and_not_seen():
    assert read(COVERING, Bruise="", Seen="swelling").outcomes == {"infection": 0, "swelling": 1}
    assert read(COVERING, Bruise="", Seen="bruising;swelling").outcomes == {
        "bruising": 1, "infection": 0, "swelling": 1,
    }  # fmt: skip


def test_where_a_list_and_a_column_both_speak_seen_goes_before_not_seen():
    assert read(COVERING, Bruise="no", Seen="bruising").outcomes["bruising"] == 1
    assert read(COVERING, Infection="severe", Seen="none").outcomes["infection"] == 3
    assert read(COVERING, Infection="severe", Seen="infection").outcomes["infection"] == 3
    assert read(COVERING, Infection="", Seen="none").outcomes["infection"] == 0


def test_none_among_others_in_a_list_is_not_guessed_at():
    (found,) = read(COVERING, Seen="none; swelling")
    assert found.column == "Seen"
    assert "names 'none', which is no outcome." in found.reason


# --- doubts ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["17", "17G", "17 g", "31", "1"])
def test_an_unusual_gauge_is_doubted_and_goes_in(typed):
    found = read(Needle=typed)
    (doubt,) = doubts(7, found, READING.measurements)
    assert (doubt.row, doubt.column) == (7, "gauge")
    assert doubt.what == (
        f"{found.measurements['gauge']} G is unusual (gauge); usual is 18 to 30: release work"
    )


@pytest.mark.parametrize("typed", ["0.021", "0,021", "1.5", "20 ml"])
def test_a_lot_of_filler_is_doubted_and_goes_in(typed):
    found = read(Gel=typed)
    (doubt,) = doubts(7, found, READING.measurements)
    assert (doubt.row, doubt.column) == (7, "volume_ml")
    assert "is unusual (millilitres injected); usual is 0 to 0.02: a small place" in doubt.what


@pytest.mark.parametrize("cells", [{}, {"Needle": "18"}, {"Needle": "30G"}, {"Gel": "0.019"}, {"Gel": "0"}])
def test_what_is_usual_is_not_doubted(cells):
    assert doubts(7, read(**cells), READING.measurements) == []
