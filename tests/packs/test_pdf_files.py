"""`build --pdf`: what LibreOffice draws, and what an old pack's PDFs may and may not do."""

from __future__ import annotations

import hashlib
import json
import subprocess
from dataclasses import replace
from datetime import date

import pytest

from consentpack.export.docx import export_docx
from consentpack.tree import Cell, Document, Items, Paragraph, Run, Section, Table

NAMES = ("form.pdf", "aftercare.pdf", "record.pdf")
KINDS = ("form", "booklet", "more", "aftercare", "homecare", "diary", "slips", "record", "talk-back")
PACK = "packs/HS-P-101"


@pytest.fixture
def drawn(monkeypatch):
    """Stands in for LibreOffice, for tests of what is done with its files. Says what it was given."""
    given: list[str] = []

    def draw(word_files):
        given.extend(word_files)
        return {name.replace(".docx", ".pdf"): b"%PDF " + data[:9] for name, data in word_files.items()}

    monkeypatch.setattr("consentpack.pipeline.writing.export_pdf", draw)
    monkeypatch.setattr("consentpack.pipeline.writing.refuse_losses", lambda documents, drawn: None)
    monkeypatch.setattr("consentpack.pipeline.lengths.export_pdf", lambda files: {})
    return given


def build(run, clinic, *more):
    return run(clinic, "build", "plans/p-101.toml", *more)


def said_by(*command) -> str:
    return subprocess.run([str(c) for c in command], check=True, capture_output=True, text=True).stdout


@pytest.mark.office
def test_the_pdfs_are_tagged_titled_and_say_what_the_word_files_say(office, run, clinic_copy):
    assert build(run, clinic_copy, "--pdf").exit_code == 0
    for name in NAMES:
        path = clinic_copy / PACK / name
        info, text = said_by("pdfinfo", path), said_by("pdftotext", path, "-")
        assert "Tagged:          yes" in info and "HS-P-101" in info.split("Title:")[1].splitlines()[0]
        assert "Reference HS-P-101" in text and "DRAFT" in text


def test_a_pdf_that_lacks_a_part_is_refused_and_nothing_is_written(run, clinic_copy, monkeypatch):
    """Side-by-side sheets lost their diary, or "Tonight", without a word."""
    monkeypatch.setattr("consentpack.pipeline.writing.export_pdf", lambda files: {
        name.replace(".docx", ".pdf"): name.encode() for name in files
    })  # fmt: skip
    monkeypatch.setattr("consentpack.export.pdf.pages_of", lambda pdf: ["Nothing"])
    refused = build(run, clinic_copy, "--pdf")
    assert refused.exit_code == 14 and "aftercare.pdf: LibreOffice left out words of" in refused.stderr
    assert "leave out --pdf" in refused.stderr and not (clinic_copy / "packs").exists()


def test_the_manifest_holds_the_digest_of_every_file_beside_it(run, clinic_copy, drawn):
    build(run, clinic_copy, "--pdf")
    listed = json.loads((clinic_copy / PACK / "manifest.json").read_bytes())["documents"]
    found = {path.name: path.read_bytes() for path in (clinic_copy / PACK).iterdir()}
    del found["manifest.json"]
    assert {name: {"sha256": hashlib.sha256(data).hexdigest()} for name, data in found.items()} == listed
    assert set(NAMES) < set(listed) and {"form.html", "aftercare.html", "record.html"} < set(listed)
    assert drawn == [f"{kind}.docx" for kind in KINDS]


def test_without_the_option_there_are_no_pdfs(run, clinic_copy, drawn):
    build(run, clinic_copy)
    assert drawn == [] and not list((clinic_copy / PACK).glob("*.pdf"))


def test_a_pdf_of_an_older_build_goes_when_the_pack_is_built_without_pdfs(run, clinic_copy, drawn):
    """Else somebody prints yesterday's figures from a folder that looks new."""
    build(run, clinic_copy, "--pdf")
    (clinic_copy / PACK / "scan.pdf").write_bytes(b"signed")
    build(run, clinic_copy)
    assert [path.name for path in (clinic_copy / PACK).glob("*.pdf")] == ["scan.pdf"]


def test_a_pdf_that_somebody_put_or_changed_there_is_never_written_over_or_taken_away(
    run, clinic_copy, drawn
):
    """The scan of a signed form, saved as form.pdf, is what the whole pack is for."""
    build(run, clinic_copy, "--pdf")
    scan = clinic_copy / PACK / "form.pdf"
    scan.write_bytes(b"signed")
    again = build(run, clinic_copy, "--pdf")
    assert again.exit_code == 0 and "it is kept as form-kept-1.pdf" in again.stderr
    assert scan.with_name("form-kept-1.pdf").read_bytes() == b"signed" != scan.read_bytes()
    scan.write_bytes(b"signed again")
    assert build(run, clinic_copy).exit_code == 0
    assert scan.read_bytes() == b"signed again" and not (clinic_copy / PACK / "record.pdf").exists()


