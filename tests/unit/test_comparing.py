"""What was changed between two texts is marked, and nothing else is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.pipeline.comparing import MOST_LINES, compared


def shown(before: str, now: str) -> list[str]:
    signs = {"": "{}", "in": "+{}+", "out": "-{}-"}
    rows = compared(before.split("\n"), now.split("\n"))
    return ["".join(signs[words.mark].format(words.text) for words in row) for row in rows]


@pytest.mark.parametrize(
    ("before", "now", "said"),
    [
        ("It fades in 2 weeks.", "It fades in 3 weeks.", ["It fades in -2-+3+ weeks."]),
        ("It fades in 1 to 2 weeks. Ring us.", "It fades soon. Ring us.",
         ["It fades -in 1 to 2 weeks.-+soon.+ Ring us."]),
        ("a\nb", "a\nnew\nb", ["a", "+new+", "b"]),
        ("a\nold\nb", "a\nb", ["a", "-old-", "b"]),
        ("same\nlines", "same\nlines", []),
        ("1\n2\n3\n4\n5\n6\n7", "x\n2\n3\n4\n5\n6\ny", ["-1-+x+", "2", "3", "", "5", "6", "-7-+y+"]),
    ],
)  # fmt: skip
def test_what_was_taken_out_and_put_in_is_marked_word_by_word(before, now, said):
    assert shown(before, now) == said


LINES = st.lists(st.text("ab .\t", max_size=12), max_size=8)


@given(LINES, LINES)
def test_both_texts_can_be_read_out_of_what_is_marked(before, now):
    """Of the lines that are shown: what is left out is the same in both."""
    rows = [row for row in compared(before, now) if row]
    for mark, lines in (("out", before), ("in", now)):
        kept = ["".join(words.text for words in row if words.mark in ("", mark)) for row in rows]
        whole = "\n".join(lines)
        assert all(line in whole for text in kept for line in text.split("\n"))
    assert bool(rows) is (before != now)


def test_a_text_far_too_long_is_not_compared_word_by_word():
    long = [str(number) for number in range(MOST_LINES + 1)]
    rows = compared(long, ["new"])
    assert len(rows) == MOST_LINES + 2 and {row[0].mark for row in rows} == {"in", "out"}
