"""A spreadsheet as it is: one rule of reading each, in a CSV file and in a workbook. All rows are invented.

Nothing here is a guess: what could mean two things is asked about, or sets its row aside.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.utils.datetime import MAC_EPOCH
from support import FIELDS, READING, cases, contents, load, seen

from consentpack.errors import RegisterError
from consentpack.model import Stratum
from consentpack.register import Register, open_register

HEADERS = [*FIELDS, "bruising"]
SETTINGS = settings(derandomize=True, deadline=None, suppress_health_check=list(HealthCheck))
DAY_FIRST, MONTH_FIRST = (replace(READING, date_order=order) for order in ("day-first", "month-first"))
UNSAID = replace(READING, date_order=None)


@pytest.fixture
def register(tmp_path: Path):
    """SQLite alone: how a file is read is the same for every database."""
    made = open_register(f"sqlite:///{tmp_path / 'register.sqlite'}", create=True)
    yield made
    made.engine.dispose()


def as_csv(path: Path, *sheets: list[list[Any]]) -> Path:
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows(sheets[0])
    path.with_suffix(".csv").write_bytes(stream.getvalue().encode())
    return path.with_suffix(".csv")


def as_workbook(path: Path, *sheets: list[list[Any]]) -> Path:
    book = Workbook()
    book.remove(book.active)
    for number, rows in enumerate(sheets, 1):
        sheet = book.create_sheet(f"Sheet {number}")
        for at, row in enumerate(rows, 1):
            for column, cell in enumerate(row, 1):
                if cell != "":
                    made = sheet.cell(at, column)
                    made.value = cell
                    if isinstance(cell, str) and not cell.startswith("="):
                        made.data_type = "s"
    book.save(path.with_suffix(".xlsx"))
    return path.with_suffix(".xlsx")


@pytest.fixture(params=[as_csv, as_workbook], ids=["csv", "xlsx"])
def saved(request, tmp_path: Path):
    """Rows as a file of each kind."""
    return lambda *sheets: request.param(tmp_path / "audit", *sheets)


def row(case="A", **cells: Any) -> list[Any]:
    usual = {
        "session": "1",
        "date": "2026-01-05",
        "techniques": "blunt-cannula",
        "site": "chin",
        "bruising": "no",
    }
    return [case, *(usual | cells).values()]


def days(register: Register) -> list[date]:
    return [held["day"] for _, held in sorted(contents(register).items())]


# --- where the table is ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "above",
    [
        [["Audit of 2026 (invented)"]],
        [["Audit of 2026 (invented)"], ["kept by the desk"], []],
        [["", "", "Date printed: 3 May"], []],
    ],
)
def test_headers_below_a_title_are_found(register, saved, above):
    result = load(register, saved([*above, HEADERS, row("A"), row("B", bruising="hm")]))
    assert (result.added, result.place.header_rows) == (1, (len(above) + 1,))
    assert [item.row for item in result.set_aside] == [len(above) + 3]


def test_an_empty_first_column_is_no_obstacle(register, saved):
    assert load(register, saved([["", *HEADERS], ["", *row("A")]])).added == 1


def test_headers_in_two_lines_are_joined_and_merged_ones_spread(register, saved):
    upper = ["Case", "Session", "Treatment", "", "", "Seen", "", "Last"]
    lower = ["", "", "Date", "Technique", "Site", "bruising", "infection", "seen"]
    cells = ["A", "1", "2026-01-05", "blunt-cannula", "chin", "yes", "no", "2026-02-05"]
    columns = {"Case": "case", "Session": "session", "Treatment Date": "date", "Technique": "techniques",
               "Site": "site", "Last seen": "last_seen"}  # fmt: skip
    result = load(register, saved([["Our audit"], upper, lower, cells]), columns=columns)
    assert result.place.header_rows == (2, 3)
    (held,) = contents(register).values()
    assert (held["outcomes"], held["watched_days"]) == ({"bruising": 1, "infection": 0}, 31)


def test_a_birth_above_a_date_is_no_day_of_treatment(register, saved):
    upper = ["", "", "Birth", "", "", ""]
    columns = {
        "Case": "case",
        "Visit": "session",
        "Technique": "techniques",
        "Area": "site",
        "Bruise": "bruising",
    }
    lower = ["Case", "Visit", "Date", "Technique", "Area", "Bruise"]
    with pytest.raises(RegisterError, match="'Birth Date' looks as if it says who a patient is"):
        load(register, saved([upper, lower, row("A")]), columns=columns)


def test_a_first_row_that_says_all_is_the_headers_whatever_stands_below(register, saved):
    """As it was before anything was looked for: a row that repeats the headers is no better one."""
    result = load(register, saved([HEADERS, row("A"), HEADERS, row("B")]))
    assert (result.place.header_rows, cases(register)) == ((1,), ["A", "B"])
    assert [(left.kind, left.rows) for left in result.left_out] == [("headers", (3,))]


def test_of_several_sheets_the_one_that_looks_like_the_audit_is_read_and_named(register, tmp_path):
    path = as_workbook(tmp_path / "a", [["Notes"], ["call the printer"]], [["Audit"], HEADERS, row("A")])
    result = load(register, path)
    assert (result.added, result.place.sheet, result.place.others) == (1, "Sheet 2", ())


def test_a_second_sheet_of_treatments_is_named_and_can_be_asked_for(register, tmp_path):
    from consentpack.register import Wanted

    path = as_workbook(tmp_path / "a", [HEADERS, row("A")], [HEADERS, row("B")])
    assert load(register, path).place.others == ("Sheet 2",)
    assert load(register, path, wanted=Wanted("sheet 2")).place.sheet == "Sheet 2"
    assert load(register, path, wanted=Wanted("2")).unchanged == 1
    assert cases(register) == ["A", "B"]
    with pytest.raises(RegisterError, match=r"there is no sheet 'Sheet 3'.\n.*Sheet 1, Sheet 2"):
        load(register, path, wanted=Wanted("Sheet 3"))


def test_the_row_of_the_headers_can_be_said(register, saved):
    from consentpack.register import Wanted

    path = saved([HEADERS, row("A"), HEADERS, row("B")])
    assert load(register, path, wanted=Wanted(header_rows=(3,))).added == 1
    assert cases(register) == ["B"]
    with pytest.raises(RegisterError, match="there are no headers in row 9"):
        load(register, path, wanted=Wanted(header_rows=(9,)))


@pytest.mark.parametrize("sign", [";", "\t"])
def test_a_title_does_not_hide_what_stands_between_cells(register, tmp_path, sign):
    path = tmp_path / "audit.csv"
    path.write_text("\n".join(["Audit, all of it, 2026", sign.join(HEADERS), sign.join(row("A"))]))
    assert load(register, path).added == 1


# --- rows that are no treatments ------------------------------------------------------------------


@pytest.mark.parametrize(
    "totals",
    [
        ["Total", "2", "", "", "", "1"],
        ["", "", "", "", "Sum:", "2"],
        ["Total treated: 2", "", "", "", "", ""],
        ["=COUNTA(A2:A3)", "", "", "", "", "=SUM(F2:F3)"],
        ["razem", "2", "", "", "", "50%"],
    ],
)
def test_totals_are_left_out_and_counted(register, saved, totals):
    result = load(register, saved([HEADERS, row("A"), row("B"), totals]))
    assert (result.read, result.added, result.rows_set_aside) == (2, 2, 0)
    assert [(left.kind, left.times, left.rows) for left in result.left_out] == [("totals", 1, (4,))]


@pytest.mark.parametrize(
    "cells",
    [
        row("Total"),  # a case may be called so
        row("Total", bruising="hm"),
        ["A", "=COUNTIF(A2:A9,A2)", "soon", "blunt-cannula", "chin", "no"],
        ["B", "", "", "", "", ""],
        ["A", "1", "", "", "", "no"],
    ],
)
def test_a_row_that_may_be_a_treatment_is_never_left_out(register, saved, cells):
    result = load(register, saved([HEADERS, row("Z"), cells]))
    assert result.left_out == ()
    assert result.read == 2


def test_empty_rows_and_notes_are_left_out_and_counted(register, saved):
    path = saved([HEADERS, row("A"), [], [""] * 6, row("B"), [], ["Ask the desk about these"]])
    result = load(register, path)
    assert (result.read, result.added) == (2, 2)
    found = {left.kind: (left.times, left.rows) for left in result.left_out}
    assert found == {"empty": (3, (3, 4, 6)), "note": (1, (7,))}


# --- days -----------------------------------------------------------------------------------------

SEVENTH = date(2023, 11, 7)


@pytest.mark.parametrize(
    "typed",
    [
        "7.11.23", "07 Nov 2023", "2023-11-07", "7/11/23", "45237", "7 November 2023", "Nov 7, 2023",
        "7-Nov-23", "07/11/2023 14:30", "2023-11-07 00:00:00", "7. 11. 2023", "20231107", "45237.5",
        "Tue 7 Nov 2023", "'7/11/2023",
        "7 de noviembre de 2023", "7 novembre 2023", "7 listopada 2023 r.", "7 tháng 11, 2023",
        "2023年11月7日", "٧ نوفمبر ٢٠٢٣",
    ],
)  # fmt: skip
def test_a_day_is_read_in_the_forms_people_type(register, saved, typed):
    result = load(register, saved([HEADERS, row("A", date=typed)]), reading=DAY_FIRST)
    assert days(register) == [SEVENTH]
    told = [(each.word, each.read_as) for each in result.repairs]
    assert told == ([] if typed == "2023-11-07" else [(typed, "2023-11-07")])


def test_the_number_of_a_day_is_read_as_its_file_counts_days(register, tmp_path):
    """ECMA-376-1, 18.17.4.1: 43775 is 2023-11-07 where days are counted from 1904."""
    book = Workbook()
    book.epoch = MAC_EPOCH
    book.active.append(HEADERS)
    book.active.append(row("A", date=43775))
    book.active.append(row("B", date="43775"))
    book.save(tmp_path / "a.xlsx")
    result = load(register, tmp_path / "a.xlsx", reading=DAY_FIRST)
    assert days(register) == [SEVENTH]
    assert [item.row for item in result.set_aside] == [3]  # a text may be of either count


@pytest.mark.parametrize("typed", ["Nov 2023", "7/11", "8 Smarch 2023", "7 Nov or 8 Nov 2023", "32.1.23",
                                   "999", "31 Feb 2023", "7 Nov 2023 or so", "20231307"])  # fmt: skip
def test_what_is_no_day_sets_its_row_aside(register, saved, typed):
    result = load(register, saved([HEADERS, row("A", date=typed), row("B")]), reading=DAY_FIRST)
    assert ([item.row for item in result.set_aside], cases(register)) == ([2], ["B"])


def test_a_short_year_is_not_read_where_the_year_stands_first(register, saved):
    """08.09.23 would be of the year 2008."""
    assert load(register, saved([HEADERS, row("A", date="08.09.23")])).rows_set_aside == 1


def test_short_years_that_stand_first_stop_the_file(register, saved):
    rows = [row(f"C{n}", date=f"23-11-{n}") for n in (8, 28, 29, 30)]
    with pytest.raises(RegisterError, match="seem to be typed year-first"):
        load(register, saved([HEADERS, *rows]), reading=DAY_FIRST)


@pytest.mark.parametrize("short", [False, True])
@pytest.mark.parametrize(("order", "form"), [("day-first", "{d}/{m}/{y}"), ("month-first", "{m}/{d}/{y}")])
def test_without_a_word_from_the_clinic_a_column_may_tell_its_order(register, saved, order, form, short):
    typed = [date(2023, 4, 3), date(2023, 5, 25), date(2023, 6, 9)]
    made = [form.format(d=d.day, m=d.month, y=d.year - 2000 if short else d.year) for d in typed]
    load(register, saved([HEADERS, *(row(f"C{n}", date=day) for n, day in enumerate(made))]), reading=UNSAID)
    assert days(register) == typed


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (["3/4/2023", "5/6/2023"], "2 can be read in more than one order (rows 2, 3)"),
        (
            ["3/4/2023", "25/4/2023", "4/25/2023"],
            "1 fit only day-first (row 3), 1 fit only month-first (row 4)",
        ),
        (["23/11/07", "23/11/08"], "2 can be read in more than one order"),
    ],
)
def test_where_no_column_tells_the_clinic_is_asked_and_nothing_goes_in(register, saved, typed, told):
    with pytest.raises(RegisterError) as caught:
        load(
            register,
            saved([HEADERS, *(row(f"C{n}", date=day) for n, day in enumerate(typed))]),
            reading=UNSAID,
        )
    (problem,) = caught.value.problems
    assert (
        "nothing tells whether day or month stands first in 'date'" in problem.what and told in problem.what
    )
    assert 'dates = "day-first"' in problem.fix and 'dates = "month-first"' in problem.fix
    assert cases(register) == []


def test_days_that_need_no_order_raise_no_question(register, saved):
    typed = ["2023-11-07", "7 Nov 2023", "45237", "5/5/2023"]
    load(register, saved([HEADERS, *(row(f"C{n}", date=day) for n, day in enumerate(typed))]), reading=UNSAID)
    assert days(register) == [SEVENTH] * 3 + [date(2023, 5, 5)]


FORMS = [
    "{d}/{m}/{y}",
    "{m}/{d}/{y}",
    "{d}.{m}.{s:02}",
    "{m}/{d}/{s:02}",
    "{d:02}-{m:02}-{s:02}",
    "{y}-{m:02}-{d:02}",
]
SOME_DAYS = st.lists(st.tuples(st.dates(date(2015, 1, 1), date(2026, 11, 1)), st.integers(0, 5)), max_size=6)


def _typed(day: date, form: int) -> str:
    return FORMS[form].format(d=day.day, m=day.month, y=day.year, s=day.year - 2000)


@SETTINGS
@given(SOME_DAYS)
@example([(date(2023, 4, 3), 0), (date(2023, 5, 25), 1)])
def test_day_and_month_are_never_swapped_in_silence(tmp_path_factory, typed):
    """Whatever forms stand in a column: with no order said, each day goes in as it was meant, or all is
    asked about; or else every one of the column could be of the order that was found."""
    folder = tmp_path_factory.mktemp("sheet")
    register = open_register(f"sqlite:///{folder}/r.sqlite", create=True)
    path = as_csv(
        folder / "a", [HEADERS, *(row(f"C{n}", date=_typed(*each)) for n, each in enumerate(typed))]
    )
    try:
        load(register, path, reading=UNSAID)
    except RegisterError:
        assert cases(register) == []
        return
    finally:
        held = {case: each["day"] for (case, _), each in contents(register).items()}
        register.engine.dispose()
    wrong = [day for n, (day, _) in enumerate(typed) if held.get(f"C{n}", day) != day]
    if wrong:  # nobody could know: read the other way round, every date of the column is a day as well
        orders = {form % 2 for _, form in typed if form < 4}
        assert len(orders) == 2 or {form for _, form in typed} & {4}
        assert len({_way(day, form, held.get(f"C{n}")) for n, (day, form) in enumerate(typed)} - {None}) == 1


def _way(day: date, form: int, held: date | None) -> str | None:
    """In which order a typed day was read; None where it tells none."""
    if held is None or form == 5 or day.day == day.month:
        return None
    first, second = (day.month, day.day) if form in (1, 3) else (day.day, day.month)
    return "day-first" if (held.day, held.month) == (first, second) else "month-first"


@SETTINGS
@given(st.dates(date(2001, 1, 1), date(2026, 11, 1)), st.sampled_from(["day-first", "month-first"]))
def test_a_day_in_a_declared_order_comes_back_in_every_form(day, order):
    from consentpack.register.days import read_day

    first, second = (day.day, day.month) if order == "day-first" else (day.month, day.day)
    for text in (
        f"{first}/{second}/{day.year}", f"{first}.{second}.{day:%y}", f"{first:02}-{second:02}-{day:%y}",
        f"{day:%d %b %Y}", f"{day:%B} {day.day}, {day.year}", f"{day:%d-%b-%y}", f"{day:%Y%m%d}",
        f"{day} 09:30", str((day - date(1899, 12, 30)).days),
    ):  # fmt: skip
        assert read_day(text, order)[0] == day, text


# --- cells ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "grade"),
    [
        ("✓", 1), ("✔", 1), ("Present", 1), ("POS", 1), ("oui", 1), ("Sí", 1),
        ("tak", 1), ("có", 1), ("是", 1), ("not seen", 0), ("Nil", 0), ("absent", 0), ("nie", 0),
        ("1.0", 1), ("2,0", 2),
        ("?", None), ("N/K", None), ("not known", None), ("n/a", None), ("-", None), ("Unknown", None),
    ],
)  # fmt: skip
def test_usual_words_for_yes_no_and_not_known_are_read_and_told(register, saved, typed, grade):
    result = load(register, saved([HEADERS, row("A", bruising=typed), row("B", bruising=typed)]))
    assert seen(register) == [grade, grade]
    (repair,) = result.repairs
    assert (repair.column, repair.word, repair.times, repair.rows) == ("bruising", typed, 2, (2, 3))


@pytest.mark.parametrize("typed", ["✗", "maybe", "yes?", "no?", "++", "see notes", "6", "y/n"])
def test_what_could_be_either_sets_its_row_aside(register, saved, typed):
    assert load(register, saved([HEADERS, row("A", bruising=typed)])).rows_set_aside == 1


def test_the_clinics_own_words_may_say_yes_no_or_not_recorded(register, saved):
    own = replace(READING, words={"✗": "no", "X": "No", "lost": "not recorded", "big": "severe"})
    rows = [row(f"C{n}", bruising=word) for n, word in enumerate(("✗", "x", "LOST", "big"))]
    result = load(register, saved([HEADERS, *rows]), reading=own)
    assert seen(register) == [0, 0, None, 3]
    assert result.repairs == ()  # the clinic said so itself


def test_repairs_are_told_by_word_with_their_number(register, saved):
    rows = [row(f"C{n}", bruising="?" if n % 2 else "no") for n in range(62)]
    (repair,) = load(register, saved([HEADERS, *rows])).repairs
    assert repair.told() == "'?' stands in bruising 31 times: read as not recorded."


def test_nothing_is_told_of_a_row_that_did_not_go_in(register, saved):
    assert load(register, saved([HEADERS, row("A", bruising="?", site="")])).repairs == ()


def test_not_known_is_read_so_wherever_a_cell_may_be_blank_and_nowhere_else(register, saved):
    headers = [*HEADERS, "skin_type", "gauge", "last_seen", "noticed:bruising"]
    good = [*row("A", bruising="?"), "?", "n/k", "not known", "-"]
    result = load(
        register, saved([headers, good, row("?", bruising="?"), row("B", techniques="?"), row("C", date="?")])
    )
    assert cases(register) == ["?", "A"]  # a case is kept as it is typed
    assert {item.column for item in result.set_aside} == {"techniques", "date"}
    assert len(result.repairs) == 5


NUMBERED = replace(
    READING,
    strata={"skin_type": Stratum("skin_type", "skin type", ("I", "II", "III", "IV"), "", numbered=True)},
)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("2", "II"),
        (2, "II"),
        ("2.0", "II"),
        ("type 2", "II"),
        ("Skin type iv", "IV"),
        ("ii", "II"),
        ("4", "IV"),
    ],
)
def test_a_number_stands_for_a_value_where_the_field_says_so(register, saved, typed, value):
    load(register, saved([[*HEADERS, "skin_type"], [*row("A"), typed]]), reading=NUMBERED)
    assert contents(register)["A", 1]["skin_type"] == value


@pytest.mark.parametrize(
    ("reading", "typed"),
    [(READING, "2"), (NUMBERED, "5"), (NUMBERED, "0"), (NUMBERED, "2-3"), (NUMBERED, "age 2")],
)
def test_a_number_that_stands_for_nothing_sets_its_row_aside(register, saved, reading, typed):
    result = load(register, saved([[*HEADERS, "skin_type"], [*row("A"), typed]]), reading=reading)
    assert result.rows_set_aside == 1


@pytest.mark.parametrize(
    ("column", "typed", "number"),
    [
        ("session", "2.0", 2), ("session", "2nd", 2), ("session", "visit 2", 2), ("session", "#2", 2),
        ("session", "No. 2", 2), ("gauge", "22 gauge", 22), ("gauge", "G22", 22), ("gauge", "22.0", 22),
        ("gauge", "'22", 22), ("volume_ml", ".02", 0.02), ("volume_ml", "0,02 ml", 0.02),
        ("volume_ml", "0.02 millilitres", 0.02),
    ],
)  # fmt: skip
def test_numbers_as_text_are_read(register, saved, column, typed, number):
    headers = [*HEADERS, "gauge", "volume_ml"]
    cells = dict(zip(headers, [*row("A"), "", ""], strict=True)) | {column: typed}
    load(register, saved([headers, list(cells.values())]))
    (((_, session), held),) = contents(register).items()
    assert {"session": session, **held}[column] == number


@pytest.mark.parametrize(("column", "typed"), [
    ("gauge", "yes"), ("gauge", "22 or 25"), ("gauge", "22.5"), ("volume_ml", "about 1"),
    ("volume_ml", "1-2"), ("volume_ml", "<1"), ("volume_ml", "infected"), ("session", "1 and 2"),
    ("session", "2.5"),
])  # fmt: skip
def test_a_number_with_more_to_it_sets_its_row_aside(register, saved, column, typed):
    headers = [*HEADERS, "gauge", "volume_ml"]
    cells = dict(zip(headers, [*row("A"), "", ""], strict=True)) | {column: typed}
    assert load(register, saved([headers, list(cells.values())])).rows_set_aside == 1


# --- words for techniques -------------------------------------------------------------------------

TALKING = replace(
    READING,
    words={
        "cannula + gel": "blunt-cannula; filler-after-release",
        "LA": "local-infiltration",
        "gel": "filler-after-release",
    },
    names={"blunt-cannula": ("release with a blunt cannula",)},
)
CANNULA, GEL, LOCAL = "blunt-cannula", "filler-after-release", "local-infiltration"


@pytest.mark.parametrize(
    ("typed", "ids"),
    [
        ("cannula + gel", {CANNULA, GEL}), ("CANNULA + Gel", {CANNULA, GEL}), ("Blunt Cannula", {CANNULA}),
        ("blunt_cannula", {CANNULA}), ("BLUNT-CANNULA", {CANNULA}), ("blunt-cannula, la", {CANNULA, LOCAL}),
        ("blunt cannula and gel", {CANNULA, GEL}), ("LA then blunt cannula / gel", {CANNULA, GEL, LOCAL}),
        ("Release with a blunt cannula (LA)", {CANNULA, LOCAL}), ("la", {LOCAL}),
    ],
)  # fmt: skip
def test_words_for_techniques_are_read_when_each_is_accounted_for(register, saved, typed, ids):
    load(register, saved([HEADERS, row("A", techniques=typed)]), reading=TALKING)
    assert set(contents(register)["A", 1]["techniques"].split("+")) == ids


@pytest.mark.parametrize(
    "typed",
    ["blunt cannula?", "blunt cannula without gel", "blunt cannula, no gel", "blunt cannula x2", "cannula",
     "blunt cannula and laser", "gel or LA", "blunt cannula not done", "and", "cannula + laser"],
)  # fmt: skip
def test_a_word_that_nobody_knows_sets_its_row_aside(register, saved, typed):
    assert load(register, saved([HEADERS, row("A", techniques=typed)]), reading=TALKING).rows_set_aside == 1


# --- columns --------------------------------------------------------------------------------------


def test_an_ignored_column_that_is_missing_does_not_stop(register, saved):
    assert load(register, saved([HEADERS, row("A")]), columns={"Notes": "ignore", "Age": "ignore"}).added == 1


@pytest.mark.parametrize(
    ("header", "meaning"),
    [("Hospital visit", "session"), ("Needle name", "techniques"), ("Address of scar", "site"),
     ("Operator name", "operator"), ("Age of scar", "gauge")],
)  # fmt: skip
def test_a_column_mapped_by_hand_is_not_taken_for_an_identity_by_a_word(register, saved, header, meaning):
    headers = [*HEADERS, "gauge", "operator"]
    at = headers.index(meaning)
    cells = [*row("A"), "22", "AQ"]
    headers[at] = header
    path = saved([headers, cells])
    assert load(register, path, columns={header: meaning}).added == 1
    with pytest.raises(RegisterError, match="who a patient is"):
        load(register, path)


@pytest.mark.parametrize(
    ("header", "meaning"),
    [("Hospital number", "case"), ("Patient name", "operator"), ("Date of birth", "date"), ("Name", "site"),
     ("NHS number", "session"), ("Patient address", "site"), ("Surname", "techniques"), ("Age", "operator")],
)  # fmt: skip
def test_no_map_makes_an_identity_of_a_patient_something_else(register, saved, header, meaning):
    headers = [*HEADERS, "operator"]
    headers[headers.index(meaning)] = header
    with pytest.raises(RegisterError, match="who a patient is"):
        load(register, saved([headers, [*row("A"), "AQ"]]), columns={header: meaning})
    assert cases(register) == []


def test_rows_set_aside_are_grouped_by_reason_with_their_first_rows(register, saved):
    rows = [row(f"C{n}", bruising="hm" if n % 2 else "so so") for n in range(20)] + [row("D", site="")]
    first, second = load(register, saved([HEADERS, *rows])).aside_groups
    assert (first.column, first.times, first.rows, first.values) == (
        "bruising",
        20,
        (2, 3, 4, 5, 6),
        ("so so", "hm"),
    )
    assert (second.times, second.told()) == (1, "row 22, site: is blank.")
