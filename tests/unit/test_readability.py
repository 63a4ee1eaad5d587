"""What is scored, and how: the text handed to textstat, grades by section, the hardest sentences."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.errors import ReadabilityError
from consentpack.model import Score, SectionScore
from consentpack.readability import (
    FEWEST_WORDS,
    check,
    grade_of,
    prepare,
    score,
    scored_text,
    worst_sentences,
)
from consentpack.tree import (
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Paragraph,
    Run,
    Section,
    Source,
    Table,
)

EASY = "We look at your skin. We press on it for a bit. You can ask us to stop. "
HARD = (
    "Subcutaneous undermining necessitates meticulous haemostasis, notwithstanding contemporaneous "
    "analgesia. "
)


def para(text: str, *, line: int = 7, scored: bool = True) -> Paragraph:
    return Paragraph((Run(text),), Source("content/x.md", line), scored)


def document(*sections: tuple[str, tuple], language: str = "en-GB") -> Document:
    made = tuple(Section(name.lower(), name, nodes) for name, nodes in sections)
    return Document("consent", "Title", language, "patient", "Clinic", "R-1", "today", made)


@pytest.mark.parametrize(
    ("written", "scored"),
    [
        ("It is 0.5 mm wide", "It is 05 mm wide."),
        ("Come at 10.30 or at 9:15.", "Come at 1030 or at 915."),
        ("Ring 020 7946 0101 now", "Ring number now."),
        ("Take it, e.g. at 8 a.m. with food.", "Take it, eg at 8 am with food."),
        ("Dr. Ambrose will see you", "Dr Ambrose will see you."),
        ("A follow-up and/or a call—soon", "A follow up and or a call soon."),
        ("These are the signs:", "These are the signs."),
        ("Wait… then press", "Wait. then press."),
        ("Say “anaphylaxis.”", "Say “anaphylaxis.”"),
        ("Is it hot?", "Is it hot?"),
        ("", ""),
    ],
)
def test_text_is_prepared_so_that_each_stop_ends_one_sentence(written, scored):
    assert prepare(written) == scored


@given(st.text(alphabet="abc .!?", max_size=60))
def test_prepared_text_always_ends_and_is_stable(text):
    once = prepare(text)
    assert once == "" or once[-1] in ".!?"
    assert prepare(once) == once


def test_every_bullet_and_cell_ends_and_what_is_no_prose_is_left_out():
    table = Table(("Head not scored",), ((Cell((para("cell words here"),)),),), (100,), "summary")
    nodes = (
        Heading((Run("Heading not scored"),), 3),
        Items((para("first point"), para("second point"))),
        table,
        Choice((Run("I agree to this"),)),
        Facts((("Phone", "020 7946 0101"),)),
        Fields("Patient", (Field("Name"),), (Run("I have read it"),)),
        para("A reference, 2017", scored=False),
    )
    assert scored_text(nodes) == (
        "first point. second point. cell words here. I agree to this. I have read it."
    )


def test_a_section_that_is_too_short_is_not_scored_and_never_zero():
    found = score(document(("Short", (para("You can say no."),)), ("Long", (para(EASY * 9),))), 6)
    short, long = found.sections
    assert short.grade is None and short.words < FEWEST_WORDS
    assert long.grade is not None and found.grade is not None


def test_a_document_with_too_few_words_to_score_does_not_pass():
    found = score(document(("Short", (para("You can say no."),))), 6)
    assert found.grade is None and found.over == ("",)


def test_a_hard_section_is_named_with_its_sentence_file_and_line():
    tree = document(("Easy", (para(EASY * 9),)), ("Hard", (para(HARD * 6, line=23),)))
    found = score(tree, 6)
    assert "hard" in found.over and "easy" not in found.over
    said = "\n".join(str(problem) for problem in check(tree, found))
    assert "“Hard”: the reading grade is" in said and "the target is 6" in said
    assert "content/x.md, line 23: grade" in said and "Subcutaneous undermining" in said


def test_the_worst_sentences_come_hardest_first_and_once_each():
    tree = document(("All", (para(EASY + HARD + HARD + EASY),)))
    found = worst_sentences(tree, 3)
    assert found[0].text.startswith("Subcutaneous")
    assert [s.grade for s in found] == sorted((s.grade for s in found), reverse=True)
    assert len({s.text for s in found}) == len(found)


@pytest.mark.parametrize(("grade", "over"), [(5.99, ()), (6.0, ()), (6.01, ("", "s"))])
def test_the_target_itself_is_within_the_target(grade, over):
    section = SectionScore("s", "S", 100, 10, grade)
    assert Score("consent", 100, 10, grade, 6.0, (section,)).over == over


def test_another_language_is_never_scored_with_english_constants():
    with pytest.raises(ReadabilityError, match="no Flesch-Kincaid grade for the language 'pt'"):
        score(document(("All", (para(EASY * 9),)), language="pt"), 6)


def test_scoring_works_with_no_network_at_all():
    code = (
        "import socket\n"
        "def no(*a, **k): raise OSError('no network')\n"
        "socket.socket = socket.create_connection = socket.getaddrinfo = no\n"
        "from consentpack.readability import grade_of\n"
        "print(grade_of('The cat sat on the mat.'))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert float(done.stdout) == pytest.approx(-1.45, abs=0.005)


def test_harder_words_never_read_easier():
    assert grade_of("We use a tool.") < grade_of("We utilise an instrument.")
