"""What Word files share: nothing of one document may get into the next, and no broken part into any."""

from __future__ import annotations

import io
import zipfile
from datetime import date

import pytest
from docx import Document as WordDocument
from lxml.etree import XMLSyntaxError

from consentpack.export._frame import BODY, PROPERTIES, RELATIONS, frame_of
from consentpack.export._relations import Relations
from consentpack.export.docx import export_docx
from consentpack.export.look import Look
from consentpack.tree import Cell, Document, Items, Paragraph, Pictograph, Run, Section, Table

DAY = date(2026, 11, 25)
LABELS = {"reference": "Pack", "version": "version 1", "page": "Page {page} of {pages}", "subject": "For you"}


def document(*nodes, reference: str = "R-1", **more) -> Document:
    section = Section("part", "Part", nodes or (Paragraph((Run("Words."),)),))
    values = {"language": "en-GB", "audience": "patient", "clinic_name": "Clinic", "issued": "today"} | more
    return Document("consent", "Title", reference=reference, sections=(section,), labels=LABELS, **values)


def rich() -> Document:
    """One that has everything of which a file keeps count: links, pictures and numbered lists."""
    words = Paragraph((Run("A link", href="https://example.org/secret?a=1&b=2"),))
    picture = Cell((Pictograph(3, 100, "3 of 100"),))
    table = Table(("A", "B"), ((Cell((words,)), picture),), (50, 50), "A table.")
    return document(Items((words, words), numbered=True), table, reference="SECRET-7")


def parts(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        return {name: file.read(name) for name in file.namelist()}


def test_a_file_does_not_depend_on_what_was_written_before_it():
    frame_of.cache_clear()
    alone = export_docx(document(), day=DAY)
    frame_of.cache_clear()
    first = export_docx(rich(), day=DAY)
    assert export_docx(document(), day=DAY) == alone
    assert export_docx(rich(), day=DAY) == first


def test_what_is_shared_holds_nothing_of_a_document():
    content = export_docx(rich(), day=DAY)
    assert b"SECRET-7" in b"".join(parts(content).values())  # or the next lines would show nothing
    frame = frame_of(Look(), "en-GB", False)
    shared = {name: parts(content)[name] for name in frame.same}
    gaps = [side for gap in frame.gaps.values() for side in (gap.before, gap.after)]
    assert b"SECRET-7" not in b"".join([*shared.values(), *gaps])
    assert b"secret" not in b"".join([*shared.values(), *gaps])


def test_each_language_and_direction_has_a_frame_of_its_own():
    arabic = parts(export_docx(document(language="ar", rtl=True), day=DAY))
    english = parts(export_docx(document(), day=DAY))
    assert b"<w:bidi/>" in arabic[BODY].rsplit(b"<w:sectPr", 1)[1]
    assert b"<w:bidi/>" not in english[BODY]
    assert b'w:bidi="ar"' in arabic["word/styles.xml"]
    assert arabic["word/styles.xml"] != english["word/styles.xml"]


def test_no_part_is_left_unfilled():
    for name, content in parts(export_docx(rich(), day=DAY)).items():
        assert name.endswith(".png") or "\ue000".encode() not in content, name


@pytest.mark.parametrize("wrong", ["<w:p>", "<w:p></w:r></w:p>", "A & B", "<nobody:p/>"])
def test_a_part_that_no_program_could_read_is_not_written(wrong):
    frame = frame_of(Look(), "en-GB", False)
    with pytest.raises(XMLSyntaxError):
        frame.archive({BODY: wrong}, {})


def test_relations_take_free_ids_and_keep_each_target_once():
    frame = frame_of(Look(), "en-GB", False)
    relations = Relations(frame)
    ids = [
        relations.link("https://example.org/?a=1&b=2"),
        relations.picture(b"one"),
        relations.link("https://example.org/?a=1&b=2"),
        relations.picture(b"two"),
        relations.picture(b"one"),
    ]
    assert ids[0] == ids[2] and ids[1] == ids[4]
    assert len({*ids, *frame.relations}) == 3 + len(frame.relations)
    assert relations.pictures == {"word/media/image1.png": b"one", "word/media/image2.png": b"two"}


def test_python_docx_finds_links_pictures_and_properties():
    word = WordDocument(io.BytesIO(export_docx(rich(), day=DAY)))
    assert len(word.inline_shapes) == 1
    assert {r.target_ref for r in word.part.rels.values() if r.is_external} == {
        "https://example.org/secret?a=1&b=2"
    }
    properties = word.core_properties
    assert (properties.title, properties.author, properties.subject) == (
        "Title – SECRET-7",
        "Clinic",
        "For you",
    )
    assert properties.created.date() == properties.modified.date() == DAY
    assert (properties.language, properties.revision, properties.comments) == ("en-GB", 1, "")


def test_frames_of_many_looks_are_not_all_kept():
    assert 0 < (frame_of.cache_info().maxsize or 0) <= 32


def test_every_gap_is_filled_by_every_document():
    frame = frame_of(Look(), "en-GB", False)
    assert {BODY, RELATIONS, PROPERTIES} < set(frame.gaps)
    assert set(parts(export_docx(document(), day=DAY))) == {*frame.same, *frame.gaps}
