"""`consentpack talk-back`: marks of a talk entered, taken back and counted, as a clinic types it."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta

import pytest
from click.testing import CliRunner
from given import approved, give

from consentpack import pipeline
from consentpack.cli import main
from consentpack.errors import PlanError, RegisterError
from consentpack.pipeline import Marking, mark_talk, talk_report
from consentpack.register import Talk, TalkMark, add_talk, history, open_register, talks

NOW = datetime(2026, 11, 28, 9)


def typed(clinic, *words: str, code: int = 0):
    done = CliRunner().invoke(main, ["talk-back", *words, "--clinic", str(clinic)])
    assert done.exit_code == code, done.output
    return done


def marking(**marks: str) -> Marking:
    return Marking({q.replace("_", "-"): m for q, m in marks.items()}, "Dr A", date(2026, 11, 27), NOW, "ML")


@pytest.fixture
def built(clinic_copy):
    """A clinic with the pack of one plan."""
    place = pipeline.open_workplace(clinic_copy)
    pipeline.build(place, clinic_copy / "plans/p-101.toml", allow_draft=True)
    return clinic_copy


def test_a_talk_is_entered_for_the_pack_made_last_and_counted(built):
    """Takes seconds: it makes a pack."""
    said = typed(built, "mark", "HS-P-101", "what=said", "harm=again", "--clinician", "Dr A").output
    assert "HS-P-101: 2 marks for the pack made last entered as number" in said
    report = typed(built, "report").output
    assert "harm: 0 of 1 said it at once (too few to say: at least 30 are needed); 1 after" in report
    assert "HS-P-101" not in report
    found = json.loads(typed(built, "report", "--json").output)
    (language,) = found["groups"]["language"]
    assert (language["group"], language["asked"], language["said"]) == (["en-GB"], 2, 1)
    manifest = json.loads((built / "packs/HS-P-101/manifest.json").read_text())
    asked = {each["question"]: each for each in manifest["talk_back"]["questions"]}
    (harm,) = [each for each in found["groups"]["module"] if each["group"][1] == "harm"]
    assert harm["sentence"] == asked["harm"]["answer"] and harm["group"][0] == asked["harm"]["module"]


def test_the_history_tells_of_a_talk_and_it_can_be_taken_back_by_number_or_reference(built):
    """Takes seconds: it makes a pack."""
    for day in ("2026-11-20", "2026-11-21"):
        typed(built, "mark", "HS-P-101", "ring=said", "--clinician", "Dr A", "--on", day, "--by", "ML")
    run = CliRunner()
    listed = run.invoke(main, ["audit", "history", "--clinic", str(built)]).output.splitlines()
    assert listed[-1].endswith("ML  from a talk: 1 mark")
    number = listed[-1].split()[0]
    assert (
        "an entry from a talk"
        in run.invoke(main, ["audit", "undo", "--number", number, "--clinic", str(built)]).output
    )
    assert "1 talk taken back" in typed(built, "undo", "HS-P-101").output
    assert talk_report(pipeline.open_workplace(built), date.today()).groups["question"] == []
    assert "no talk is entered" in typed(built, "undo", "HS-P-101", code=11).output


def test_slips_are_told_all_at_once_and_nothing_is_entered(built):
    """Takes seconds: it makes a pack."""
    place = pipeline.open_workplace(built)
    with pytest.raises(RegisterError) as caught:
        mark_talk(place, "HS-P-101", marking(wat="said", harm="agin"))
    assert [each.fix for each in caught.value.problems] == ["Did you mean 'what'?", "Did you mean 'again'?"]
    with pytest.raises(RegisterError, match="there is no mark"):
        mark_talk(place, "HS-P-101", marking())
    typed(built, "mark", "HS-P-101", "harm", "--clinician", "Dr A", code=2)
    typed(built, "mark", "HS-P-101", "harm=said", "harm=again", "--clinician", "Dr A", code=2)
    assert all(each.kind != "talk-back" for each in history(open_register(place.clinic.register_url)))


def test_a_plan_without_a_pack_has_no_questions_yet(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    for path in (clinic_copy / "packs").glob("HS-P-102/manifest.json"):
        path.unlink()
    with pytest.raises(PlanError, match="there is no pack of this plan"):
        mark_talk(place, "HS-P-102", marking(harm="said"))


def test_a_pack_of_before_there_were_questions_says_so(built):
    """Takes seconds: it makes a pack."""
    path = built / "packs/HS-P-101/manifest.json"
    manifest = json.loads(path.read_text())
    del manifest["talk_back"]
    path.write_text(json.dumps(manifest))
    with pytest.raises(RegisterError, match="has no such question"):
        mark_talk(pipeline.open_workplace(built), "HS-P-101", marking(harm="said"))


def test_a_text_that_too_few_understand_since_it_was_changed_is_named_with_its_sentence(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    register = open_register(place.clinic.register_url, create=True)
    first = date(2026, 6, 1)
    for n in range(80):
        digest, sentence = ("a" * 64, "An older line") if n < 40 else ("b" * 64, "Swelling: 67 in 100")
        mark = 2 if n < 36 or n % 2 else 0
        talk = Talk(f"R-{n}", first + timedelta(days=n), "Dr A", "en-GB")
        add_talk(
            register, talk, [TalkMark("harm", "risks/swelling", digest, sentence, mark)], now=NOW, by="ML"
        )
    said = typed(clinic_copy, "report", "--today", "2026-11-28").output
    assert "Look at this text: risks/swelling, harm: 58 of 80 said it at once, 72%" in said
    assert "They were asked about: Swelling: 67 in 100" in said
    assert "Fewer understand the new text. risks/swelling, harm: 38 of 40 before" in said
    assert said.count("They were asked about: Swelling: 67 in 100") == 2
    assert "crossed on" not in said or "could not say it at once" in said
    found = json.loads(typed(clinic_copy, "report", "--json", "--today", "2026-11-28").output)
    assert found["changed"][0]["after_beside_before"] == "lower"
    only = typed(clinic_copy, "report", "--by", "clinician", "--today", "2026-11-28").output
    assert only.splitlines()[0] == "By clinician:" and "Look at" not in only


def test_the_librarys_report_and_the_list_of_stale_packs_name_a_text_that_fewer_understand(clinic_copy):
    """Takes seconds: a pack is made and given. Whoever never asks for the report of talks must be told too:
    the text goes on being handed out."""
    place = pipeline.open_workplace(clinic_copy)
    score, stale = ["library", "score", "swelling", "--language", "en-GB"], ["stale"]
    where = ["--clinic", str(clinic_copy)]
    run = CliRunner()
    alone = run.invoke(main, [*score, *where])  # no register is there yet: nothing was marked
    assert alone.exit_code == 0 and "Look at" not in alone.output
    pipeline.import_audit(place, clinic_copy / "audit.csv", now=NOW, by="ML")
    approved(clinic_copy)
    give(clinic_copy)
    talks_about_swelling(clinic_copy, fall=False)
    for words in (score, stale):
        assert "Fewer understand" not in run.invoke(main, [*words, *where]).output
    talks_about_swelling(clinic_copy, fall=True)
    told = run.invoke(main, [*score, *where]).output
    assert "Look at this text: risks/swelling, harm: " in told
    hint = "Fewer understand the new text. risks/swelling, harm: "
    for words in (score, stale):
        said = run.invoke(main, [*words, *where]).output
        assert hint in said and "They were asked about: Swelling: 67 in 100" in said


def talks_about_swelling(clinic, *, fall: bool) -> None:
    """80 talks of the last months about one text, which was changed after half of them; with `fall`, nobody
    could say the new one."""
    register = open_register(pipeline.open_workplace(clinic).clinic.register_url, create=True)
    last = date.today() - timedelta(days=1)
    for n in range(80):
        digest, sentence = ("a" * 64, "An older line") if n < 40 else ("b" * 64, "Swelling: 67 in 100")
        mark = 0 if fall and n >= 40 else 2
        talk = Talk(f"R-{fall}-{n}", last - timedelta(days=80 - n), "Dr A", "en-GB")
        marks = [TalkMark("harm", "risks/swelling", digest, sentence, mark)]
        add_talk(register, talk, marks, now=datetime.now(), by="ML")


def test_a_pack_that_was_given_is_marked_by_its_code_or_its_reference_as_it_was_given(clinic_copy):
    """Takes seconds: a pack is given. The text is changed afterwards; the digest stays the given one."""
    approved(clinic_copy)
    pack = give(clinic_copy)
    place = pipeline.open_workplace(clinic_copy)
    by_code = mark_talk(place, f"{pack.entry.code}-11", marking(harm="said"))
    assert (by_code.reference, by_code.papers) == ("HS-P-101", "version 1, which was given,")
    module = json.loads((pack.folder / "manifest.json").read_text())["talk_back"]["questions"][0]
    pipeline.copy_module(place, "blunt-cannula")
    path = clinic_copy / "content/techniques/blunt-cannula.md"
    path.write_text(path.read_text().replace('version = "', 'version = "9', 1))
    place = pipeline.open_workplace(clinic_copy)
    assert mark_talk(place, "HS-P-101", marking(what="again")).papers == by_code.papers
    with open_register(place.clinic.register_url).connect() as connection:
        (what,) = [each for each in talks(connection) if each.question == "what"]
    assert (what.module, what.digest) == ("techniques/blunt-cannula", module["digest"])
    assert what.digest != place.library.techniques["blunt-cannula"].digest
    with pytest.raises(PlanError, match="there is no plan of this name"):
        mark_talk(place, "K7QF2-M9XAB", marking(harm="said"))


def test_marks_are_in_a_backup_and_come_back_with_it(built, tmp_path):
    """Takes seconds: a pack, a backup and a restore."""
    typed(built, "mark", "HS-P-101", "harm=said", "serious=not-yet", "--clinician", "Dr A")
    run, copy = CliRunner(), tmp_path / "copy.zip"
    assert run.invoke(main, ["backup", str(copy), "--clinic", str(built)]).exit_code == 0
    assert run.invoke(main, ["restore", str(copy), str(tmp_path / "back")]).exit_code == 0
    assert typed(tmp_path / "back", "report").output == typed(built, "report").output
