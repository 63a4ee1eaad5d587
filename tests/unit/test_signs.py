"""One sign, one urgency: no text outside the warning signs tells how fast to get help."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from consentpack import shipped
from consentpack.check.signs import TOLD_HERE, check_signs, urgent
from consentpack.library import Library, load_library
from consentpack.library.schema import TIERS
from consentpack.library.texts import patient_texts

PLANTED = (
    "If it bleeds, ring {{ clinic.emergency_number }}.",
    "Ring us at once if it gets worse.",
    "Ring {{ clinic.phone }} the same day if the hole leaks pus.",
    "If the skin turns cold, ring us straight away.",
    "Call the clinic immediately when you see a blister.",
    "**Ring us at once**, day or night.",
    "Phone us by day or night, as we want to know.",
    "Go to a hospital emergency department if nobody answers.",
    "Go to A&E with it.",
    "A lump that grows fast and feels tight is an emergency.",
    "Somebody should get an ambulance.",
    "Ring {{ clinic.phone }}, or {{ clinic.phone_out_of_hours }} when we are closed.",
    "Ring us now about any pus.",
    "Ring us today if it is hot.",
    "Contact a doctor without delay.",
    "If your sight changes, go to hospital.",
    "Dial 999.",
    "If it hurts, at once ring the clinic.",
)

FREE = (
    "If you have a sore or a tingle now, ring us before you come.",
    "Ring us before you come if you have a cold. We may wait.",
    "We may add the gel the same day or at a later visit.",
    "Colour can change straight away or hours later.",
    "If acid gets in, rinse the eye straight away.",
    "Go to a dentist that day if you have bad toothache.",
    "Ask us about any stitch you still see.",
    "The ring round the pit is raised at once.",
)

OLD = {
    "swelling": (
        "The treated skin puffs up and feels tight.",
        "Never cool skin that has turned white, grey, blotchy or cold: ring us straight away. If the "
        "swelling grows fast, gets tight or hurts a lot, ring {{ clinic.emergency_number }} straight away.",
    ),
    "bruising": (
        "You may see a blue or purple patch.",
        "If it swells fast, feels tight or hurts a lot, ring {{ clinic.emergency_number }} straight away.",
    ),
    "soreness": (
        "The skin feels sore, bruised or tender to touch.",
        "Ring us the same day on {{ clinic.phone }} if pain gets worse after the first 2 days, or "
        "straight away if it is very strong.",
    ),
    "bleeding": (
        "Blood oozes or drips from the skin where we worked.",
        "If it still bleeds, keep pressing and ring {{ clinic.emergency_number }}.",
    ),
}
"""What the shipped texts said when one sign stood with two urgencies: what is expected, and the rush."""


@pytest.mark.parametrize("sentence", PLANTED)
def test_a_sentence_that_tells_an_urgency_is_found(sentence):
    assert urgent(sentence)


@pytest.mark.parametrize("sentence", FREE)
def test_ringing_without_a_hurry_and_a_hurry_without_ringing_are_free(sentence):
    assert not urgent(sentence)


@pytest.mark.parametrize("risk", sorted(OLD))
def test_what_once_contradicted_itself_is_found(risk):
    expected, rush = OLD[risk]
    assert not urgent(expected) and urgent(rush)


def test_each_sentence_of_a_text_is_judged_by_itself():
    text = "Rest. Ring us at once if it grows. Come when we asked you to."
    assert urgent(text) == ["Ring us at once if it grows."]


def _planted(content: Path) -> Path:
    file = content / "aftercare" / "alcohol.md"
    file.write_text(file.read_text() + "\n- Ring us at once\n  if you fall.\n", encoding="utf-8")
    return file


def test_a_planted_sentence_is_named_with_file_and_line(tmp_path):
    content = tmp_path / "content"
    shutil.copytree(shipped.content(), content)
    file = _planted(content)
    line = 1 + file.read_text().split("\n").index("- Ring us at once")
    found = [p for p in check_signs(load_library(content)) if "alcohol" in p.where]
    (problem,) = found
    assert problem.where.endswith(f"alcohol.md, line {line}")
    assert "second telling of a sign" in problem.what and "signs = […]" in problem.fix


@pytest.fixture(scope="module")
def library() -> Library:
    return load_library(shipped.content())


def test_aftercare_topics_name_no_urgency(library):
    for topic in library.aftercare.values():
        for piece in patient_texts(topic):
            assert not urgent(piece.text), (topic.file, piece.line)


def test_every_tier_has_signs_and_each_sign_names_itself_in_a_few_words(library):
    assert {warning.tier for warning in library.warnings.values()} == set(TIERS)
    for warning in library.warnings.values():
        assert 2 <= len(warning.short.split()) <= 12 and not warning.short.endswith(".")
    assert TOLD_HERE == ("warnings", "documents")
