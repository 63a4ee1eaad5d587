"""What may become necessary: its part of the form stays readable however many risks it would add."""

from __future__ import annotations

from itertools import permutations

import pytest
from test_any_plan import LIBRARY, assert_sound, made, plan_of

from consentpack.readability import scored_text, split
from consentpack.tree import Document, Items, Section, text_of

ID = "if-we-need-to-do-more-on-the-day"
OVER_ONCE = ("filler-after-release", "scar-excision")
"""Planned, and what may become necessary. Nineteen added risks stood in one sentence of 82 words, which
took the part over a target of grade 6. A random plan found it."""
LONGEST = 30
"""Words in a sentence of this part; the longest that a module has is well below."""
PAIRS = list(permutations(sorted(LIBRARY.treating), 2))
PARTS = 12


def part_of(lead: str, maybe: str) -> Section:
    *_, documents = made(plan_of((lead,), may_become_necessary=(maybe,)))
    consent: Document = documents["booklet"]
    (section,) = [each for each in consent.sections if each.id == ID]
    return section


def test_the_plan_that_was_over_its_target_once_is_sound():
    """Takes seconds where it is the first to load the dictionary."""
    lead, maybe = OVER_ONCE
    assert_sound(plan_of((lead,), may_become_necessary=(maybe,)))


def test_each_risk_that_it_would_add_is_a_point_of_a_list():
    """Their titles hold commas (“a thick, raised scar”): in one sentence nobody sees where one ends."""
    lead, maybe = (LIBRARY.techniques[id] for id in OVER_ONCE)
    (points,) = [node for node in part_of(*OVER_ONCE).nodes if isinstance(node, Items)]
    titles = [LIBRARY.risks[id].title for id in maybe.risks if id not in lead.risks]
    assert sorted(text_of(item.runs) for item in points.items) == sorted(titles) and len(titles) > 15


def test_no_sentence_of_it_grows_with_the_number_of_risks():
    sentences = split(scored_text(part_of(*OVER_ONCE).nodes))
    assert len(sentences) > 20
    assert max(len(sentence.split()) for sentence in sentences) <= LONGEST


def test_all_pairs_are_there():
    count = len(LIBRARY.treating)
    assert len(PAIRS) == count * (count - 1) > 500 and OVER_ONCE in PAIRS


@pytest.mark.slow("a whole form and sheet for each of 600 pairs")
@pytest.mark.parametrize("number", range(PARTS))
def test_every_technique_with_every_other_that_may_become_necessary_gives_a_sound_pack(number):
    for lead, maybe in PAIRS[number::PARTS]:
        assert_sound(plan_of((lead,), may_become_necessary=(maybe,)))
