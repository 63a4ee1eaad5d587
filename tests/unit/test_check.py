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
from consentpack.library.modules import blocks_of
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
    technique = replace(technique, benefits=(), options=("cover-make-up",), **lists)
    options = {id: option for id, option in whole.options.items() if option.no_treatment}
    options["cover-make-up"] = replace(whole.options["cover-make-up"], indications=())
    empty = {folder: {} for folder in KINDS}
    named = {
        "techniques": {technique.id: technique},
        "risks": {"bruising": whole.risks["bruising"]},
        "aftercare": {"cold-pack": whole.aftercare["cold-pack"]},
        "warnings": {"infection-signs": whole.warnings["infection-signs"]},
        "options": options,
    }
    made = replace(whole, **(empty | named), published=(), targets={}, rules={}, suitability={}, waits={})
    used = {id for _, module in made.modules() for id in module.sources}
    text = " ".join(i.text for _, m in made.modules() for b in blocks_of(m) for i in b.items)
    settings = {name: replace(s, sources=()) for name, s in whole.settings.items() if f"care.{name} " in text}
    return replace(made, settings=settings, sources={id: whole.sources[id] for id in used})


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
    found = said(replace(library, settings=whole.settings, sources=whole.sources))
    assert f"{lonely.file}: no other module names this one; no pack can hold it." in found


def test_doing_nothing_needs_nobody_to_name_it_but_must_be_there(small):
    options = {"cover-make-up": small.options["cover-make-up"]}
    found = said(replace(small, options=options))
    assert "content/options: no option is marked no_treatment = true." in found


def test_a_treatment_must_say_that_it_may_not_work_and_for_what_it_is(small):
    file = "content/techniques/local-infiltration.md"
    assert said(with_technique(small, kind="release")) == [
        f"{file}: it lists no indications.",
        f"{file}: it carries none of little-change, unclear-result: that it may not work is a risk too.",
    ]


def with_rate(small, whole, **changes) -> list[str]:
    rate = replace(
        whole.published[0],
        id="invented-1",
        technique="local-infiltration",
        outcome="bruising",
        source="nhs-stitches",
    )
    sources = {**small.sources, "nhs-stitches": whole.sources["nhs-stitches"]}
    return said(replace(small, published=(replace(rate, **changes),), sources=sources))


def test_a_published_count_out_of_nobody_is_named_but_a_case_report_may_stand(small, whole):
    assert with_rate(small, whole, events=0, n=0, seen="secondary") == [
        "content/published_rates.csv: 'invented-1' has no denominator."
    ]
    assert with_rate(small, whole, events=1, n=None, seen="abstract") == []


def test_a_published_figure_of_a_unit_nobody_has_given_words_to_is_named(small, whole):
    assert with_rate(small, whole, unit="people") == []
    (problem,) = with_rate(small, whole, unit="doctors")
    assert "'invented-1': 'doctors' is no unit here; no patient can be shown it." in problem


def test_a_published_figure_that_no_pack_can_show_is_named(small, whole):
    assert with_rate(small, whole, outcome="infection", events=1, n=50) == [
        "content/published_rates.csv: 'invented-1': 'local-infiltration' does not list 'infection'; "
        "nobody can be shown it."
    ]


def test_a_source_nothing_names_is_named(small, whole):
    sources = {**small.sources, "nhs-peels": whole.sources["nhs-peels"]}
    assert said(replace(small, sources=sources)) == [
        "content/sources.json: nothing names the source 'nhs-peels'."
    ]


def test_a_setting_no_text_prints_is_named(small, whole):
    setting = replace(whole.settings["sun_cover"], name="sun_hat", sources=())
    found = said(replace(small, settings={**small.settings, "sun_hat": setting}))
    assert found == ["content/settings.toml: no text prints the setting 'sun_hat'."]
    waiting = with_technique(small, waits={"sun_hat": "sun_hat"})
    assert said(replace(waiting, settings={**small.settings, "sun_hat": setting})) == []


def test_a_kind_of_condition_without_another_choice_is_named(small):
    options = {
        **small.options,
        "cover-make-up": replace(small.options["cover-make-up"], indications=("rolling",)),
    }
    found = said(replace(small, options=options))
    assert "content/options: there is no other choice for 'keloid'." in found
    assert not any("'rolling'" in each for each in found)


def test_one_activity_answered_in_two_topics_is_named(small):
    answer = (Block("bullets", (Inline("**Put on a hat**: after 2 days.", 40),)),)
    pack = small.aftercare["cold-pack"]
    first = replace(pack, sections={**pack.sections, "When you can": answer})
    second = replace(first, id="hats", file="content/aftercare/hats.md")
    library = with_technique(small, aftercare=("cold-pack", "hats"))
    found = said(replace(library, aftercare={"cold-pack": first, "hats": second}))
    assert found == [
        "content/aftercare/hats.md, line 40: “put on a hat” is in content/aftercare/cold-pack.md too."
    ]


def test_one_question_of_the_diary_asked_by_two_outcomes_is_named(small):
    other = replace(small.risks["bruising"], id="blue", file="content/risks/blue.md")
    library = with_technique(small, risks=("bruising", "blue"))
    found = said(replace(library, risks={"bruising": small.risks["bruising"], "blue": other}))
    assert len(found) == 1 and found[0].startswith("content/risks/blue.md, line ")
    assert found[0].endswith("“is there a bruise?” is in content/risks/bruising.md too.")
