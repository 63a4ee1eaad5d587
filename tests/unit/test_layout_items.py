"""What a program sees of layout and use: each item once there and once not, and what is left to a person."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from consentpack.advice import layout_of
from consentpack.advice.layout import FOR_A_PERSON
from consentpack.check.checklists.clear_index import CLEAR_INDEX
from consentpack.check.checklists.pemat import PEMAT
from consentpack.tree import (
    Box,
    Cell,
    Document,
    Field,
    Fields,
    Items,
    Paragraph,
    Pictograph,
    Run,
    Section,
    Table,
)


def p(text, *, strong=False):
    return Paragraph((Run(text, strong=strong),))


def points(*texts):
    return Items(tuple(map(p, texts)))


def table(*columns, grid=False, cell="x"):
    share = 100 // len(columns)
    widths = (*[share] * (len(columns) - 1), 100 - share * (len(columns) - 1))
    content = cell if isinstance(cell, Pictograph) else p(cell)
    return Table(columns, (tuple(Cell((content,)) for _ in columns),), widths, "a table", grid=grid)


def document(*sections, title="", lead=(), language="en-GB"):
    made = tuple(Section(f"s{n}", heading, tuple(nodes)) for n, (heading, *nodes) in enumerate(sections))
    return Document("a.txt", title, language, "patient", "", "", "", made, lead=lead)


def status(id, doc):
    return next(item.status for item in layout_of(doc).items if item.id == id)


LONG = "We look at the skin and then we press on it a little. " * 20
CASES = {
    "main-first": (
        document(("Why", p("A peel takes off old skin.")), title="Your peel"),
        document(("Why", p("Our clinic has been open for years.")), title="Your peel"),
    ),
    "summary": (
        document(("In short", p("We peel it."))),
        document(("Why", p("We peel it."))),
    ),
    "cues": (document(("A", p("Ring us.", strong=True))), document(("A", p("Ring us.")))),
    "chunks": (
        document(("A", p("Ring us.")), ("B", p("Rest."))),
        document(("A", p(LONG)), ("B", p("Rest."))),
    ),
    "headings": (
        document(("What we do", p("We peel."))),
        document(("What we do and what it costs and who pays", p("We peel."))),
    ),
    "lists": (document(("A", points("Rest.", "Drink."))), document(("A", p("Rest. Drink.")))),
    "short-lists": (document(("A", points("Rest."))), document(("A", points(*["Rest at home."] * 9)))),
    "active": (document(("A", p("We clean it."))), document(("A", p("It is cleaned. The skin is numbed.")))),
    "something-to-do": (document(("A", p("Keep it dry."))), document(("A", p("The skin heals.")))),
    "verbs": (
        document(("What to do", points("Keep it dry.", "Ring us."))),
        document(("What to do", points("No sport.", "Plenty of water."))),
    ),
    "steps": (
        document(("What to do", points("Keep it dry.", "Ring us."))),
        document(("What to do", p("Keep it dry. Do not press it."))),
    ),
    "to-the-reader": (
        document(("A", p("You can go home."))),
        document(("A", p("Patients are advised to rest. You can go."))),
    ),
    "tool": (
        document(("A", Fields("Diary", (Field("Pain"),)))),
        document(("A", p("Note your pain."))),
    ),
    "no-arithmetic": (
        document(("A", p("It happens to 4 in 100 people. A scar stays in 1 in 100."))),
        document(("A", p("It happens to 1 in 20 people. A scar stays in 3 in 100."))),
    ),
    "risk-pictures": (
        document(("A", p("It happens to 4 in 100 people."), table("a", cell=Pictograph(4, 100, "4 of 100")))),
        document(("A", p("It happens to 4 in 100 people."))),
    ),
    "tables": (document(("A", table("Day", "What"))), document(("A", table(*"abcdef")))),
}  # fmt: skip


def test_every_item_has_a_case():
    assert tuple(CASES) == tuple(item.id for item in layout_of(document(("A", p("Rest.")))).items)


@pytest.mark.parametrize("id", CASES)
def test_an_item_is_seen_where_it_is_and_not_where_it_is_not(id):
    there, lacking = CASES[id]
    assert (status(id, there), status(id, lacking)) == ("seen", "not seen")


@pytest.mark.parametrize(
    "id", ["main-first", "short-lists", "verbs", "no-arithmetic", "risk-pictures", "tables"]
)
def test_where_there_is_nothing_to_see_nothing_is_held_against_a_text(id):
    plain = document(("Why", p("The skin heals by itself.")))
    assert status(id, plain) == "nothing to see"
    assert all(item.why for item in layout_of(plain).items)


def test_a_file_that_names_itself_nowhere_has_no_main_message_to_look_for():
    assert status("main-first", document(("Why", p("A peel.")), title="a")) == "nothing to see"


@pytest.mark.parametrize("text", ["Multiply it by 3 days.", "It is 3 times as likely.", "Take 5 mg per kg."])
def test_what_has_to_be_worked_out_is_found(text):
    assert status("no-arithmetic", document(("A", p(text)))) == "not seen"


def test_in_another_language_only_what_needs_no_words_is_looked_at():
    """English rules would find no verb in a Spanish list, and say so of every text."""
    spanish = document(("Qué hacer", points("Descanse.", "Beba agua.")), language="es")
    seen = {item.id for item in layout_of(spanish).items if item.status != "nothing to see"}
    assert seen <= {"cues", "chunks", "lists", "short-lists", "tool", "tables"} and "lists" in seen


def test_a_frame_is_a_cue_and_words_before_the_first_heading_sum_up():
    framed = document(("A", Box("Ring us", (p("Day or night."),))), lead=(p("We peel it."),))
    assert status("cues", framed) == status("summary", framed) == "seen"


def test_the_count_leaves_out_what_is_not_there_to_see():
    found = layout_of(document(("A", p("The skin heals."))))
    assert found.asked == sum(item.status != "nothing to see" for item in found.items) < len(found.items)
    assert found.seen == sum(item.status == "seen" for item in found.items)


def test_each_item_of_both_instruments_is_seen_by_the_program_or_left_to_a_person():
    """The numbers are those of the lists that packs are held against."""
    named = " ".join([*(i.items for i in layout_of(document()).items), *(items for _, items in FOR_A_PERSON)])
    named = named.replace("PEMAT 16-18", "PEMAT 16, PEMAT 17, PEMAT 18").replace(
        ", 25, 26", ", PEMAT 25, PEMAT 26"
    )
    found = set(re.findall(r"CDC [A-D]\d+|PEMAT \d+", named))
    wanted = {f"CDC {item.id}" for item in CLEAR_INDEX.items} | {f"PEMAT {item.id}" for item in PEMAT.items}
    assert found == wanted


def test_it_claims_no_score_of_an_instrument(run, tmp_path):
    (tmp_path / "a.txt").write_text("WHAT TO DO\n\nKeep it dry. Ring us when it hurts and you feel ill. " * 6)
    said = run(tmp_path, "score", "a.txt", "--layout").output
    assert re.search(r"\d+ of the \d+ items that a program can see here", said)
    assert "A person must still judge:" in said and "%" not in said.partition("layout and use")[2]


def test_the_same_document_says_the_same_twice():
    doc = CASES["verbs"][1]
    assert layout_of(doc) == layout_of(replace(doc))
