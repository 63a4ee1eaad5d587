"""Sides of paper without an office program: letters, lines, and pieces on pages.

Real pages stand beside it in tests/packs/test_sides_drawn.py.
"""

from __future__ import annotations

import zlib
from math import ceil
from xml.etree.ElementTree import fromstring

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.length import pages_in
from consentpack.length.fonts import ARIAL, UNKNOWN, font_of
from consentpack.length.letters import width_of
from consentpack.length.lines import lines_of
from consentpack.length.pages import Piece, put
from consentpack.length.styles import Style, Styles, W

# --- letters ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "bold", "width"),
    [
        ("a", False, 556), ("i", False, 222), ("W", False, 944), (".", False, 278), ("@", False, 1015),
        ("a", True, 556), ("i", True, 278), ("m", True, 889),
    ],
)  # fmt: skip
def test_widths_are_those_of_helvetica(word, bold, width):
    """Adobe's font metrics file of Helvetica, whose widths Arial has: from memory."""
    assert width_of(word, bold=bold) == width


def test_a_mark_makes_no_letter_wider_but_the_horn_of_vietnamese_does():
    assert width_of("é") == width_of("e") and width_of("ộ") == width_of("o")
    assert width_of("ở") > width_of("ơ") - 1 > width_of("o")


def test_an_arabic_letter_is_wider_at_the_end_of_its_word_and_signs_of_direction_have_no_width():
    assert width_of("بب") == width_of("ب") + 302 < 2 * width_of("ب")
    assert width_of("\u200eاب\u200f") == width_of("اب")
    assert width_of("ب،") - width_of("،") == width_of("ب")  # a comma after it does not join


def test_what_is_not_known_is_rather_too_wide():
    assert width_of("治") == width_of("\u2fff") == 1000
    assert font_of("arial ") == ARIAL and font_of("A designer's own") == UNKNOWN
    assert UNKNOWN.width > ARIAL.width and UNKNOWN.line > ARIAL.line


# --- lines --------------------------------------------------------------------------------------------

NAMED = f'xmlns:w="{W[1:-1]}"'
TEN = Style(size=10.0)
"""Ten points: a letter 'a' is 5.56 points wide, a line 11.5 points high."""


def lines(content: str, width: float, style: Style = TEN) -> list[float]:
    return lines_of(fromstring(f"<w:p {NAMED}>{content}</w:p>"), style, Styles(), width)


def run(text: str, properties: str = "") -> str:
    return f"<w:r><w:rPr>{properties}</w:rPr><w:t>{text}</w:t></w:r>"


WORD = 4 * 5.56
SPACE = 2.78


@pytest.mark.parametrize(
    ("text", "width", "count"),
    [
        ("", 100, 1),
        ("aaaa aaaa aaaa", 3 * WORD + 2 * SPACE, 1),
        ("aaaa aaaa aaaa", 3 * WORD + 2 * SPACE - 0.1, 2),
        ("aaaa aaaa aaaa", WORD, 3),
        ("aaaa-aaaa", WORD + 4, 2),  # a line may end after a hyphen
        ("aaaaaaaaaa", WORD, 3),  # a word wider than its column is broken
        ("治疗部位出血", 30, 2),  # three signs of ten points a line
        ("治疗部，位", 30, 2),
        ("治疗部，", 30, 2),  # no line begins with a comma: it takes a sign with it
    ],
)
def test_a_paragraph_has_as_many_lines_as_its_words_need(text, width, count):
    assert len(lines(run(text), width)) == count


def test_a_word_of_two_runs_is_one_word():
    assert len(lines(run("aaaa aa", "<w:b/>") + run("aa"), 1.5 * WORD)) == 2
    assert len(lines(run("aaaa ") + run("aa"), 1.5 * WORD + SPACE)) == 1


def test_lines_are_as_high_as_their_letters_and_pictures():
    assert lines(run("aaaa"), 100) == [pytest.approx(11.5)]
    assert lines(run("aaaa", '<w:sz w:val="40"/>'), 100) == [pytest.approx(23.0)]
    assert lines(run("aaaa"), 100, Style(size=10.0, line=1.2)) == [pytest.approx(13.8)]
    assert lines(run("aaaa"), 100, Style(size=10.0, line=12.0, exact=True)) == [12.0]
    inline = '<x:inline xmlns:x="any"><x:extent cx="635000" cy="508000"/></x:inline>'
    assert lines(f"<w:r><w:drawing>{inline}</w:drawing></w:r>", 100) == [40.0]


