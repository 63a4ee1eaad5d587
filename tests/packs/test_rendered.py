"""The documents as LibreOffice draws them."""

from __future__ import annotations

import subprocess

import pytest

pytestmark = pytest.mark.office


@pytest.fixture(scope="module")
def pages(office, packs, tmp_path_factory):
    """Plan and kind -> the text of each page of its PDF. One call converts all."""
    folder = tmp_path_factory.mktemp("rendered")
    for plan, pack in packs.items():
        for name, content in pack.files.items():
            if name.endswith(".docx"):
                (folder / f"{plan}-{name}").write_bytes(content)
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


def test_emergency_signs_are_whole_on_page_one_of_every_aftercare_sheet(pages, packs):
    for plan, pack in packs.items():
        tree = next(d for d in pack.documents if d.kind == "aftercare")
        table = tree.lead[0]
        page = " ".join(pages[f"{plan}-aftercare"][0].split())
        for row in table.rows:
            title = row[0].content[0].runs[0].text
            assert title.split()[0] in page, (plan, title)
        assert "Get help now" not in pages[f"{plan}-aftercare"][1], plan


def test_a_signature_stands_on_the_page_of_its_title(pages):
    for name, found in pages.items():
        if name.endswith("consent"):
            page = next(page for page in found if "Signatures" in page)
            assert page.count("Signature:") >= 1 and "Date:" in page and "Time:" in page, name
