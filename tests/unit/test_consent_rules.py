"""Time to think, age and who takes consent: checked against what the clinic works under.

The rules are the library's own rows, with their sources; the plans are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from consentpack import shipped
from consentpack.clinic import load_clinic
from consentpack.consent_rules import broken, undecided, waited
from consentpack.errors import ClinicError
from consentpack.library import load_library
from consentpack.model import ConsentRules, Plan

LIBRARY = load_library(shipped.content())
CLINIC = load_clinic(shipped.demo_clinic(), LIBRARY)
PLAN = Plan(
    "T-1", date(2026, 11, 1), "en-GB", planned=("needle-fan-one-entry",), site="left cheek", region="cheek",
    strata={"skin_type": "III"},
    sessions=1, condition="a dip", reason="It pulls.", clinician="Dr Invented", clinician_role="skin doctor",
    information_given=date(2026, 11, 1), treatment_date=date(2026, 11, 15), file="plans/t-1.toml",
)  # fmt: skip


def under(id: str, **stricter):
    rule = LIBRARY.rules[id]
    rules = {"wait_days": rule.wait_days, "minimum_age": rule.minimum_age, "taken_by": rule.taken_by}
    return replace(CLINIC, consent=ConsentRules(rule=id, **{**rules, **stricter}))


def said(id: str, plan: Plan = PLAN, **stricter) -> list[str]:
    return [problem.what for problem in broken(plan, under(id, **stricter), LIBRARY)]


@pytest.mark.parametrize(
    ("rule", "days"),
    [
        # the table of waiting times of the reference (its §1.8), with the marks of content/consent_rules.toml
        ("uk-cosmetic-surgery", 14), ("australia-cosmetic-surgery", 7), ("france-cosmetic-surgery", 15),
        ("austria-cosmetic-surgery", 14), ("belgium-cosmetic-surgery", 15), ("denmark-cosmetic", 2),
        ("us-general", 0), ("uk-treatment", 0),
    ],
)  # fmt: skip
def test_the_waiting_time_is_that_of_the_law_or_body(rule, days):
    assert LIBRARY.rules[rule].wait_days == days
    assert LIBRARY.rules[rule].sources and LIBRARY.rules[rule].why
    just = replace(PLAN, treatment_date=date.fromordinal(PLAN.information_given.toordinal() + days))
    assert said(rule, just) == []
    if days:
        early = replace(PLAN, treatment_date=date.fromordinal(PLAN.information_given.toordinal() + days - 1))
        (what,) = said(rule, early)
        assert f"there are {days - 1} days between information and treatment" in what
        assert f"ask for {days} ({LIBRARY.rules[rule].where})" in what


def test_up_to_the_consent_where_its_day_is_given():
    plan = replace(PLAN, consent_day=date(2026, 11, 5))
    assert waited(plan, CLINIC).days == 4 and waited(plan, CLINIC).until == "consent"
    assert "4 days between information and consent" in said("uk-cosmetic-surgery", plan)[0]


def test_a_missing_day_is_never_taken_for_enough_time():
    plan = replace(PLAN, information_given=None)
    assert waited(plan, CLINIC).days is None
    assert said("uk-cosmetic-surgery", plan) == []
    (why,) = undecided(plan, under("uk-cosmetic-surgery"), LIBRARY)
    assert why.startswith("the plan lacks information_given: 14 days to think (United Kingdom")
    undated = replace(plan, treatment_date=None)
    assert len(undecided(undated, under("uk-cosmetic-surgery"), LIBRARY)) == 2
    assert undecided(undated, under("us-general"), LIBRARY) == ()
    assert undecided(PLAN, under("uk-cosmetic-surgery"), LIBRARY) == ()


def test_information_before_the_plan_is_named():
    plan = replace(PLAN, information_given=date(2026, 10, 30))
    assert "'information_given' (2026-10-30) is before 'prepared' (2026-11-01)." in said("us-general", plan)


def test_a_clinic_may_be_stricter_than_its_rule():
    assert said("uk-cosmetic", wait_days=30)[0].startswith("there are 14 days")


def test_austria_asks_for_a_day_between_consent_and_treatment():
    plan = replace(PLAN, consent_day=PLAN.treatment_date)
    assert said("austria-cosmetic-surgery", plan) == [
        "consent and treatment are on one day; Austria, cosmetic surgery asks for a day between."
    ]
    assert said("uk-cosmetic-surgery", plan) == []


def test_a_patient_under_18_is_not_treated_where_the_clinic_treats_adults():
    plan = replace(PLAN, factors=("under-18",))
    assert said("uk-cosmetic", plan) == ["the plan says the patient is under 18; the clinic treats from 18."]
    assert said("uk-treatment", plan) == []
    assert len(said("uk-treatment", plan, minimum_age=18)) == 1


def test_whoever_treats_takes_consent_where_it_may_not_be_delegated():
    plan = replace(PLAN, consent_taken_by="Ms Other")
    assert said("uk-cosmetic", plan) == ["Ms Other takes consent, but Dr Invented treats."]
    assert said("uk-cosmetic", replace(PLAN, consent_taken_by="Dr Invented")) == []
    assert said("uk-treatment", plan) == []


def test_days_in_the_wrong_order_are_named():
    plan = replace(PLAN, consent_day=date(2026, 12, 1))
    assert said("us-general", plan) == ["'treatment_date' (2026-11-15) is before 'consent_day' (2026-12-01)."]


def test_a_clinic_that_named_no_rule_is_not_judged():
    clinic = replace(CLINIC, consent=ConsentRules())
    assert broken(replace(PLAN, treatment_date=PLAN.information_given), clinic, LIBRARY) == []


@pytest.mark.parametrize(
    ("written", "what"),
    [
        ('rules = "uk-cosmetics"', "there is no rule 'uk-cosmetics' about consent.\n  Did you mean"),
        (
            'rules = "france-cosmetic-surgery"\nwait_days = 10',
            "'wait_days' is 10; France, cosmetic surgery asks",
        ),
        (
            'rules = "uk-cosmetic"\nminimum_age = 16',
            "'minimum_age' is 16; United Kingdom, cosmetic work asks",
        ),
        (
            'rules = "uk-cosmetic"\ntaken_by = "trained"',
            "asks that whoever does the treatment takes consent.",
        ),
        (
            'rules = "uk-cosmetic"\nphotographs = ["holiday"]',
            "'photographs' is 'holiday'; it should be one of",
        ),
        ("wait_days = 10", "the key 'rules' is missing"),
    ],
)
def test_a_clinic_may_not_be_laxer_than_its_rule(tmp_path, written, what):
    text = (shipped.demo_clinic() / "clinic.toml").read_text(encoding="utf-8")
    start = text.index("[consent]")
    end = text.index("\n[", start + 1)
    (tmp_path / "clinic.toml").write_text(
        text[:start] + f"[consent]\n{written}\n" + text[end:], encoding="utf-8"
    )
    with pytest.raises(ClinicError) as caught:
        load_clinic(tmp_path, LIBRARY)
    assert what in str(caught.value)
