"""What is a sentence to be scored, and what is a name, a contact, a reference or a line to sign."""

from __future__ import annotations

import docx
import pytest
from readings import (
    bold,
    nodes,
    read,
    told,
    untold,
)

from consentpack.readability import scored_text
from consentpack.readability.scoring import left_out
from consentpack.tree import Heading, text_of


@pytest.fixture
def form():
    return docx.Document()


# --- what is no prose -------------------------------------------------------------------------


@pytest.mark.parametrize("text", [
    "Hazel Street Scar Clinic\n1 Hazel Street\nExample Town\nEX1 1EX",
    "Tel: 020 7946 0101",
    "E-mail: clinic@example.org",
    "https://example.org/scars",
    "Signed: ____________________   Date: __________",
    "Signature of patient",
    "Print name ..........................",
    "Date of birth: 1 May 1980",
    "Your clinician: Dr A. Quill",
    "Mrs Rowan Tansley, Lead Nurse",
    "1. Quill A, Tansley R. A made-up paper. Journal of Nothing 2012;38:1-9.",
    "Quill A et al. Another made-up paper, 2014.",
])  # fmt: skip
def test_contacts_names_lines_to_sign_and_references_are_kept_and_not_scored(form, tmp_path, text):
    form.add_paragraph("We clean your skin.")
    form.add_paragraph(text)
    document = read(form, tmp_path)
    assert told(document) == ["We clean your skin."]
    assert left_out(document)["names, contacts and references"] == len(untold(document)) > 0


@pytest.mark.parametrize("text", [
    "Ring us on 020 7946 0101 if the bleeding does not stop.",
    "You can write to clinic@example.org when you have a question about your scar.",
    "I, ____________________, agree that the risks have been explained to me in full.",
    "Dr Quill has told me about each of the risks and I have no further question.",
    "The date of your next visit is on your card.",
    "A study of 2012 found that half of all scars got flatter.",
])  # fmt: skip
def test_a_sentence_with_a_number_a_name_or_a_blank_in_it_is_scored(form, tmp_path, text):
    """Else a form could hide what it asks people to sign."""
    form.add_paragraph(text)
    assert len(told(read(form, tmp_path))) == 1


def test_a_blank_to_fill_in_is_no_end_of_a_sentence(form, tmp_path):
    form.add_paragraph("I, ..................., agree that you may treat my scar.")
    document = read(form, tmp_path)
    assert scored_text(nodes(document)).count(".") == 1


def test_what_stands_under_references_is_not_scored(form, tmp_path):
    form.add_paragraph("We clean your skin.")
    bold(form, "References")
    form.add_paragraph("A book about skin that nobody wrote.")
    assert told(read(form, tmp_path)) == ["We clean your skin."]


def test_a_list_of_contents_is_not_scored(form, tmp_path):
    from docx.enum.style import WD_STYLE_TYPE

    form.styles.add_style("toc 1", WD_STYLE_TYPE.PARAGRAPH)
    form.add_paragraph("What may go wrong 2", style="toc 1")
    form.add_paragraph("We clean your skin.")
    assert told(read(form, tmp_path)) == ["We clean your skin."]


def test_a_label_in_a_table_is_a_heading_and_no_sentence(form, tmp_path):
    table = form.add_table(rows=1, cols=2)
    table.cell(0, 0).text, table.cell(0, 1).text = "What we do:", "We clean your skin."
    document = read(form, tmp_path)
    assert told(document) == ["We clean your skin."]
    assert [text_of(n.runs) for n in document.lead if isinstance(n, Heading)] == ["What we do:"]
