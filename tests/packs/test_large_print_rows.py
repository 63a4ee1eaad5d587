"""Large print takes no more sides than its letters need: what of it was empty, and what was torn."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
from docx import Document as WordDocument
from docx.oxml.ns import qn

from consentpack.export.docx import export_docx
from consentpack.export.look import Look
from consentpack.tree import Cell, Document, Paragraph, Run, Section, Table

LABELS = {"page": "Page", "of": "of", "reference": "Ref", "version": "1", "subject": "s", "draft": "D"}
SHORT, LONG = "none in 402 (up to 1 in 100)", "It can start within minutes, and it can get worse very fast."


def cell(*texts: str) -> Cell:
    return Cell(tuple(Paragraph((Run(text),)) for text in texts))


def document(*sections: Section, close: bool = True) -> Document:
    return Document(
        "form", "Title", "en-GB", "patient", "Clinic", "R-1", "today",
        sections=sections, labels=LABELS, close=close,
    )  # fmt: skip


def body(made: Document, *, large: bool = True):
    content = export_docx(made, day=date(2026, 11, 28), look=Look(large=large))
    return WordDocument(io.BytesIO(content)).element.body


def texts(found) -> list[str]:
    paragraphs = found.iter(qn("w:p"))
    return ["".join(t.text or "" for t in p.iter(qn("w:t"))) for p in paragraphs]


def test_a_short_answer_stands_on_the_line_of_its_label_and_a_long_one_below():
    """Each "How many:" had a line of its own: five of a form with five serious harms."""
    table = Table(
        ("Harm", "How many", "How long"), ((cell("A"), cell(SHORT), cell(LONG)),), (30, 30, 40), "s"
    )
    said = texts(body(document(Section("p", "Part", (table,)))))
    assert f"How many: {SHORT}" in said
    assert said[said.index("How long: ") + 1] == LONG


@pytest.mark.parametrize(
    ("section", "close", "begins"),
    [
        (Section("decision", "Your decision", (), new_side=True), True, False),
        (Section("annex", "Annex", (), new_side=True, annex=True), True, True),
        (Section("slip", "If you say no later", (), new_side=True), False, True),
    ],
)
def test_a_decision_begins_no_side_in_large_print_but_annexes_and_slips_do(section, close, begins):
    """Half of side 7 stayed empty before it, and it took two sides and some lines all the same."""
    made = document(section, close=close)
    assert len(list(body(made).iter(qn("w:pageBreakBefore")))) == begins
    assert len(list(body(made, large=False).iter(qn("w:pageBreakBefore")))) == 1


def test_only_a_first_row_without_room_below_its_headings_may_be_split():
    """A heading stood alone on a side: the row below it had room on the next one only, which was whole."""
    words = ["word " * 9] * 20
    row = (cell("Harm", *words), cell(SHORT))
    table = Table(("Harm", "How many"), (row, row), (60, 40), "s")
    head, first, second = body(document(Section("p", "Part", (table,)))).iter(qn("w:tr"))
    splits = [row.find(f".//{qn('w:cantSplit')}") is None for row in (head, first, second)]
    assert splits == [False, True, False]
    few = replace(table, rows=((cell("Harm", *words[:8]), cell(SHORT)),) * 2)
    rows = body(document(Section("p", "Part", (few,)))).iter(qn("w:tr"))
    assert all(row.find(f".//{qn('w:cantSplit')}") is not None for row in rows)
