"""The file of rows set aside: harmless in a spreadsheet program, and never endless. Rows are invented."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import HEAD, line, load

from consentpack.register import set_aside_csv
from consentpack.register.aside import harmless

SIGNS = "=+-@\t\r\n＝＋－＠"


def values(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@sum(a1)", "=cmd|' /c calc'!a1", "no;=1+1"])
def test_a_cell_that_begins_like_a_formula_is_marked_as_text(register, cell):
    result = load(register, HEAD + line("A", bruising=cell))
    (row,) = values(set_aside_csv(result))
    assert not any(part[:1] in SIGNS for part in row["value"].replace(",", ";").split(";"))
    assert row["value"].replace("'", "") == cell.replace("'", "")


def test_the_header_of_a_column_is_marked_too(register):
    result = load(
        register, HEAD.replace("bruising", "=x") + line("A", bruising="hm"), columns={"=x": "bruising"}
    )
    assert values(set_aside_csv(result))[0]["column"] == "'=x"


@settings(derandomize=True)
@given(st.text(alphabet=SIGNS + ";, 'a1", max_size=12))
def test_no_cell_of_any_country_begins_like_a_formula(text):
    marked = harmless(text)
    for separator in ";,\t":
        assert not any(part.lstrip()[:1] in (*"=+-@＝＋－＠",) for part in marked.split(separator))
    assert marked[:1] not in tuple(SIGNS)
    assert marked.replace("'", "") == text.replace("'", "")


def test_reasons_are_listed_up_to_a_number_and_all_rows_are_counted(register, monkeypatch):
    monkeypatch.setattr("consentpack.register.importer.DETAILS", 5)
    result = load(register, HEAD + "".join(line(f"C-{n}", "x", bruising="hm") for n in range(10)) + line("A"))
    assert (result.read, result.added, result.rows_set_aside) == (11, 1, 10)
    assert (len(result.set_aside), result.more_set_aside) == (5, 15)
    *listed, last = values(set_aside_csv(result))
    assert len(listed) == 5
    assert last["reason"].startswith("15 more reasons are not listed.")


def test_doubts_are_listed_up_to_a_number(register, monkeypatch):
    monkeypatch.setattr("consentpack.register.importer.DETAILS", 2)
    head = HEAD.strip() + ",gauge\n"
    result = load(register, head + "".join(line(f"C-{n}").strip() + ",9\n" for n in range(5)))
    assert (result.added, len(result.doubts), result.more_doubts) == (5, 2, 3)


def test_a_very_long_cell_is_shown_by_its_beginning(register):
    result = load(register, HEAD + line("A", bruising="x" * 9000) + line("B", techniques="y" * 9000))
    assert [len(item.value) for item in result.set_aside] == [201, 201]
    assert all(len(item.reason) < 500 for item in result.set_aside)


@pytest.mark.parametrize("sign", ["\x1b[31m", "\x07", "\0"])
def test_a_sign_of_control_sets_its_row_aside_and_reaches_no_terminal(register, sign):
    result = load(register, HEAD + line(f"A{sign}") + line("B"))
    assert result.added == 1
    assert not any(letter < " " for letter in result.set_aside[0].value)
