"""What the texts of surface work, surgery and numbing must say, and must leave to others.

The points are those of a clinical review of the texts; where a fact has a source it stands in the
`evidence` of the module.
"""

from __future__ import annotations

import re

import pytest

from consentpack import shipped
from consentpack.library.modules import blocks_of
from consentpack.markdown import parse
from consentpack.pipeline import open_workplace

LIBRARY = open_workplace(shipped.demo_clinic()).library
KINDS = ("surface", "surgery", "anaesthetic")
MINE = sorted(id for id, technique in LIBRARY.techniques.items() if technique.kind in KINDS)
NUMBING = sorted(id for id, technique in LIBRARY.techniques.items() if technique.kind == "anaesthetic")


def said(id: str, section: str = "") -> str:
    technique = LIBRARY.techniques[id]
    blocks = technique.sections[section] if section else blocks_of(technique)
    return " ".join(item.text for block in blocks for item in block.items)


def test_a_paragraph_may_carry_a_mark_of_when_it_belongs():
    blocks, problems = parse("[only region:face] Your lip may feel thick.", file="x.md")
    assert not problems
    assert blocks[0].items[0].text == "Your lip may feel thick."
    assert blocks[0].items[0].only == "region:face"


def test_a_mark_in_the_middle_of_a_paragraph_is_still_found():
    _, problems = parse("Your lip [only region:face] may feel thick.", file="x.md")
    assert len(problems) == 1


@pytest.mark.parametrize("id", MINE)
def test_no_urgency_is_told_beside_the_signs(id):
    found = re.findall(r"emergency_number|clinic\.phone|same day|\b[Rr]ing (us|that)\b", said(id))
    assert not found


@pytest.mark.parametrize("id", NUMBING)
@pytest.mark.parametrize("caution", ["G6PD", "reacted badly", "liver", "breastfeed", "adds up"])
def test_an_anaesthetics_cautions_stand_where_the_form_prints_them(id, caution):
    assert caution in said(id, "Before you come")


@pytest.mark.parametrize("id", ["local-infiltration", "nerve-block-face", "tumescent-dilute"])
def test_adrenaline_cautions_are_told(id):
    for word in ("beta-blocker", "tricyclic", "thyroid"):
        assert word in said(id, "Before you come")


def test_the_late_signs_belong_to_tumescent_fluid_alone():
    late = {id for id in NUMBING if "24 hours later" in said(id)}
    assert late == {"tumescent-dilute"}


def test_a_block_tells_how_long_it_lasts_the_lid_and_the_deep_bleed_before_the_visit():
    text = said("nerve-block-face", "Before you come")
    assert "8 hours or more" in text and "may droop" in text and "hard to press on" in text


@pytest.mark.parametrize("id", ["scar-excision", "punch-excision", "shave-removal"])
def test_what_is_taken_off_is_sent_unless_refused_in_writing(id):
    """NICE guidance of 2006, seen through a summary: every excised skin specimen goes to pathology."""
    assert "to a laboratory, unless you say no in writing" in said(id)
    assert "result-not-heard" in LIBRARY.techniques[id].warnings


@pytest.mark.parametrize("id", ["laser-ablative-fractional", "dermabrasion-mechanical", "peel-medium"])
def test_cold_sore_cover_is_asked_of_every_face(id):
    """94 of 121 infections had no history (Alster 1999)."""
    assert "even if you never had one" in said(id, "Before you come")


@pytest.mark.parametrize("id", ["acid-focal", "peel-medium"])
def test_the_white_of_an_acid_is_expected(id):
    assert "The white colour is the acid at work" in said(id, "Recovery")
