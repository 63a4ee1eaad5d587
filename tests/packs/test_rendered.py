"""The documents as LibreOffice draws them."""

from __future__ import annotations

import subprocess
from datetime import date

import pytest

from consentpack.export.docx import export_docx
from consentpack.export.look import Look
from consentpack.tree import text_of

pytestmark = pytest.mark.office


@pytest.fixture(scope="module")
def pages(office, packs, tmp_path_factory):
    """Plan and kind -> the text of each page of its PDF. One call converts all."""
    folder = tmp_path_factory.mktemp("rendered")
    for plan, pack in packs.items():
        for name, content in pack.files.items():
            if name.endswith(".docx"):
                (folder / f"{plan}-{name}").write_bytes(content)
    return drawn(office, folder)


def drawn(office, folder):
    """Name of each Word file of a folder -> the text of each page of its PDF."""
    files = sorted(str(path) for path in folder.glob("*.docx"))
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [office, profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder)]
    subprocess.run([*command, *files], check=True, capture_output=True, timeout=300)
    found = {}
    for path in folder.glob("*.pdf"):
        done = subprocess.run(
            ["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True
        )
        found[path.stem] = done.stdout.rstrip("\f").split("\f")
    return found


def test_every_document_is_drawn(pages, packs):
    assert len(pages) == sum(len(pack.documents) for pack in packs.values())
    assert all(found for found in pages.values())


def test_every_page_carries_its_number_the_reference_and_the_draft_mark(pages):
    for name, found in pages.items():
        for number, page in enumerate(found, 1):
            assert f"Page {number} of {len(found)}" in page, name
            assert "DRAFT – not approved for patients" in page, name


def test_no_page_holds_nothing_but_its_header_and_footer(pages):
    for name, found in pages.items():
        for page in found:
            assert len([line for line in page.splitlines() if line.strip()]) > 5, name


def first_words_of_signs(pack):
    """The beginning of each row of emergency signs, as far as one line of print holds it."""
    table = next(d for d in pack.documents if d.kind == "aftercare").lead[0]
    return [text_of(row[0].content[0].runs)[:40] for row in table.rows]


def test_all_emergency_signs_and_numbers_stand_on_page_one_of_the_sheet(pages, packs):
    """With logo, notice and the mark for drafts: what a patient holds has less above them."""
    for plan, pack in packs.items():
        first = " ".join(pages[f"{plan}-aftercare"][0].split())
        assert [words for words in first_words_of_signs(pack) if words not in first] == [], plan
        assert "Do not drive. Do not be alone. Then ring us." in first, plan
        assert "020 7946 0101" in first and "020 7946 0199" in first, plan


def test_the_sheet_has_two_sides_and_in_large_print_at_most_four(office, packs, tmp_path):
    for plan, pack in packs.items():
        document = next(d for d in pack.documents if d.kind == "aftercare")
        for size in (False, True):
            made = export_docx(document, day=date(2026, 11, 25), look=Look(large=size))
            (tmp_path / f"{plan}-{size}.docx").write_bytes(made)
    for name, found in drawn(office, tmp_path).items():
        assert len(found) <= (4 if name.endswith("True") else 2), name


def test_a_signature_stands_on_the_page_of_its_title(pages):
    for name, found in pages.items():
        if name.endswith("form"):
            page = next(page for page in found if "Clinician who held this talk" in page)
            assert page.count("Signature:") >= 1 and "Date:" in page and "Time:" in page, name
