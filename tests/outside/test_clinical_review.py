"""Points a careful reviewer of the library made, each as a rule that its texts and data must keep.

The reviewer read abstracts and public pages; where a point rests on common practice alone it says so.
Points about figures are in tests of the published figures, those about one sign with two urgencies in
tests/unit/test_signs.py.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from consentpack import shipped
from consentpack.assemble import Context, Inputs, make_context
from consentpack.assemble.signing import apart
from consentpack.catalogues import load
from consentpack.check.signs import check_signs
from consentpack.library import load_library
from consentpack.library.labels import CARD
from consentpack.library.modules import blocks_of
from consentpack.match import match
from consentpack.model import Module, Plan
from consentpack.pipeline import open_workplace
from consentpack.relevance import facts_of, narrow
from consentpack.suitability import findings, with_implied
from consentpack.tree import Choice, Table, text_of

LIBRARY = load_library(shipped.content())
CLINIC = open_workplace(shipped.demo_clinic()).clinic


def plan(*planned: str, region: str = "cheek", indication: str = "rolling", skin="III", **more) -> Plan:
    return with_implied(
        Plan(
            "R-1", date(2026, 11, 25), "en-GB", planned, "here", {"skin_type": skin}, 1, "a scar", "…",
            "Dr Invented", "skin doctor", region=region, indication=indication, **more,
        ),
        LIBRARY,
    )  # fmt: skip


def seen(made: Plan, *, done: bool = False):
    return narrow(LIBRARY, facts_of(made, LIBRARY, done=done)).library


def words(module: Module) -> str:
    return " ".join(item.text for block in blocks_of(module) for item in block.items).lower()


def risks(made: Plan) -> set[str]:
    return {m.id for m in match(made, seen(made)).risks}


def longest(made: Plan, setting: str) -> str:
    found = match(made, seen(made), afterwards=seen(made, done=True)).waits
    return next((wait.longest for wait in found if wait.setting == setting), setting)


# --- 1. What was wrong ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("id", "said"),
    [
        ("tumescent-dilute", "bring an adult"),
        ("tumescent-dilute", "other numbing medicine"),
        ("tumescent-dilute", "breastfeed"),
        ("tumescent-dilute", "liver"),
        ("tumescent-dilute", "g6pd"),
        ("tumescent-dilute", "reacted badly"),
        ("nerve-block-face", "droop"),
        ("nerve-block-face", "blood thinner"),
        ("local-infiltration", "propranolol"),
    ],
)
def test_1_cautions_of_an_anaesthetic_reach_the_form(id, said):
    section = LIBRARY.techniques[id].sections["Before you come"]
    assert said in " ".join(i.text for block in section for i in block.items).lower()
    directives = [b.items[0].text for b in blocks_of(LIBRARY.documents["booklet"]) if b.kind == "directive"]
    assert "before-you-come" in directives


def context_of(id: str) -> Context:
    """What the form of one technique is made from; nothing of it is counted."""
    made = plan(id)
    library = seen(made)
    catalogue = load("en-GB", (), where="test")
    return make_context(Inputs(made, library, CLINIC, match(made, library), {}, catalogue))


def marks_of(nodes) -> list[tuple[str, str]]:
    """Each place to tick, with its words."""
    rows = [row for node in nodes if isinstance(node, Table) for row in node.rows]
    found = [each for row in rows for cell in row for each in cell.content]
    return [(each.tag, text_of(each.runs)) for each in found if isinstance(each, Choice)]


@pytest.mark.parametrize("id", ["scar-excision", "shave-removal", "punch-excision", "skin-biopsy"])
def test_2_what_is_taken_off_is_tested_unless_refused(id):
    text = words(LIBRARY.techniques[id])
    assert "test" in text and not re.search(r"\bmay (send it|be sent to be tested)\b", text)
    marks = dict(marks_of(apart(context_of(id))))
    assert marks["tissue-refused"].startswith("a test of what you take off") and "tissue-kept" in marks
    assert "tissue-refused" not in dict(marks_of(apart(context_of("blunt-cannula"))))


def test_4_no_text_tells_a_sign_a_second_time():
    assert list(check_signs(LIBRARY)) == []


def test_5_a_slow_ooze_is_no_ambulance_and_pouring_blood_is():
    assert LIBRARY.warnings["slow-bleed"].tier == "same-day"
    assert LIBRARY.warnings["fast-swelling"].tier == "ambulance"
    assert "pours or spurts" in words(LIBRARY.warnings["fast-swelling"])


def test_6_one_line_tells_one_time():
    for topic in LIBRARY.aftercare.values():
        for block in topic.sections.get("When you can", ()):
            for item in block.items:
                assert len(set(re.findall(r"care\.(\w+)", item.text))) <= 1, (topic.id, item.text)


def test_7_stitches_stay_longer_and_lifting_waits_longer_off_the_face():
    face, back = (plan("scar-excision", "local-infiltration", region=r) for r in ("cheek", "back"))
    for setting in ("stitches_out", "exercise_rest"):
        times = [LIBRARY.settings[longest(made, setting)] for made in (face, back)]
        days = [time.value * (7 if time.unit == "weeks" else 1) for time in times]
        assert days[0] < days[1], setting


@pytest.mark.parametrize("id", ["laser-ablative-fractional", "dermabrasion-mechanical", "peel-medium"])
def test_8_every_face_that_is_resurfaced_is_asked_about_cold_sores(id):
    """Alster 1999: 94 of 121 infections without history, through the module's own evidence."""
    said = {f.rule.id: f.rule.strength for f in findings(plan(id), LIBRARY)}
    assert said["cold-sore-open"] == "talk-first"
    assert "cold-sore-open" not in {f.rule.id for f in findings(plan(id, region="back"), LIBRARY)}


