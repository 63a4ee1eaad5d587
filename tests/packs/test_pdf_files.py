"""`build --pdf`: what LibreOffice draws, and what an old pack's PDFs may and may not do."""

from __future__ import annotations

import hashlib
import json
import subprocess

import pytest

NAMES = ("consent.pdf", "aftercare.pdf", "record.pdf")
PACK = "packs/HS-P-101"


@pytest.fixture
def drawn(monkeypatch):
    """Stands in for LibreOffice, for tests of what is done with its files. Says what it was given."""
    given: list[str] = []

    def draw(word_files):
        given.extend(word_files)
        return {name.replace(".docx", ".pdf"): b"%PDF " + data[:9] for name, data in word_files.items()}

    monkeypatch.setattr("consentpack.pipeline.packs.export_pdf", draw)
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


def test_the_manifest_holds_the_digest_of_every_file_beside_it(run, clinic_copy, drawn):
    build(run, clinic_copy, "--pdf")
    listed = json.loads((clinic_copy / PACK / "manifest.json").read_bytes())["documents"]
    found = {path.name: path.read_bytes() for path in (clinic_copy / PACK).iterdir()}
    del found["manifest.json"]
    assert {name: {"sha256": hashlib.sha256(data).hexdigest()} for name, data in found.items()} == listed
    assert set(NAMES) < set(listed) and {"consent.html", "aftercare.html", "record.html"} < set(listed)
    assert drawn == ["consent.docx", "aftercare.docx", "record.docx"]


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
    """The scan of a signed form, saved as consent.pdf, is what the whole pack is for."""
    build(run, clinic_copy, "--pdf")
    scan = clinic_copy / PACK / "consent.pdf"
    scan.write_bytes(b"signed")
    refused = build(run, clinic_copy, "--pdf")
    assert refused.exit_code == 14 and "consent.pdf: this PDF was not made by consentpack" in refused.stderr
    assert scan.read_bytes() == b"signed" and (clinic_copy / PACK / "record.pdf").exists()
    assert build(run, clinic_copy).exit_code == 0
    assert scan.read_bytes() == b"signed" and not (clinic_copy / PACK / "record.pdf").exists()


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
