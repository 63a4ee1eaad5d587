"""A module with a mistake keeps back the packs that use it, and no other; nothing is left out in silence."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from consentpack import shipped


def own(clinic: Path, part: str) -> Path:
    """A copy of a shipped module in the clinic's own content."""
    target = clinic / "content" / f"{part}.md"
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(shipped.content() / f"{part}.md", target)
    return target


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


PLAN = "plans/p-101.toml"


def test_a_half_written_module_that_no_plan_names_stops_no_pack(run, clinic_copy):
    own(clinic_copy, "risks/bruising").with_name("half.md").write_text("+++\nid = ", encoding="utf-8")
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 0
    assert "Set aside, as they have mistakes: risks/half." in result.stderr


def test_the_library_check_says_what_is_wrong_with_it_and_with_the_rest(run, clinic_copy):
    own(clinic_copy, "risks/bruising").with_name("half.md").write_text("+++\nid = ", encoding="utf-8")
    result = run(clinic_copy, "library", "check", "--today", "2026-11-25")
    assert result.exit_code == 10
    assert "content/risks/half.md, line 1: the file does not begin with front matter." in result.stdout
    assert "modules read, 1 problem." in result.stdout


def test_a_pack_that_carries_it_is_refused_with_its_mistake(run, clinic_copy):
    """The shipped module of that name must not slip in for the clinic's own."""
    spoil(own(clinic_copy, "risks/bruising"), "## How long it lasts", "## How long")
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 15
    assert "'blunt-cannula' cannot be used: its module has a mistake, or names one that has." in result.stderr
    assert (
        "content/risks/bruising.md, line" in result.stderr
        and "there is no section 'How long'" in result.stderr
    )
    assert not (clinic_copy / "packs").exists()


def test_a_text_that_prints_the_figure_of_one_is_set_aside_with_it(run, clinic_copy):
    spoil(own(clinic_copy, "risks/bruising"), "## How long it lasts", "## How long")
    sun = own(clinic_copy, "aftercare/sun")
    spoil(sun, "\n## Notes on the sheet", "\n- See {{ rate('bruising') }}.\n\n## Notes on the sheet")
    result = run(clinic_copy, "library", "show", "aftercare/sun")
    assert result.exit_code == 10 and "it names 'risks/bruising', which has a mistake." in result.stderr


def test_the_audit_is_read_with_the_half_written_ones(run, clinic_copy):
    """Rows of a technique whose module is being rewritten are no rows of an unknown one."""
    spoil(own(clinic_copy, "techniques/blunt-cannula"), "## How it feels", "## Feels")
    spoil(own(clinic_copy, "risks/bruising"), "## How long it lasts", "## How long")
    result = run(clinic_copy, "audit", "import", "audit.csv")
    assert result.exit_code == 0
    assert "727 rows read: 0 added, 0 updated, 720 unchanged, 7 set aside." in result.stdout


USES_IT, USES_IT_NOT = "p-101", "p-104"
"""Plans with and without the thin tube."""


@pytest.mark.parametrize(
    "command", [("build",), ("audit", "rates"), ("score",), ("give", "--by", "Dr Example", "--only", "form")]
)
def test_a_half_written_technique_stops_the_plans_that_use_it_and_no_other(run, clinic_copy, command):
    """A rule of suitability names it too: that must not make the whole library unreadable."""
    spoil(own(clinic_copy, "techniques/blunt-cannula"), "## How it feels", "## Feels")
    first, *more = command
    words = (first, *more) if first == "audit" else (first,)
    rest = () if first == "audit" else tuple(more)
    stopped = run(clinic_copy, *words, f"plans/{USES_IT}.toml", *rest)
    assert stopped.exit_code == 15 and "'blunt-cannula' cannot be used" in stopped.stderr
    result = run(clinic_copy, *words, f"plans/{USES_IT_NOT}.toml", *rest)
    assert "techniques/blunt-cannula" in result.stderr.splitlines()[0]
    assert result.exit_code == (23 if first == "give" else 0), result.stderr  # nothing is approved yet


def test_a_rule_may_name_a_half_written_module(run, clinic_copy):
    spoil(own(clinic_copy, "techniques/peel-superficial"), "## How it feels", "## Feels")
    assert run(clinic_copy, "build", PLAN, "--show", "plan").exit_code == 0


def test_other_modules_can_be_copied_signed_and_scored_beside_a_half_written_one(run, clinic_copy):
    own(clinic_copy, "risks/bruising").with_name("half.md").write_text("+++\nid = ", encoding="utf-8")
    assert run(clinic_copy, "library", "copy", "infection").exit_code == 0
    signed = run(clinic_copy, "library", "approve", "infection", "--by", "Dr Example", "--role", "doctor")
    assert signed.exit_code == 0
    assert run(clinic_copy, "library", "score", "infection", "--language", "en").exit_code == 0
    refused = run(clinic_copy, "library", "approve", "half", "--by", "Dr Example", "--role", "doctor")
    assert refused.exit_code == 10 and "half.md, line 1" in refused.stderr


@pytest.mark.parametrize("part", ["documents/form", "documents/booklet", "options/no-treatment"])
def test_what_every_pack_is_made_of_stops_every_pack(run, clinic_copy, part):
    path = own(clinic_copy, part)
    path.write_text(path.read_text(encoding="utf-8").replace("title = ", "titel = "), encoding="utf-8")
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 10 and f"content/{part}.md" in result.stderr


# --- gutted texts --------------------------------------------------------------------------------


