"""Word files that are damaged, locked, empty or no Word files: each is named for what it is."""

from __future__ import annotations

import io
import time
import zipfile
from pathlib import Path

import docx
import pytest
from readings import (
    add_part,
    bold,
    put,
    saved,
    told,
)

from consentpack.errors import ReadError
from consentpack.limits import MOST_UNPACKED
from consentpack.readers import read_file
from consentpack.readers.build import LONGEST_WORD


@pytest.fixture
def form():
    return docx.Document()


OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""How every compound file begins: old .doc, and a .docx with a password ([MS-CFB] 2.2)."""


def refused(tmp_path: Path, data: bytes) -> str:
    path = tmp_path / "form.docx"
    path.write_bytes(data)
    with pytest.raises(ReadError) as caught:
        read_file(path)
    problem = caught.value.problems[0]
    assert problem.where == "form.docx" and problem.fix, "each error says where and what to do"
    return problem.what


def zipped(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        for name, data in members.items():
            package.writestr(name.replace("__", "/"), data)
    return out.getvalue()


@pytest.mark.parametrize(("data", "says"), [
    (b"", "the file is empty (0 bytes)."),
    (OLE + b"\0" * 600,
     "its name ends in .docx, but this is an old Word file (.doc) or other old Office file."),
    (OLE + b"\0" * 99 + "EncryptedPackage".encode("utf-16-le"), "the file is locked with a password."),
    (rb"{\rtf1 We clean it.}", "its name ends in .docx, but this is a rich-text file (.rtf)."),
    (b"%PDF-1.7 ...", "its name ends in .docx, but this is a PDF file."),
    (b"<html>We clean it.", "its name ends in .docx, but this is a web page (.html)."),
    (b"We clean your skin.", "its name ends in .docx, but this is not a Word document."),
    (zipped(mimetype=b"x", **{"content.xml": b"x"}),
     "its name ends in .docx, but this is a LibreOffice file (such as .odt)."),
    (zipped(photo=b"x"), "its name ends in .docx, but this is a zip file of another kind."),
])  # fmt: skip
def test_a_file_that_is_no_word_file_is_named_for_what_it_is(tmp_path, data, says):
    assert refused(tmp_path, data) == says


@pytest.fixture
def good(form, tmp_path) -> bytes:
    form.add_paragraph("We clean your skin.")
    return saved(form, tmp_path).read_bytes()


def test_a_file_cut_short_is_damaged(good, tmp_path):
    assert "damaged" in refused(tmp_path, good[: len(good) // 2])


def test_a_file_with_one_part_spoilt_is_damaged(good, tmp_path):
    place = good.index(b"word/document.xml") + 40
    spoilt = good[:place] + bytes(100) + good[place + 100 :]
    assert "damaged" in refused(tmp_path, spoilt)


def test_a_part_that_is_no_xml_is_damaged(good, tmp_path):
    assert "damaged" in refused(tmp_path, with_part(good, "word/document.xml", b"<w:document"))


def test_notes_that_are_no_xml_are_damage_and_not_passed_over(form, tmp_path):
    put(form.add_paragraph("It may bleed."), "<w:r NS><w:footnoteReference w:id='1'/></w:r>")
    add_part(form, "footnotes", "<w:footnotes")
    assert "damaged" in refused(tmp_path, saved(form, tmp_path).read_bytes())


def with_part(data: bytes, name: str, content: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for each in old.namelist():
            new.writestr(each, content if each == name else old.read(each))
    return out.getvalue()


def test_a_zip_with_a_password_is_said_to_be_locked(good, tmp_path):
    """Bit 0 of the general purpose flags (APPNOTE.TXT, 4.4.4), here of every entry's directory record."""
    locked = bytearray(good)
    place = locked.find(b"PK\x01\x02")
    while place >= 0:
        locked[place + 8] |= 1
        place = locked.find(b"PK\x01\x02", place + 1)
    assert refused(tmp_path, bytes(locked)) == "the file is locked with a password."


def test_a_spreadsheet_under_the_name_of_a_word_file_is_refused(tmp_path):
    import openpyxl

    out = io.BytesIO()
    openpyxl.Workbook().save(out)
    assert refused(tmp_path, out.getvalue()) == "this is not a Word document (.docx)."


def test_a_strict_file_is_told_from_a_broken_one(good, tmp_path):
    """ISO/IEC 29500 Strict has other names for everything; Word can save it as the usual kind."""
    strict = (
        b'<Relationships><Relationship Type="http://purl.oclc.org/ooxml/officeDocument/x"/></Relationships>'
    )
    assert refused(tmp_path, with_part(good, "_rels/.rels", strict)) == "this is a Strict Open XML file."


def test_a_file_that_would_fill_the_memory_is_not_unpacked(tmp_path):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package, package.open("big", "w") as big:
        for _ in range(MOST_UNPACKED // 1_000_000 + 1):
            big.write(bytes(1_000_000))
    assert refused(tmp_path, out.getvalue()) == "unpacked, it has more than 100 million bytes."


def test_a_file_inside_the_file_is_not_passed_over_in_silence(form, tmp_path):
    """w:altChunk (17.17.2.1): Word takes the other file in when it opens this one."""
    form.add_paragraph("We clean your skin.")
    put(form, '<w:altChunk NS r:id="rId99"/>')
    assert "holds another file" in refused(tmp_path, saved(form, tmp_path).read_bytes())


def test_a_form_of_pictures_has_no_text(form, tmp_path):
    assert refused(tmp_path, saved(form, tmp_path).read_bytes()) == "there is no text in this file."


@pytest.mark.parametrize("word", ["x" * 300_000, "a-" * 50_000, "a." * 50_000, "@" * 100_000])
def test_a_huge_word_is_one_word_and_read_in_a_moment(form, tmp_path, word):
    """A picture that was pasted as letters; patterns that look far ahead took minutes over it."""
    bold(form, f"We see {word} here.")
    path = saved(form, tmp_path)
    begun = time.monotonic()
    (sentence,) = told(read_file(path))
    assert sentence == f"We see {word[:LONGEST_WORD]} here."
    assert time.monotonic() - begun < 5
