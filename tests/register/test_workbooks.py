"""Workbooks as other programs write them, and as they come out of a broken transfer. Rows are invented."""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from support import HEAD, cases, contents, line, load, numbers

from consentpack.errors import RegisterError
from consentpack.register import Register, open_register, open_sheet

sys.path.insert(0, str(Path(__file__).parents[1] / "faults"))
from sheet_parts import REL, SHEET, STRICT, parts, zipped

ROWS = [(f"A-{n}", 1, "2026-01-05", "blunt-cannula", "chin", "no") for n in range(1, 6)]


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """SQLite alone: what a file holds is the same for every database."""
    made = open_register(f"sqlite:///{tmp_path / 'register.sqlite'}", create=True)
    yield made
    made.engine.dispose()


def saved(path: Path, files: dict[str, bytes]) -> Path:
    path.write_bytes(zipped(files))
    return path


def changed(path: Path, old: str, new: str, rows: list[Any] = ROWS) -> Path:
    """A small workbook whose sheet was changed in one place."""
    files = parts(rows)
    assert old.encode() in files[SHEET]
    files[SHEET] = files[SHEET].replace(old.encode(), new.encode(), 1)
    return saved(path, files)


def cell_xml(at: str) -> str:
    """The XML of one cell of ROWS."""
    return re.search(rf'<c r="{at}".*?</c>', parts(ROWS)[SHEET].decode()).group()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "audit.xlsx"


# --- no row is lost -------------------------------------------------------------------------------


@pytest.mark.parametrize("size", ["A1", "A1:F2", "A1:B9", "C3:F4", "A1:XFD1048576", "", "nonsense"])
def test_no_row_is_lost_when_the_sheet_is_wrong_about_its_size(register, path, size):
    assert numbers(load(register, saved(path, parts(ROWS, dimension=size)))) == (5, 5, 0, 0, 0)


def test_two_rows_with_one_number_are_two_rows(register, path):
    result = load(register, saved(path, parts(ROWS, extra=parts_row(3, "B-1") + parts_row(2, "B-2"))))
    assert numbers(result) == (7, 7, 0, 0, 0)


def parts_row(number: int, case: str) -> str:
    cells = (case, "1", "2026-01-05", "blunt-cannula", "chin", "no")
    texts = "".join(f'<c t="str"><v>{cell}</v></c>' for cell in cells)
    return f'<row r="{number}">{texts}</row>'


def test_rows_and_cells_without_a_number_follow_each_other(register, path):
    files = parts(ROWS)
    files[SHEET] = re.sub(rb' r="[A-Z]*[0-9]+"', b"", files[SHEET])
    assert numbers(load(register, saved(path, files))) == (5, 5, 0, 0, 0)


def test_a_row_at_the_very_bottom_is_read_at_once(register, path):
    began = time.process_time()
    result = load(register, saved(path, parts(ROWS, extra=parts_row(1_048_576, "Z"))))
    assert numbers(result) == (6, 6, 0, 0, 0)
    assert contents(register)["Z", 1]["source_row"] == 1_048_576
    assert time.process_time() - began < 5  # it took more than forty


def test_the_headers_may_stand_below_blank_rows(register, path):
    files = parts(ROWS)
    files[SHEET] = re.sub(rb'r="([A-Z]?)(\d+)"', lambda m: b'r="%s%d"' % (m[1], int(m[2]) + 3), files[SHEET])
    result = load(register, saved(path, files))
    assert (result.read, contents(register)["A-1", 1]["source_row"]) == (5, 5)


@pytest.mark.parametrize(
    ("old", "new"),
    [("<row ", "<rox "), ("<c r=", "<d r="), ('r="B2"', 'r="A2"'), ('r="B2"', 'r="B9"'), ("sheetData", "x")],
)
def test_a_sheet_with_something_unknown_in_it_is_refused_and_nothing_passed_over(register, path, old, new):
    files = parts(ROWS)
    text = files[SHEET].decode()
    files[SHEET] = (text.replace(old, new, 1).replace("</row>", "</rox>", 1) if new == "<rox " else
                    re.sub(r"<c (r=\"B2\".*?)</c>", r"<d \1</d>", text, count=1) if new == "<d r=" else
                    text.replace(old, new)).encode()  # fmt: skip
    with pytest.raises(RegisterError, match="cannot be read as a workbook"):
        load(register, saved(path, files))
    assert cases(register) == []


