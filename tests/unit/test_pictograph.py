"""Pictographs as drawings and as files.

The rules and their sources: the whole denominator in marks of one size; events grouped, not scattered
(Zikmund-Fisher 2012, doi 10.2196/jmir.2030); filled by row from the bottom (convention of the Michigan
group); no part marks (Schapira 2001); contrast of 3 to 1 and colour never the only cue (WCAG 2.1, 1.4.11
and 1.4.1). The PNG is decoded and its cells counted; the SVG is parsed.
"""

from __future__ import annotations

import io
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from consentpack.export.pictograph import Mark, drawing, png, svg
from consentpack.tree import Pictograph

SVG = "{http://www.w3.org/2000/svg}"

hundreds = st.integers(0, 100).map(lambda marked: Pictograph(marked, 100, "words"))
thousands = st.integers(0, 1000).map(lambda marked: Pictograph(marked, 1000, "words"))
pictographs = st.one_of(hundreds, thousands)
at_leisure = settings(deadline=None, max_examples=60)


# --- reading the files back -----------------------------------------------------------------------


def cells_of_png(pictograph: Pictograph, dpi: int) -> dict[tuple[int, int], bytes]:
    """(column, row) -> the pixels of that cell."""
    image = Image.open(io.BytesIO(png(pictograph, dpi))).convert("L")
    drawn = drawing(pictograph)
    pitch = round(image.width / drawn.size[0])
    assert image.size == tuple(round(pitch * side) for side in drawn.size)
    across, down = ([round(pitch * drawn.place(i)) for i in range(n)] for n in (drawn.columns, drawn.rows))
    return {
        (column, row): image.crop((x, y, x + pitch, y + pitch)).tobytes()
        for column, x in enumerate(across)
        for row, y in enumerate(down)
    }


