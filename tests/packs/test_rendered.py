"""The documents as LibreOffice draws them."""

from __future__ import annotations

import subprocess
from datetime import date

import pytest

from consentpack import pipeline

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
    assert len(pages) == 3 * len(packs)
    assert all(len(found) >= 2 for found in pages.values())


def test_every_page_carries_its_number_the_reference_and_the_draft_mark(pages):
    for name, found in pages.items():
        for number, page in enumerate(found, 1):
            assert f"Page {number} of {len(found)}" in page, name
            assert "DRAFT – not approved for patients" in page, name


def test_no_page_holds_nothing_but_its_header_and_footer(pages):
    for name, found in pages.items():
        for page in found:
            assert len([line for line in page.splitlines() if line.strip()]) > 5, name


def titles_of_signs(pack):
    table = next(d for d in pack.documents if d.kind == "aftercare").lead[0]
    return [row[0].content[0].runs[0].text for row in table.rows]


def test_emergency_signs_are_whole_on_page_one_of_every_approved_aftercare_sheet(
    office, clinic_copy, tmp_path
):
    """What a patient holds. The whole title of each sign: the first word of one was 'A', and always there."""
    place, day = pipeline.open_workplace(clinic_copy), date(2026, 11, 25)
    pipeline.approve(place, [], by="Dr Ruth Ambrose (invented)", role="doctor", day=day, until=None)
    titles = {}
    for path in pipeline.plan_files(place):
        pack = pipeline.make_pack(place, path, today=day)
        assert pack.draft == ()
        titles[path.stem] = titles_of_signs(pack)
        (tmp_path / f"{path.stem}.docx").write_bytes(pack.files["aftercare.docx"])
    for plan, (first, second, *_) in drawn(office, tmp_path).items():
        assert [title for title in titles[plan] if title not in first] == [], plan
        assert "Ring 999 now if you see this" not in second, plan


def test_a_drafts_marks_push_no_more_than_the_last_emergency_sign_off_page_one(pages, packs):
    """Logo, notice and the draft mark take the room of one row; what is not approved is for the clinic."""
    for plan, pack in packs.items():
        first = pages[f"{plan}-aftercare"][0]
        assert [title for title in titles_of_signs(pack)[:-1] if title not in first] == [], plan


def test_a_signature_stands_on_the_page_of_its_title(pages):
    for name, found in pages.items():
        if name.endswith("booklet"):
            page = next(page for page in found if "Signatures" in page)
            assert page.count("Signature:") >= 1 and "Date:" in page and "Time:" in page, name
