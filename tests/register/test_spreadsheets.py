"""Spreadsheet files as people save them: CSV of several countries and real workbooks. Rows are invented."""

from __future__ import annotations

import csv
import re
import zipfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from support import HEAD, READING, cases, contents, empty, line, load, numbers

from consentpack.errors import RegisterError
from consentpack.pipeline.audit import reading_of
from consentpack.register import Place, history, open_sheet

# --- CSV ------------------------------------------------------------------------------------------


def test_a_file_with_semicolons_is_read_and_may_quote_the_techniques(register):
    text = "case;session;date;techniques;site;bruising\n" + (
        'A;1;05.01.2026;"blunt-cannula;local-infiltration";chin, left;yes\n'
    )
    result = load(register, text, reading=replace(READING, date_order="day-first"))
    assert numbers(result) == (1, 1, 0, 0, 0)
    (row,) = contents(register).values()
    assert row["site"] == "chin, left"
    assert row["techniques"] == "blunt-cannula+local-infiltration"


def test_a_byte_order_mark_is_no_part_of_the_first_header(register):
    result = load(register, b"\xef\xbb\xbf" + (HEAD + line("A")).encode())
    assert numbers(result) == (1, 1, 0, 0, 0)


def test_accents_survive(register):
    load(register, HEAD + line("É-ß-1", site="Schläfe"))
    assert [(row["case_ref"], row["site"]) for row in contents(register).values()] == [("É-ß-1", "schläfe")]


def test_a_latin_1_file_is_refused_with_the_row_and_what_to_do(register):
    with pytest.raises(RegisterError) as caught:
        load(register, (HEAD + line("A") + line("B", site="Schläfe")).encode("latin-1"))
    (problem,) = caught.value.problems
    assert problem.what == "row 3 is not UTF-8 text."
    assert "CSV UTF-8" in problem.fix
    assert (cases(register), history(register)) == ([], [])


def test_a_latin_1_letter_far_below_takes_back_the_rows_above_it(register):
    rows = "".join(line(f"C-{number}") for number in range(5_000))
    with pytest.raises(RegisterError, match="row 5002 is not UTF-8"):
        load(register, (HEAD + rows + line("B", site="Schläfe")).encode("latin-1"))
    assert (cases(register), history(register)) == ([], [])


def test_the_row_of_a_latin_1_letter_is_the_spreadsheets_row_below_a_cell_with_a_line_break(register):
    text = HEAD + 'A,1,2026-01-05,blunt-cannula,"chin\nlip",no\n' + line("B", site="Schläfe")
    with pytest.raises(RegisterError, match="row 3 is not UTF-8"):
        load(register, text.encode("latin-1"))


@pytest.mark.parametrize("text", ["", "\ufeff"])
def test_an_empty_file_is_told(register, text):
    with pytest.raises(RegisterError, match=r"audit\.csv: the file is empty"):
        load(register, text)


def test_a_file_with_headers_only_reads_nothing_and_is_no_error(register):
    assert numbers(load(register, HEAD)) == (0, 0, 0, 0, 0)


def test_a_cell_with_an_open_quote_is_told_and_nothing_goes_in(register):
    with pytest.raises(RegisterError, match="cannot be read as CSV"):
        load(register, HEAD + line("A") + 'B,1,2026-01-05,blunt-cannula,"chin,no\n')
    assert cases(register) == []


# --- workbooks ------------------------------------------------------------------------------------

HEADERS = ("case", "session", "date", "techniques", "site", "last_seen", "gauge", "volume_ml", "bruising")


def workbook(path: Path, rows: Iterable[Iterable[Any]], title="Audit") -> Path:
    """A real workbook with one sheet."""
    book = Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(list(row))
    book.save(path)
    return path


SHEET = "xl/worksheets/sheet1.xml"


