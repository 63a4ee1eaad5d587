"""Import into both databases: headers, lists, the clinic's own words, dry runs. Rows are invented."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
from support import BY, FIELDS, HEAD, NOW, READING, contents, line, load, numbers, seen

from consentpack.errors import RegisterError
from consentpack.register import history, import_file, set_aside_csv

# --- headers, and what is told --------------------------------------------------------------------


def test_all_problems_with_the_headers_are_told_together_and_nothing_goes_in(register):
    with pytest.raises(RegisterError) as caught:
        load(register, "Name,session,date,techniques\n" + "J Invented,1,2026-01-05,blunt-cannula\n")
    assert [problem.what.split(" (")[0] for problem in caught.value.problems] == [
        "the column 'Name' looks as if it says who a patient is.",
        "no column holds 'case'",
        "no column holds 'site'",
    ]
    assert (contents(register), history(register)) == ({}, [])


def test_the_cells_of_an_unknown_column_are_never_looked_at(register):
    head = HEAD.strip() + ",remarks\n"
    first = load(register, head + line("A").strip() + ",anything at all\n")
    assert first.ignored_columns == ("remarks",)
    again = load(register, head + line("A").strip() + ",something else\n")
    assert numbers(again) == (1, 0, 0, 1, 0)


def test_columns_without_a_header_are_not_named_among_those_ignored(register):
    result = load(register, HEAD.strip() + ",,remarks, \n" + line("A").strip() + ",,hello,\n")
    assert result.ignored_columns == ("remarks",)


def test_the_set_aside_file_can_be_read_back_cell_by_cell(register):
    text = HEAD + 'A,1,2026-01-05,blunt-cannula,chin,"so, ""so""\nand so"\n'
    result = load(register, text)
    (row,) = csv.DictReader(io.StringIO(set_aside_csv(result), newline=""))
    assert row["row"] == "2"
    assert row["column"] == "bruising"
    assert row["value"] == 'so, "so"\nand so'
    assert row["reason"].startswith("is neither yes, no nor a grade")


@pytest.mark.parametrize(("name", "why"), [("nowhere.csv", "No such file"), ("", "Is a directory")])
def test_a_file_that_cannot_be_opened_is_told(register, tmp_path, name, why):
    with pytest.raises(RegisterError, match=f"cannot be opened .{why}"):
        import_file(register, tmp_path / name, columns={}, reading=READING, now=NOW, by=BY)


# --- lists, own words and dry runs ----------------------------------------------------------------

LISTED = replace(
    READING,
    words={"cannula": "blunt-cannula", "bruise": "bruising", "rötung": "infection"},
    list_covers=("bruising", "infection"),
)
LIST_HEAD = ",".join((*FIELDS, "complications")) + "\n"


def test_a_list_of_what_was_seen_in_the_clinics_own_words_goes_in(register):
    text = LIST_HEAD + line("A", techniques="cannula", bruising="bruise") + line("B", bruising="none")
    text += line("C", bruising="") + line("D", bruising="bruise; rötung") + line("E", bruising="rash")
    result = load(register, text, columns={"complications": "outcomes_seen"}, reading=LISTED)
    assert numbers(result) == (5, 4, 0, 0, 1)
    assert seen(register, "bruising") == [1, 0, None, 1]
    assert seen(register, "infection") == [0, 0, None, 1]
    assert {row["techniques"] for row in contents(register).values()} == {"blunt-cannula"}
    assert result.set_aside[0].reason.startswith("names 'rash', which is no outcome.")


def test_a_dry_run_tells_the_same_and_changes_nothing(register):
    load(register, HEAD + line("A") + line("B") + line("Z"))
    before, entries = contents(register), history(register)
    head = HEAD.strip() + ",infection,gauge\n"
    text = head + "".join(
        f"{line(case, bruising=bruising).strip()},{infection},{gauge}\n"
        for case, bruising, infection, gauge in
        [("A", "severe", "no", "22"), ("B", "no", "", ""), ("C", "yes", "yes", "8"), ("D", "hm", "no", "22")]
    )  # fmt: skip
    tried = load(register, text, dry_run=True)
    assert numbers(tried) == (4, 1, 1, 1, 1)
    assert (contents(register), history(register)) == (before, entries)
    done = load(register, text)
    assert tried.dry_run and replace(tried, dry_run=False) == done
    assert contents(register) != before
