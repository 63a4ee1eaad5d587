"""The editor's help as a whole: where its remarks stand, and in which language it speaks."""

from __future__ import annotations

import re
from itertools import takewhile

import pytest

from consentpack import shipped
from consentpack.advice import advise
from consentpack.library import load_library
from consentpack.model import Remark
from consentpack.pipeline.reading import library_report
from consentpack.readability import Scorer, prepare, words_of
from consentpack.tree import Document, Items, Node, Paragraph, Run, Section, Source

LIBRARY = load_library(shipped.content())
SCORER = Scorer({word: each.syllables for word, each in LIBRARY.syllables.items()})


def document(*nodes: Node, heading: str = "About the treatment", language: str = "en-GB") -> Document:
    return Document("leaflet", "A leaflet", language, "patient", "", "", "", (Section("s", heading, nodes),))


def paragraph(text: str, line: int = 1) -> Paragraph:
    return Paragraph((Run(text),), Source("leaflet.md", line))


def points(*texts: str, numbered: bool = False) -> Items:
    return Items(tuple(paragraph(text, line) for line, text in enumerate(texts, 1)), numbered)


def help_with(read: Document) -> list[Remark]:
    return advise(read, SCORER, terms=LIBRARY.terms, spoken=LIBRARY.syllables, style=LIBRARY.style)


def rules_for(text: str, rule: str) -> list[Remark]:
    return [remark for remark in help_with(document(paragraph(text))) if remark.rule == rule]


TEXTS = (
    "Treatment will commence prior to noon. It is not uncommon to experience pain. Rest well.",
    "The removal of the pad takes a minute. You may get an abscess or a haematoma.",
    "We clean the skin and numb it with a very fine needle at the side of it, but you may feel a push.",
    "Do not rub it unless we say so. However, it may sink. Ring us on 020 7946 0123 at 9.30.",
    "Take 1,000 mg of paracetamol, e.g. 2 pills. Dr. Invented will utilise a 0.5 mm needle.",
)


def test_a_remark_names_the_file_and_line_it_stands_on():
    read = document(
        paragraph("Rest well.", 3), points("Keep it dry", "It was cleaned"), paragraph("It was taken.", 9)
    )
    assert [each.source for each in help_with(read)] == ["leaflet.md, line 2", "leaflet.md, line 9"]


@pytest.mark.slow("the editor's help on the whole library")
def test_every_remark_on_the_library_names_the_line_its_text_stands_on():
    remarks = [remark for row in library_report(LIBRARY) for remark in row.remarks]
    assert remarks
    for remark in remarks:
        file, line = re.fullmatch(r"content/(.+), line (\d+)", remark.source).groups()
        lines = (shipped.content() / file).read_text(encoding="utf-8").splitlines()[int(line) - 1 :]
        block = set(words_of(prepare(" ".join(takewhile(str.strip, lines)))))
        words = words_of(remark.text)
        # what a placeholder is filled with stands in no file
        assert sum(word in block for word in words) >= 0.7 * len(words), remark


@pytest.mark.parametrize("language", ["de", "fr-FR", "es", "cy", "ar"])
def test_a_text_in_another_language_gets_no_remarks(language):
    text = "The area is cleaned prior to the removal of the DVT unless it is not uncommon."
    assert help_with(document(paragraph(text), language="en"))
    assert help_with(document(paragraph(text), language=language)) == []


def test_the_text_of_a_remark_is_a_sentence_of_the_document():
    read = document(*map(paragraph, TEXTS))
    remarks = help_with(read)
    assert len(remarks) >= 9
    assert {remark.text for remark in remarks} <= {piece.text for piece in SCORER.pieces(read)}
