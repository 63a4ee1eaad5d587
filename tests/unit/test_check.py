"""`library check`: what a careful editor would send back. The shipped library has nothing of it.

Modules are invented, or shipped ones changed for one test.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from consentpack import shipped
from consentpack.check import check_library
from consentpack.check.lint import MODULE_TARGET
from consentpack.library import KINDS, Library, load_library
from consentpack.pipeline import scorer_of
from consentpack.tree import Block, Inline

TODAY = date(2026, 11, 25)
HARD = (
    "Notwithstanding considerable heterogeneity, characteristic manifestations predominantly necessitate "
    "individualised multidisciplinary rehabilitation, particularly following unsatisfactory preliminary "
    "intervention. Hypersensitivity occasionally precipitates generalised deterioration, necessitating "
    "immediate hospitalisation, resuscitation and continuous cardiovascular observation thereafter, "
    "alongside comprehensive psychological assessment."
)


@pytest.fixture(scope="module")
def whole() -> Library:
    return load_library(shipped.content())


@pytest.fixture(scope="module")
def small(whole) -> Library:
    """One technique and just what it calls for: quick to score, and nothing wrong with it."""
    technique = whole.techniques["local-infiltration"]
    lists = {"risks": ("bruising",), "aftercare": ("cold-pack",), "warnings": ("infection-signs",)}
    technique = replace(technique, benefits=(), **lists)
    nothing = {id: option for id, option in whole.options.items() if option.no_treatment}
    empty = {folder: {} for folder in KINDS}
    named = {
        "techniques": {technique.id: technique},
        "risks": {"bruising": whole.risks["bruising"]},
        "aftercare": {"cold-pack": whole.aftercare["cold-pack"]},
        "warnings": {"infection-signs": whole.warnings["infection-signs"]},
        "options": nothing,
    }
    return replace(whole, **(empty | named), published=())


def with_risk(library: Library, **changes) -> Library:
    """The library with its module on bruising changed."""
    return replace(library, risks={"bruising": replace(library.risks["bruising"], **changes)})


def with_technique(library: Library, **changes) -> Library:
    technique = replace(library.techniques["local-infiltration"], **changes)
    return replace(library, techniques={technique.id: technique})


def said(library: Library, today: date = TODAY) -> list[str]:
    return [str(problem) for problem in check_library(library, scorer_of(library), today=today)]


def test_the_shipped_library_has_nothing_wrong_with_it(whole):
    reviewed = max(module.reviewed for _, module in whole.modules())
    assert said(whole, today=reviewed) == []


def test_the_small_library_of_these_tests_has_nothing_wrong_with_it(small):
    assert said(small) == []


def test_a_module_past_its_review_date_is_named_from_the_day_after(small):
    library = with_risk(small, reviewed=date(2024, 1, 1), review_by=TODAY)
    assert said(library) == []
    assert said(library, today=date(2026, 11, 26)) == [
        "content/risks/bruising.md: it should have been reviewed by 2026-11-25.\n"
        "  Check its facts, then set new dates."
    ]


def test_dates_in_the_wrong_order_are_named(small):
    assert said(with_risk(small, reviewed=date(2028, 1, 1), review_by=date(2027, 1, 1))) == [
        "content/risks/bruising.md: 'review_by' is before 'reviewed'."
    ]


def test_words_that_are_too_hard_are_named_with_their_grade(small):
    sections = {"What you may notice": (Block("paragraph", (Inline(HARD, 12),)),)}
    (problem,) = said(with_risk(small, sections=sections))
    first, *worst = problem.splitlines()
    assert first.startswith(
        "content/risks/bruising.md: risks/bruising, “What you may notice”: the reading grade"
    )
    assert first.endswith(f"; the target is {MODULE_TARGET.limit:g} ({MODULE_TARGET.who}).")
    assert worst and all("content/risks/bruising.md, line 12: grade" in line for line in worst)


def test_words_a_patient_never_reads_may_be_hard(small, whole):
    factor = whole.factors["blood-thinners"]
    hard = (Block("paragraph", (Inline(HARD, 12),)),)
    clinician = replace(factor, sections={"For the clinician": hard})
    patient = replace(factor, sections={"What this changes": hard})
    assert said(replace(small, factors={factor.id: clinician})) == []
    assert len(said(replace(small, factors={factor.id: patient}))) == 1


def test_a_few_words_alone_have_no_grade(small):
    words = " ".join(HARD.split()[:10])
    assert said(with_risk(small, sections={"x": (Block("paragraph", (Inline(words, 12),)),)})) == []


@pytest.mark.parametrize("folder", ["risks", "aftercare", "warnings", "benefits"])
def test_a_module_no_other_names_is_in_no_pack_and_is_named(small, whole, folder):
    lonely = next(m for id, m in whole.kind(folder).items() if id not in small.kind(folder))
    library = replace(small, **{folder: {**small.kind(folder), lonely.id: lonely}})
    assert said(library) == [f"{lonely.file}: no other module names this one; no pack can hold it."]


def test_doing_nothing_needs_nobody_to_name_it_but_must_be_there(small):
    assert said(replace(small, options={})) == ["content/options: no option is marked no_treatment = true."]


@pytest.mark.parametrize("key", ["aftercare", "warnings"])
def test_a_technique_must_say_how_to_look_after_oneself(small, key):
    assert f"content/techniques/local-infiltration.md: it lists no {key}." in said(
        with_technique(small, **{key: ()})
    )


def test_a_technique_without_a_risk_is_named(small):
    assert "content/techniques/local-infiltration.md: it lists no risks." in said(
        with_technique(small, risks=())
    )


def test_a_treatment_must_name_what_it_may_gain_and_what_else_could_be_done(small):
    assert said(with_technique(small, kind="release")) == [
        "content/techniques/local-infiltration.md: it lists no benefits.",
        "content/techniques/local-infiltration.md: it lists no options.",
    ]


def test_a_published_count_out_of_nobody_is_named_but_a_case_report_may_stand(small, whole):
    rate = replace(whole.published[0], id="invented-1", events=0, n=0)
    assert said(replace(small, published=(replace(rate, seen="secondary"),))) == [
        "content/published_rates.csv: 'invented-1' has no denominator."
    ]
    assert said(replace(small, published=(replace(rate, seen="abstract"),))) == []
