"""Columns proposed by what stands in them, where their headers say nothing. All rows are invented."""

from __future__ import annotations

import csv
import io

import pytest

from consentpack import pipeline
from consentpack.pipeline import copy_demo
from consentpack.pipeline.dropping import as_said

HEADERS = ["AA", "BB", "CC", "DD", "EE", "FF", "GG"]
ROWS = [
    ["QX-1", "1", "02/03/2026", "blunt-cannula", "left cheek", "20/04/2026", "II"],
    ["QX-2", "1", "09/03/2026", "Blunt-cannula; local-infiltration", "chin", "2026-04-21", "III"],
    ["QX-2", "2", "16.3.26", "blunt-cannula", "chin", "", "IV"],
    ["QX-3", "1", "23 Mar 2026", "blunt-cannula", "temple", "30/04/2026", ""],
    ["QX-4", "1st", "30/03/2026", "blunt-cannula", "forehead", "01/05/2026", "type V"],
]
MEANT = dict(
    zip(
        HEADERS, ["case", "session", "date", "techniques", "site", "last_seen", "skin_type"],
        strict=True,
    )
)  # fmt: skip


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    folder = copy_demo(tmp_path_factory.mktemp("content") / "clinic")
    found = pipeline.open_workplace(folder, whole=False)
    return as_said(found, pipeline.Choices(), {})  # nobody has said what a column holds


def proposed(place, tmp_path, headers, rows) -> dict[str, str]:
    stream = io.StringIO()
    csv.writer(stream).writerows([headers, *rows])
    path = tmp_path / "a.csv"
    path.write_text(stream.getvalue(), encoding="utf-8")
    return dict(pipeline.propose_columns(place, path).columns)


def test_headers_that_say_nothing_are_told_by_their_columns(place, tmp_path):
    assert proposed(place, tmp_path, HEADERS, ROWS) == MEANT


def test_a_header_that_says_something_goes_before_what_stands_below_it(place, tmp_path):
    headers = ["AA", "Last seen", "Date", "DD", "EE", "FF", "GG"]
    found = proposed(place, tmp_path, headers, ROWS)  # the dates of both are swapped
    assert (found["Last seen"], found["Date"], found["FF"]) == ("last_seen", "date", "ignore")


@pytest.mark.parametrize(
    "cells",
    [
        ["Jane Nobody", "John Invented", "Mary Made-Up", "Al Fiction", "Bo Nobody"],
        ["4857773456", "9434765919", "4505577104", "1234567881", "9876543210"],
        ["020 7946 0101", "020 7946 0102", "020 7946 0103", "020 7946 0104", "020 7946 0105"],
        ["a@example.org", "b@example.org", "c@example.org", "d@example.org", "e@example.org"],
        ["01/02/1961", "03/04/1972", "05/06/1983", "07/08/1954", "09/10/1945"],
        ["01/02/1996", "03/04/1997", "05/06/1998", "07/08/1999", "09/10/2001"],
        ["EX1 1EX", "EX1 1EY", "EX2 1EX", "EX3 1EX", "EX4 1EX"],
        ["rang on day 3", "well", "came back", "asked about work", "well"],
        ["Y", "N", "?", "Y", "N"],
        ["", "", "", "", "x"],
    ],
)
def test_what_may_be_of_a_patient_or_of_anything_is_proposed_for_nothing(place, tmp_path, cells):
    rows = [[*row, cell] for row, cell in zip(ROWS, cells, strict=True)]
    assert proposed(place, tmp_path, [*HEADERS, "ZZ"], rows) == MEANT | {"ZZ": "ignore"}


def test_two_columns_that_could_be_the_same_are_neither(place, tmp_path):
    rows = [[*row, f"RT-{number}"] for number, row in enumerate(ROWS)]
    found = proposed(place, tmp_path, [*HEADERS, "ZZ"], rows)
    assert (found["AA"], found["ZZ"]) == ("ignore", "ignore")


def test_a_header_that_looks_like_an_identity_is_never_proposed(place, tmp_path):
    headers = ["Hospital number", *HEADERS[1:]]
    assert "Hospital number" not in proposed(place, tmp_path, headers, ROWS)


def test_a_column_that_the_clinic_ignores_stays_ignored(place, tmp_path):
    said = as_said(place, pipeline.Choices(columns={"AA": "ignore"}))
    assert proposed(said, tmp_path, HEADERS, ROWS)["AA"] == "ignore"
