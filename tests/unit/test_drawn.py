"""The text of a PDF set beside its tree: what is missing is named, what is only drawn otherwise is not."""

from __future__ import annotations

import pytest

from consentpack.errors import OutputError
from consentpack.export import pdf
from consentpack.export._drawn import lost, words_of
from consentpack.tree import (
    Box,
    Cell,
    Choice,
    Document,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Paragraph,
    Pictograph,
    Run,
    Section,
    Table,
)


def para(words: str) -> Paragraph:
    return Paragraph((Run(words),))


ROW = (Cell((para("It bleeds"),), head=True), Cell((Items((para("Press firmly"),)), Pictograph(4, 100, "x"))))
EVERY_KIND = (
    Heading((Run("Steps"),), 3),
    para("Rest with your head up."),
    Items((para("first"), para("second")), numbered=True),
    Table(("Sign", "Do this"), (ROW,), (60, 40), "Signs."),
    Choice((Run("I agree."),)),
    Fields("Patient", (Field("Name"), Field("Date", "date")), (Run("I was told."),)),
    Facts((("Where", "left cheek"),)),
    Box("The older way", (para("It cuts."),)),
)
ALL = (
    "Title Tonight Steps Rest with your head up. first second Sign Do this It bleeds Press firmly I agree. "
    "Patient I was told. Name Date Where left cheek The older way It cuts."
)


def document(*nodes, **more) -> Document:
    values = {"clinic_name": "Clinic", "reference": "R-1", "issued": "today", "language": "en-GB"} | more
    return Document(
        "aftercare", "Title", audience="patient", sections=(Section("x", "Tonight", nodes),), **values
    )


def test_what_is_all_there_is_not_missed():
    assert lost(document(*EVERY_KIND), [ALL]) == []


@pytest.mark.parametrize(
    "words",
    ["Title", "Tonight", "Steps", "Rest with your head up.", "second", "Do this", "Press firmly", "It bleeds",
     "I agree.", "Patient", "I was told.", "Date", "Where left cheek", "The older way", "It cuts."],
)  # fmt: skip
def test_each_kind_of_words_is_missed_where_it_is_not_drawn(words):
    missing = lost(document(*EVERY_KIND), [ALL.replace(words, "", 1)])
    assert words in [piece.text for piece in missing]


def test_a_row_that_says_what_another_row_says_is_missed_too():
    twice = document(para("You can do it."), para("You can do it."))
    (missing,) = lost(twice, ["Title Tonight You can do it."])
    assert missing.text == "You can do it."


def test_heads_repeated_on_each_page_and_what_runs_along_it_are_no_fault():
    pages = ["Clinic Page 1 of 2 Sign Do this", f"Clinic Page 2 of 2 {ALL}"]
    assert lost(document(*EVERY_KIND), pages) == []


def test_a_part_that_is_lost_is_named_and_not_the_one_that_says_the_same():
    tree = Document(
        "aftercare", "Title", "en-GB", "patient", "Clinic", "R-1", "today",
        (Section("a", "Today", (para("Rest."), para("Keep it clean."))),
         Section("b", "Tonight", (para("Rest."), para("Ring us.")))),
    )  # fmt: skip
    missing = lost(tree, ["Title Today Rest. Keep it clean. Tonight"])
    assert [(piece.heading, piece.text) for piece in missing] == [
        ("Tonight", "Rest."),
        ("Tonight", "Ring us."),
    ]


@pytest.mark.parametrize(
    ("language", "said", "drawn"),
    [
        (
            "fr",
            "Prenez rendez-vous. Tell us.",
            "Prenez rendez\x02vousTell us.",
        ),  # as pdfium reads a line's end
        ("en-GB", "hyperpigmentation", "hyperpigmentati\non"),  # broken in a narrow column
        ("en-GB", "office", "o\ufb03ce"),  # one sign for three letters
        ("zh-Hans", "第14天。请打电话", "第 14 天。\n请打电\n话"),
        ("ar", "علامة لا تورم", "عالمة ال تورم"),  # lam and alef are drawn as one sign
        ("ar", "اليومين 2 و3.", "اليومين 2 و 3 ."),
        ("ar", "يُبَحّ صوتك", "يُ ّ بح صوتك"),  # marks are drawn apart
    ],
)
def test_what_is_drawn_otherwise_is_not_missed(language, said, drawn):
    assert lost(document(para(said), language=language), [f"Title Tonight {drawn}"]) == []


def test_chinese_that_is_lost_is_missed():
    missing = lost(document(para("请打电话"), para("请按压"), language="zh-Hans"), ["Title Tonight 请按压"])
    assert [piece.text for piece in missing] == ["请打电话"]


def test_arabic_that_is_lost_is_missed():
    missing = lost(document(para("اتصل بنا"), para("اضغط هنا"), language="ar"), ["Title Tonight بنا اتصل"])
    assert [piece.text for piece in missing] == ["اضغط هنا"]


def test_words_are_compared_without_their_marks():
    assert list(words_of("Zadzwoń do nas")) == ["Zadzwon", "do", "nas"]


def test_the_clinic_is_told_which_file_which_part_and_what_to_do(monkeypatch):
    tree = document(
        para("Press firmly for 30 minutes by the clock, and do not look in between at all."), para("Rest.")
    )
    monkeypatch.setattr(pdf, "pages_of", lambda _: ["Title Tonight"])
    with pytest.raises(OutputError) as caught:
        pdf.refuse_losses({"aftercare.pdf": tree}, {"aftercare.pdf": b""})
    (problem,) = caught.value.problems
    assert problem.where == "aftercare.pdf"
    assert problem.what == (
        "LibreOffice left out words of 'Title', under 'Tonight': “Press firmly for 30 minutes by the clock, "
        "and do not look i…”, “Rest.”. No PDF was written."
    )
    assert problem.fix.startswith("Nothing is missing in the Word file.")
