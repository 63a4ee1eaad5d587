"""A whole pack as it is given, beside the working copy of it: the same papers, each with its own code."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import docx_integrity
import pytest
import squares
from browsers import PHONE, SCREEN
from openxml_audit import OpenXmlValidator
from PIL import Image

from consentpack import pipeline
from consentpack.accessibility import check_file
from consentpack.export._code import QUIET, UNPRINTABLE_MM, Symbol
from consentpack.export.pdf import export_pdf, refuse_losses
from consentpack.export.text import export_text
from consentpack.length import pages_in
from consentpack.model import Given
from consentpack.pipeline.writing import with_pdf

TODAY = date(2026, 11, 25)
GIVEN = Given(3, date(2026, 11, 25), "K7QF2-M9XAB")
NUMBERS = {
    "form": 1, "booklet": 2, "more": 3, "aftercare": 4, "homecare": 5, "diary": 6, "check-card": 7,
    "slips": 8, "changed": 9, "record": 10, "talk-back": 11,
}  # fmt: skip
"""The places of the library's documents."""
LANGUAGES = ("en-GB", "ar")
A4 = (210, 297)


def pack_of(place, language: str, given: Given | None, **how) -> pipeline.Pack:
    return pipeline.make_pack(
        place,
        place.folder / "plans" / "p-101.toml",
        today=TODAY,
        language=language,
        large_print=True,
        both_languages=language != "en-GB",
        given=given,
        **how,
    )


@pytest.fixture(scope="module")
def given(place) -> dict[str, pipeline.Pack]:
    return {language: pack_of(place, language, GIVEN) for language in LANGUAGES}


@pytest.fixture(scope="module")
def working(place) -> dict[str, pipeline.Pack]:
    return {language: pack_of(place, language, None) for language in LANGUAGES}


def kind_of(name: str) -> str:
    return re.sub("(-side-by-side)?(-large-print)?[.](docx|html|pdf)$", "", name)


def code_of(name: str) -> str:
    return f"K7QF2-M9XAB-{NUMBERS[kind_of(name)]}"


def documents(pack) -> Iterator[tuple[str, bytes]]:
    return ((name, data) for name, data in pack.files.items() if name != "manifest.json")


every_language = pytest.mark.parametrize("language", LANGUAGES)


@every_language
def test_one_code_stands_on_a_document_in_every_format_and_on_its_twin(given, language):
    """Makes two whole packs."""
    seen = set()
    for name, data in documents(given[language]):
        found = squares.in_word(data) if name.endswith(".docx") else squares.in_page(data.decode())
        assert found == [code_of(name)], name
        seen.add(name.removeprefix(kind_of(name)))
    assert seen >= {".docx", "-large-print.docx", ".html"}
    assert language == "en-GB" or seen >= {"-side-by-side.docx", "-side-by-side-large-print.docx"}


@every_language
def test_what_is_given_says_and_measures_what_its_working_copy_does(given, working, language):
    """A clinic reads the working copy; it must not give another text, nor one of more sides."""
    pairs = list(zip(given[language].documents, working[language].documents, strict=True))
    assert [export_text(a) for a, _ in pairs if a.kind != "record"] == [
        export_text(b) for _, b in pairs if b.kind != "record"
    ]
    assert given[language].measures.lengths == working[language].measures.lengths
    assert given[language].drafted.moved == working[language].drafted.moved


@every_language
def test_a_working_copy_has_no_code_and_no_version(working, language):
    for document in working[language].documents:
        assert document.code == "" and "given" not in document.labels
        assert not re.search(r"\d", document.labels["version"])
    for name, data in documents(working[language]):
        assert (squares.in_word(data) if name.endswith(".docx") else squares.in_page(data.decode())) == []


def test_a_diary_side_by_side_asks_nothing_of_a_phone(working):
    """Its rows are not those that are kept on one: the rules of style would hide each of them."""
    files = working["ar"].files
    assert (
        b'class="diary"' in files["diary.html"] and b'class="diary"' not in files["diary-side-by-side.html"]
    )


def test_the_version_of_the_text_stays_in_the_manifest(given, place):
    modules = json.loads(given["en-GB"].files["manifest.json"])["modules"]
    found = {each["module"]: each["version"] for each in modules}
    assert found["documents/booklet"] == place.library.documents["booklet"].version != "3.0"
    assert given["en-GB"].documents[0].labels["version"] == "Version 3"


def test_a_document_made_by_itself_has_the_code_it_has_in_the_whole_pack(given, place):
    alone = pack_of(place, "en-GB", GIVEN, only=frozenset({"homecare"}))
    assert {name for name, _ in documents(alone)} == {
        "homecare.docx",
        "homecare-large-print.docx",
        "homecare.html",
    }
    assert all(given["en-GB"].files[name] == data for name, data in documents(alone))


@every_language
def test_the_same_pack_is_given_byte_for_byte(given, place, language):
    """Makes a whole pack again."""
    assert pack_of(place, language, GIVEN).files == given[language].files


@every_language
def test_a_code_brings_no_fault_into_a_word_file(given, working, language, tmp_path):
    """Each Word file of two packs by two validators and our own rules, beside its working copy."""
    path, other = tmp_path / "given.docx", tmp_path / "working.docx"
    for name, data in documents(given[language]):
        if name.endswith(".docx"):
            path.write_bytes(data)
            other.write_bytes(working[language].files[name])
            assert OpenXmlValidator().validate(str(path)).errors == [], name
            assert docx_integrity.check(str(path)) == [], name
            assert [each.rule for each in check_file(path)] == [each.rule for each in check_file(other)], name