# --- what a cell holds ----------------------------------------------------------------------------


def test_a_formula_without_its_value_sets_its_row_aside_and_is_named(register, path):
    result = load(register, changed(path, cell_xml("F3"), '<c r="F3"><f>IF(1,"no","")</f></c>'))
    assert numbers(result) == (5, 4, 0, 0, 1)
    (item,) = result.set_aside
    assert (item.row, item.column) == (3, "bruising")
    assert "is a formula, and the file does not hold its value" in item.reason


def test_a_formula_that_gave_an_empty_text_is_blank(register, path):
    result = load(register, changed(path, cell_xml("F3"), '<c r="F3" t="str"><f>""</f><v></v></c>'))
    assert numbers(result) == (5, 5, 0, 0, 0)
    assert contents(register)["A-2", 1]["outcomes"] == {}


def test_a_row_of_nothing_but_such_formulas_is_not_passed_over_as_blank(register, path):
    extra = '<row r="9">' + "<c><f>Other!A1</f></c>" * 6 + "</row>"
    result = load(register, saved(path, parts(ROWS, extra=extra)))
    assert numbers(result) == (6, 5, 0, 0, 1)
    assert result.set_aside[0].row == 9


def test_a_header_that_is_such_a_formula_is_told(path):
    with pytest.raises(RegisterError, match="the header in column 2 is a formula"):
        open_sheet(changed(path, '<c r="B1" t="s"><v>1</v></c>', "<c><f>X1</f></c>"))


def test_an_error_of_the_spreadsheet_is_no_place(register, path):
    result = load(register, changed(path, cell_xml("E3"), '<c r="E3" t="e"><v>#REF!</v></c>'))
    assert [(item.column, item.row) for item in result.set_aside] == [("site", 3)]


FORMATS = [
    ("000", 7, "007"), ("0000", 12345, "12345"), ('"A-"000', 7, "A-007"), ("00-00", 7, None), ("0", 7, "7"),
    ("General", 7, "7"), ("#,##0", 1234, "1234"), ("0.00", 7, "7"),
    ("000;[Red]-000", 7, "007"), ("0%", 7, None),
    (r"\C000", 7, "C007"), ("[Blue]000", 7, "007"), ("[<5]000;0", 7, None),
]  # fmt: skip


@pytest.mark.parametrize(("code", "number", "case"), FORMATS)
def test_a_reference_is_read_as_the_sheet_shows_it(register, path, code, number, case):
    book = Workbook()
    book.active.append(HEAD.strip().split(","))
    book.active.append([number, 1, date(2026, 1, 5), "blunt-cannula", "chin", "no"])
    book.active["A2"].number_format = code
    book.save(path)
    result = load(register, path)
    assert cases(register) == ([case] if case else [])
    assert [item.column for item in result.set_aside] == ([] if case else ["case"])


def test_an_amount_is_read_as_it_is_and_not_as_it_is_shown(register, path):
    book = Workbook()
    book.active.append([*HEAD.strip().split(","), "volume_ml", "gauge"])
    book.active.append(["A", 1, date(2026, 1, 5), "blunt-cannula", "chin", "no", 0.016, 22])
    book.active["G2"].number_format, book.active["H2"].number_format = "0.00", '000"G"'
    book.save(path)
    load(register, path)
    assert (contents(register)["A", 1]["volume_ml"], contents(register)["A", 1]["gauge"]) == (0.016, 22)


@pytest.mark.parametrize("cell", ['<c r="B3"><v>1E+30</v></c>', '<c r="B3"><v>1e999</v></c>',
                                  '<c r="B3" s="1"><v>1e30</v></c>', '<c r="B3" s="2"><v>1e300</v></c>',
                                  '<c r="B3" t="s"><v>99999</v></c>', '<c r="B3" t="s"><v>-1</v></c>',
                                  '<c r="B3" t="inlineStr"><is><t>_xD800_</t></is></c>'])  # fmt: skip
