"""Where a place lies on the outline of a body: content says it, and a slip in it is named."""

from __future__ import annotations

import pytest

from consentpack.library.field_table import check_regions
from consentpack.model import Region
from consentpack.pipeline import open_library


@pytest.mark.parametrize("drawn", ["12 13 14", "a b c d", "1 2 3 4 5", "-1 2 3 4"])
def test_a_slip_in_where_a_place_lies_is_named(drawn):
    (found,) = check_regions({"hand": Region("hand", "the hand", drawn=drawn)}, file="regions.toml")
    assert found.where == "regions.toml, [hand]" and drawn in found.what


def test_a_place_that_is_not_drawn_is_none():
    assert check_regions({"back": Region("back", "the back")}, file="regions.toml") == []


def test_every_place_that_is_drawn_lies_on_the_outline():
    drawn = [region for region in open_library(None).regions.values() if region.drawn]
    assert len(drawn) > 20
    for region in drawn:
        x, y, w, h = region.area
        assert w <= x <= 300 - w and h <= y <= 300 - h, region.id