# --- as they are drawn ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def drawn(given, office) -> dict[tuple[str, str], bytes]:
    """(language, name) -> the PDF of every Word file but the booklets side by side, which are long."""
    found = {}
    for language, pack in given.items():
        files = {
            name: data
            for name, data in documents(pack)
            if name.endswith(".docx") and not name.startswith("booklet-side")
        }
        found |= {(language, name): data for name, data in export_pdf(files).items()}
    return found


def pages(pdf: bytes) -> Iterator[tuple[Image.Image, str, list[tuple[float, float, float, float]]]]:
    """Each page: its picture, its words, and the box of each letter in millimetres from the top left."""
    from pypdfium2 import PdfDocument

    with PdfDocument(pdf) as document:
        for page in document:
            text, height = page.get_textpage(), page.get_height()
            boxes = [text.get_charbox(n) for n in range(text.count_chars())]
            placed = [[25.4 / 72 * v for v in (a, height - d, c, height - b)] for a, b, c, d in boxes]
            yield page.render(scale=200 / 72).to_pil(), text.get_text_range(), [tuple(p) for p in placed]


@pytest.mark.office
@pytest.mark.slow("draws forty Word files and looks at every page of them")
def test_every_drawn_page_says_its_code_and_the_first_shows_it_away_from_all_words(drawn):
    """The square stands where printers reach, and no letter within its quiet zone."""
    assert len(drawn) > 30
    for (language, name), pdf in drawn.items():
        for number, (image, said, letters) in enumerate(pages(pdf)):
            assert code_of(name) in said, (language, name, number)
            found = squares.squares_in(image)
            assert [each.text for each in found] == [code_of(name)][: not number], (language, name, number)
            for each in found:
                left, right = each.left * A4[0], each.right * A4[0]
                top, bottom = each.top * A4[1], each.bottom * A4[1]
                module = (right - left) / Symbol(each.text).modules
                assert min(left, A4[0] - right, top) > UNPRINTABLE_MM - 0.2
                assert 0.36 < module < 0.49
                quiet = (QUIET - 0.5) * module
                zone = (left - quiet, top - quiet, right + quiet, bottom + quiet)
                assert [box for box in letters if _meets(box, zone)] == [], (language, name)
                mirrored = language == "ar" and "side-by-side" not in name and not name.startswith("record")
                assert (right < A4[0] / 2) is mirrored


def _meets(box: tuple[float, ...], zone: tuple[float, ...]) -> bool:
    """Whether two boxes of left, top, right and bottom have a part in common. A space is no letter."""
    empty = box[0] >= box[2] or box[1] >= box[3]
    return not empty and box[0] < zone[2] and box[2] > zone[0] and box[1] < zone[3] and box[3] > zone[1]


@pytest.mark.office
@pytest.mark.slow("draws two packs")
def test_as_many_pages_are_drawn_as_of_the_working_copy(drawn, working):
    for language, pack in working.items():
        wanted = {f"{Path(name).stem}.docx" for of, name in drawn if of == language}
        for name, pdf in export_pdf({name: pack.files[name] for name in wanted}).items():
            assert pages_in(pdf) == pages_in(drawn[language, name]), (language, name)


@pytest.mark.office
def test_a_given_pack_is_written_as_pdfs_too(office, place):
    """Draws one document twice, in two sizes, and compares it with its tree."""
    pack = with_pdf(pack_of(place, "ar", GIVEN, only=frozenset({"form"})))
    drawn = {name: data for name, data in pack.files.items() if name.endswith(".pdf")}
    assert set(drawn) >= {"form.pdf", "form-large-print.pdf"}
    form = next(each for each in pack.documents if each.kind == "form")
    refuse_losses({"form.pdf": form}, drawn)


# --- as a browser shows and prints them -----------------------------------------------------------


@pytest.mark.browser
@every_language
def test_a_page_is_read_by_a_camera_and_by_axe_in_light_and_dark(browser, given, language, tmp_path):
    """Opens each page of a pack on a phone and a screen."""
    for name, data in documents(given[language]):
        if not name.endswith(".html"):
            continue
        path = tmp_path / name
        path.write_bytes(data)
        for width, scheme in ((PHONE, "light"), (SCREEN, "dark")):
            browser.show(path, width=width, scheme=scheme)
            assert browser.faults() == [], (name, width)
            assert browser.ask("document.documentElement.scrollWidth") <= width
            shot = tmp_path / "shot.png"
            browser.run("document.querySelector('.ring')?.remove()")
            browser.run("document.querySelector('svg.code').scrollIntoView({block: 'center'})")
            shot.write_bytes(browser.driver.get_screenshot_as_png())
            assert squares.texts_in(Image.open(shot)) == [code_of(name)], (name, scheme)


@pytest.mark.browser
@every_language
def test_a_printed_page_says_its_code_at_each_foot_and_shows_it_at_the_end(
    browser, given, language, tmp_path
):
    """Prints a page, and looks for a square on each side of it."""
    path = tmp_path / "aftercare.html"
    path.write_bytes(given[language].files["aftercare.html"])
    browser.show(path, width=SCREEN)
    printed = [each for each in browser.pages(tmp_path) if each.strip()]
    assert len(printed) > 1 and all("K7QF2-M9XAB-4" in each for each in printed)
    command = ["pdftoppm", "-r", "200", "-png", str(tmp_path / "page.pdf"), str(tmp_path / "side")]
    subprocess.run(command, check=True)
    shown = [squares.texts_in(Image.open(each)) for each in sorted(tmp_path.glob("side*.png"))]
    assert shown == [*[[]] * (len(printed) - 1), ["K7QF2-M9XAB-4"]]
