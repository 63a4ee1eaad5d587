"""The stages of a pack: inputs are read once, what comes out does not hang on the order of its parts, and a
new kind of document or format is one entry and one file."""

from __future__ import annotations

import hashlib
import json
import re
import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest

from consentpack import export, pipeline, shipped
from consentpack.assemble.document import PARTS
from consentpack.errors import ContentError, OutputError
from consentpack.export.text import export_text
from consentpack.library import load_library
from consentpack.plans import PlanText, check_plan, load_plan

TODAY = date(2026, 11, 25)
PLAN = "plans/p-101.toml"


def own_file(clinic: Path, name: str, change) -> None:
    """A content file of the clinic's own: ours, changed."""
    path = clinic / "content" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(change((shipped.content() / name).read_text(encoding="utf-8")), encoding="utf-8")


def pack_of(clinic: Path, **how):
    place = pipeline.open_workplace(clinic)
    return pipeline.make_pack(place, clinic / PLAN, today=TODAY, **how)


def document(pack, kind: str):
    return next(each for each in pack.documents if each.kind == kind)


def part(pack, kind: str, directive: str) -> list[str]:
    """The lines of the part that a directive builds, as text."""
    made = document(pack, kind)
    nodes = [node for s in made.sections if directive in s.parts for node in s.nodes]
    return export_text(type(made)(**{**vars(made), "sections": (), "lead": tuple(nodes)})).splitlines()


def inputs_of(pack) -> dict[str, str]:
    return json.loads(pack.files["manifest.json"])["inputs"]


def digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


# --- parts about the document itself --------------------------------------------------------------


def moved_to_the_front(heading: str):
    """A document's file with one of its sections before all others."""

    def change(text: str) -> str:
        found = re.search(rf"\n## {heading}\n.*?(?=\n## |\Z)", text, re.S)
        assert found
        rest = text.replace(found[0], "")
        front = rest.index("\n## ")
        return f"{rest[:front]}{found[0]}\n{rest[front:]}"

    return change


@pytest.mark.parametrize(
    "directive", ["words-explained", "about-this-document"], ids=["glossary", "about this document"]
)
def test_a_part_about_the_document_says_the_same_wherever_it_stands(clinic_copy, directive):
    before = part(pack_of(clinic_copy), "booklet", directive)
    assert len(before) > 4
    plan = pipeline.open_workplace(clinic_copy).library.documents["booklet"]
    (section,) = [
        p for p in plan.parts if any(b.kind == "directive" and b.items[0].text == directive for b in p.blocks)
    ]
    own_file(clinic_copy, "documents/booklet.md", moved_to_the_front(section.heading))
    moved = pack_of(clinic_copy)
    assert directive in document(moved, "booklet").sections[0].parts
    assert part(moved, "booklet", directive) == before


def test_the_home_sheet_takes_no_day_from_a_module_that_only_the_booklet_prints(clinic_copy):
    old = "2019-02-03"
    own_file(
        clinic_copy,
        "options/no-treatment.md",
        lambda text: re.sub(r"reviewed = \S+", f"reviewed = {old}", text),
    )
    pack = pack_of(clinic_copy)
    booklet, sheet = (" ".join(part(pack, kind, "about-this-document")) for kind in ("booklet", "homecare"))
    assert "Words last checked: 3 February 2019" in booklet
    assert "Words last checked: " in sheet and "2019" not in sheet


def test_every_part_of_the_record_is_built_once(clinic_copy, monkeypatch):
    built = []
    for directive, build in PARTS.items():
        monkeypatch.setitem(PARTS, directive, lambda ctx, d=directive, b=build: (built.append(d), b(ctx))[1])
    pack_of(clinic_copy)
    record = [directive for directive in built if directive.startswith("record-")]
    assert len(record) == len(set(record)) > 5


# --- what went in ---------------------------------------------------------------------------------


@pytest.mark.parametrize("language", ["en-GB", "es"])
def test_the_manifest_names_every_document_file_in_every_language(clinic_copy, language):
    inputs = inputs_of(pack_of(clinic_copy, language=language))
    for kind in ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back"):
        file = shipped.content() / f"documents/{kind}.md"
        assert inputs[f"content/documents/{kind}.md"] == digest(file.read_bytes())


