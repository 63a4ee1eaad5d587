"""A field of medicine written here from nothing, a hand clinic's, gives a whole pack in words of its own.

Everything in it is invented, the figures too; it is evidence of nothing.
"""

from __future__ import annotations

import json
import re
from datetime import date, datetime
from pathlib import Path

import pytest
from theirs import FIELD_WORDS, strange_words, words_of
from tiny_field import AGAIN, CLINIC, PLAN, SMOOTH, SORE, STIFF, TREATMENTS, module, written

from consentpack import pipeline
from consentpack.check.lint import check_library
from consentpack.errors import ClinicError, ContentError, PlanError
from consentpack.export.text import export_text
from consentpack.library.roots import OF_ANY_FIELD

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 9, 0)


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The hand clinic with its sheet imported. Shared: tests that change it write their own."""
    return written(tmp_path_factory.mktemp("hand"))


@pytest.fixture(scope="module")
def pack(clinic: Path) -> pipeline.Pack:
    place = pipeline.open_workplace(clinic)
    pipeline.import_audit(place, clinic / "audit.csv", now=NOW, by="tests")
    return pipeline.make_pack(place, clinic / "plans/bl-1.toml", today=TODAY)


def text_of(pack: pipeline.Pack, kind: str) -> str:
    return export_text(next(each for each in pack.documents if each.kind == kind))


def test_a_pack_of_another_field_has_every_document_and_all_of_them_in_the_reading_target(pack):
    kinds = [document.kind for document in pack.documents]
    assert kinds == ["form", "booklet", "aftercare", "homecare", "diary", "slips", "record", "talk-back"]
    assert {name.split(".")[-1] for name in pack.files} >= {"docx", "html", "json"}
    assert pack.scores and all(score.over == () for score in pack.scores)


@pytest.mark.parametrize(
    "kind", ["form", "booklet", "aftercare", "homecare", "diary", "slips", "record", "talk-back"]
)
def test_no_word_of_our_field_is_in_it(pack, kind):
    text = text_of(pack, kind)
    assert not words_of(text) & FIELD_WORDS
    assert not list(strange_words(text, frozenset()))
    modules = [m for folder, m in pipeline.open_library(None).modules() if folder != "documents"]
    ours = {m.title for m in modules} | {m.id for m in modules}
    ours.discard("No treatment")  # what every field calls doing nothing
    assert [each for each in ours if re.search(rf"\b{re.escape(each)}\b", text, re.IGNORECASE)] == []


def test_its_own_words_stand_in_the_form_and_in_what_goes_with_it(pack):
    form, booklet, home = (text_of(pack, kind) for kind in ("form", "booklet", "homecare"))
    assert "I know that no one can promise how well my finger will move." in form
    assert "It sticks again" in form
    assert "We plan to use a small cut to open the tight band." in booklet
    assert "leaving it as it is; a splint at night" in form
    assert "Leaving it as it is" in booklet and "A splint at night" in booklet
    assert "Rest your hand for 3 days." in booklet
    assert "Keep your hand up on a pillow" in home


def test_its_figures_come_from_its_own_sheet_by_its_own_stratum(pack):
    consent = text_of(pack, "booklet")
    for title, seen in (("A sore palm", SORE), ("A stiff finger", STIFF), ("It sticks again", AGAIN)):
        said = (
            f"{title}: about {round(100 * seen / TREATMENTS)} in every 100 treatments, watched for at least "
            "30 days."
        )
        assert said in consent
    assert f"about {round(100 * SMOOTH / TREATMENTS)} in every 100 treatments" in consent
    assert f"From {TREATMENTS} treatments here to hands like yours" in consent
    assert "hand dominance" in text_of(pack, "record").lower()


def test_every_sign_of_the_four_tiers_is_told_on_the_sheet(pack):
    sheet_of_signs, in_full = text_of(pack, "aftercare").lower(), text_of(pack, "homecare")
    for sign in ("No blood in your finger", "A hot hand", "A numb tip", "A finger slow to bend"):
        assert sign in in_full and sign.lower() in sheet_of_signs


def test_a_card_to_look_by_is_made_where_a_topic_says_when_to_look_and_nowhere_else(tmp_path, pack):
    """What is asked is content of a field; our own trait for it would have kept other fields without."""
    assert "check-card" not in {document.kind for document in pack.documents}
    folder = written(tmp_path)
    topic = folder / "content/aftercare/hand-rest.md"
    text = topic.read_text(encoding="utf-8").replace("order = 10", "order = 10\ncheck_hours = [1, 24]")
    settings = folder / "clinic.toml"
    settings.write_text(CLINIC.replace("[audit]", '[audit]\nregister = "none"'), encoding="utf-8")
    topic.write_text(f"{text}\n## On the card\n\n- Is your palm warm?\n", encoding="utf-8")
    made = pipeline.make_pack(pipeline.open_workplace(folder), folder / "plans/bl-1.toml", today=TODAY)
    assert "Is your palm warm?" in text_of(made, "check-card")


def test_what_went_in_are_the_clinics_files_and_of_ours_only_what_belongs_to_no_field(pack):
    inputs = json.loads(pack.files["manifest.json"])["inputs"]
    ours = {name.split("/")[1] for name in inputs if name.startswith("content/")}
    assert ours and ours <= {*OF_ANY_FIELD}


def test_a_library_check_finds_nothing_wrong_with_such_a_field(clinic):
    place = pipeline.open_workplace(clinic)
    assert check_library(place.library, place.scorer, today=TODAY) == []


def test_a_plan_must_say_what_the_field_asks_for_and_nothing_of_ours(clinic):
    place = pipeline.open_workplace(clinic)
    lacking = clinic / "plans" / "lacking.toml"
    lacking.write_text(PLAN.replace('dominance = "writing"\n', 'skin_type = "III"\n'), encoding="utf-8")
    with pytest.raises(PlanError) as caught:
        pipeline.make_pack(place, lacking, today=TODAY)
    lacking.unlink()
    assert "there is no key 'skin_type'" in str(caught.value)
    assert "the key 'dominance' is missing" in str(caught.value)


# --- what is wrong with a field of one's own ------------------------------------------------------


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        (
            "field.toml",
            '["hand-rest"]',
            '["hand-rset"]',
            "'topics' names 'hand-rset', which is not in aftercare.",
        ),
        (
            "field.toml",
            '"dominance"]',
            '"dominence"]',
            "'dominence' is no key of plans that a field may ask for.",
        ),
        (
            "field.toml",
            'plan_keys = ["region", "dominance"]',
            "",
            "the key 'plan_keys' is missing in [field]",
        ),
        ("field.toml", '["sticks-again"]', '["stick-again"]', "'may_not_work' names 'stick-again'"),
        ("techniques/band-opening.md", '"hand-rest"', '"hand-up"', "its aftercare lacks 'hand-rest'"),
    ],
)
def test_what_the_field_asks_for_is_checked(tmp_path, file, old, new, said):
    folder = written(tmp_path)
    if new == '"hand-up"':
        (folder / "content/aftercare/hand-up.md").write_text(
            module("aftercare", "hand-rest").replace('id = "hand-rest"', 'id = "hand-up"'), encoding="utf-8"
        )
    text = (folder / "content" / file).read_text(encoding="utf-8")
    assert old in text
    (folder / "content" / file).write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(ContentError, match=re.escape(said)):
        pipeline.open_workplace(folder)


def test_an_own_field_without_field_toml_is_refused(tmp_path):
    folder = written(tmp_path)
    (folder / "content/field.toml").unlink()
    with pytest.raises(ContentError, match="field of its own"):
        pipeline.open_workplace(folder)


def test_a_misspelt_choice_of_field_is_refused_before_another_field_is_read(tmp_path):
    folder = written(tmp_path)
    (folder / "clinic.toml").write_text(CLINIC.replace('"own"', '"owm"'), encoding="utf-8")
    with pytest.raises(ClinicError, match=r"clinic.toml, line 10: 'field'"):
        pipeline.open_workplace(folder)
