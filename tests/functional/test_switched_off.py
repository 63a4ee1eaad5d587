"""[library] without: modules that a clinic does without are nowhere, and what is needed stays."""

from __future__ import annotations

import json
from datetime import date

import pytest

from consentpack import pipeline, shipped
from consentpack.check import check_library
from consentpack.errors import ContentError
from consentpack.library import load_library

PLAN = "plans/p-101.toml"
ALL = load_library(shipped.content())


def off(*names: str):
    return load_library(shipped.content(), without=names)


def refused(*names: str) -> str:
    with pytest.raises(ContentError) as caught:
        off(*names)
    return str(caught.value)


def switch_off(clinic, *names: str) -> None:
    path = clinic / "clinic.toml"
    table = f"\n[library]\nwithout = {json.dumps(names)}\n"
    path.write_text(path.read_text(encoding="utf-8") + table, encoding="utf-8")


def test_a_technique_that_is_switched_off_is_gone_with_what_only_it_had_named():
    found = off("techniques/steroid-injection")
    assert found.without == {"techniques/steroid-injection", "benefits/less-itch", "risks/skin-thinning"}
    assert "steroid-injection" not in found.techniques and "skin-thinning" not in found.outcomes
    assert not [rate for rate in found.published if rate.technique == "steroid-injection"]
    assert [rate for rate in ALL.published if rate.technique == "steroid-injection"]


@pytest.mark.parametrize("id", ["steroid-injection", "blunt-cannula", "punch-excision"])
def test_the_check_of_the_rest_finds_nothing_that_was_left_over(id):
    found = off(f"techniques/{id}")
    assert check_library(found, pipeline.scorer_of(found), today=date(2026, 11, 28)) == []


def test_what_names_a_module_that_may_go_names_it_no_more():
    found = off("risks/bruising", "techniques/local-infiltration")
    assert "bruising" in ALL.techniques["blunt-cannula"].risks
    for technique in found.techniques.values():
        named = {*technique.risks, *technique.aftercare, *technique.anaesthetics}
        assert not named & {"bruising", "local-infiltration"}


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("techniques/blunt-canula",), "there is no 'blunt-canula' in techniques.\n  Did you mean"),
        (("documents/form",), "'documents/form' is nothing that can be switched off."),
        (("options/no-treatment",), "every form offers to do nothing."),
        (("techniques/needle-fan-one-entry",),
         "it is the established way that 'techniques/thread-release' is offered beside."),
        (("risks/vessel-blockage",), "it is a serious harm of 'techniques/"),
        (("risks/little-change",), "field.toml names it under 'may_not_work'."),
        (("aftercare/keep-clean",), "field.toml names it under 'topics'."),
        (("techniques/nerve-block-face",), "it is all that 'techniques/peel-medium' has under 'anaesth"),
        (("techniques/peel-superficial",),
         "the rule [pregnancy-light-peel] of suitability.toml points to technique:peel-superficial, which is "
         "switched off.\n  Add \"suitability/pregnancy-light-peel\" to the list"),
        (("suitability/pregnancy-light-peel",), "cannot be switched off: it still speaks: factor:pregnancy"),
        (("techniques/tumescent-dilute",), "the rule [faint-fluid] of waits.toml points to"),
    ],
)  # fmt: skip
def test_what_something_needs_stays_and_it_is_said_what(names, said):
    assert f"clinic.toml, [library] without: {said}" in refused(*names) or said in refused(*names)


@pytest.mark.parametrize("id", [w.id for w in ALL.warnings.values()][:3])
def test_a_warning_sign_that_is_called_for_stays(id):
    assert "calls for this sign, and nobody would be told of it." in refused(f"warnings/{id}")


@pytest.mark.parametrize("id", sorted(r.id for r in ALL.risks.values() if r.group == "serious"))
def test_no_serious_harm_of_a_technique_in_use_can_be_switched_off(id):
    assert "it is a serious harm of 'techniques/" in refused(f"risks/{id}")


def test_a_rule_that_speaks_of_nothing_any_more_goes_by_name():
    rules = ("suitability/pregnancy-light-peel", "suitability/dark-light-peel")
    found = off("techniques/peel-superficial", *rules)
    assert (
        "pregnancy-light-peel" not in found.suitability and len(found.suitability) == len(ALL.suitability) - 2
    )
    assert "pregnancy-strong-peel" not in found.without


def test_what_is_switched_off_is_nowhere_in_the_commands(run, clinic_copy):
    switch_off(clinic_copy, "techniques/steroid-injection")
    listed = run(clinic_copy, "library", "list")
    assert "steroid-injection" not in listed.stdout and "steroid-injection" in listed.stderr
    shown = run(clinic_copy, "library", "show", "steroid-injection")
    assert shown.exit_code == 10 and "this module is switched off in this clinic." in shown.stderr
    assert "teroid" not in run(clinic_copy, "audit", "sheet", "--today", "2026-11-25").stdout
    assert "steroid-injection" not in run(clinic_copy, "library", "status", "--json").stdout
    assert run(clinic_copy, "build", PLAN, "--show", "matches").exit_code == 0


def test_a_plan_that_names_it_is_refused(run, clinic_copy):
    switch_off(clinic_copy, "techniques/blunt-cannula")
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 15 and "'blunt-cannula' is switched off in this clinic." in result.stderr


def test_what_was_done_before_is_still_read_from_the_audit(run, clinic_copy):
    switch_off(clinic_copy, "techniques/blunt-cannula")
    result = run(clinic_copy, "audit", "import", "audit.csv")
    assert "720 unchanged, 7 set aside." in result.stdout


@pytest.mark.parametrize("wrong", ["without = 1", 'wihtout = ["techniques/blunt-cannula"]', "without = [1]"])
def test_a_slip_never_brings_back_what_was_switched_off(run, clinic_copy, wrong):
    path = clinic_copy / "clinic.toml"
    path.write_text(path.read_text(encoding="utf-8") + f"\n[library]\n{wrong}\n", encoding="utf-8")
    assert run(clinic_copy, "library", "list").exit_code == 16