GUTTED = (
    ("form", "decision"), ("form", "serious-harms"), ("form", "choices-in-line"), ("form", "agreement"),
    ("form", "signatures"), ("booklet", "risk-table"), ("booklet", "options"), ("booklet", "what-happens"),
    ("booklet", "contacts"), ("more", "harms-in-full"), ("aftercare", "at-once-in-short"),
    ("homecare", "emergency-signs"), ("record", "record-figures"),
)  # fmt: skip


@pytest.mark.parametrize(("document", "part"), GUTTED)
def test_papers_without_harms_choices_signatures_or_signs_are_none(run, clinic_copy, document, part):
    spoil(own(clinic_copy, f"documents/{document}"), f"::: {part}\n", "")
    said = f"content/documents/{document}.md: '::: {part}' is missing; no pack can be made without it."
    for command in (("build", PLAN), ("library", "check")):
        result = run(clinic_copy, *command)
        assert result.exit_code == 10 and said in result.stderr


@pytest.mark.parametrize(
    ("document", "heading", "part"),
    [
        ("booklet", "What can go wrong", "risk-table"),
        ("form", "What may happen that is serious", "serious-harms"),
    ],
)
def test_harms_may_not_depend_on_a_condition(run, clinic_copy, document, heading, part):
    path = own(clinic_copy, f"documents/{document}")
    old = "[when]\n" if "[when]\n" in path.read_text(encoding="utf-8") else "\n+++\n\n"
    spoil(path, old, f'\n[when]\n"{heading}" = "plan:numbing"\n{old.removeprefix("[when]")}')
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 10
    assert f"'::: {part}' is printed only under the condition 'plan:numbing'." in result.stderr


@pytest.mark.parametrize("key", ["risks", "options", "warnings", "benefits", "aftercare"])
def test_a_technique_without_harms_or_other_choices_makes_no_pack(run, clinic_copy, key):
    import re

    path = own(clinic_copy, "techniques/blunt-cannula")
    text = path.read_text(encoding="utf-8")
    made = re.sub(rf"^{key} = \[.*?\]$", f"{key} = []", text, count=1, flags=re.M | re.S)
    assert made != text
    path.write_text(made, encoding="utf-8")
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 15 and f"blunt-cannula.md: it lists no {key}." in result.stderr


OUR_FORM = """+++
id = "our-form"
title = "What we ask you to sign"
version = "1"
reviewed = 2026-11-25
review_by = 2028-11-25
audience = "patient"
+++

Please read this and sign it.

::: agreement

::: signatures
"""


def test_a_form_of_the_clinics_own_without_harms_or_choices_is_none(run, clinic_copy):
    """It has a name of its own, so that no list of what our form needs finds it."""
    path = own(clinic_copy, "documents/form").with_name("our-form.md")
    shutil.copy(clinic_copy / "content/documents/form.md", path)
    path.with_name("form.md").unlink()
    path.write_text(OUR_FORM, encoding="utf-8")
    result = run(clinic_copy, "library", "check")
    assert result.exit_code == 10
    for what in ("harms", "other choices"):
        assert f"our-form.md: somebody signs this document, and it lacks {what}:" in result.stderr
    assert "a place to sign" not in result.stderr
    whole = OUR_FORM.replace("::: agreement", "::: risk-table\n\n::: options\n\n::: agreement")
    path.write_text(whole, encoding="utf-8")
    assert "somebody signs" not in run(clinic_copy, "library", "check").stderr
    path.write_text(whole.replace("::: signatures\n", ""), encoding="utf-8")
    assert "it lacks a place to sign" in run(clinic_copy, "library", "check").stderr


@pytest.mark.parametrize("document", ["diary", "slips", "check-card"])
def test_an_emptied_document_is_refused(run, clinic_copy, document):
    path = own(clinic_copy, f"documents/{document}")
    front = path.read_text(encoding="utf-8").split("+++")[1]
    lines = [line for line in front.splitlines() if not line.startswith(("new_side", "annex_from"))]
    path.write_text("+++" + "\n".join(lines).split("[when]")[0] + "\n+++\n", encoding="utf-8")
    result = run(clinic_copy, "library", "check")
    assert result.exit_code == 10 and f"documents/{document}.md: this document is empty." in result.stderr


@pytest.mark.parametrize("left", ["", "…", "- —"])
def test_an_emptied_section_is_a_mistake(run, clinic_copy, left):
    path = own(clinic_copy, "risks/bruising")
    before, _, rest = path.read_text(encoding="utf-8").partition("## How long it lasts\n")
    path.write_text(
        f"{before}## How long it lasts\n\n{left}\n\n##{rest.partition('##')[2]}", encoding="utf-8"
    )
    result = run(clinic_copy, "library", "check")
    assert result.exit_code == 10 and "'## How long it lasts'" in result.stdout
    assert "set aside" in run(clinic_copy, "library", "list").stderr


# --- naming a plan -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["HS-P-101", "p-101"])
def test_a_plan_may_be_named_by_its_reference_or_its_file(run, clinic_copy, name):
    result = run(clinic_copy, "build", name, "--show", "plan")
    assert result.exit_code == 0 and "reference = 'HS-P-101'" in result.stdout


def test_a_name_of_no_plan_gets_the_plans_there_are(run, clinic_copy):
    result = run(clinic_copy, "build", "MR-200")
    assert result.exit_code == 15
    assert "MR-200: there is no plan of this name or reference." in result.stderr
    assert "Plans here: plans/p-101.toml (HS-P-101), plans/p-102.toml (HS-P-102)" in result.stderr
    assert "clinic.toml" not in result.stderr


def test_two_plans_of_one_reference_are_not_guessed_between(run, clinic_copy):
    shutil.copy(clinic_copy / PLAN, clinic_copy / "plans/again.toml")
    result = run(clinic_copy, "build", "HS-P-101")
    assert result.exit_code == 15 and "more than one plan has this reference." in result.stderr