def filled_in_png(pictograph: Pictograph, dpi: int = 300) -> set[tuple[int, int]]:
    """Cells whose middle is black."""
    found = set()
    for place, pixels in cells_of_png(pictograph, dpi).items():
        side = round(len(pixels) ** 0.5)
        if pixels[side * (side // 2) + side // 2] == 0:
            found.add(place)
    return found


def circles_of_svg(pictograph: Pictograph) -> dict[tuple[int, int], ElementTree.Element]:
    """(column, row) -> the group that gives the circle its look."""
    drawn = drawing(pictograph)
    places = {10 * drawn.place(i) + 5: i for i in range(max(drawn.columns, drawn.rows))}
    return {
        (places[float(c.get("cx"))], places[float(c.get("cy"))]): group
        for group in ElementTree.fromstring(svg(pictograph)).iter(f"{SVG}g")
        for c in group.iter(f"{SVG}circle")
    }


def filled_in_svg(pictograph: Pictograph) -> set[tuple[int, int]]:
    return {
        place for place, group in circles_of_svg(pictograph).items() if group.get("fill") == "currentColor"
    }


def ink(pixels: bytes) -> float:
    """Share of black in a cell."""
    return pixels.count(0) / len(pixels)


# --- the drawing ----------------------------------------------------------------------------------


@given(pictographs)
def test_as_many_marks_as_the_denominator_and_as_many_filled_as_events(pictograph):
    marks = drawing(pictograph).marks
    assert len({(mark.column, mark.row) for mark in marks}) == len(marks) == pictograph.total
    assert sum(mark.filled for mark in marks) == pictograph.marked


@given(pictographs)
def test_filling_begins_at_the_bottom_left_and_goes_by_row_upwards(pictograph):
    drawn = drawing(pictograph)
    reading = sorted(drawn.marks, key=lambda mark: (-mark.row, mark.column))
    assert drawn.marks == tuple(reading)
    assert drawn.marks[0] == Mark(0, drawn.rows - 1, pictograph.marked > 0)
    filled = [mark.filled for mark in reading]
    assert filled == sorted(filled, reverse=True)  # all filled ones first: none is scattered


def test_a_hundred_marks_are_ten_by_ten_in_fives_and_two_centimetres_wide():
    drawn = drawing(Pictograph(12, 100, ""))
    assert (drawn.columns, drawn.rows) == (10, 10)
    assert drawn.size_mm == pytest.approx((23.1, 23.1))
    assert [drawn.place(i) - i for i in range(10)] == [0] * 5 + [0.5] * 5


@given(hundreds, hundreds)
def test_two_pictures_that_are_compared_have_one_scale(one, other):
    assert drawing(one).size_mm == drawing(other).size_mm
    assert Image.open(io.BytesIO(png(one))).size == Image.open(io.BytesIO(png(other))).size


def test_known_pictures():
    """Written down by hand: 12 of 100 are the lowest row and two of the one above."""
    lowest = {(column, 9) for column in range(10)}
    assert filled_in_png(Pictograph(12, 100, "")) == lowest | {(0, 8), (1, 8)}
    assert filled_in_svg(Pictograph(1, 100, "")) == {(0, 9)}
    assert filled_in_png(Pictograph(0, 100, "")) == filled_in_svg(Pictograph(0, 100, "")) == set()
    assert len(filled_in_png(Pictograph(100, 100, ""))) == 100


# --- both files -----------------------------------------------------------------------------------


@given(pictographs, st.sampled_from([300, 600]))
@at_leisure
def test_png_and_svg_agree_cell_by_cell(pictograph, dpi):
    in_tree = {(mark.column, mark.row) for mark in drawing(pictograph).marks if mark.filled}
    assert filled_in_png(pictograph, dpi) == filled_in_svg(pictograph) == in_tree


@given(pictographs)
@at_leisure
def test_no_mark_is_a_part_mark(pictograph):
    """All filled cells are the same to the pixel, and so are all empty ones."""
    filled, cells = filled_in_png(pictograph), cells_of_png(pictograph, 300)
    kinds = {(place in filled, pixels) for place, pixels in cells.items()}
    assert len(kinds) == (1 if pictograph.marked in (0, pictograph.total) else 2)


@pytest.mark.parametrize("dpi", [150, 300, 600])
def test_filled_and_empty_marks_have_one_outline_and_differ_in_black_and_white(dpi):
    cells = cells_of_png(Pictograph(1, 100, ""), dpi)
    filled, empty = cells[0, 9], cells[1, 9]
    assert set(filled) | set(empty) == {0, 255}  # no grey and no colour
    assert ink(filled) > 2 * ink(empty) > 0.1  # seen on a fax, and the empty ones are seen as well
    side = round(len(filled) ** 0.5)

    def first_black(pixels):
        return [pixels[row * side : (row + 1) * side].find(0) for row in range(side)]

    assert first_black(filled) == first_black(empty)
    edges = (filled[:side], filled[-side:], filled[::side], filled[side - 1 :: side])
    assert all(0 not in edge for edge in edges)  # white between the marks, or they cannot be counted


def test_marks_in_the_svg_have_one_size_and_an_outline():
    root = ElementTree.fromstring(svg(Pictograph(30, 100, "")))
    assert len({circle.get("r") for circle in root.iter(f"{SVG}circle")}) == 1
    looks = {(g.get("fill"), g.get("stroke"), g.get("stroke-width")) for g in root.iter(f"{SVG}g")}
    assert looks == {("currentColor", "currentColor", "1"), ("none", "currentColor", "1")}


def test_the_svg_is_a_picture_whose_title_is_its_words_and_needs_nothing_from_outside():
    words = "12 of 100 marks are filled. A < B & \"C\" 'D'"
    root = ElementTree.fromstring(svg(Pictograph(12, 100, words)))
    assert root.get("role") == "img" and root[0].tag == f"{SVG}title" and root[0].text == words
    assert {each.tag.removeprefix(SVG) for each in root.iter()} == {"svg", "title", "g", "circle"}
    assert not any("href" in key or "url(" in value for each in root.iter() for key, value in each.items())
    assert root.get("width") == root.get("height") == "23.1mm"


@given(pictographs)
@at_leisure
def test_the_png_is_small_black_and_white_and_knows_its_size(pictograph):
    found = Image.open(io.BytesIO(png(pictograph, 600)))
    assert found.mode == "1" and found.info["dpi"] == pytest.approx((600, 600), abs=0.1)
    assert found.width / 600 * 25.4 == pytest.approx(drawing(pictograph).size_mm[0], rel=0.02)
    assert len(png(pictograph, 600)) < 6_000


@given(hundreds)
@at_leisure
def test_the_same_picture_is_the_same_bytes_whatever_its_words(pictograph):
    from consentpack.export import pictograph as module

    first = png(pictograph)
    module._png.cache_clear()
    assert png(Pictograph(pictograph.marked, 100, "other words")) == first