def test_9_an_eye_that_does_not_close_gets_no_pad():
    text = words(LIBRARY.warnings["eye-not-closing"])
    assert "lubricant" in text and "tape it shut" in text and "do not put a pad" in text


def test_10_late_signs_of_numbing_medicine_belong_to_tumescent_fluid():
    plain, fluid = (
        plan("needle-fan-one-entry", "local-infiltration"),
        plan("scar-excision", "tumescent-dilute"),
    )
    for made, there in ((plain, False), (fluid, True)):
        signs = words(seen(made, done=True).warnings["anaesthetic-signs"])
        assert ("24 hours" in signs) is there
        assert ("24 hours" in words(seen(made).risks["anaesthetic-toxicity"])) is there


def test_11_a_faint_at_home_is_no_ambulance_by_itself():
    text = words(LIBRARY.warnings["faint-at-home"])
    assert "not awake in 1 minute" in text and "chest pain" in text and "enough for any other faint" in text


def test_12_cautions_of_adrenaline_are_asked_about():
    """Common practice, no source."""
    made = plan("blunt-cannula", "local-infiltration", factors=("adrenaline-caution",))
    assert "adrenaline-medicines" in {f.rule.id for f in findings(made, LIBRARY)}


def test_13_nothing_is_claimed_about_warmth_after_gel():
    topic = LIBRARY.aftercare["filler-check"]
    text = words(replace(topic, sections={k: v for k, v in topic.sections.items() if k != CARD}))
    # on the card one feels whether a side is colder: that claims nothing of what warmth does
    assert "warm" not in text and "do not rub" in text.replace("and do not rub", "do not rub")


def test_14_gel_asks_about_sight_in_one_eye_and_breastfeeding_and_a_burn_is_cooled():
    for id in ("filler-after-release", "deep-support-filler"):
        text = words(LIBRARY.techniques[id])
        assert "breastfeed" in text and "one eye" in text
    assert "20 minutes" in words(LIBRARY.risks["bite-or-burn"])


def test_15_acid_that_whitens_skin_is_no_burn_and_pressing_never_means_the_eyeball():
    assert "white and numb" not in words(LIBRARY.warnings["burn-signs"])
    for warning in LIBRARY.warnings.values():
        for block in blocks_of(warning):
            for item in block.items:
                if (
                    re.search(r"\bpress(ing)?\b", item.text)
                    and "region:trunk or region:limb" not in item.only
                ):
                    near_eye = "eye" in item.text.lower()
                    assert not near_eye or "never on your eyeball" in item.text, (warning.id, item.text)


# --- 3. What does not concern who reads it ---------------------------------------------------------


def test_a_plan_says_kind_and_place():
    from consentpack.plans import keys_of

    needed = {name for name, key in keys_of(LIBRARY).items() if key.required}
    assert {"indication", "region", "skin_type"} <= needed


def test_a_keloid_on_the_shoulder_is_told_nothing_of_sight_or_cold_sores():
    made = plan("steroid-injection", region="shoulder", indication="keloid")
    assert not {"sight-loss", "cold-sore-flare"} & risks(made)
    assert {"sight-loss"} <= risks(plan("filler-after-release", "local-infiltration", region="near-eye"))


def test_a_scar_on_the_back_is_told_nothing_of_lips_or_smiles():
    made = plan("scar-excision", "local-infiltration", region="back", indication="stretched")
    text = words(seen(made).risks["nerve-injury"])
    assert not re.search(r"\b(lip|cheek|smile|brow)\b", text)


def test_one_visit_is_not_told_to_stop_after_any_of_them():
    text = words(seen(plan("needle-fan-one-entry")).techniques["needle-fan-one-entry"])
    assert "number of visits" not in text
    several = plan("needle-fan-one-entry").__class__(**{**vars(plan("needle-fan-one-entry")), "sessions": 3})
    assert "number of visits" in words(seen(several).techniques["needle-fan-one-entry"])


def test_the_same_release_without_the_gel_is_among_the_choices():
    made = plan("blunt-cannula", "filler-after-release", "local-infiltration")
    assert "without-gel" in {m.id for m in match(made, seen(made)).options}


def test_doing_nothing_speaks_of_moles_and_keloids_only_to_those_who_have_one():
    text = words(seen(plan("needle-fan-one-entry")).options["no-treatment"])
    assert "mole" not in text and "keloid" not in text and "grow" not in text.replace("grown", "")


def test_a_history_of_keloid_raises_its_flag():
    made = plan("needle-fan-one-entry", factors=("keloid-tendency",))
    assert "keloid-release" in {f.rule.id for f in findings(made, LIBRARY) if f.stops}
