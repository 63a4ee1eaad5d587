"""Import into both databases: what goes in, what is set aside, and the counts. Rows are invented."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import pytest
from support import FIELDS, HEAD, READING, cases, contents, line, load, numbers, seen

from consentpack.register import history

# --- what goes in ---------------------------------------------------------------------------------


def test_a_row_goes_into_the_register_as_it_was_typed(register):
    load(register, HEAD + line("A-7", 2, techniques="blunt-cannula;local-infiltration", bruising="yes"))
    (row,) = contents(register).values()
    assert (row["case_ref"], row["session"], row["site"]) == ("A-7", 2, "chin")
    assert row["techniques"] == "blunt-cannula+local-infiltration"
    assert row["outcomes"] == {"bruising": 1}
    assert row["day"] == date(2026, 1, 5)
    assert row["source_row"] == 2


def test_every_field_goes_in(register):
    head = HEAD.strip() + ",skin_type,last_seen,operator,gauge,volume_ml\n"
    load(register, head + line(bruising="severe").strip() + ",iv,2026-02-04,AQ,22G,0.015\n")
    (row,) = contents(register).values()
    found = {name: row[name] for name in ("skin_type", "watched_days", "operator", "gauge", "volume_ml")}
    assert found == {
        "skin_type": "IV", "watched_days": 30, "operator": "AQ", "gauge": 22, "volume_ml": 0.015,
    }  # fmt: skip
    assert row["outcomes"] == {"bruising": 3}


def test_a_blank_outcome_is_not_recorded_and_never_no(register):
    load(register, HEAD + line("A", bruising="") + line("B", bruising="no"))
    assert seen(register) == [None, 0]


def test_dates_are_read_in_the_declared_order(register):
    for case, order in (("D", "day-first"), ("M", "month-first")):
        reading = replace(READING, date_order=order)
        load(register, HEAD + line(case, date="03/04/2026"), reading=reading)
    days = {case: str(row["day"]) for (case, _), row in contents(register).items()}
    assert days == {"D": "2026-04-03", "M": "2026-03-04"}


def test_each_import_is_recorded_with_its_counts(register):
    load(register, HEAD + line("A") + line("B", bruising="hm"))
    (entry,) = history(register)
    assert (entry.file_name, entry.read, entry.added, entry.set_aside) == ("audit.csv", 2, 1, 1)


# --- numbering ------------------------------------------------------------------------------------


def test_rows_are_numbered_as_the_spreadsheet_shows_them(register):
    result = load(register, HEAD + line("A") + line("B", bruising="hm"))
    assert [item.row for item in result.set_aside] == [3]


def test_a_line_break_inside_a_cell_does_not_shift_the_numbers_below_it(register):
    text = HEAD + 'A,1,2026-01-05,blunt-cannula,"chin\nand\r\nlip",no\n' + line("B", bruising="hm")
    assert [item.row for item in load(register, text).set_aside] == [3]


def test_a_line_break_inside_a_header_does_not_shift_the_numbers_below_it(register):
    text = '"Case\nno",session,date,techniques,site,bruising\n' + line("A", bruising="hm")
    result = load(register, text, columns={"Case\nno": "case"})
    assert [item.row for item in result.set_aside] == [2]


def test_blank_rows_are_not_counted_as_read_but_keep_their_number(register):
    result = load(register, HEAD + line("A") + "\n,,,,,\n" + line("B", bruising="hm") + ",,,,,\n")
    assert numbers(result) == (2, 1, 0, 0, 1)
    assert [item.row for item in result.set_aside] == [5]


def test_windows_line_ends_change_nothing(register):
    text = (HEAD + line("A") + line("B", bruising="hm")).replace("\n", "\r\n")
    result = load(register, text)
    assert numbers(result) == (2, 1, 0, 0, 1)
    assert result.set_aside[0].row == 3


# --- counts add up, again and again ---------------------------------------------------------------


def test_importing_the_same_file_again_changes_nothing(register):
    text = HEAD + line("A") + line("B", bruising="yes") + line("C", bruising="hm")
    assert numbers(load(register, text)) == (3, 2, 0, 0, 1)
    before = contents(register)
    assert numbers(load(register, text)) == (3, 0, 0, 2, 1)
    assert contents(register) == before


def test_a_corrected_row_replaces_the_old_one_with_its_techniques_and_outcomes(register):
    load(
        register, HEAD + line("A", techniques="blunt-cannula;local-infiltration", bruising="yes") + line("B")
    )
    result = load(register, HEAD + line("A", techniques="filler-after-release", bruising="no") + line("B"))
    assert numbers(result) == (2, 0, 1, 1, 0)
    assert [row["techniques"] for row in contents(register).values()] == [
        "filler-after-release",
        "blunt-cannula",
    ]
    assert seen(register) == [0, 0]


def test_an_outcome_that_is_blanked_is_forgotten(register):
    load(register, HEAD + line("A", bruising="yes"))
    assert numbers(load(register, HEAD + line("A", bruising=""))) == (1, 0, 1, 0, 0)
    assert seen(register) == [None]


def test_an_outcome_whose_column_is_gone_is_kept_and_named(register):
    load(register, HEAD + line("A", bruising="yes"))
    result = load(register, ",".join(FIELDS) + "\nA,1,2026-01-05,blunt-cannula,chin\n")
    assert (seen(register), numbers(result), result.unread) == ([1], (1, 0, 0, 1, 0), ("bruising",))


def test_a_row_that_vanished_from_the_file_is_reported_and_kept(register):
    load(register, HEAD + line("A") + line("B"))
    result = load(register, HEAD + line("A"))
    assert result.not_in_file == 1
    assert cases(register) == ["A", "B"]


def test_a_row_that_is_set_aside_this_time_has_not_vanished(register):
    load(register, HEAD + line("A"))
    result = load(register, HEAD + line("A", bruising="hm"))
    assert (result.not_in_file, result.kept_older) == (0, 1)


def test_a_row_that_has_gone_bad_leaves_the_treatment_as_the_register_had_it(register):
    load(register, HEAD + line("A", bruising="yes"))
    result = load(register, HEAD + line("A", bruising="hm"))
    assert numbers(result) == (1, 0, 0, 0, 1)
    assert result.kept_older == 1
    assert seen(register) == [1]


def test_a_row_set_aside_that_was_never_in_the_register_keeps_nothing_older(register):
    result = load(register, HEAD + line("A", bruising="hm"))
    assert (result.kept_older, result.not_in_file) == (0, 0)


@pytest.mark.parametrize("bad_first", [True, False])
def test_a_treatment_with_a_bad_and_a_good_row_is_counted_once(register, bad_first):
    load(register, HEAD + line("A") + line("B"))
    rows = [line("A", bruising="hm"), line("A", bruising="yes")]
    result = load(register, HEAD + "".join(rows if bad_first else reversed(rows)))
    assert numbers(result) == (2, 0, 1, 0, 1)
    assert (result.kept_older, result.not_in_file) == (0, 1)  # B alone is not in the file


def test_a_second_row_with_the_same_case_and_session_is_set_aside(register):
    result = load(register, HEAD + line("A", bruising="no") + line("A", 2) + line(" A ", bruising="yes"))
    assert numbers(result) == (3, 2, 0, 0, 1)
    (item,) = result.set_aside
    assert (item.row, item.column, item.value) == (4, "session", "1")
    assert item.reason == "row 2 has the same case and session; only that one went in."
    assert seen(register) == [0, 0]


def test_a_second_row_far_below_is_found_too(register):
    rows = [line(f"C-{number:05}") for number in range(4_500)]
    result = load(register, HEAD + "".join(rows) + line("C-00000", bruising="yes"))
    assert numbers(result) == (4_501, 4_500, 0, 0, 1)
    assert (result.set_aside[0].row, result.set_aside[0].reason[:5]) == (4_502, "row 2")
    assert seen(register)[0] == 0


def test_a_good_row_is_no_duplicate_of_one_that_was_set_aside(register):
    result = load(register, HEAD + line("A", bruising="hm") + line("A"))
    assert numbers(result) == (2, 1, 0, 0, 1)


@pytest.mark.parametrize("seed", range(8))
def test_counts_always_add_up(register, seed):
    chance = random.Random(seed)

    def some_rows() -> str:
        cells = {"bruising": ["yes", "no", "", "hm"], "site": ["chin", "lip", ""], "session": [1, 2, "x"]}
        return "".join(
            line(f"C{chance.randrange(25)}", **{name: chance.choice(of) for name, of in cells.items()})
            if chance.random() > 0.1
            else "\n"
            for _ in range(60)
        )

    for _ in range(3):
        before, text = set(contents(register)), some_rows()
        result = load(register, HEAD + text)
        assert result.read == sum(1 for row in text.splitlines() if row)
        assert result.read == result.added + result.updated + result.unchanged + result.rows_set_aside
        assert len(contents(register)) == len(before) + result.added
        assert result.rows_set_aside > 0 and result.added + result.updated > 0
        named = {(case, int(n)) for case, n, *_ in (row.split(",") for row in text.split()) if n != "x"}
        assert result.not_in_file == len(before - named)


def test_a_row_with_two_bad_cells_is_one_row_set_aside(register):
    result = load(register, HEAD + line("", bruising="hm"))
    assert numbers(result) == (1, 0, 0, 0, 1)
    assert [item.column for item in result.set_aside] == ["case", "bruising"]


def test_a_row_with_more_cells_than_headers_is_set_aside(register):
    result = load(register, HEAD + line("A", site="chin, left") + line("B"))
    assert numbers(result) == (2, 1, 0, 0, 1)
    (item,) = result.set_aside
    assert item.row == 2
    assert "more cells than the header row" in item.reason


@pytest.mark.parametrize("session", ["99999999999999999999", "9" * 5000], ids=["over-64-bits", "5000-digits"])
def test_an_absurd_session_number_sets_the_row_aside_and_the_others_go_in(register, session):
    result = load(register, HEAD + line("A") + line("B", session))
    assert numbers(result) == (2, 1, 0, 0, 1)


@pytest.mark.parametrize("field", ["case", "site", "techniques", "bruising"])
def test_a_character_that_a_database_cannot_hold_sets_the_row_aside_and_the_others_go_in(register, field):
    result = load(register, HEAD + line("A") + line("B", **{field: "x\0y"}) if field != "case" else
                  HEAD + line("A") + line("B\0"))  # fmt: skip
    assert numbers(result) == (2, 1, 0, 0, 1)
    (item,) = result.set_aside
    assert (item.row, item.column) == (3, field)


def test_what_looks_wrong_is_told_and_goes_in(register):
    head = HEAD.strip() + ",gauge,volume_ml\n"
    rows = [f"{line(case).strip()},{gel}\n" for case, gel in (("A", "14,2"), ("B", "22,0.01"), ("C", "40,"))]
    result = load(register, head + "".join(rows))
    assert numbers(result) == (3, 3, 0, 0, 0)
    assert [(doubt.row, doubt.column) for doubt in result.doubts] == [
        (2, "gauge"), (2, "volume_ml"), (4, "gauge"),
    ]  # fmt: skip
    assert [row["gauge"] for row in contents(register).values()] == [14, 22, 40]
