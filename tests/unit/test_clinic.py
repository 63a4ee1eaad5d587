"""The clinic folder: where it is found, and everything that can be wrong with clinic.toml.

The clinic is invented; its telephone numbers are from the range the UK regulator keeps for drama
(Ofcom, "Telephone numbers for use in TV and radio drama": London 020 7946 0000 to 0999; from memory).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from consentpack import shipped
from consentpack.clinic import DEFAULT_WINDOW_MONTHS, find_clinic, keep_columns, load_clinic, register_from
from consentpack.errors import ClinicError
from consentpack.library import load_library
from consentpack.model import CareSetting, ReadingRules

LIBRARY = load_library(shipped.content())
TARGETS = LIBRARY.targets
CARE = {"cold_spell": CareSetting("cold_spell", 10, "minutes", 10, 15, "Sources differ (invented).")}
NAMES = replace(LIBRARY, settings=CARE)
CLINIC = """[clinic]
name = "Example Clinic (invented)"
address = ["1 Example Street", "Example Town"]
phone = "020 7946 0101"
phone_out_of_hours = "020 7946 0199"
hours = "Monday to Friday, 9 to 5"
emergency_number = "999"
"""
AUDIT = '\n[audit]\ndates = "day-first"\n'
GOOD = CLINIC + AUDIT


@pytest.fixture
def loaded(tmp_path):
    """loaded(text): the clinic a clinic.toml of that text makes."""

    def load(text: str):
        (tmp_path / "clinic.toml").write_text(text, encoding="utf-8")
        return load_clinic(tmp_path, NAMES)

    return load


@pytest.fixture
def refused(loaded):
    """refused(text): what is said about a clinic.toml of that text."""

    def load(text: str) -> list[str]:
        with pytest.raises(ClinicError) as caught:
            loaded(text)
        return [str(problem) for problem in caught.value.problems]

    return load


def test_the_folder_is_found_from_anywhere_inside_it(tmp_path):
    (tmp_path / "clinic.toml").touch()
    inside = tmp_path / "plans" / "old"
    inside.mkdir(parents=True)
    assert find_clinic(inside) == find_clinic(tmp_path) == tmp_path.resolve()


def test_outside_a_clinic_folder_the_next_step_is_said(tmp_path):
    with pytest.raises(ClinicError) as caught:
        find_clinic(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path}: this is not inside a clinic folder: there is no clinic.toml here or above.\n"
        "  Go into the clinic's folder or add --clinic DIR. `consentpack start DIR` makes a folder for your "
        "clinic; `consentpack demo` one of an invented clinic."
    )


def test_the_shipped_example_is_a_good_clinic():
    clinic = load_clinic(shipped.demo_clinic(), LIBRARY)
    assert clinic.invented and "(invented)" in clinic.name


def test_what_is_left_out_has_a_default(loaded, tmp_path):
    clinic = loaded(GOOD)
    assert clinic.reading == ReadingRules()
    assert clinic.window_months == DEFAULT_WINDOW_MONTHS
    assert clinic.language == "en-GB"
    assert clinic.register_url == str(tmp_path / "register.sqlite")
    assert not clinic.invented and clinic.care == clinic.site_groups == clinic.stratum_groups == {}


def test_a_register_on_a_server_is_taken_as_it_is(loaded):
    url = "postgresql+psycopg://clinic@db.example/audit"
    assert loaded(f'{GOOD}register = "{url}"\n').register_url == url


def test_groups_are_looked_up_by_their_members(loaded):
    clinic = loaded(f'{GOOD}\n[groups.sites]\n"cheeks" = ["left cheek", "right cheek"]\n')
    assert clinic.site_groups == {"left cheek": "cheeks", "right cheek": "cheeks"}


def test_a_site_is_in_its_group_whatever_its_capital_letters(loaded):
    clinic = loaded(f'{GOOD}\n[groups.sites]\n"cheeks" = ["Left cheek"]\n')
    assert clinic.site_groups == {"left cheek": "cheeks"}


def test_a_byte_order_mark_from_an_editor_does_not_matter(loaded):
    assert loaded("\ufeff" + GOOD).phone == "020 7946 0101"


def test_a_missing_table_and_a_misspelt_one_are_both_said(refused):
    assert refused('[adit]\ndates = "day-first"\n') == [
        "clinic.toml: there is no table [adit].\n  Did you mean 'audit'?",
        "clinic.toml: the table [clinic] is missing.",
    ]


def test_a_misspelt_key_has_its_line_and_its_table(refused):
    assert refused(GOOD.replace("phone_out_of_hours", "phone_out_of_ours")) == [
        "clinic.toml, line 5: there is no key 'phone_out_of_ours' in [clinic].\n"
        "  Did you mean 'phone_out_of_hours'?",
        "clinic.toml: the key 'phone_out_of_hours' is missing in [clinic] (number at night and at weekends).",
    ]


def test_the_order_of_dates_must_be_said(refused):
    """Guessing it would move treatments by months."""
    assert refused(GOOD.replace("day-first", "european")) == [
        "clinic.toml, line 10: 'dates' is 'european'; "
        "it should be one of: day-first, month-first, year-first."
    ]


def test_a_site_in_two_groups_is_refused(refused):
    groups = '\n[groups.sites]\n"cheeks" = ["left cheek"]\n"left side" = ["left cheek", "left temple"]\n'
    assert refused(GOOD + groups) == [
        "clinic.toml, line 14: 'left cheek' is in two groups, 'cheeks' and 'left side'."
    ]


def test_a_skin_type_that_does_not_exist_is_refused(refused):
    assert refused(f'{GOOD}\n[groups.skin_type]\n"dark" = ["V", "VII"]\n') == [
        "clinic.toml, line 13: there is no skin type 'VII'; use I, II, III, IV, V, VI."
    ]


def test_a_group_that_is_no_list_is_refused(refused):
    assert refused(f'{GOOD}\n[groups.sites]\n"cheeks" = "left cheek"\n') == [
        "clinic.toml, line 13: 'cheeks' should be a list of words."
    ]


@pytest.mark.parametrize("value", ["16", "9", "12.5", '"12"', "true"])
def test_a_care_setting_outside_its_limits_is_refused_with_the_reason(refused, value):
    said = refused(f"{GOOD}\n[care]\ncold_spell = {value}\n")
    assert len(said) == 1
    assert said[0].startswith("clinic.toml, line 13: 'cold_spell' should be from 10 to 15 minutes; it is ")
    assert said[0].endswith("\n  Sources differ (invented).")


@pytest.mark.parametrize("value", [10, 15])
def test_a_care_setting_may_be_at_its_limits(loaded, value):
    assert loaded(f"{GOOD}\n[care]\ncold_spell = {value}\n").care == {"cold_spell": value}


def test_an_unknown_care_setting_is_refused(refused):
    assert refused(f"{GOOD}\n[care]\ncold_spel = 12\n") == [
        "clinic.toml, line 13: there is no care setting 'cold_spel'.\n  Did you mean 'cold_spell'?"
    ]


def test_a_file_that_is_no_toml_names_the_line(refused):
    assert refused(GOOD.replace('"999"', "999-000"))[0].startswith(
        "clinic.toml, line 7: this line is not TOML"
    )


def test_a_file_that_is_not_utf8_is_refused(tmp_path):
    (tmp_path / "clinic.toml").write_bytes(GOOD.replace("Example", "Écharpe").encode("latin-1"))
    with pytest.raises(ClinicError, match="the file is not UTF-8 text"):
        load_clinic(tmp_path, NAMES)


@pytest.mark.parametrize("table", ["readability", "rates", "groups", "care"])
def test_a_number_where_a_table_belongs_is_refused(refused, table):
    assert table in refused(f"{table} = 6\n{GOOD}")[0]


@pytest.mark.parametrize("grade", ["nan", "inf"])
def test_a_target_grade_that_every_text_would_meet_is_refused(refused, grade):
    assert "target_grade" in refused(f"{GOOD}\n[readability]\ntarget_grade = {grade}\n")[0]


@pytest.mark.parametrize(
    ("written", "rules"),
    [
        ("", ReadingRules()),
        ("target = 'nhs'", ReadingRules("nhs")),
        ("target_grade = 5.5", ReadingRules(5.5)),
        (
            "documents = { aftercare = 'critical', consent = 7 }",
            ReadingRules("", {"aftercare": "critical", "consent": 7}),
        ),
        ("languages = { es = 'inflesz-easy' }", ReadingRules("", {}, {"es": "inflesz-easy"})),
    ],
)
def test_reading_targets_are_names_of_published_ones_or_grades(loaded, written, rules):
    assert loaded(f"{GOOD}\n[readability]\n{written}\n").reading == rules


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("target = 'nsh'", "line 13: there is no reading target 'nsh'.\n  Did you mean 'nih' or 'nhs'?"),
        (
            "target = 'ama'\ntarget_grade = 6",
            "line 14: 'target' and 'target_grade' are both there; keep one.",
        ),
        ("documents = { aftercare = true }", "'aftercare' should be a target's name in quotes, or a grade"),
        ("documents = { aftercare = -1 }", "or a grade such as 6; it is -1."),
        ("languages = { es = 'inflez' }", "there is no reading target 'inflez'."),
    ],
)
def test_a_wrong_reading_target_is_refused(refused, written, said):
    assert said in "\n".join(refused(f"{GOOD}\n[readability]\n{written}\n"))


def test_no_waiting_time_may_be_said_where_the_rule_asks_for_none(loaded):
    written = "[consent]\nrules = 'us-general'\nwait_days = 0\n"
    assert loaded(f"{GOOD}\n{written}").consent.wait_days == 0


# --- length -------------------------------------------------------------------------------------------


def test_limits_of_length_are_read_by_document(loaded):
    clinic = loaded(GOOD + "\n[length.form]\nwords = 900\nany_plan_sides = 0\n[length.slips]\nsides = 1\n")
    assert clinic.length == {"form": {"words": 900, "any_plan_sides": 0}, "slips": {"sides": 1}}
    assert loaded(GOOD).length == {}


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("[length.fom]\nwords = 9", "line 12: there is no document 'fom' whose length could be set."),
        ("[length]\nform = 4", "line 13: 'form' should be a table; it is 4."),
        ("[length.form]\nword = 9", "line 13: there is no key 'word' in [length.form]."),
        ("[length.form]\nwords = -1", "line 13: 'words' should be 0 or more; it is -1."),
        ("[length.form]\nsides = 2.5", "line 13: 'sides' should be a whole number; it is 2.5."),
    ],
)
def test_a_limit_that_would_limit_nothing_is_refused(refused, written, said):
    assert any(said in problem for problem in refused(f"{GOOD}\n{written}\n")), refused(
        f"{GOOD}\n{written}\n"
    )


def test_a_clinic_without_an_audit_need_not_speak_of_one(loaded, tmp_path):
    assert loaded(CLINIC).register_url == ""
    assert register_from(tmp_path) == ""
    assert loaded(CLINIC + '\n[audit]\nregister = "none"\n').register_url == ""


def test_a_register_that_nobody_speaks_of_is_not_overlooked(refused, tmp_path):
    (tmp_path / "register.sqlite").touch()
    assert refused(CLINIC) == [
        "clinic.toml: there is a register here (register.sqlite), and no table [audit]: nothing would be "
        'counted.\n  Write [audit] with register = "register.sqlite", or register = "none", in it.'
    ]


def test_who_keeps_an_audit_need_not_say_how_its_dates_are_typed(loaded):
    """Each column then has to tell it as a whole, or the import asks."""
    assert loaded(CLINIC + '\n[audit]\nregister = "register.sqlite"\n').date_order is None


WATCH = "\n[watch]\nbaseline_until = {}\nodds_ratio = 2\nrun_length = 1000\n"


def test_a_day_is_read_by_the_clinics_own_order(loaded, refused):
    assert loaded(GOOD + WATCH.format("03/04/2025")).watch.baseline_until == date(2025, 4, 3)
    assert loaded(GOOD.replace("day", "month") + WATCH.format("03/04/2025")).watch.baseline_until.month == 3
    (said,) = refused(GOOD.replace("day", "year") + WATCH.format("03/04/2025"))
    assert said.startswith(
        "clinic.toml, line 13: 'baseline_until' is '03/04/2025', which may be 3 April 2025 or"
    )


def test_a_column_map_is_kept_beside_a_day_that_toml_does_not_know(loaded, tmp_path):
    loaded(GOOD + WATCH.format("30.4.2025"))
    keep_columns(tmp_path, {"Bruise": "bruising"}, {})
    kept = load_clinic(tmp_path, NAMES)
    assert kept.audit_columns == {"Bruise": "bruising"} and kept.watch.baseline_until == date(2025, 4, 30)
