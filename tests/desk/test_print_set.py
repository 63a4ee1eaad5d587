"""All papers of a pack in one PDF, in order; and the code of what was given as a square."""

from __future__ import annotations

import io
import json
import shutil

import pytest
from lxml import html
from pypdfium2 import PdfDocument
from squares import in_page

from consentpack import pipeline
from consentpack.errors import OutputError, PlanError
from consentpack.export.print_set import one_pdf

AT = "/patients/HS-P-101"
PAGES = {"form": 4, "booklet": 3, "aftercare": 1, "record": 2}
"""Pages of each paper; a paper's pages are as wide as its place here says."""
WIDTH = {kind: 400 + 10 * at for at, kind in enumerate(PAGES)}


def pdf(width: int, pages: int) -> bytes:
    """Empty pages of a width by which they are known again."""
    made, stream = PdfDocument.new(), io.BytesIO()
    for _ in range(pages):
        made.new_page(width, 500)
    made.save(stream)
    made.close()
    return stream.getvalue()


def widths(content: bytes) -> list[int]:
    with PdfDocument(content) as document:
        return [round(page.get_width()) for page in document]


def put(folder, ending: str = ".pdf", kinds=PAGES) -> None:
    """PDFs beside the papers of a pack, as `--pdf` makes them, in the manifest in no order that helps."""
    path = folder / "manifest.json"
    manifest = json.loads(path.read_text())
    for kind in sorted(kinds):
        (folder / f"{kind}{ending}").write_bytes(pdf(WIDTH[kind], PAGES[kind]))
        manifest["documents"][f"{kind}{ending}"] = {"sha256": "0" * 64}
    path.write_text(json.dumps(manifest))


IN_ORDER = [
    *[WIDTH["form"]] * 4, *[WIDTH["booklet"]] * 4, *[WIDTH["aftercare"]] * 2, *[WIDTH["record"]] * 2,
]  # fmt: skip
"""The odd ones have an empty page behind them."""


@pytest.fixture
def clinic(approved_folder, tmp_path):
    return shutil.copytree(approved_folder, tmp_path / "clinic", copy_function=shutil.copy2)


@pytest.fixture
def given(clinic):
    """The folder of what was given, with its PDFs."""
    folder = clinic / "given/HS-P-101/1"
    for each in (folder, folder / "manifest.json"):
        each.chmod(0o755)
    put(folder)
    return folder


def test_each_paper_begins_on_a_sheet_of_its_own():
    made = one_pdf([("a", pdf(300, 1)), ("b", pdf(310, 2)), ("c", pdf(320, 3))])
    assert widths(made) == [300, 300, 310, 310, 320, 320, 320, 320]


def test_what_is_no_pdf_is_named():
    with pytest.raises(OutputError, match=r"b\.pdf: it cannot be read as a PDF"):
        one_pdf([("a.pdf", pdf(300, 1)), ("b.pdf", b"%PDF-nothing")])


def test_all_papers_come_in_the_order_of_the_documents_and_none_twice(given, clinic, desk, run):
    put(given, "-large-print.pdf", ("form",))
    put(given, "-side-by-side.pdf", ("form",))
    answer = desk.get(f"{AT}/given/1/print")
    assert answer.status_code == 200 and widths(answer.data) == IN_ORDER
    assert answer.headers["Content-Disposition"] == "attachment; filename=HS-P-101-version-1.pdf"
    assert widths(desk.get(f"{AT}/given/1/print?large=1").data) == [WIDTH["form"]] * 4
    page = html.fromstring(desk.get(AT).text)
    links = {link.text_content(): link.get("href") for link in page.xpath("//a[contains(@href, '/print')]")}
    assert links == {
        "Print all 4 papers: one PDF, in order": f"{AT}/given/1/print",
        "Print the one paper in large print: one PDF, in order": f"{AT}/given/1/print?large=1",
    }
    # the command makes the same
    assert run(clinic, "print-set", "HS-P-101", "all.pdf").stdout == "all.pdf\n"
    assert widths((clinic / "all.pdf").read_bytes()) == IN_ORDER
    assert run(clinic, "print-set", "HS-P-101", "all.pdf", "--large-print").exit_code == 0
    assert widths((clinic / "all.pdf").read_bytes()) == [WIDTH["form"]] * 4


def test_without_pdfs_it_is_said_how_to_have_them(clinic, desk, run):
    assert "To print all papers in one go, give it as PDF too" in desk.get(AT).text
    answer = desk.get(f"{AT}/given/1/print")
    assert answer.status_code == 409 and "this pack has no PDFs" in answer.text
    told = run(clinic, "print-set", "HS-P-101", "all.pdf")
    assert told.exit_code == OutputError.exit_code and "--pdf" in told.stderr
    assert not (clinic / "all.pdf").exists()


def test_a_version_that_was_never_given_has_none(clinic, desk):
    assert desk.get(f"{AT}/given/7/print").status_code == 404
    assert desk.get(f"{AT}/given/7/code.svg").status_code == 404
    place = pipeline.open_workplace(clinic)
    with pytest.raises(PlanError, match="no version 7"):
        pipeline.print_set(place, "HS-P-101", version=7)
    with pytest.raises(PlanError, match="no pack yet"):
        pipeline.print_set(place, "HS-P-102")
    assert desk.get("/patients/HS-P-102/pack/print").status_code == 404


def test_the_working_pack_is_printed_too(clinic, desk):
    """Over a second: a pack is made."""
    place = pipeline.open_workplace(clinic)
    pipeline.build(place, clinic / "plans/p-102.toml")
    put(clinic / "packs/HS-P-102")
    assert widths(desk.get("/patients/HS-P-102/pack/print").data) == IN_ORDER
    assert "Print all 4 papers" in desk.get("/patients/HS-P-102").text


def test_the_square_holds_the_code_of_the_papers_and_no_address(clinic, desk):
    """A program for cameras reads it, which knows nothing of the one that made it."""
    page = html.fromstring(desk.get(AT).text)
    (picture,) = page.xpath("//img[@class='square']/@src")
    answer = desk.get(picture)
    assert (
        answer.mimetype == "image/svg+xml"
        and "default-src 'none'" in answer.headers["Content-Security-Policy"]
    )
    (given,) = pipeline.plan_row(pipeline.open_workplace(clinic), "HS-P-101").given
    code = given.given.code
    assert answer.text == pipeline.code_square(code) and "http:" not in answer.text.replace(
        "http://www.w3.org", ""
    )
    assert in_page(answer.text) == [code]
    assert code in page.text_content() and f"verify {code}" in page.text_content()
    found = pipeline.verify(clinic, code, again=False)
    assert found.standing and found.standing.given.code == code
