"""What a practice manager asks before an inspection: what is approved, until when, by which rules."""

from __future__ import annotations

import json
from datetime import date

from consentpack import pipeline
from consentpack.errors import ConsentRuleError, TranslationError

BY = ("--by", "Dr Ruth Ambrose", "--role", "skin doctor")
PT = """msgid ""
msgstr ""
"Language: pt\\n"
"Content-Type: text/plain; charset=UTF-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "Bruising"
msgstr "Moretones"
"""


def rows(run, folder, *arguments) -> list[dict]:
    return json.loads(run(folder, "library", "status", "--json", *arguments).stdout)


def test_at_first_nothing_is_approved_and_everything_is_listed(run, clinic_copy):
    found = rows(run, clinic_copy)
    assert {row["state"] for row in found} == {"never approved"}
    modules = list(pipeline.open_workplace(clinic_copy).library.modules())
    assert len(found) == len(modules) + 2  # and the two tables that print numbers
    assert "never approved" in run(clinic_copy, "library", "status").stdout


def test_what_is_approved_changed_or_past_its_date_is_told_apart(run, clinic_copy):
    assert run(clinic_copy, "library", "approve", "bruising", "risks/swelling", *BY).exit_code == 0
    assert run(clinic_copy, "library", "approve", "faint", "--until", "2026-12-01", *BY).exit_code == 0
    pipeline.copy_module(pipeline.open_workplace(clinic_copy), "risks/bruising")
    own = clinic_copy / "content/risks/bruising.md"
    own.write_text(own.read_text(encoding="utf-8").replace("Bruises fade", "Most fade"), encoding="utf-8")
    states = {row["module"]: row for row in rows(run, clinic_copy, "--today", "2026-12-02")}
    assert states["risks/bruising"]["state"] == "changed"
    assert states["risks/swelling"]["state"] == "approved"
    assert states["risks/swelling"]["by"] == "Dr Ruth Ambrose" and states["risks/swelling"]["until"]
    assert states["risks/faint"]["state"] == "expired"


def test_an_approval_that_ends_soon_is_named_with_its_day(run, clinic_copy):
    run(clinic_copy, "library", "approve", "faint", "--until", "2026-12-20", *BY)
    said = run(clinic_copy, "library", "status", "--today", "2026-12-01").stdout
    assert "risks/faint: ends in 19 days, on 2026-12-20" in said
    assert "ends in" not in run(clinic_copy, "library", "status", "--today", "2026-10-01").stdout


def test_a_module_that_is_not_translated_cannot_be_approved_in_that_language(run, clinic_copy):
    folder = clinic_copy / "locales/pt/LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "clinic.po").write_text(PT, encoding="utf-8")
    result = run(clinic_copy, "library", "approve", "risks/bruising", "--language", "pt", *BY)
    assert result.exit_code == TranslationError.exit_code
    assert "of risks/bruising is not translated" in result.stderr
    assert not (clinic_copy / "approvals.toml").exists()
    found = rows(run, clinic_copy, "--language", "pt")
    assert {row["language"] for row in found} == {"pt"}
    assert "documents/record" not in {row["module"] for row in found}  # the clinic's own language


def shortened(clinic_copy) -> str:
    plan = clinic_copy / "plans/p-101.toml"
    text = plan.read_text(encoding="utf-8")
    plan.write_text(
        text.replace("treatment_date = 2026-12-08", "treatment_date = 2026-11-28"), encoding="utf-8"
    )
    return "plans/p-101.toml"


def test_too_little_time_to_think_stops_the_pack_with_the_rule_and_its_words(run, clinic_copy):
    result = run(clinic_copy, "build", shortened(clinic_copy))
    assert result.exit_code == ConsentRuleError.exit_code
    assert "there are 8 days between information and treatment" in result.stderr
    assert "ask for 14 (United Kingdom, cosmetic work)" in result.stderr
    assert not (clinic_copy / "packs/HS-P-101").exists()


def test_a_draft_may_be_made_all_the_same_and_says_why(run, clinic_copy):
    result = run(clinic_copy, "build", shortened(clinic_copy), "--draft")
    assert result.exit_code == 0
    manifest = json.loads((clinic_copy / "packs/HS-P-101/manifest.json").read_text(encoding="utf-8"))
    assert any("8 days between information and treatment" in reason for reason in manifest["draft"])


def test_the_record_says_how_long_the_patient_had_to_think_and_by_whose_rule(run, clinic_copy):
    said = run(clinic_copy, "build", "plans/p-101.toml", "--show", "tree").stdout
    assert "Time to think: 18 days up to the treatment; 14 asked for (United Kingdom, cosmetic work)" in said


def test_the_record_names_each_line_of_the_diary_by_its_outcome(run, clinic_copy):
    said = run(clinic_copy, "build", "plans/p-101.toml", "--show", "tree").stdout
    assert "Is there a bruise?: bruising" in said
    asked = [line for line in said.splitlines() if line.startswith("Is there a bruise? | Y / N")]
    assert len(asked) == 1


def test_approvals_are_judged_by_today_unless_the_plan_is_later(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    pipeline.approve(
        place, [], by="Dr A", role="skin doctor", day=date(2026, 11, 20), until=date(2026, 11, 30)
    )
    pack = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml", today=date(2026, 11, 25))
    assert pack.draft == ()
    late = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml", today=date(2026, 12, 1))
    assert any("past their date" in reason for reason in late.draft)