def test_a_tab_goes_to_its_stop_and_a_break_to_the_next_line():
    hanging = Style(size=10.0, left=50.0, first=-50.0)
    assert len(lines(run("aa") + "<w:r><w:tab/></w:r>" + run("aaaa"), 50 + WORD, hanging)) == 1
    assert len(lines(run("aa") + "<w:r><w:tab/></w:r>" + run("aaaa a"), 50 + WORD, hanging)) == 2
    assert len(lines(run("aa") + "<w:r><w:br/></w:r>" + run("aa"), 100)) == 2


# --- pages --------------------------------------------------------------------------------------------


def sides(*pieces: Piece, first: float = 100, others: float = 100) -> tuple[int, float]:
    found = put(pieces, first=first, others=others)
    return found.sides, round(found.filled, 2)


def test_pieces_fill_a_page_and_go_on_to_the_next():
    assert sides(Piece(60), Piece(40)) == (1, 1.0)
    assert sides(Piece(60), Piece(50)) == (2, 1.5)
    assert sides(Piece(60), Piece(50), first=50) == (2, 1.6)  # higher than page one: it goes on
    assert sides() == (1, 0.0)


def test_room_above_is_left_out_at_the_top_and_room_below_may_hang_over_the_foot():
    assert sides(Piece(60, after=20), Piece(30, before=20)) == (2, 1.3)
    assert sides(Piece(90, after=30)) == (1, 1.0)


def test_what_is_kept_with_the_next_goes_with_it():
    heading = Piece(20, keep_next=True)
    assert sides(Piece(70), heading, Piece(30)) == (2, 1.5)
    assert sides(Piece(50), heading, Piece(30)) == (1, 1.0)


def test_the_head_of_a_table_is_repeated_on_each_page():
    assert sides(Piece(10, keep_next=True), *[Piece(40, head=10)] * 4) == (2, 1.9)


def test_a_page_may_be_ended_before_it_is_full():
    assert sides(Piece(10), Piece(10, new_page=True)) == (2, 1.1)


def test_a_last_page_without_room_for_a_line_counts_as_two():
    """What hangs over its foot, room below the last words, is room for a line all the same."""
    assert put([Piece(80)], first=100, others=100, spare=15).sides == 1
    assert put([Piece(80, after=30)], first=100, others=100, spare=15).sides == 1
    assert put([Piece(90)], first=100, others=100, spare=15).sides == 2


def test_a_piece_higher_than_a_page_goes_on_over_the_next():
    assert sides(Piece(250)) == (3, 2.5)


@given(st.lists(st.tuples(st.integers(1, 99), st.booleans()), min_size=1, max_size=30))
def test_no_page_holds_more_than_it_can_and_none_is_wasted(drawn):
    """As many pages as the height needs at the least; never as many as one for each piece and no more."""
    found = put([Piece(h, keep_next=k) for h, k in drawn], first=100, others=100)
    assert ceil(sum(h for h, _ in drawn) / 100) <= found.sides <= len(drawn)
    assert found.sides - 1 < found.filled <= found.sides


@given(st.lists(st.integers(1, 99), min_size=1, max_size=20), st.integers(1, 50))
def test_more_words_never_take_fewer_pages(heights, more):
    before = put(map(Piece, heights), first=100, others=100).filled
    assert put(map(Piece, [*heights, more]), first=100, others=100).filled > before - 1e-9


# --- pages of a PDF -----------------------------------------------------------------------------------


def test_pages_of_a_pdf_are_counted_as_they_stand_and_packed():
    pages = b"1 0 obj<</Type /Pages/Count 2>>endobj\n2 0 obj<</Type /Page>>endobj 3 0 obj<</Type/Page/X 1>>"
    plain = b"%PDF-1.7\n" + pages
    assert pages_in(plain) == 2
    packed = zlib.compress(b"<</Type /Page/Parent 1 0 R>> <</Type /Pages>> <</Type/Page>>")
    head = b"%%PDF-1.7\n5 0 obj<</Type /ObjStm/N 3/First 9/Length %d>>\nstream\r\n" % len(packed)
    assert pages_in(head + packed + b"\nendstream endobj") == 2
    assert pages_in(b"%PDF-1.7 nothing") == pages_in(b"") == 0
