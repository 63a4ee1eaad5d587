"""The Markdown of content files: what may stand there, what is refused, and that no word is lost."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.errors import Problem
from consentpack.markdown import ALLOWED, parse, runs
from consentpack.tree import Block, Inline, Run, text_of

WORD = st.text("abcdefghijklmnopqrstuvwxyzäßéабвगद中ア", min_size=1, max_size=8)
SENTENCE = st.lists(WORD, min_size=1, max_size=6).map(lambda words: f"{' '.join(words).capitalize()}.")


def blocks(text: str, **where) -> tuple[Block, ...]:
    """The blocks of a text in which nothing is wrong."""
    found, problems = parse(text, file="m.md", **where)
    assert problems == []
    return found


def refused(text: str) -> list[str]:
    return [f"{p.where}: {p.what}" for p in parse(text, file="m.md")[1]]


def test_each_kind_of_block_comes_with_its_words_and_lines():
    text = "## What it is\n\nA bruise.\nIt fades.\n\n- one\n- two\n\n1. first\n2. second\n\n::: risk-table\n"
    assert blocks(text) == (
        Block("heading", (Inline("What it is", 1),), 2),
        Block("paragraph", (Inline("A bruise. It fades.", 3),)),
        Block("bullets", (Inline("one", 6), Inline("two", 7))),
        Block("numbered", (Inline("first", 9), Inline("second", 10))),
        Block("directive", (Inline("risk-table", 12),)),
    )


def test_lines_are_counted_from_where_the_text_stands_in_its_file():
    assert blocks("One.\n\nTwo.", first_line=20)[1].items[0].line == 22


def test_a_directive_needs_no_empty_line_round_it():
    assert [block.kind for block in blocks("Read this.\n::: options\nThen ask.")] == [
        "paragraph", "directive", "paragraph",
    ]  # fmt: skip


def test_bold_and_links_become_runs():
    assert runs("Call **us now** or [read more](https://example.org).") == (
        Run("Call "),
        Run("us now", strong=True),
        Run(" or "),
        Run("read more", href="https://example.org"),
        Run("."),
    )


def test_a_placeholder_is_never_cut_in_two():
    """Underscores and quotes inside it would be marks of their own elsewhere."""
    assert runs("Ring **{{ clinic.phone_out_of_hours }}**: {{ rate('dark-marks') }} & more") == (
        Run("Ring "),
        Run("{{ clinic.phone_out_of_hours }}", strong=True),
        Run(": {{ rate('dark-marks') }} & more"),
    )


@pytest.mark.parametrize("link", ["https://example.org", "mailto:a@example.org", "tel:+442079460101"])
def test_links_to_pages_mail_and_telephones_are_allowed(link):
    blocks(f"[here]({link})")


OUTSIDE = {
    "> Quoted.": "a quotation (> …)",
    "    indented": "an indented block, which Markdown reads as program code",
    "```\nfenced\n```": "a fenced block (```)",
    "---": "a horizontal line",
    "<div>\nblock\n</div>": "HTML",
    "words <br> words": "HTML",
    "*slanted*": "slanted text (*…*), which is hard to read; use **bold**",
    "_slanted_": "slanted text (*…*), which is hard to read; use **bold**",
    "![a scar](scar.png)": "a picture",
    "`code`": "program code (`…`)",
    "one\\\ntwo": "a forced line break",
}


@pytest.mark.parametrize(("text", "meant"), OUTSIDE.items())
def test_what_is_outside_the_subset_is_refused_by_its_name(text, meant):
    assert parse(text, file="m.md")[1] == [
        Problem("m.md, line 1", f"this is {meant}.", f"Content files may use {ALLOWED}.")
    ]


@pytest.mark.parametrize(("text", "meant"), OUTSIDE.items())
def test_what_is_outside_the_subset_is_refused_with_the_line_it_stands_on(text, meant):
    assert refused(f"Words.\n\n{text}") == [f"m.md, line 3: this is {meant}."]


@pytest.mark.parametrize("before", ["", "- ", "1. "])
def test_a_text_may_begin_with_when_it_belongs_whatever_kind_of_block_it_is(before):
    (block,) = blocks(f"{before}[only region:face and not\n  region:mouth] Your lids may bruise.")
    assert block.items == (Inline("Your lids may bruise.", 1, "region:face and not region:mouth"),)


def test_a_mark_in_the_midst_of_a_paragraph_is_refused():
    assert refused("Lids may bruise [only region:face] too.")


def test_a_list_in_a_list_is_refused():
    assert refused("- one\n  - inner\n- two") == ["m.md, line 2: this is a list inside a list."]


def test_a_list_item_of_two_paragraphs_is_refused():
    assert refused("- one\n\n  more") == ["m.md, line 3: this is a list item with more than one paragraph."]


@pytest.mark.parametrize("link", ["http://example.org", "ftp://example.org", "page.html", "#top"])
def test_a_link_to_anywhere_else_is_refused(link):
    assert refused(f"[here]({link})") == [f"m.md, line 1: the link goes to '{link}'."]


@pytest.mark.parametrize("text", ["::: Risk table", ":::", "::: risk-table here", "::: risk_table"])
def test_a_misshapen_directive_is_refused(text):
    assert refused(text) == [f"m.md, line 1: '{text}' is not a directive."]


def test_what_could_be_read_is_returned_beside_what_could_not():
    found, problems = parse("One.\n\n> Two.\n\nThree.", file="m.md")
    assert [block.items[0].text for block in found] == ["One.", "Three."]
    assert len(problems) == 1


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("Read this part with care.\n::: Risk table", id="misshapen directive under prose"),
        pytest.param("2. June is the day.", id="a date at the start of a line"),
        pytest.param("- ## Heading", id="a heading in a list"),
        pytest.param("[here](javascript:alert(1))", id="a link the parser itself refuses"),
        pytest.param("| a | b |\n|---|---|\n| 1 | 2 |", id="a table"),
        pytest.param("[ring us](tel:{{clinic.phone}})", id="a placeholder in a link, which is never filled"),
    ],
)
def test_what_would_print_as_something_else_is_refused(text):
    assert refused(text)


@given(sentences=st.lists(SENTENCE, min_size=1, max_size=5))
def test_no_word_of_a_text_is_lost(sentences):
    text = (
        f"## {sentences[0]}\n\n"
        + "\n\n".join(sentences)
        + "\n\n"
        + "\n".join(f"- **{sentence}**" for sentence in sentences)
    )
    printed = [text_of(runs(item.text)) for block in blocks(text) for item in block.items]
    assert printed == [sentences[0], *sentences, *sentences]


@given(text=st.text("ab *_`#>-+1.)[]()<>!&:{}|~=\\\n", max_size=40))
def test_any_text_is_either_wholly_kept_or_refused(text):
    """Every letter comes out in its order, unless something is said to be wrong."""
    found, problems = parse(text, file="m.md")
    kept = "".join(text_of(runs(item.text)) for block in found for item in block.items)
    letters = [letter for letter in text if letter in "ab"]
    assert problems or [letter for letter in kept if letter in "ab"] == letters


@given(text=st.text("ab *_`#[]()\\", max_size=30))
def test_runs_have_words_and_no_neighbours_in_the_same_style(text):
    found = runs(text)
    assert all(run.text for run in found)
    assert all((a.strong, a.href) != (b.strong, b.href) for a, b in pairwise(found))


def test_a_condition_that_begins_a_paragraph_is_no_stray_mark():
    parsed, problems = parse("[only region:face] It may spread.\n", file="content/risks/x.md")

    assert not problems
    assert parsed[0].items[0].only == "region:face"
