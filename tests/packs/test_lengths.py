"""Length is held like the reading grade: over its limit there is no pack, and all say how long it is."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from consentpack import pipeline, shipped
from consentpack.catalogues import available
from consentpack.errors import LengthError
from consentpack.model import Length

DAY = "packs/HS-P-101"


def limited(folder: Path, **limits: int) -> Path:
    """A clinic with limits of its own for its slips, which are short."""
    lines = "\n".join(f"{name} = {number}" for name, number in limits.items())
    with (folder / "clinic.toml").open("a", encoding="utf-8") as file:
        file.write(f"\n[length.slips]\n{lines}\n")
    return folder / "plans/p-101.toml"


def slips(folder: Path, **asked) -> Length:
    place = pipeline.open_workplace(folder)
    return pipeline.judge_plan(place, folder / "plans/p-101.toml", **asked).measures.of("slips")


def test_every_document_of_every_pack_is_measured_and_none_of_the_demo_is_too_long(packs):
    for pack in packs.values():
        assert {each.kind for each in pack.measures.lengths} == {d.kind for d in pack.documents}
        assert all(each.words > 0 and (each.sides or 0) > 0 for each in pack.measures.lengths)
        assert [each.kind for each in pack.measures.lengths if each.over] == []


def test_over_its_limit_nothing_is_written_and_it_is_said_which_document_and_by_how_much(clinic_copy):
    words = slips(clinic_copy).words
    plan = limited(clinic_copy, words=words - 1)
    with pytest.raises(
        LengthError, match=f"slips, en-GB: there are {words} words; the most allowed is {words - 1}."
    ):
        pipeline.build(pipeline.open_workplace(clinic_copy), plan)
    assert not (clinic_copy / "packs").exists()


def test_at_its_limit_it_is_written(clinic_copy):
    there = slips(clinic_copy)
    plan = limited(clinic_copy, words=there.words, sides=there.sides or 0)
    pipeline.build(pipeline.open_workplace(clinic_copy), plan)
    assert (clinic_copy / DAY / "slips.docx").is_file()


def test_asked_for_as_a_draft_it_is_written_and_the_mark_says_why(clinic_copy):
    plan = limited(clinic_copy, words=20)
    pack, _ = pipeline.build(pipeline.open_workplace(clinic_copy), plan, allow_draft=True)
    assert any(reason.startswith("slips, en-GB: there are") for reason in pack.draft)
    assert all(document.draft == pack.draft for document in pack.documents)


def test_large_print_is_held_only_where_it_was_asked_for(clinic_copy):
    """Makes three packs."""
    plan = limited(clinic_copy, large_print_sides=1)
    assert slips(clinic_copy).over == ()
    large = slips(clinic_copy, large_print=True)
    assert large.over == ("large_print_sides",) and (large.large_print_sides or 0) >= (large.sides or 0)
    with pytest.raises(LengthError, match="sides of paper in large print"):
        pipeline.build(pipeline.open_workplace(clinic_copy), plan, large_print=True)


def test_the_command_line_ends_with_a_code_of_its_own(run, clinic_copy):
    """Three commands, one of which scores every plan."""
    limited(clinic_copy, words=20)
    build, score = (run(clinic_copy, name, "plans/p-101.toml") for name in ("build", "score"))
    assert build.exit_code == score.exit_code == LengthError.exit_code == 22
    assert "the most allowed is 20" in build.stderr
    assert "words of 20 allowed OVER" in score.stdout
    report = clinic_copy / "report.html"
    library = run(
        clinic_copy, "library", "score", "bruising", "--language", "en-GB", "--plans", "--html", str(report)
    )
    assert library.exit_code == LengthError.exit_code
    assert "words of 20 over" in report.read_text(encoding="utf-8")


def test_manifest_scores_and_record_say_words_sides_and_minutes(run, clinic_copy):
    """Builds a pack and scores it: two whole runs of the command line."""
    limited(clinic_copy, words=500, sides=4)
    run(clinic_copy, "build", "plans/p-101.toml")
    there = slips(clinic_copy)
    found = json.loads((clinic_copy / DAY / "manifest.json").read_text(encoding="utf-8"))["lengths"]
    made = next(each for each in found if each["document"] == "slips")
    assert (made["words"], made["sides"], made["sides_are"]) == (there.words, there.sides, "reckoned")
    assert made["minutes_at_238"] == round(there.words / 238, 1)
    assert made["minutes_at_175"] == round(there.words / 175, 1)
    assert made["limits"] == {"words": 500, "sides": 4, "large_print_sides": None}
    assert sum(each["words"] for each in made["sections"]) == there.words
    scored = json.loads(run(clinic_copy, "score", "plans/p-101.toml", "--json").stdout)
    assert next(e for e in scored if e["name"] == "HS-P-101 slips")["length"]["words"] == there.words
    record = (clinic_copy / DAY / "record.html").read_text(encoding="utf-8")
    assert f"{there.words} of 500 allowed" in record and f"{there.sides} of 4 allowed" in record


def test_a_file_from_elsewhere_has_words_and_minutes_and_no_sides(run, tmp_path):
    (tmp_path / "old.txt").write_text("Ring us tonight if it bleeds. " * 40, encoding="utf-8")
    said = run(tmp_path, "score", "old.txt").stdout
    assert "length: 240 words; 1.0 minutes at 238 words a minute, 1.4 at 175" in said


LONGER = 500
"""Words of a document from which its share is no chance of a sentence or two."""


def test_the_words_that_languages_may_have_more_are_those_they_need(place):
    """Makes a pack in each of seven languages: the shares are a table, and texts change."""
    plan, shares = place.folder / "plans/p-102.toml", {}
    english = {each.kind: each.words for each in pipeline.judge_plan(place, plan).measures.lengths}
    for language in available([shipped.locales()]):
        lengths = pipeline.judge_plan(place, plan, language=language).measures.lengths
        theirs = {each.kind: each.words for each in lengths if each.language == language}
        shares[language] = max(n / english[kind] for kind, n in theirs.items() if english[kind] >= LONGER)
    longer = place.library.longer
    allowed = {language: longer.get(language.split("-")[0], 1.0) for language in shares}
    assert [each for each in shares if not allowed[each] - 0.1 <= shares[each] <= allowed[each]] == []


# --- sides as they are drawn -----------------------------------------------------------------------------


@pytest.fixture
def pages(monkeypatch):
    """pages(n): from now on LibreOffice, which is not asked, draws n pages of each file."""

    def draws(number: int) -> None:
        def draw(files):
            pdf = b"%PDF-1.7 " + b"<</Type /Page>> " * number
            return {f"{Path(name).stem}.pdf": pdf for name in files}

        monkeypatch.setattr("consentpack.pipeline.lengths.export_pdf", draw)
        monkeypatch.setattr("consentpack.pipeline.writing.export_pdf", draw)
        monkeypatch.setattr("consentpack.pipeline.writing.refuse_losses", lambda documents, drawn: None)

    return draws


def test_where_pdfs_are_drawn_their_pages_decide_against_what_was_reckoned(clinic_copy, pages):
    """Makes three packs."""
    plan = limited(clinic_copy, sides=1)
    assert (slips(clinic_copy).sides or 0) > 1
    pages(1)
    pack, _ = pipeline.build(pipeline.open_workplace(clinic_copy), plan, pdf=True)
    found = pack.measures.of("slips")
    assert (found.sides, found.drawn, found.over) == (1, True, ())
    pages(9)
    with pytest.raises(LengthError, match="there are 9 sides of paper, as drawn; the most allowed is 1"):
        pipeline.build(pipeline.open_workplace(clinic_copy), plan, pdf=True)


def test_what_has_no_limit_is_not_drawn_twice(clinic_copy, monkeypatch):
    drawn: list[str] = []

    def draw(files):
        drawn.extend(files)
        return {}

    monkeypatch.setattr("consentpack.pipeline.lengths.export_pdf", draw)
    assert slips(clinic_copy, pdf=True).drawn is False
    assert sorted({name.split(".")[0] for name in drawn}) == ["aftercare", "form", "record", "talk-back"]


# --- the annex -------------------------------------------------------------------------------------------


def with_annex(folder: Path, heading: str) -> None:
    """A record of the clinic's own whose annex begins with a heading."""
    from consentpack.shipped import content

    own = folder / "content/documents"
    own.mkdir(parents=True)
    text = (content() / "documents/record.md").read_text(encoding="utf-8")
    assert 'annex_from = "Annex"' in text
    text = text.replace('annex_from = "Annex"', f'annex_from = "{heading}"')
    own.joinpath("record.md").write_text(text, encoding="utf-8")


def test_the_record_is_held_to_what_is_before_its_annex(clinic_copy):
    with_annex(clinic_copy, "What was talked about")
    place, plan = pipeline.open_workplace(clinic_copy), clinic_copy / "plans/p-101.toml"
    judged = pipeline.judge_plan(place, plan)
    record = next(each for each in judged.documents if each.kind == "record")
    before = [each.heading for each in record.sections if not each.annex]
    assert before == ["The plan", "Before the talk", "Figures that matter most"]
    found = judged.measures.of("record")
    assert (found.limits.sides, found.over) == (2, ()) and found.annex_words > 1000
    assert [each.heading for each in found.sections] == ["", *before]


def test_a_record_too_long_before_its_annex_is_refused(clinic_copy):
    with_annex(clinic_copy, "Modules and approvals")
    with pytest.raises(LengthError, match="sides of paper before its annex"):
        pipeline.build(pipeline.open_workplace(clinic_copy), clinic_copy / "plans/p-101.toml")
