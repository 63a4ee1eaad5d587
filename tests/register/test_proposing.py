"""A column map proposed from headers, for somebody of the clinic to confirm. Headers are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack import pipeline, shipped
from consentpack.library import load_library
from consentpack.register import propose
from consentpack.register.columns import FIELDS, looks_like_identity, map_columns, noticed_of

OUTCOMES = {
    "bruising": ("Bruising", "ecchymosis"),
    "infection": ("Infection", "infection"),
    "swelling": ("Swelling", "oedema"),
}


FIELD = load_library(shipped.content()).field
MORE = {each.id: each.called for each in (*FIELD.strata.values(), *FIELD.measurements.values())}


def test_most_headers_of_the_demo_are_proposed_as_the_clinic_mapped_them(place):
    declared = place.clinic.audit_columns
    bare = replace(place, clinic=replace(place.clinic, audit_columns={}))
    found = pipeline.propose_columns(bare, place.folder / "audit.csv")
    proposed = found.columns
    assert (found.identities, found.place.header_rows) == ((), (1,))
    assert list(proposed) == list(declared)
    wrong = {h: m for h, m in proposed.items() if m not in (declared[h], "ignore")}
    assert wrong == {}  # what is not clear is left for a person
    fields = {header for header, meaning in declared.items() if meaning in FIELDS}
    assert {h for h in fields if proposed[h] == declared[h]} == fields
    assert sum(proposed[h] == m for h, m in declared.items()) > len(declared) * 2 / 3


@pytest.mark.parametrize(
    ("header", "meaning"),
    [
        ("CASE NUMBER", "case"), ("case_ref", "case"), ("Ref.", "case"), ("Visit no.", "session"),
        ("Session", "session"), ("Date of treatment", "date"), ("treatment-date", "date"),
        ("Technique", "techniques"), ("Area treated", "site"), ("Skin-type", "skin_type"),
        ("Phototype", "skin_type"), ("Last follow-up", "last_seen"), ("Complications", "outcomes_seen"),
        ("Clinician", "operator"), ("Needle gauge", "gauge"), ("Volume (ml)", "volume_ml"),
        ("bruising?", "bruising"), ("Ecchymosis", "bruising"), ("Infections", "infection"),
    ],
)  # fmt: skip
def test_headers_as_clinics_write_them_are_known(header, meaning):
    assert propose([header], OUTCOMES, MORE) == {header: meaning}


@pytest.mark.parametrize("header", ["Remarks", "Room", "Invoice paid", "Column1", "???", "x", "42", "Größe"])
def test_what_is_not_clear_is_ignored(header):
    assert propose([header], OUTCOMES) == {header: "ignore"}


@pytest.mark.parametrize(
    "header",
    [
        "Patient name", "Name", "Surname", "NHS number", "MRN", "Date of birth", "DOB", "Age", "Email",
        "Case name", "Hospital number", "Patient case name", "birth date", "Site address", "phone no",
    ],
)  # fmt: skip
def test_an_identity_is_never_proposed_for_anything(header):
    assert propose([header, "Ref"], OUTCOMES) == {header: "ignore", "Ref": "case"}


def test_each_meaning_is_proposed_once_for_the_header_that_fits_best():
    proposed = propose(["Dates", "Date", "Day", "Bruise", "Bruising"], OUTCOMES)
    assert proposed["Date"] == "date" and proposed["Bruising"] == "bruising"
    assert list(proposed.values()).count("date") == 1
    assert list(proposed.values()).count("bruising") == 1


def test_columns_without_a_header_are_left_out():
    assert propose(["", "Date", ""], OUTCOMES) == {"Date": "date"}


def test_no_headers_propose_nothing():
    assert propose([], OUTCOMES) == {}


WORDS = st.lists(st.sampled_from(["case", "name", "date", "birth", "visit", "no", "skin", "site", "bruise"]))
HEADERS = st.one_of(st.text(max_size=20), WORDS.map(" ".join), st.sampled_from(sorted(FIELDS)))


@given(st.lists(HEADERS, max_size=12, unique=True))
def test_whatever_the_headers_what_is_proposed_can_be_used(headers):
    proposed = propose(headers, OUTCOMES)
    meant = [meaning for meaning in proposed.values() if meaning != "ignore"]
    assert len(meant) == len(set(meant))
    assert set(meant) <= {*FIELDS, *OUTCOMES, *map(noticed_of, OUTCOMES)}
    assert not [h for h, meaning in proposed.items() if looks_like_identity(h) and meaning != "ignore"]
    stripped = {header.strip(): meaning for header, meaning in proposed.items()}
    if len(stripped) == len(proposed):
        _, problems = map_columns(headers, stripped, OUTCOMES, file="audit.csv")
        assert not [p for p in problems if "two columns" in p.what or "neither a field" in p.what]


@pytest.mark.parametrize(
    ("header", "meaning"),
    [("Infected?", "infection"), ("Type one", "ignore"), ("Bruised", "bruising"), ("Inject", "ignore")],
)
def test_words_and_not_letters_decide_what_a_header_is_near_to(header, meaning):
    assert propose([header], OUTCOMES, MORE) == {header: meaning}
