"""Which column holds what, and which must never be read. All headers here are invented."""

from __future__ import annotations

import pytest

from consentpack.register.columns import FIELDS, REQUIRED, map_columns

PLAIN = ("case", "session", "date", "techniques", "site")
OUTCOMES = ("bruising", "infection")


def mapped(headers, declared=None, outcomes=OUTCOMES):
    return map_columns(headers, declared or {}, outcomes, file="audit.csv")


def test_headers_that_are_fields_or_outcome_ids_need_no_entry():
    columns, problems = mapped((*PLAIN, "bruising"))
    assert problems == []
    assert columns.fields == {"case": 0, "session": 1, "date": 2, "techniques": 3, "site": 4}
    assert columns.outcomes == {"bruising": 5}


def test_the_clinics_own_headers_are_mapped_in_any_order():
    declared = {"Visit": "session", "Ref": "case", "Bruise": "bruising"}
    columns, problems = mapped(("Bruise", "date", "Visit", "techniques", "Ref", "site"), declared)
    assert problems == []
    assert columns.outcomes == {"bruising": 0}
    assert columns.fields["session"] == 2
    assert columns.fields["case"] == 4


def test_spaces_round_a_header_do_not_matter():
    columns, problems = mapped((" case ", "session", "date", "techniques", "site\t"))
    assert problems == []
    assert columns.headers == PLAIN


def test_an_unknown_column_is_ignored_and_named():
    columns, problems = mapped((*PLAIN, "Room", "Remarks"))
    assert problems == []
    assert columns.ignored == ("Room", "Remarks")
    assert not {5, 6} & {*columns.fields.values(), *columns.outcomes.values()}


@pytest.mark.parametrize("missing", REQUIRED)
def test_each_field_that_is_needed_is_asked_for_with_what_to_type(missing):
    _, problems = mapped([header for header in PLAIN if header != missing])
    (problem,) = problems
    assert f"no column holds '{missing}' ({FIELDS[missing]})" in problem.what
    assert f'"Your header" = "{missing}"' in problem.fix
    assert problem.where == "audit.csv, row 1"


def test_every_missing_field_is_told_in_one_go():
    _, problems = mapped(("site",))
    assert len(problems) == len(REQUIRED) - 1


@pytest.mark.parametrize(
    "header",
    [
        "Name", "Patient name", "Surname", "Forename", "First name", "Last name", "DOB", "dob",
        "Date of birth", "Age", "Phone", "Mobile", "Tel", "Telephone", "E-mail", "Email", "Address",
        "Post code", "Postcode", "ZIP", "NHS number", "MRN", "Hospital number", "Hospital no",
        "Passport", "Insurance no", "SSN",
    ],
)  # fmt: skip
def test_a_header_that_looks_like_an_identity_is_refused(header):
    _, problems = mapped((*PLAIN, header))
    (problem,) = problems
    assert f"the column '{header}' looks as if it says who a patient is." == problem.what
    assert f'"{header}" = "ignore"' in problem.fix


@pytest.mark.parametrize(
    "header",
    [
        "patient_name", "PatientName", "date_of_birth", "DateOfBirth", "birthdate", "Birthday",
        "nhs_number", "D.O.B.", "patientSurname", "home-phone", "e_mail", "NAME",
    ],
)  # fmt: skip
def test_identities_are_refused_too_in_the_other_ways_people_write_them(header):
    _, problems = mapped((*PLAIN, header))
    assert any("who a patient is" in problem.what for problem in problems)


@pytest.mark.parametrize("meaning", ["case", "site", "bruising"])
def test_an_identity_is_refused_even_when_it_is_declared_to_hold_something_else(meaning):
    headers = [header for header in PLAIN if header != meaning]
    columns, problems = mapped((*headers, "Patient name"), {"Patient name": meaning})
    assert any("who a patient is" in problem.what for problem in problems)
    assert len(headers) not in {*columns.fields.values(), *columns.outcomes.values()}


def test_a_column_named_ignore_is_never_read_whatever_its_header():
    columns, problems = mapped((*PLAIN, "Name of filler"), {"Name of filler": "ignore"})
    assert problems == []
    assert columns.ignored == ("Name of filler",)


@pytest.mark.parametrize(
    "header", ["Last seen", "Site", "Area", "Dosage", "Bandage", "Image", "Case no", "Stage"]
)
def test_ordinary_headers_are_not_taken_for_identities(header):
    _, problems = mapped((*PLAIN, header))
    assert problems == []


def test_two_columns_may_not_hold_the_same_thing():
    _, problems = mapped((*PLAIN, "Bruise", "bruising"), {"Bruise": "bruising"})
    (problem,) = problems
    assert problem.what == "two columns hold 'bruising': 'Bruise' and 'bruising'."


def test_a_declared_column_that_is_not_there_is_told_with_the_nearest_header():
    _, problems = mapped((*PLAIN, "Bruise"), {"Bruises": "bruising"})
    (problem,) = problems
    assert problem.what == "clinic.toml names the column 'Bruises', which is not there."
    assert problem.fix == "Did you mean 'Bruise'?"


def test_a_declared_meaning_that_nobody_knows_is_told_with_the_nearest_one():
    _, problems = mapped((*PLAIN, "Bruise"), {"Bruise": "brusing"})
    (problem,) = problems
    assert problem.where == "clinic.toml, [audit.columns]"
    assert "'brusing', which is neither a field nor an outcome" in problem.what
    assert problem.fix == "Did you mean 'bruising'?"


def test_an_outcome_the_library_does_not_know_is_no_column_of_ours():
    columns, _ = mapped((*PLAIN, "bruising"), outcomes=("infection",))
    assert columns.outcomes == {}
    assert columns.ignored == ("bruising",)


def test_a_column_that_is_to_be_ignored_may_be_gone():
    columns, problems = mapped(PLAIN, {"Patient name": "ignore"})
    assert problems == []
    assert columns.ignored == ()


@pytest.mark.parametrize("header", ["Our\u00a0ref", " Our  ref", "Our\u200b ref", "Our\nref"])
def test_a_header_is_known_with_any_white_space(header):
    columns, problems = mapped((header, *PLAIN[1:]), {"Our ref": "case"})
    assert problems == []
    assert columns.fields["case"] == 0


@pytest.mark.parametrize("header", ["Na\u200bme", "\u00a0Name", "Sur\u00adname"])
def test_an_invisible_sign_does_not_hide_an_identity(header):
    _, problems = mapped((*PLAIN, header))
    assert any("who a patient is" in problem.what for problem in problems)


def test_the_row_of_the_headers_is_told():
    _, problems = map_columns(("site",), {}, OUTCOMES, file="audit.csv", row=4)
    assert {problem.where for problem in problems} == {"audit.csv, row 4"}
