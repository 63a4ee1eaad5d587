"""Plain paragraphs take a short way through the preparation of text, and come out as by the long one."""

from __future__ import annotations

import importlib

from hypothesis import example, given
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.check import module_document
from consentpack.library import load_library
from consentpack.readability import parts
from consentpack.readability.prepare import ABBREVIATIONS, prepare
from consentpack.readability.scoring import scored_paragraphs
from consentpack.tree import text_of

# the package gives the function by the name of its module
room = importlib.import_module("consentpack.readability.prepare")
WORDS = [
    *ABBREVIATIONS, "No.", "Fig.", "a", "I", "it", "skin", "don’t", "www.", "US.", "x.org", "me@x.org", "5",
    "m.", "bar,", ",", "why?", "stop!", "..", "St", "etc", "a.b", "“No.”",
]  # fmt: skip


@given(st.lists(st.sampled_from(WORDS), min_size=1, max_size=8).map(" ".join))
@example("bar , skin.")
@example("It heals. Ask Dr. Who. It is sore.")
@example("We use ice, heat, etc. It heals.")
def test_the_short_way_gives_what_the_long_one_gives(text):
    assert prepare(text) == room._made_ready(text, "en")


def test_no_link_is_missed_by_the_fast_look():
    for text in ("See www.example.org now", "See https://a", "Mail me@example.org", "example.org/x (see)"):
        assert "link" in prepare(text).rstrip(".").split(), text


def test_a_long_text_that_is_not_plain_at_its_end_is_read_in_its_length():
    """With two ways to read a word, this would take longer than anybody lives."""
    text = "Cover it with a pad and rest well. " * 2_000
    assert prepare(f"{text}(end)").endswith("(end).")


def test_most_shipped_paragraphs_are_plain_and_all_come_out_alike():
    """Takes a second: every English text."""
    library = load_library(shipped.content())
    texts = [
        text_of(paragraph.runs)
        for folder, module in library.modules()
        for _, _, nodes in parts(module_document(folder, module, library))
        for paragraph in scored_paragraphs(nodes)
    ]
    assert [text for text in texts if prepare(text) != room._made_ready(text, "en")] == []
    assert sum(map(room._is_plain, texts)) > len(texts) / 2