def test_a_form_that_somebody_filled_in_stays_beside_the_new_one(run, clinic_copy):
    build(run, clinic_copy)
    form = clinic_copy / PACK / "form.docx"
    made = form.read_bytes()
    form.write_bytes(made + b"filled in")
    again = build(run, clinic_copy)
    assert "form.docx was filled in or changed since it was made" in again.stderr
    assert form.read_bytes() == made
    assert form.with_name("form-kept-1.docx").read_bytes() == made + b"filled in"


def test_another_plan_under_the_same_reference_does_not_take_the_pack(run, clinic_copy):
    """Two plans with one reference may be two patients."""
    build(run, clinic_copy)
    before = (clinic_copy / PACK / "manifest.json").read_bytes()
    plan = clinic_copy / "plans/p-101.toml"
    plan.with_name("p-200.toml").write_bytes(plan.read_bytes())
    refused = run(clinic_copy, "build", "plans/p-200.toml")
    assert (
        refused.exit_code == 14 and "was made from p-101.toml, and p-200.toml has the same" in refused.stderr
    )
    assert (clinic_copy / PACK / "manifest.json").read_bytes() == before


def test_nothing_is_written_when_the_pdfs_cannot_be_drawn(run, clinic_copy, monkeypatch):
    monkeypatch.setattr("consentpack.export.pdf.find_office", lambda: None)
    result = build(run, clinic_copy, "--pdf")
    assert result.exit_code == 14 and "LibreOffice" in result.stderr
    assert not (clinic_copy / "packs").exists()


@pytest.mark.parametrize(
    "manifest", [b"", b"[]", b"\xff", b'{"documents": {"scan.pdf": 3}}', b'{"documents": []}']
)
def test_a_manifest_nobody_can_read_takes_nothing_away(run, clinic_copy, manifest):
    build(run, clinic_copy)
    (clinic_copy / PACK / "manifest.json").write_bytes(manifest)
    (clinic_copy / PACK / "scan.pdf").write_bytes(b"signed")
    assert build(run, clinic_copy).exit_code == 0
    assert (clinic_copy / PACK / "scan.pdf").read_bytes() == b"signed"


def _two_tables(lines: int) -> Document:
    """A table that goes over a page, and a second one whose head comes nearer to the foot with each line."""

    def cells(*words: str, strong: bool = False) -> tuple[Cell, ...]:
        return tuple(Cell((Paragraph((Run(each, strong),)),)) for each in words)

    first = [cells(f"row {number} {'x ' * (60 if number % 3 == 2 else 5)}", "b") for number in range(lines)]
    second = [cells("Title", "Title", strong=True)]
    for number in range(6):
        items = (Paragraph((Run(f"advice {number} {'word ' * 12}"),)), Paragraph((Run("more"),)))
        second += [cells("Head", "Head", strong=True), (Cell((Items(items),)), *cells("d"))]
    parts = [
        Section(f"part {number}", f"Part {number}", (Table(("One", "Two"), tuple(rows), (50, 50), "s"),))
        for number, rows in enumerate((first, second), 1)
    ]
    parts[0] = replace(parts[0], nodes=(Paragraph((Run("p"),)), *parts[0].nodes))
    labels = {
        "page": "Page {page}",
        "reference": "Ref",
        "version": "V1",
        "subject": "s",
        "draft": "DRAFT",
        "invented": "I",
    }
    kept = {"sections": tuple(parts), "labels": labels, "draft": ("x",)}
    return Document("kind", "T", "en-GB", "patient", "Clinic", "R", "day", **kept)


@pytest.mark.office
@pytest.mark.slow("LibreOffice draws 4 documents of 3 to 5 pages")
def test_no_row_is_lost_where_only_a_tables_first_row_fits_on_a_page(office):
    """LibreOffice 7.4 printed the head and the first row of the second table, and lost all others, at 37, 58
    and 79 lines: with the lines of these tables it is at the foot of a page then."""
    from consentpack.export.pdf import export_pdf, refuse_losses

    documents = {f"{lines}.pdf": _two_tables(lines) for lines in (36, 37, 58, 79)}
    words = {
        name.replace(".pdf", ".docx"): export_docx(document, day=date(2026, 11, 20))
        for name, document in documents.items()
    }
    refuse_losses(documents, export_pdf(words))
