"""The pictures of whole packs, in the tree and in the Word files opened again."""

from __future__ import annotations

import io
import re
from datetime import date
from itertools import pairwise

import pytest
from docx import Document as WordDocument
from docx.oxml.ns import qn
from PIL import Image

from consentpack.export.docx import export_docx
from consentpack.tree import Cell, Document, Paragraph, Pictograph, Run, Section, Table, bodies, text_of

PLANS = ("p-101", "p-102", "p-103", "p-104")
every_plan = pytest.mark.parametrize("plan", PLANS)


def consent_of(packs, plan: str) -> Document:
    return next(d for d in packs[plan].documents if d.kind == "booklet")


def cells(document: Document, *sections: str) -> list[Cell]:
    """The table cells of some sections; of all when none is named."""
    wanted = (s for s in document.sections if not sections or s.id in sections)
    nodes = (each for section in wanted for node in section.nodes for each in bodies(node))
    return [cell for node in nodes if isinstance(node, Table) for row in node.rows for cell in row]


def pictures(document: Document, *sections: str) -> list[Pictograph]:
    found = cells(document, *sections)
    return [each for cell in found for each in cell.content if isinstance(each, Pictograph)]


def opened(data: bytes):
    return WordDocument(io.BytesIO(data))


def filled_in(word, inline) -> int:
    """How many of the 100 cells of a picture in the file are black in their middle."""
    part = word.part.related_parts[next(inline.iter(qn("a:blip"))).get(qn("r:embed"))]
    image = Image.open(io.BytesIO(part.blob)).convert("L")
    pitch = image.width / 10.5  # ten marks, and half a mark between the fives
    middles = [round(pitch * (each + 0.5 * (each > 4)) + pitch / 2) for each in range(10)]
    return sum(image.getpixel((x, y)) == 0 for x in middles for y in middles)


def inlines(word) -> list:
    return list(word.element.body.iter(qn("wp:inline")))


@every_plan
def test_the_file_holds_each_picture_of_the_tree_with_its_words_and_as_many_black_marks(packs, plan):
    wanted = [(each.alt, each.marked) for each in pictures(consent_of(packs, plan))]
    word = opened(packs[plan].files["booklet.docx"])
    found = [(each.docPr.get("descr"), filled_in(word, each)) for each in inlines(word)]
    assert found == wanted and wanted


@every_plan
def test_every_picture_stands_beside_its_number(packs, plan):
    """The words before it say the number that the marks and the alternative text say."""
    found = 0
    for cell in cells(consent_of(packs, plan)):
        for before, picture in pairwise(cell.content):
            if not isinstance(picture, Pictograph):
                continue
            said = re.match(r"(?:About )?(\d+) in (?:every )?100\b", text_of(before.runs))
            assert int(said[1]) == picture.marked
            assert picture.alt.startswith(f"{picture.marked} of 100 marks ")
            assert f"about {picture.marked} in every 100 " in picture.alt
            found += 1
    assert found


@every_plan
def test_every_quoted_figure_of_1_percent_and_more_has_one_picture(packs, plan):
    """Counted from the rates of the pack: at least 1%, and at least half a percent without it."""
    rates = [answer.rate for answer in packs[plan].rates.values() if answer.rate]
    wanted = [r for r in rates if 100 * r.events >= r.n and 200 * (r.n - r.events) > r.n]
    found = pictures(consent_of(packs, plan), "what-you-may-gain", "what-can-go-wrong")
    assert len(found) == len(wanted) > 0


def test_the_newer_technique_and_the_longer_known_one_have_a_picture_each_or_none(packs):
    """The cells of this section come in threes: what, the newer one, the longer-known one."""
    pairs = []
    for plan in PLANS:
        found = [
            len([each for each in cell.content if isinstance(each, Pictograph)])
            for cell in cells(consent_of(packs, plan), "a-newer-treatment")
        ]
        pairs += zip(found[1::3], found[2::3], strict=True)
    assert (1, 1) in pairs
    assert all(one == other for one, other in pairs)


@pytest.mark.parametrize("kind", ["aftercare", "record"])
@every_plan
def test_other_documents_have_no_pictures(packs, plan, kind):
    assert inlines(opened(packs[plan].files[f"{kind}.docx"])) == []


# --- the Word file --------------------------------------------------------------------------------


@every_plan
def test_pictures_are_in_line_with_the_text_and_their_ids_are_unique(packs, plan):
    body = opened(packs[plan].files["booklet.docx"]).element.body
    assert not list(body.iter(qn("wp:anchor")))
    ids = [each.get("id") for each in body.iter(qn("wp:docPr"))]
    assert ids and len(ids) == len(set(ids))


def made_of(*pictures: Pictograph) -> bytes:
    head = Cell((Paragraph((Run("What"),)),), head=True)
    table = Table(("A", "B"), tuple((head, Cell((each,))) for each in pictures), (50, 50), "s")
    labels = {"page": "Page", "of": "of", "reference": "Ref", "version": "1", "subject": "s", "draft": "D"}
    section = Section("part", "Part", (table,))
    return export_docx(
        Document("booklet", "Title", "en-GB", "patient", "Clinic", "R-1", "today", (section,), labels=labels),
        day=date(2026, 1, 1),
    )


def test_a_picture_that_occurs_twice_is_kept_once_and_keeps_its_own_words():
    word = opened(made_of(Pictograph(7, 100, "one"), Pictograph(8, 100, "x"), Pictograph(7, 100, "two")))
    assert [each.docPr.get("descr") for each in inlines(word)] == ["one", "x", "two"]
    assert [filled_in(word, each) for each in inlines(word)] == [7, 8, 7]
    names = {str(part.partname) for part in word.part.package.iter_parts() if "media" in part.partname}
    assert names == {"/word/media/image1.png", "/word/media/image2.png"}


def test_what_xml_cannot_hold_in_the_words_of_a_picture_is_replaced():
    (inline,) = inlines(opened(made_of(Pictograph(7, 100, "A & B < \"C\" 'D' \x00"))))
    assert inline.docPr.get("descr") == "A & B < \"C\" 'D' \ufffd"


def test_a_picture_is_23_millimetres_square_and_printed_with_600_dots_an_inch():
    """Ten marks of 2.2 mm, and half of one between the fives."""
    word = opened(made_of(Pictograph(7, 100, "x")))
    (shape,) = word.inline_shapes
    assert (shape.width.mm, shape.height.mm) == (23.1, 23.1)
    (part,) = (p for p in word.part.package.iter_parts() if "media" in p.partname)
    assert Image.open(io.BytesIO(part.blob)).width / (23.1 / 25.4) >= 599


def test_the_same_pictures_give_the_same_bytes():
    some = (Pictograph(7, 100, "one"), Pictograph(300, 1000, "two"))
    assert made_of(*some) == made_of(*some)
