"""What a PDF tells a screen reader about itself: two entries of LibreOffice's that are put right in place."""

from __future__ import annotations

import io
import zipfile

import pytest

from consentpack.export._told_readers import mended

PAGE = b"1 0 obj\n<</Type/Page/Annots[\n7 0 R ]\n/Tabs(S)\n/StructParents 0\n/Contents 2 0 R>>\nendobj\n"
CATALOG = b"9 0 obj\n<</Type/Catalog/Pages 7 0 R\n/Lang(en-GB)\n/MarkInfo<</Marked true>>>>\nendobj\n"


def word_file(language: str) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as file:
        file.writestr("docProps/core.xml", f"<p><dc:language>{language}</dc:language></p>")
    return held.getvalue()


def test_the_order_of_tabs_is_a_name_and_nothing_else_moves():
    made = mended(PAGE + CATALOG, word_file("en-GB"))
    assert made == (PAGE + CATALOG).replace(b"/Tabs(S)\n", b"/Tabs/S \n")
    assert len(made) == len(PAGE + CATALOG)


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("ar", b"/Lang(ar)   \n"),
        ("zh-Hans", b"/Lang(zh-CN)\n"),
        ("sr-Latn-RS", b"/Lang(sr)   \n"),
        ("en-US", b"/Lang(en-GB)\n"),  # how a voice speaks one language is no harm
    ],
)
def test_the_language_is_that_of_the_word_file(language, told):
    made = mended(CATALOG, word_file(language))
    assert told in made and len(made) == len(CATALOG)


@pytest.mark.parametrize(
    "pdf",
    [
        PAGE.replace(b"/Tabs(S)", b"/Tabs/S"),
        b"stream\n/Tabs(S) is said in a text\nendstream",
        CATALOG.replace(b"\n/MarkInfo", b"/MarkInfo"),
        b"%PDF-1.6 of a Word file",
    ],
)
def test_what_is_not_in_just_this_form_is_left_as_it_is(pdf):
    assert mended(pdf, word_file("ar")) == pdf


@pytest.mark.parametrize("word", [b"a Word file", word_file("")])
def test_a_word_file_that_says_no_language_changes_none(word):
    assert mended(CATALOG, word) == CATALOG