def test_a_cell_that_holds_no_sense_sets_its_row_aside_and_no_other(register, path, cell):
    result = load(register, changed(path, '<c r="B3"><v>1</v></c>', cell))
    assert numbers(result) == (5, 4, 0, 0, 1)
    assert (result.set_aside[0].row, result.set_aside[0].column) == (3, "session")


# --- kinds of file --------------------------------------------------------------------------------


def test_strict_open_xml_is_read_like_the_usual_kind(register, path):
    files = parts(ROWS)
    for usual, other in STRICT.items():
        files = {name: data.replace(usual.encode(), other.encode()) for name, data in files.items()}
    assert numbers(load(register, saved(path, files))) == (5, 5, 0, 0, 0)


def test_a_workbook_of_charts_alone_is_told(register, path):
    files = parts(ROWS)
    links = "xl/_rels/workbook.xml.rels"
    files[links] = files[links].replace(f"{REL}/worksheet".encode(), f"{REL}/chartsheet".encode())
    with pytest.raises(RegisterError, match="there is no sheet with cells in the workbook"):
        load(register, saved(path, files))


def test_a_workbook_with_a_password_is_told(register, path):
    path.write_bytes(bytes.fromhex("D0CF11E0A1B11AE1") + bytes(5000))
    with pytest.raises(RegisterError, match=r"locked with a password, or is an \.xls of old"):
        load(register, path)


def test_a_document_type_is_refused_before_its_entities_are_read(register, path):
    files = parts(ROWS)
    files[SHEET] = b'<!DOCTYPE w [<!ENTITY a "aaaa">]>' + files[SHEET]
    with pytest.raises(RegisterError, match="cannot be read as a workbook"):
        load(register, saved(path, files))


# --- limits ---------------------------------------------------------------------------------------

MEMORY_SCRIPT = """
import resource
register = open_register("sqlite:///" + sys.argv[2], create=True)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    print(*numbers(load(register, Path(sys.argv[1]))))
except Exception as error:
    print(type(error).__name__, error)
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
"""


def in_another_process(path: Path, tmp_path: Path) -> tuple[str, int]:
    """What an import says, and how many MB of memory it took at most."""
    from support import finish, start

    said, took = finish(start(MEMORY_SCRIPT, path, tmp_path / "r.sqlite")).rsplit("\n", 2)[:2]
    return said, int(took)


LARGE = {
    "spaces": (" " * 80_000_000, "5 5 0 0 0"),
    "cell": (f'<row r="9"><c t="str"><v>{"z" * 50_000_000}</v></c></row>', "6 5 0 0 1"),
    "comment": (f"<!--{'-x' * 20_000_000}-->", "RegisterError"),
    "attribute": (f'<row spans="{"1" * 40_000_000}"/>', "RegisterError"),
}


@pytest.mark.parametrize("kind", LARGE)
def test_a_small_file_that_unpacks_large_takes_little_memory(path, tmp_path, kind):
    extra, expected = LARGE[kind]
    saved(path, parts(ROWS, extra=extra))
    assert path.stat().st_size < 400_000
    said, took = in_another_process(path, tmp_path)
    assert said.startswith(expected), said
    assert took < 120


def test_a_line_without_end_is_refused_and_takes_little_memory(tmp_path):
    path = tmp_path / "audit.csv"
    path.write_text(HEAD + line("A") + "v" * 100_000_000)
    said, took = in_another_process(path, tmp_path)
    assert "has more than 1000000 characters in row 3" in said
    assert took < 60


def test_a_quote_that_is_never_closed_takes_little_memory(tmp_path):
    path = tmp_path / "audit.csv"
    path.write_text(HEAD + '"' + line("A") * 1_000_000)
    said, took = in_another_process(path, tmp_path)
    assert said.startswith("RegisterError")
    assert took < 60


def test_bad_rows_by_the_ten_thousand_take_little_memory_and_are_all_counted(tmp_path):
    path = tmp_path / "audit.csv"
    path.write_text(HEAD + "".join(f"C-{n},x,soon,nothing,,maybe\n" for n in range(60_000)))
    said, took = in_another_process(path, tmp_path)
    assert said == "60000 0 0 0 60000"
    assert took < 120