def parts_of(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def zipped(path: Path, parts: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, data)
    return path


def typed(number: int, **changes: Any) -> list[Any]:
    """One row as a spreadsheet keeps it: days as days, numbers as numbers, ticks as true or false."""
    row = {
        "case": f"X-{number}", "session": 1, "date": date(2026, 1, 5), "techniques": "blunt-cannula",
        "site": "chin", "last_seen": date(2026, 2, 5), "gauge": 22, "volume_ml": 0.015, "bruising": True,
    }  # fmt: skip
    return list((row | changes).values())


def test_days_numbers_and_ticks_are_read_from_their_cells(register, tmp_path):
    rows = [
        typed(1),
        typed(2, bruising=False, session=2.0, volume_ml=None, gauge="22G"),
        typed(3, date=datetime(2026, 1, 5, 14, 30), bruising="severe", case=4711),
        typed(4, bruising=None, last_seen=None, volume_ml=0),
        typed(5, bruising=2, volume_ml="0,01"),
    ]
    result = load(register, workbook(tmp_path / "audit.xlsx", [HEADERS, *rows]))
    assert numbers(result) == (5, 5, 0, 0, 0)
    names = ("case_ref", "session", "day", "watched_days", "gauge", "volume_ml", "outcomes")
    assert [tuple(row[name] for name in names) for row in contents(register).values()] == [
        ("X-1", 1, date(2026, 1, 5), 31, 22, 0.015, {"bruising": 1}),
        ("X-2", 2, date(2026, 1, 5), 31, 22, None, {"bruising": 0}),
        ("4711", 1, date(2026, 1, 5), 31, 22, 0.015, {"bruising": 3}),
        ("X-4", 1, date(2026, 1, 5), None, 22, 0.0, {}),
        ("X-5", 1, date(2026, 1, 5), 31, 22, 0.01, {"bruising": 2}),
    ]


def test_rows_of_a_workbook_are_numbered_as_the_spreadsheet_shows_them(register, tmp_path):
    rows = [typed(1), [], typed(2, bruising="hm"), [None] * 9, ["", " "], typed(3, date="soon")]
    result = load(register, workbook(tmp_path / "audit.xlsx", [HEADERS, *rows]))
    assert numbers(result) == (3, 1, 0, 0, 2)
    assert [(item.row, item.column) for item in result.set_aside] == [(4, "bruising"), (7, "date")]


def test_blank_rows_and_columns_that_were_once_formatted_are_nothing(register, tmp_path):
    path = workbook(tmp_path / "audit.xlsx", [HEADERS, typed(1)])
    book = Workbook()
    for row in ([*HEADERS], typed(1)):
        book.active.append(row)
    for row in range(3, 300):
        book.active.cell(row, 14).number_format = "0.00"
    book.save(path)
    result = load(register, path)
    assert numbers(result) == (1, 1, 0, 0, 0)
    assert result.ignored_columns == ()


def test_a_cell_under_no_header_is_never_read(register, tmp_path):
    result = load(register, workbook(tmp_path / "audit.xlsx", [HEADERS, [*typed(1), "a note"], typed(2)]))
    assert numbers(result) == (2, 2, 0, 0, 0)
    assert "a note" not in repr(contents(register))


def with_kept_values(path: Path, formulas: dict[str, str]) -> Path:
    """A workbook as a spreadsheet program saves it: beside each formula the value it had."""
    parts = parts_of(path)
    for formula, value in formulas.items():
        without = re.compile(rf"<f>{re.escape(formula)}</f><v ?(/>|></v>)".encode())
        parts[SHEET], times = without.subn(f"<f>{formula}</f><v>{value}</v>".encode(), parts[SHEET])
        assert times == 1
    return zipped(path, parts)


def test_of_a_formula_the_value_it_had_when_the_workbook_was_saved_is_read(register, tmp_path):
    path = workbook(tmp_path / "audit.xlsx", [HEADERS, typed(1, session="=1+1", volume_ml="=0.005*2")])
    result = load(register, with_kept_values(path, {"1+1": "2", "0.005*2": "0.01"}))
    assert numbers(result) == (1, 1, 0, 0, 0)
    (row,) = contents(register).values()
    assert (row["session"], row["volume_ml"]) == (2, 0.01)


def test_a_formula_whose_value_nobody_kept_is_blank_and_never_a_guess(register, tmp_path):
    result = load(register, workbook(tmp_path / "audit.xlsx", [HEADERS, typed(1, session="=1+1")]))
    assert [(item.column, item.value) for item in result.set_aside] == [("session", "")]


def test_a_sheet_that_begins_lower_down_keeps_its_numbers(register, tmp_path):
    book = Workbook()
    for column, header in enumerate(HEADERS, 1):
        book.active.cell(1, column, header)
    for column, cell in enumerate(typed(1, bruising="hm"), 1):
        book.active.cell(40, column, cell)
    book.save(tmp_path / "audit.xlsx")
    result = load(register, tmp_path / "audit.xlsx")
    assert (result.read, result.set_aside[0].row) == (1, 40)


def test_the_first_sheet_is_the_one_that_is_read(register, tmp_path):
    book = Workbook()
    for row in (HEADERS, typed(1)):
        book.active.append(list(row))
    book.create_sheet("Notes").append(["nothing", "to do with it"])
    book.save(tmp_path / "audit.XLSX")
    assert numbers(load(register, tmp_path / "audit.XLSX")) == (1, 1, 0, 0, 0)


def damaged(path: Path) -> None:
    """The first half of a workbook's sheet, as a broken transfer leaves it, in a whole ZIP file."""
    parts = parts_of(workbook(path, [HEADERS, *(typed(number) for number in range(200))]))
    zipped(path, parts | {SHEET: parts[SHEET][: len(parts[SHEET]) // 2]})


def cut_short(path: Path) -> None:
    made = workbook(path, [HEADERS, typed(1)])
    path.write_bytes(made.read_bytes()[:2000])


def bits_lost(path: Path) -> None:
    """A ZIP file whose sheet does not fit its check sum."""
    made = workbook(path, [HEADERS, *(typed(number) for number in range(200))])
    with zipfile.ZipFile(made) as book:
        info = book.getinfo(SHEET)
    data = bytearray(made.read_bytes())
    at = info.header_offset + 30 + len(info.filename) + info.compress_size // 2
    data[at : at + 20] = bytes(20)
    path.write_bytes(data)


def no_workbook(path: Path) -> None:
    path.write_text(HEAD + line("A"))


def other_zip(path: Path) -> None:
    zipped(path, {"letter.txt": b"this is no workbook"})


def broken_index(path: Path) -> None:
    zipped(path, parts_of(workbook(path, [HEADERS])) | {"xl/workbook.xml": b"<workbook"})


@pytest.mark.parametrize("breaks", [damaged, cut_short, bits_lost, no_workbook, other_zip, broken_index])
def test_a_file_that_is_no_whole_workbook_is_told_and_nothing_goes_in(register, tmp_path, breaks):
    breaks(tmp_path / "audit.xlsx")
    with pytest.raises(RegisterError, match=r"audit.xlsx: the file cannot be read as a workbook") as caught:
        load(register, tmp_path / "audit.xlsx")
    assert "save it again" in str(caught.value)
    assert "X-1" not in str(caught.value)
    assert (cases(register), history(register)) == ([], [])


def test_an_empty_workbook_is_told(register, tmp_path):
    with pytest.raises(RegisterError, match=r"audit\.xlsx: the file is empty"):
        load(register, workbook(tmp_path / "audit.xlsx", []))


def test_the_headers_alone_can_be_looked_at(tmp_path):
    sheet = open_sheet(workbook(tmp_path / "audit.xlsx", [(" case ", None, "Bruise", 2026), typed(1)]))
    assert sheet.headers[:4] == ("case", "", "Bruise", "2026")


# --- the demo as CSV and as a workbook ------------------------------------------------------------


def as_kept(cell: str) -> Any:
    """What a spreadsheet keeps of a cell somebody typed."""
    with suppress(ValueError):  # the demo has a day no calendar has: a spreadsheet keeps that as text
        return datetime.strptime(cell, "%d/%m/%Y")
    if cell in ("yes", "no"):
        return cell == "yes"
    return int(cell) if cell.isdigit() else cell or None


def test_the_demo_as_a_workbook_gives_the_same_register_as_its_csv(
    register_url, demo_clinic, place, tmp_path
):
    with (demo_clinic / "audit.csv").open(newline="", encoding="utf-8") as stream:
        headers, *rows = csv.reader(stream)
    kept = [[as_kept(cell) for cell in row] for row in rows]
    book = workbook(tmp_path / "audit.xlsx", [headers, *kept])
    found = []
    for sheet in (demo_clinic / "audit.csv", book):
        register = empty(register_url)
        result = load(register, sheet, columns=place.clinic.audit_columns, reading=reading_of(place))
        # a workbook does not know how a day was typed
        aside = [(item.row, item.column, item.reason) for item in result.set_aside]
        found.append((replace(result, file="", set_aside=(), place=Place()), aside, contents(register)))
        register.engine.dispose()
    assert found[0] == found[1]
    assert found[0][0].added > 700 and len(found[0][1]) > 5


def test_a_workbook_after_the_csv_of_the_same_rows_changes_nothing(register, tmp_path):
    text = ",".join(HEADERS) + '\nX-1,1,2026-01-05,blunt-cannula,chin,2026-02-05,22G,"0,015",yes\n'
    load(register, text)
    result = load(register, workbook(tmp_path / "audit.xlsx", [HEADERS, typed(1)]))
    assert numbers(result) == (1, 0, 0, 1, 0)