INPUTS = {"plan: p-101.toml": PLAN, "clinic.toml": "clinic.toml", "approvals.toml": "approvals.toml"}


@pytest.mark.parametrize("gone", [False, True], ids=["edited", "deleted"])
def test_what_is_touched_during_a_build_is_listed_as_it_was_read(clinic_copy, gone):
    place = pipeline.open_workplace(clinic_copy)
    pipeline.approve(place, ["bruising"], by="Dr A", role="doctor", day=TODAY, until=None)
    before = {name: digest((clinic_copy / file).read_bytes()) for name, file in INPUTS.items()}

    def touch(message: str) -> None:
        for file in INPUTS.values() if message.startswith("writing") else ():
            path = clinic_copy / file
            path.unlink() if gone else path.write_bytes(path.read_bytes() + b"# edited\n")

    pack = pipeline.make_pack(place, clinic_copy / PLAN, today=TODAY, progress=touch)
    assert {name: inputs_of(pack).get(name) for name in INPUTS} == before


def test_settings_edited_after_they_were_read_do_not_give_their_digest_to_old_settings(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    settings = clinic_copy / "clinic.toml"
    before = settings.read_bytes()
    settings.write_bytes(before.replace(b"emergency_number", b"emergency_number "))
    pack = pipeline.make_pack(place, clinic_copy / PLAN, today=TODAY)
    assert inputs_of(pack)["clinic.toml"] == digest(before)


def test_a_catalogue_of_the_clinics_own_does_not_hide_ours_of_the_same_name(clinic_copy):
    theirs = clinic_copy / "locales/es/LC_MESSAGES/consentpack.po"
    theirs.parent.mkdir(parents=True, exist_ok=True)
    theirs.write_text('msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n', encoding="utf-8")
    inputs = inputs_of(pack_of(clinic_copy, language="es"))
    ours = shipped.locales() / "es/LC_MESSAGES/consentpack.po"
    assert inputs["locales: clinic/consentpack.po"] == digest(theirs.read_bytes())
    assert inputs["locales: consentpack.po"] == digest(ours.read_bytes())


def test_a_plan_that_is_no_file_is_checked_like_one(place):
    path = place.folder / PLAN
    written = PlanText("a page", path.read_bytes())
    from_page, from_file = (
        check_plan(written, place.library, place.clinic),
        load_plan(path, place.library, place.clinic),
    )
    assert vars(from_page) | {"file": ""} == vars(from_file) | {"file": ""}
    assert from_page.file == "a page"


# --- no file without need -------------------------------------------------------------------------

COMMANDS = (
    ("score", PLAN),
    ("build", PLAN, "--show", "tree"),
    ("build", PLAN, "--show", "rates"),
    ("library", "check", "--checklists"),
)


def only_measured(monkeypatch):
    """Word files are made to count their sides; a web page has none, and nothing is kept."""
    made = export.Exporter.export

    def refuse(self, document, paper):
        assert self.ending.endswith(".docx"), "a file was made"
        return made(self, document, paper)

    monkeypatch.setattr(export.Exporter, "export", refuse)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_looking_at_a_pack_makes_no_file_of_it(clinic_copy, run, monkeypatch, command):
    only_measured(monkeypatch)
    assert run(clinic_copy, *command).exit_code == 0
    assert not (clinic_copy / "packs").exists()


def test_a_pack_that_patients_may_not_have_is_not_exported(clinic_copy, run, monkeypatch):
    only_measured(monkeypatch)
    plan = clinic_copy / PLAN
    hard = "Subcutaneous tethering necessitates percutaneous instrumentation of considerable sophistication. "
    text = re.sub(r'reason = ".*"', f'reason = "{hard * 8}"', plan.read_text(encoding="utf-8"))
    plan.write_text(text, encoding="utf-8")
    assert run(clinic_copy, "build", PLAN).exit_code == 13


# --- a toy document and a toy format --------------------------------------------------------------

LETTER = """+++
id = "letter"
title = "Letter to your own doctor"
version = "1"
reviewed = 2026-11-25
review_by = 2028-11-25
audience = "{audience}"
order = 2
+++

This is what we plan.

::: plan-summary

## How to read the figures

::: figures-explained
"""


def write_letter(clinic: Path, text: str = LETTER.format(audience="clinician")) -> Path:
    path = clinic / "content/documents/letter.md"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_a_further_kind_of_document_is_one_content_file(clinic_copy):
    without = pack_of(clinic_copy)
    letter = write_letter(clinic_copy)
    pack = pack_of(clinic_copy)
    kinds, before = ([each.kind for each in some.documents] for some in (pack, without))
    assert kinds == [
        *before[:2],
        "letter",
        *before[2:],
    ]  # of one order the booklet has the first name
    assert set(pack.files) - set(without.files) == {"letter.docx", "letter.html"}
    assert inputs_of(pack)["clinic/content/documents/letter.md"] == digest(letter.read_bytes())
    assert "letter" not in {score.kind for score in pack.scores}
    letter.unlink()
    assert pack_of(clinic_copy).files == without.files


def test_a_document_for_patients_is_scored_and_in_their_language(clinic_copy):
    write_letter(clinic_copy, LETTER.format(audience="patient"))
    pack = pack_of(clinic_copy, language="es", both_languages=True)
    assert document(pack, "letter").language == "es"
    assert "letter" in {score.kind for score in pack.scores}
    assert "letter-side-by-side.docx" in pack.files
    lacking = "“This is what we plan.” is missing in the translation."
    assert lacking in {problem.what for problem in pack.problems}


def test_a_document_for_the_clinic_stays_in_its_language_and_asks_for_no_translation(clinic_copy):
    write_letter(clinic_copy)
    pack = pack_of(clinic_copy, language="es", both_languages=True)
    assert document(pack, "letter").language == "en-GB"
    assert "letter-side-by-side.docx" not in pack.files
    assert not any("This is what we plan" in problem.what for problem in pack.problems)


def test_a_document_can_be_in_the_clinics_language_and_scored_as_its_file_says(clinic_copy):
    text = LETTER.format(audience="clinician").replace("order = 2", 'language = "patient"\nscored = true')
    write_letter(clinic_copy, text)
    pack = pack_of(clinic_copy, language="es")
    assert [each.kind for each in pack.documents][-1] == "letter"  # no order: after those that have one
    assert document(pack, "letter").language == "es"
    assert "letter" in {score.kind for score in pack.scores}


@pytest.mark.parametrize("audience", ["patient", "clinician"])
def test_what_is_for_the_clinic_alone_stands_in_no_text_for_patients(clinic_copy, audience):
    scored = "scored = true\n" if audience == "clinician" else ""
    text = LETTER.format(audience=audience).replace("order = 2\n", f"order = 2\n{scored}")
    write_letter(clinic_copy, text.replace("figures-explained", "record-figures"))
    with pytest.raises(ContentError) as error:
        load_library(shipped.content(), clinic_copy / "content")
    (problem,) = error.value.problems
    assert problem.where.endswith(f"documents/letter.md, line {17 + bool(scored)}")
    assert "'record-figures' is for the clinician" in problem.what


def test_two_documents_are_never_kept_in_one_file(clinic_copy):
    text = LETTER.format(audience="clinician").replace('"letter"', '"booklet-large-print"')
    write_letter(clinic_copy, text).rename(clinic_copy / "content/documents/booklet-large-print.md")
    pack_of(clinic_copy)
    with pytest.raises(OutputError, match=r"booklet-large-print\.docx"):
        pack_of(clinic_copy, large_print=True)


def test_a_further_format_is_one_entry_and_one_module(clinic_copy, monkeypatch):
    without = pack_of(clinic_copy)
    toy = SimpleNamespace(write=lambda document, paper: f"{document.title} {paper.day}".encode())
    monkeypatch.setitem(sys.modules, "toy_format", toy)
    with monkeypatch.context() as added:
        added.setitem(export.EXPORTERS, "toy", export.Exporter(".toy", "toy_format"))
        pack = pack_of(clinic_copy)
    kinds = {each.kind for each in pack.documents}
    assert set(pack.files) - set(without.files) == {f"{kind}.toy" for kind in kinds}
    listed = json.loads(pack.files["manifest.json"])["documents"]
    assert listed["form.toy"]["sha256"] == digest(pack.files["form.toy"])
    assert pack_of(clinic_copy).files == without.files
