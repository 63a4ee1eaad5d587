"""`library new`: a module to be filled in says what each part is for, and stops nothing until it is."""

from __future__ import annotations

import re

import pytest

from consentpack.cli.library import MODULE_KINDS
from consentpack.library.schema import COMMON, SCHEMA
from consentpack.library.skeleton import FOLDER_OF, MARK, PURPOSE

PLAN = "plans/p-101.toml"


def test_there_is_one_for_every_kind_of_module():
    assert tuple(FOLDER_OF) == MODULE_KINDS and set(FOLDER_OF.values()) == set(SCHEMA)
    assert set(PURPOSE) == {section for kind in SCHEMA.values() for section in kind.sections}


@pytest.mark.parametrize("kind", MODULE_KINDS)
def test_a_new_module_has_every_key_and_part_and_stops_no_pack(run, clinic_copy, kind):
    made = run(clinic_copy, "library", "new", kind, "my-own")
    path = clinic_copy / f"content/{FOLDER_OF[kind]}/my-own.md"
    assert made.exit_code == 0 and made.stdout.strip() == str(path)
    text = path.read_text(encoding="utf-8")
    schema = SCHEMA[FOLDER_OF[kind]]
    for key, spec in {**COMMON, **schema.keys}.items():
        assert re.search(rf"^(# May be left out: )?{key} = ", text, re.M), key
        assert spec.meaning[1:] in text
    for section in schema.sections:
        assert f"## {section}\n" in text and PURPOSE[section] in text
    checked = run(clinic_copy, "library", "check", "--today", "2026-11-28")
    assert checked.exit_code == 10 and "my-own.md: it is not finished:" in checked.stdout
    assert "1 problem." in checked.stdout
    assert run(clinic_copy, "build", PLAN, "--show", "plan").exit_code == 0


def test_what_is_left_to_fill_in_is_named_until_nothing_is(run, clinic_copy):
    run(clinic_copy, "library", "new", "benefit", "softer-skin")
    path = clinic_copy / "content/benefits/softer-skin.md"
    text = path.read_text(encoding="utf-8")
    for key, value in {
        "title": '"Softer skin (invented)"', "version": '"1"', "reviewed": "2026-11-25",
        "review_by": "2028-11-25", "clinical": '"softness"', "watch_days": "90",
    }.items():  # fmt: skip
        text = text.replace(f'\n{key} = "{MARK}"', f"\n{key} = {value}")
    path.write_text(text, encoding="utf-8")
    said = run(clinic_copy, "library", "check").stdout
    assert (
        "3 parts are still to be filled in (“What you may notice”, “How long it lasts”, “In your diary”)"
        in said
    )
    path.write_text(re.sub(rf"{MARK}: .*", "It may feel softer.", text), encoding="utf-8")
    left = run(clinic_copy, "library", "check", "--today", "2026-11-28").stdout
    assert "not finished" not in left and "no other module names this one" in left


def test_our_form_is_never_left_out_for_a_begun_one_of_its_name(run, clinic_copy):
    run(clinic_copy, "library", "new", "document", "my-own")
    folder = clinic_copy / "content/documents"
    (folder / "my-own.md").rename(folder / "form.md")
    result = run(clinic_copy, "build", PLAN)
    assert result.exit_code == 10 and "form.md: it is not finished" in result.stderr


@pytest.mark.parametrize(
    ("name", "said"),
    [("Warm Packs", "a module cannot be called this."), ("../x", "a module cannot be called this."),
     ("blunt-cannula", "there is a technique of this name already.")],
)  # fmt: skip
def test_a_name_that_cannot_be_or_is_there_is_refused(run, clinic_copy, name, said):
    result = run(clinic_copy, "library", "new", "technique", name)
    assert result.exit_code == 14 and said in result.stderr
    assert not (clinic_copy / "content").exists()


def test_nothing_is_written_over(run, clinic_copy):
    run(clinic_copy, "library", "new", "risk", "my-own")
    path = clinic_copy / "content/risks/my-own.md"
    path.write_text("mine", encoding="utf-8")
    result = run(clinic_copy, "library", "new", "risk", "my-own")
    assert result.exit_code == 14 and path.read_text(encoding="utf-8") == "mine"
