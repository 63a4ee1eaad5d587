"""Plans: what a good one becomes, and the exact message for each mistake of tests/bad_plans/.

Beside each NAME.toml stands NAME.expected.txt; {techniques} and {factors} there are the numbers of
modules in the shipped library. All plans are invented.
"""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from consentpack import shipped
from consentpack.clinic import load_clinic
from consentpack.errors import PlanError
from consentpack.library import Library, load_library
from consentpack.model import Done
from consentpack.plans import KEYS, load_plan

CASES = Path(__file__).parents[1] / "bad_plans"
NOT_YET = {"list-in-a-list": "a list inside a list ends in a traceback"}
GOOD = """reference = "T-1"
prepared = 2026-11-20
planned = ["blunt-cannula", "local-infiltration"]
site = "Left Cheek"
skin_type = "III"
sessions = 2
region = "cheek"
condition = "dipped scars from acne"
indication = "rolling"
reason = "Tight bands pull your scars down."
clinician = "Dr Invented"
clinician_role = "skin doctor"
"""


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library(shipped.content())


@pytest.fixture(scope="module")
def clinic(library):
    return load_clinic(shipped.demo_clinic(), library)


@pytest.fixture
def loaded(tmp_path, library, clinic):
    """loaded(text): the plan that a file of that text makes."""

    def load(text: str):
        path = tmp_path / "p-1.toml"
        path.write_text(text, encoding="utf-8")
        return load_plan(path, library, clinic)

    return load


@pytest.mark.parametrize("name", sorted(path.name for path in CASES.glob("*.toml")))
def test_a_mistake_in_a_plan_is_said_with_place_finding_and_next_step(name, library, clinic, monkeypatch):
    monkeypatch.chdir(CASES)
    with pytest.raises(PlanError) as caught:
        load_plan(Path(name), library, clinic)
    expected = Path(name).with_suffix(".expected.txt").read_text(encoding="utf-8").rstrip("\n")
    counts = {"{techniques}": len(library.techniques), "{factors}": len(library.factors)}
    for mark, count in counts.items():
        expected = expected.replace(mark, str(count))
    assert str(caught.value) == expected


def test_a_good_plan_is_read_whole(loaded):
    plan = loaded(GOOD)
    assert plan.planned == ("blunt-cannula", "local-infiltration")
    assert (plan.prepared, plan.strata["skin_type"], plan.sessions) == (date(2026, 11, 20), "III", 2)
    assert plan.may_become_necessary == plan.factors == () and plan.done is None


def test_a_site_is_compared_in_small_letters(loaded):
    """As in the audit; otherwise 'Left cheek' would find no treatment."""
    assert loaded(GOOD).site == "left cheek"


@pytest.mark.parametrize(
    ("region", "site"), [("shoulder", "left shoulder"), ("back", "Upper back"), ("arm", "right forearm")]
)
def test_a_place_of_its_own_region_is_no_slip_for_a_place_of_another(loaded, region, site):
    """It was: 'left shoulder. Did you mean left cheek?', and no pack."""
    written = GOOD.replace("Left Cheek", site).replace('region = "cheek"', f'region = "{region}"')
    assert loaded(written).site == site.lower()


def test_a_slip_in_the_site_is_asked_about(loaded):
    with pytest.raises(PlanError, match="Did you mean 'left cheek'"):
        loaded(GOOD.replace("Left Cheek", "left chekk"))


def test_a_plan_without_a_language_is_in_the_clinics_own(loaded, clinic):
    assert loaded(GOOD).language == clinic.language
    assert loaded(f'language = "es"\n{GOOD}').language == "es"


def test_what_was_done_is_kept_beside_what_was_planned(loaded):
    done = '[done]\ndate = 2026-12-08\ntechniques = ["needle-fan-one-entry"]\n'
    plan = loaded(GOOD + done)
    assert plan.done == Done(("needle-fan-one-entry",), date(2026, 12, 8))
    assert plan.planned[0] == "blunt-cannula"


def test_a_newer_technique_is_allowed_with_the_clinicians_experience(loaded):
    newer = GOOD.replace("blunt-cannula", "needle-point-by-point")
    assert loaded(f'experience = "About 20 times."\n{newer}').experience == "About 20 times."


def test_every_shipped_plan_is_good(library, clinic):
    plans = [load_plan(p, library, clinic) for p in sorted(shipped.demo_clinic().glob("plans/*.toml"))]
    assert len({plan.reference for plan in plans}) == len(plans) >= 4


@pytest.mark.parametrize(
    "key", ["name", "patient", "patient_name", "surname", "born", "date_of_birth", "dob"]
)
def test_a_key_that_would_name_the_patient_is_refused_and_its_value_not_repeated(loaded, key):
    with pytest.raises(PlanError) as caught:
        loaded(f'{key} = "Invented Person"\n{GOOD}')
    assert f"'{key}' would say who the patient is." in str(caught.value)
    assert "Invented Person" not in str(caught.value)


def test_no_key_of_a_plan_is_for_an_identity():
    assert not {"name", "surname", "address", "email", "telephone", "nhs_number", "born"} & set(KEYS)


def test_a_plan_that_is_not_there_names_the_nearest_one(tmp_path, library, clinic, monkeypatch):
    (tmp_path / "plans").mkdir()
    shutil.copy(CASES / "unknown-key.toml", tmp_path / "plans/p-104.toml")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(PlanError) as caught:
        load_plan(Path("plans/p-105.toml"), library, clinic)
    assert str(caught.value) == (
        "plans/p-105.toml: there is no such file.\n  Did you mean 'plans/p-104.toml'?"
    )


def test_a_plan_that_is_a_folder_or_not_text_is_refused(tmp_path, library, clinic):
    (tmp_path / "p-1.toml").mkdir()
    (tmp_path / "p-2.toml").write_bytes(b'reference = "\xff"\n')
    for name in ("p-1.toml", "p-2.toml"):
        with pytest.raises(PlanError, match=r"the file cannot be read|is not UTF-8 text"):
            load_plan(tmp_path / name, library, clinic)
