"""Cells and rows of a spreadsheet at their borders, and what a store writes. All of them are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from test_rows import COLUMNS, GOOD, HEADERS, READER, READING, read

from consentpack.model import Measurement
from consentpack.register.cells import (
    LARGEST_COUNT,
    BadCell,
    Marked,
    is_keepable,
    read_count,
    read_number,
    shortened,
    visible,
)
from consentpack.register.cells_taken import NOT_AS_SHOWN
from consentpack.register.columns import FIELDS
from consentpack.register.doubting import Doubt, doubts
from consentpack.register.limits import CELL_LETTERS
from consentpack.register.orders import order_shown
from consentpack.register.rows import (
    Aside,
    SetAside,
    is_blank,
)
from consentpack.register.treatment import Treatment, from_json

# --- cells ----------------------------------------------------------------------------------------


def test_the_largest_count_has_six_figures():
    assert read_count("999999") == 999_999 == LARGEST_COUNT
    assert read_count("1") == 1
    for typed in ("1000000", "0"):
        with pytest.raises(BadCell):
            read_count(typed)


@pytest.mark.parametrize(
    ("cell", "order", "fits"),
    [
        ("25/11/2026", "day-first", "day-first"),
        ("25/11/2026", "month-first", "day-first"),
        ("11/25/2026", "day-first", "month-first"),
        ("3/13/2026", "month-first", "month-first"),
        ("03/04/2026", "day-first", None),  # both
        ("30/30/2026", "day-first", None),  # neither
        ("30/02/2026", "month-first", None),
        ("25/11/2026", "year-first", None),  # nothing is taken for it
        ("2026-11-25", "day-first", None),
        ("25/11/26", "day-first", None),
        ("25/11/026", "day-first", None),
        ("025/11/2026", "day-first", None),
        ("25 November", "day-first", None),
        ("", "day-first", None),
    ],
)
def test_an_order_of_day_and_month_is_shown_by_a_date_that_only_it_fits(cell, order, fits):
    assert order_shown(cell, order) == fits


def test_a_bad_cell_is_shown_up_to_200_letters():
    assert shortened(f"  {'a' * 200} ") == "a" * 200
    assert shortened("a" * 201) == "a" * 200 + "…"
    assert shortened("a\x00b") == "a\N{REPLACEMENT CHARACTER}b" == visible("a\x07b")


@pytest.mark.parametrize(
    ("text", "kept"), [("a\tb\nc\rd", True), ("é😀", True), ("\x00", False), ("a\x1b", False),
                       ("\ud83d", False), ("", True)]
)  # fmt: skip
def test_line_breaks_can_be_kept_and_signs_of_control_cannot(text, kept):
    assert is_keepable(text) is kept


def test_a_marked_cell_is_shown_as_itself_unless_its_file_says_otherwise():
    assert (Marked.of("7"), Marked.of("7").fault, Marked.of("7").shown) == ("7", "", "7")
    assert Marked.of("7", shown="007").shown == "007"
    assert Marked.of("7", shown=None).shown is None
    assert Marked.of("", fault="has no value").fault == "has no value"


def test_a_number_has_one_point_or_comma_and_ends_with_a_figure():
    assert (read_number("0,5"), read_number("12"), read_number("")) == (0.5, 12.0, None)
    for typed in ("0,5,1", "1 2", "5,"):
        with pytest.raises(BadCell):
            read_number(typed)


# --- rows -----------------------------------------------------------------------------------------


def cells(**changes: str) -> list[str]:
    row = GOOD | {name.replace("_", " "): cell for name, cell in changes.items()}
    return [row[header] for header in HEADERS]


def reason(**changes: str) -> str:
    found = read(**changes)
    assert isinstance(found, list), found
    return found[0].reason


def test_a_row_is_taken_or_set_aside_with_the_treatment_it_is_of():
    assert READER.take(7, cells()) == read()
    bad = SetAside(7, "Area", "", "is blank.")
    assert READER.take(7, cells(Area="")) == Aside((bad,), ("T-1", 1))
    assert READER.take(7, cells(Area="", Visit="x")).key is None
    assert READER.take(7, cells(Area="", Case_no=" ")).key is None
    assert READER.key(["T-1"]) is None  # the row ends before its session
    assert READER.key(["T-1", "2"]) == ("T-1", 2)


def test_cells_beyond_the_headers_keep_a_row_out_only_when_one_holds_something():
    too_many = "the row has more cells than the header row; is there a comma inside a cell?"
    assert READER.read(7, [*cells(), "", "x"]) == [SetAside(7, "", "", too_many)]
    assert READER.read(7, [*cells(), "", " "]) == read()


def test_a_column_that_is_not_there_is_named_by_its_field():
    fields = {name: at for name, at in COLUMNS.fields.items() if name != "site"}
    reader = replace(READER, columns=replace(COLUMNS, fields=fields))
    assert reader.read(7, cells()) == [SetAside(7, "site", "", "is blank.")]


def test_a_row_that_ends_early_lacks_what_it_lacks():
    assert READER.read(7, cells()[:4]) == [SetAside(7, "Area", "", "is blank.")]


def test_whoever_was_seen_on_the_day_itself_was_watched_for_no_day():
    assert read(Last_seen="03/04/2026").watched_days == 0
    assert read(Last_seen="04/04/2026").watched_days == 1
    assert read(Last_seen="25/11/2026").watched_days == 236  # today, counted in days
    assert reason(Last_seen="02/04/2026") == "is before the day of the treatment."
    assert reason(Last_seen="26/11/2026") == "is in the future."


def test_a_cell_is_as_long_as_a_spreadsheet_keeps_it():
    assert read(By="a" * CELL_LETTERS).operator == "a" * CELL_LETTERS
    assert reason(By="a" * (CELL_LETTERS + 1)) == "is longer than 32767 characters."
    assert CELL_LETTERS == 32_767


def test_what_no_database_keeps_and_what_its_file_cannot_say_keeps_a_row_out():
    assert reason(By="a\x00") == "holds a character that cannot be kept; type the cell again."
    assert reason(By=Marked.of("", fault="is a formula without its value")) == (
        "is a formula without its value."
    )
    assert read(By=Marked.of("AQ")).operator == "AQ"


def test_a_reference_is_kept_as_the_sheet_shows_it():
    assert read(Case_no=Marked.of("7", shown="007")).case == "007"
    assert read(Case_no=Marked.of("7")).case == "7"
    assert reason(Case_no=Marked.of("7", shown=None)) == f"{NOT_AS_SHOWN}."
    assert reason(Case_no=Marked.of("7", shown=" ")) == "is blank."


def test_capitals_matter_only_where_two_words_of_a_clinic_differ_by_them():
    own = {"LA": "local-infiltration", "la": "blunt-cannula", "Fan": "needle-fan-one-entry"}
    reader = replace(READER, reading=replace(READING, words=own))
    for typed, meant in own.items():
        assert read(reader, Done=typed).techniques == (meant,)
    assert read(reader, Done="FAN").techniques == ("needle-fan-one-entry",)


def test_three_techniques_stand_in_one_order_whatever_was_typed():
    names = ("blunt-cannula", "local-infiltration", "needle-fan-one-entry")
    for typed in (names, names[::-1], (names[1], names[2], names[0], names[1])):
        assert read(Done=";".join(typed)).techniques == names


def test_the_highest_grade_counts_where_a_column_and_the_list_both_speak():
    covering = replace(READER, reading=replace(READING, list_covers=("bruising", "swelling")))
    assert read(covering, Bruise="severe", Seen="bruising").outcomes == {"bruising": 3, "swelling": 0}
    assert read(covering, Bruise="no", Seen="bruising").outcomes == {"bruising": 1, "swelling": 0}
    assert read(covering, Bruise="", Seen="none").outcomes == {"bruising": 0, "swelling": 0}
    assert read(covering, Bruise="", Seen="NIL").outcomes == {"bruising": 0, "swelling": 0}
    assert read(covering, Bruise="", Seen="").outcomes == {}
    assert read(covering, Bruise="", Seen="infection").outcomes == {
        "bruising": 0, "swelling": 0, "infection": 1,
    }  # fmt: skip


GAUGE = Measurement("gauge", "gauge", (18, 30), "release work", whole=True)  # no unit


def test_a_measurement_is_read_with_its_unit_or_without_and_whole_where_it_must_be():
    assert read(Needle="22G").measurements == read(Needle="22 g").measurements == {"gauge": 22}
    assert read(Needle="G").measurements == {}  # its unit alone says nothing
    assert reason(Needle="22.5") == "is not a whole number of 1 or more."
    assert read(Gel="0,5 ml").measurements == {"volume_ml": 0.5}
    bare = replace(READER, reading=replace(READING, measurements={"gauge": GAUGE}))
    assert read(bare, Needle="22").measurements == {"gauge": 22}
    assert read(bare, Needle="").measurements == {}
    assert isinstance(read(bare, Needle="22G"), list)


def made(**more) -> Treatment:
    usual = {"outcomes": {"bruising": 1, "infection": 0}, "watched_days": 14, "operator": "AQ"}
    return Treatment("T", 1, date(2026, 4, 3), ("blunt-cannula",), "chin", **{**usual, **more})


def test_one_content_has_one_digest_in_whatever_order_and_type_it_came():
    assert made(outcomes={"infection": 0, "bruising": 1}).digest == made().digest
    assert made(measurements={"gauge": 22}).digest == made(measurements={"gauge": 22.0}).digest
    assert made(measurements={"gauge": 22}).digest != made().digest
    assert from_json(made().as_json()) == made()


def test_what_is_unusual_is_doubted_with_what_is_usual():
    asked = {"gauge": GAUGE, "volume_ml": READING.measurements["volume_ml"], "x": Measurement("x", "x")}
    of = {"gauge": 31.0, "volume_ml": 0.021, "x": 9.0}
    assert doubts(7, made(measurements=of), asked) == [
        Doubt(7, "gauge", "31 is unusual (gauge); usual is 18 to 30: release work"),
        Doubt(
            7, "volume_ml", "0.021 ml is unusual (millilitres injected); usual is 0 to 0.02: a small place"
        ),
    ]
    for value in (18.0, 30.0):
        assert doubts(7, made(measurements={"gauge": value}), asked) == []


def test_a_cell_whose_value_is_missing_is_not_blank():
    assert is_blank(["", " ", Marked.of(" ")])
    assert not is_blank(["", Marked.of("", fault="is a formula without its value")])


def test_what_a_column_may_hold_is_what_every_sheet_has_and_what_the_field_adds():
    named = READING.fields
    assert named == {
        **FIELDS,
        "skin_type": "skin type",
        "gauge": "gauge",
        "volume_ml": "millilitres injected",
    }
