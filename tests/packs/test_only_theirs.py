"""No paper speaks to a patient of what is not theirs: technique, place, device, closure or medicine."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from test_any_plan import LIBRARY, PAIRS, leading_first, made, plan_of, plans
from theirs import VOCABULARY, strange_in, strange_words

from consentpack.model import Plan
from consentpack.relevance import facts_of
from consentpack.suitability import would_matter


def assert_only_theirs(plan: Plan) -> None:
    plan, _, matches, documents = made(plan)
    beside = tuple(m.id for m in matches.established)
    facts = facts_of(replace(plan, may_become_necessary=(*plan.may_become_necessary, *beside)), LIBRARY)
    named = [LIBRARY.options[m.id].title for m in matches.options]
    named += [LIBRARY.factors[m.id].title for m in matches.factors]
    # what every reader is asked about themselves: a rule would speak if it were true of them
    named += [factor.title for factor in would_matter(LIBRARY.factors.values(), plan, LIBRARY)]
    own = (plan.condition, plan.reason, plan.site, plan.experience, *named)
    for document in documents.values():
        found = list(strange_in(document, facts, own))
        assert not found, (plan.planned, plan.region, plan.indication, found[:3])


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(plans())
def test_a_paper_says_only_what_concerns_its_reader(plan):
    assert_only_theirs(plan)


@pytest.mark.slow("500 plans, each with its papers made and read word by word")
@settings(max_examples=500, deadline=None, suppress_health_check=list(HealthCheck))
@given(plans())
def test_500_plans_say_only_what_concerns_their_reader(plan):
    assert_only_theirs(plan)


@pytest.mark.slow("every pair that may be planned")
@pytest.mark.parametrize("number", range(4))
def test_every_pair_says_only_what_concerns_its_reader(number):
    for pair in PAIRS[number::4]:
        assert_only_theirs(plan_of(leading_first(pair)))


NEEDLE_ON_THE_CHEEK = frozenset(
    {
        "kind:release", "technique:needle-fan-one-entry", "region:cheek", "region:face", "region:head",
        "trait:under-skin", "indication:rolling",
    }
)  # fmt: skip
LASER_ON_THE_BACK = frozenset(
    {
        "kind:surface", "trait:laser", "technique:laser-ablative-fractional", "region:back", "region:trunk",
        "indication:colour", "technique:topical-anaesthetic",
    }
)  # fmt: skip
PLANTED = (
    ("Do not press the gel.", NEEDLE_ON_THE_CHEEK, "gel"),
    ("Filler can move.", NEEDLE_ON_THE_CHEEK, "Filler"),
    ("Wait 2 weeks after laser.", NEEDLE_ON_THE_CHEEK, "laser"),
    ("The graft may fail.", NEEDLE_ON_THE_CHEEK, "graft"),
    ("A plug may stand up.", NEEDLE_ON_THE_CHEEK, "plug"),
    ("Leave the paper strips on.", NEEDLE_ON_THE_CHEEK, "paper strips"),
    ("After a peel the skin flakes.", NEEDLE_ON_THE_CHEEK, "a peel"),
    ("The acid can splash.", NEEDLE_ON_THE_CHEEK, "acid"),
    ("Steroid can thin the skin.", NEEDLE_ON_THE_CHEEK, "Steroid"),
    ("A thread may snap.", NEEDLE_ON_THE_CHEEK, "thread"),
    ("A wire cuts the band.", NEEDLE_ON_THE_CHEEK, "wire"),
    ("The cannula is blunt.", NEEDLE_ON_THE_CHEEK, "cannula"),
    ("We punch out the scar.", NEEDLE_ON_THE_CHEEK, "punch"),
    ("The biopsy may be unclear.", NEEDLE_ON_THE_CHEEK, "biopsy"),
    ("Your mole may come back.", NEEDLE_ON_THE_CHEEK, "mole"),
    ("The growth is sent away.", NEEDLE_ON_THE_CHEEK, "growth"),
    ("A keloid can grow back.", NEEDLE_ON_THE_CHEEK, "keloid"),
    ("Dermabrasion leaves raw skin.", NEEDLE_ON_THE_CHEEK, "Dermabrasion"),
    ("After microneedling skin is red.", NEEDLE_ON_THE_CHEEK, "microneedling"),
    ("The nerve block lasts hours.", NEEDLE_ON_THE_CHEEK, "nerve block"),
    ("Numbing fluid may leak out.", NEEDLE_ON_THE_CHEEK, "Numbing fluid"),
    ("Wipe off the numbing cream.", NEEDLE_ON_THE_CHEEK, "numbing cream"),
    ("Lift nothing with that shoulder.", NEEDLE_ON_THE_CHEEK, "shoulder"),
    ("Wear a loose bra.", NEEDLE_ON_THE_CHEEK, "bra"),
    ("Wear soft shoes.", NEEDLE_ON_THE_CHEEK, "shoes"),
    ("You may get a cold sore.", LASER_ON_THE_BACK, "cold sore"),
    ("Your lip may feel numb.", LASER_ON_THE_BACK, "lip"),
    ("Do not smile widely.", LASER_ON_THE_BACK, "smile"),
    ("Chew on the other side.", LASER_ON_THE_BACK, "Chew"),
    ("A numb cheek can last.", LASER_ON_THE_BACK, "cheek"),
    ("Your forehead may droop.", LASER_ON_THE_BACK, "forehead"),
    ("An eyelid may droop.", LASER_ON_THE_BACK, "eyelid"),
    ("Put on make-up after 2 days.", LASER_ON_THE_BACK, "make-up"),
    ("Your face may swell.", LASER_ON_THE_BACK, "Your face"),
    ("The needle tip may break.", LASER_ON_THE_BACK, "needle"),
    ("Stitches come out on day 7.", LASER_ON_THE_BACK, "Stitches"),
    ("The gel may form lumps.", LASER_ON_THE_BACK, "gel"),
    ("The graft turns black.", LASER_ON_THE_BACK, "graft"),
    ("The jaw may ache.", LASER_ON_THE_BACK, "jaw"),
    ("A steroid can lighten skin.", LASER_ON_THE_BACK, "steroid"),
    ("Your nose may swell.", LASER_ON_THE_BACK, "nose"),
    ("The acid stings.", LASER_ON_THE_BACK, "acid"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "facts", "word"), PLANTED)
def test_a_planted_sentence_is_found(text, facts, word):
    assert word in list(strange_words(text, facts))


def test_at_least_forty_sentences_are_planted_and_every_word_of_the_vocabulary_is_known_to_the_trade():
    assert len(PLANTED) >= 40 and len({p for p, _ in VOCABULARY}) == len(VOCABULARY)


@pytest.mark.parametrize(
    ("text", "facts"),
    [
        ("We put the needle in through one small hole.", NEEDLE_ON_THE_CHEEK),
        ("Your cheek may swell.", NEEDLE_ON_THE_CHEEK),
        ("The laser makes tiny holes.", LASER_ON_THE_BACK),
        ("Wipe off the numbing cream.", LASER_ON_THE_BACK),
        ("Your shoulder strap may rub.", LASER_ON_THE_BACK),
        ("Peeling is normal. The surface heals.", LASER_ON_THE_BACK),
    ],
)
def test_a_sentence_that_concerns_its_reader_is_left_alone(text, facts):
    assert not list(strange_words(text, facts))
