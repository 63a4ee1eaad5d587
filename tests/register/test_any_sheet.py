"""Whatever a sheet holds: no row is lost, and CSV and workbook tell the same. All rows are invented."""

from __future__ import annotations

import csv
import io
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from support import FIELDS, contents, load

from consentpack.register import ImportResult, Place, Register, open_register

HEADERS = [*FIELDS, "bruising"]
SANE = settings(derandomize=True, deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
ODD = st.text(alphabet=st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12).filter(
    lambda text: not ILLEGAL_CHARACTERS_RE.search(text) and "_x" not in text
)
CELLS = {
    "case": st.sampled_from(["A-1", "a-1", "A-1\u200b", "E\u0301", "\u00c9", "B 2", "B\u00a02", "007"]) | ODD,
    "session": st.sampled_from(["1", "1", "2", "2.0", "", "x", "1e30", "9" * 40]) | ODD,
    "date": st.sampled_from(["2026-01-05", "2026-01-05", "2026-1-6", "2026-13-01", "2031-01-01", ""]) | ODD,
    "techniques": st.sampled_from(["blunt-cannula", "blunt-cannula;local-infiltration", "=1+1", ""]) | ODD,
    "site": st.sampled_from(["chin", "Left\u00a0cheek", "left cheek"]) | ODD,
    "bruising": st.sampled_from(["yes", "no", "", "severe", "hm", "-"]) | ODD,
}
ROWS = st.lists(st.tuples(*(CELLS[name] for name in HEADERS)), max_size=12)


@contextmanager
def empty_register() -> Iterator[tuple[Register, Path]]:
    with tempfile.TemporaryDirectory() as folder:
        register = open_register(f"sqlite:///{folder}/register.sqlite", create=True)
        assert register
        try:
            yield register, Path(folder)
        finally:
            register.engine.dispose()


def as_csv(folder: Path, rows: list[tuple[str, ...]]) -> Path:
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows([HEADERS, *rows])
    path = folder / "audit.csv"
    path.write_bytes(stream.getvalue().encode())
    return path


def as_workbook(folder: Path, rows: list[tuple[str, ...]]) -> Path:
    """The same cells, each kept as text."""
    book = Workbook()
    for number, row in enumerate([HEADERS, *rows], 1):
        for column, text in enumerate(row, 1):
            if text:
                cell = book.active.cell(number, column)
                cell.value, cell.data_type = text, "s"
    path = folder / "audit.xlsx"
    book.save(path)
    return path


def blank(row: tuple[str, ...]) -> bool:
    return not any(cell.strip() for cell in row)


def adds_up(result: ImportResult) -> bool:
    return result.read == result.added + result.updated + result.unchanged + result.rows_set_aside


@SANE
@given(ROWS, ROWS)
def test_every_row_is_in_the_register_or_set_aside(first, second):
    with empty_register() as (register, folder):
        for rows in (first, second):
            before = len(contents(register))
            result = load(register, as_csv(folder, rows))
            assert result.read == sum(not blank(row) for row in rows)
            assert adds_up(result)
            assert len(contents(register)) == before + result.added
            assert {item.row for item in result.set_aside} <= set(range(2, len(rows) + 2))
            assert len({item.row for item in result.set_aside}) == result.rows_set_aside


@SANE
@given(ROWS)
def test_csv_and_workbook_of_the_same_cells_give_the_same(rows):
    found = []
    for save in (as_csv, as_workbook):
        with empty_register() as (register, folder):
            result = load(register, save(folder, rows))
            found.append((replace(result, file="", place=Place()), contents(register)))
    assert found[0] == found[1]


@SANE
@given(ROWS, st.integers(0, 12))
def test_a_bad_row_anywhere_takes_no_good_row_with_it(rows, at):
    good = [(f"G-{number}", "1", "2026-01-05", "blunt-cannula", "chin", "no") for number in range(3)]
    mixed = rows[:at] + good + rows[at:]
    with empty_register() as (register, folder):
        load(register, as_csv(folder, mixed))
        held = contents(register)
    assert all(held[case, 1]["outcomes"] == {"bruising": 0} for case, *_ in good)
