"""The editor's help with lists, and with what takes more than a sentence to see."""

from __future__ import annotations

import pytest
from test_advice import document, help_with, paragraph, points

from consentpack.tree import Box, Choice, Heading, Paragraph, Run, Source


def found(rule: str, *nodes, heading: str = "About the treatment") -> list[str]:
    return [remark.found for remark in help_with(document(*nodes, heading=heading)) if remark.rule == rule]


# --- two names for one thing -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("Your next visit is free.", "Book an appointment.", "appointment"),
        ("We see you at each session.", "Bring this to your visit.", "session"),
        ("A stitch can itch.", "The sutures come out.", "sutures"),
        ("Ring us if it hurts.", "Or contact us by post.", "contact us"),
        ("Your clinician draws a line.", "The operator then starts.", "operator"),
        ("Use sunscreen.", "Put sun cream on.", "sun cream"),
        ("A bruise can form.", "An ecchymosis fades.", "ecchymosis"),
        ("Gel filler lifts it.", "The dermal filler stays.", "dermal filler"),
        ("Do you take a blood thinner?", "Anticoagulants make you bleed.", "Anticoagulants"),
        ("Hold a cold pack on it.", "Take the ice pack off.", "ice pack"),
        ("A swelling is normal.", "The oedema goes.", "oedema"),
    ],
)
def test_two_names_for_one_thing_are_found(first, second, said):
    assert found("two-names", paragraph(first), paragraph(second)) == [said]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Your next visit is free.", "Visits take an hour."),
        ("Please visit our page.", "Book an appointment."),
        ("You can visit us.", "Each session is short."),
        ("Visit your own doctor.", "Each session is short."),
        ("A stitch can itch.", "Stitches come out."),
        ("Ring us.", "Ring us again."),
        ("Put a dressing on.", "We are allergic to no plaster."),
        ("Your clinician draws a line.", "A nurse helps."),
        ("Use sunscreen.", "Stay out of the sun."),
        ("A bruise can form.", "Bruises fade."),
        ("The scar is sunken.", "The dip may lift."),
        ("Hold a cold pack on it.", "Ice can harm."),
    ],
)
def test_one_name_in_all_its_forms_is_left_alone(first, second):
    assert found("two-names", paragraph(first), paragraph(second)) == []


# --- instructions without a verb ----------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "No exercise for 2 days",
        "Regular ice",
        "Loose clothes only",
        "Plenty of water",
        "No alcohol",
        "Head up on 2 pillows",
        "Sunscreen, factor 50",
        "Warm showers",
        "Gentle massage twice a day",
        "Paracetamol for pain",
        "Light meals and water",
        "Cold packs to the area",
    ],
)
@pytest.mark.parametrize("heading", ["What to do tonight", "Aftercare instructions"])
def test_an_instruction_without_a_verb_is_found(text, heading):
    assert found("no-verb", points(text), heading=heading) == [f"{text}."]


@pytest.mark.parametrize(
    "text",
    [
        "Keep the pad dry",
        "If it bleeds, press on it for 20 minutes",
        "Do not swim until it heals",
        "At night, sleep on 2 pillows",
        "For 2 days put the pad on the leak",
        "Gently clean it",
        "Massage the scar twice a day",
        "You can wash your hair",
        "The scar heals in a week",
        "No answer in 5 minutes?",
        "Please ring us",
        "Then take it off",
        "Your face may swell",
        "Wait 2 to 3 days",
        "Never pick it",
    ],
)
def test_an_instruction_with_a_verb_is_left_alone(text):
    assert found("no-verb", points(text), heading="What to do tonight") == []


@pytest.mark.parametrize(
    ("heading", "lead"),
    [
        ("When to ring us", ""),
        ("What to do: avoid", ""),
        ("What it may feel like", ""),
        ("What to do tonight", "Ring us if you have:"),
        ("What to do tonight", "Do not use:"),
    ],
)
def test_a_list_whose_verb_stands_before_it_needs_none(heading, lead):
    before = [paragraph(lead)] if lead else []
    assert found("no-verb", *before, points("Fever", "Alcohol"), heading=heading) == []


def test_a_lead_that_says_do_this_is_no_verb():
    nodes = (paragraph("Do the following:"), points("No exercise"))
    assert found("no-verb", *nodes, heading="What to do tonight") == ["No exercise."]


@pytest.mark.parametrize(
    "nodes",
    [(Heading((Run("Tonight"),), 3), points("Loose clothes")), (Box("Tonight", (points("Loose clothes"),)),)],
    ids=["heading inside", "box"],
)
def test_the_nearest_heading_counts(nodes):
    assert found("no-verb", *nodes) == ["Loose clothes."]


# --- crowded lists --------------------------------------------------------------------------------

LONG = " ".join(["You may feel a push."] * 7)
FOUR = "Sit down. Drink water. Rest well. Ring us."


@pytest.mark.parametrize("many", range(8, 19))
def test_a_list_of_more_than_seven_points_is_crowded(many):
    said = found("crowded-list", points(*["Keep it dry"] * many))
    assert said == [f"a list of {many} points"]


@pytest.mark.parametrize("few", range(1, 8))
def test_a_list_of_seven_points_or_fewer_is_not(few):
    assert found("crowded-list", points(*["Keep it dry"] * few)) == []


@pytest.mark.parametrize("steps", [8, 9, 10, 12, 15])
def test_numbered_steps_may_be_many(steps):
    assert found("crowded-list", points(*["Wash it"] * steps, numbered=True)) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (FOUR, ["a point of 8 words in 4 sentences"]),
        (" ".join(["word"] * 36), ["a point of 36 words in 1 sentence"]),
        (" ".join(["word"] * 35), []),
        ("Sit down. Drink water. Rest well.", []),
    ],
)
def test_a_point_with_too_much_in_it_is_crowded(text, said):
    assert found("crowded-list", points(text)) == said


def test_a_line_that_is_not_scored_is_no_point():
    contact = Paragraph((Run("020 7946 0123"),), Source("leaflet.md", 9), scored=False)
    listed = points(*["Keep it dry"] * 7)
    assert found("crowded-list", type(listed)((*listed.items, contact))) == []


def test_the_words_beside_a_tick_box_are_not_judged():
    assert help_with(document(Choice((Run("The area is cleaned prior to treatment."),)))) == []


# --- the neighbours --------------------------------------------------------------------------------


def test_a_term_is_explained_by_its_heading_or_a_sentence_beside_it():
    alone = paragraph("A haematoma can hurt.")
    assert found("jargon", alone) == ["haematoma"]
    assert found("jargon", alone, heading="Haematoma (a pocket of blood)") == []
    assert found("jargon", alone, paragraph("It is a pocket of trapped blood.")) == []
    far = (alone, paragraph("It may hurt."), paragraph("This is a pocket of trapped blood."))
    assert found("jargon", *far) == ["haematoma"]


def test_a_term_and_an_abbreviation_are_named_once():
    twice = (paragraph("A haematoma can hurt."), paragraph("You may need an MRI."))
    assert found("jargon", *twice, *twice) == ["haematoma"]
    assert found("abbreviation", *twice, *twice) == ["MRI"]


def test_an_abbreviation_written_out_only_later_is_still_unclear_where_it_first_stands():
    first, between = paragraph("We give LA first."), paragraph("It stings.")
    later = paragraph("Local anaesthetic (LA) makes you numb.")
    assert found("abbreviation", first, between, later) == ["LA"]
    assert found("abbreviation", later, between, first) == []
