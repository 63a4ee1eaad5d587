"""What the form says in few words: nothing in it looks better than what was counted."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from consentpack import pipeline
from consentpack.export.text import export_text

PLANS = ("p-101", "p-102", "p-103", "p-104")
UNLIKE = sorted((Path(__file__).parents[1] / "unlike_plans").glob("*.toml"))
every_plan = pytest.mark.parametrize("plan", PLANS)


def form_of(pack) -> str:
    return export_text(next(each for each in pack.documents if each.kind == "form"))


def share(answer) -> float:
    number = answer.rate or answer.seen
    return number.events / number.n if number else 0


@every_plan
def test_the_first_side_names_the_harms_that_are_seen_most_shares_and_counts_alike(packs, place, plan):
    """A study's one in a hundred stood before eleven of nineteen of our own."""
    pack, library = packs[plan], place.library
    harms = {
        m.id: share(pack.rates[m.id])
        for m in pack.matches.risks
        if not m.only_if_needed
        and library.risks[m.id].group != "serious"
        and m.id not in library.field.may_not_work
    }
    most = sorted((id for id in harms if harms[id]), key=lambda id: -harms[id])[:3]
    line = next(each for each in form_of(pack).splitlines() if each.startswith("- ") and " | - " in each)
    named = re.findall(r"- ([^:/]+): ", line.split(" | ")[1])
    assert named[:3] == [library.risks[id].title for id in most]


@every_plan
def test_every_serious_harm_is_named_on_the_first_side_and_has_a_row(packs, place, plan):
    text, library = form_of(packs[plan]), place.library
    first = text[: text.index("## What will happen")]
    serious = [library.risks[m.id].title for m in packs[plan].matches.risks]
    serious = [
        t
        for t, m in zip(serious, packs[plan].matches.risks, strict=True)
        if library.risks[m.id].group == "serious"
    ]
    assert serious and all(title in first and f"\n{title}" in text for title in serious)


@every_plan
def test_a_star_is_explained_where_there_is_one_and_nowhere_else(packs, plan):
    assert_star_explained(form_of(packs[plan]))


@pytest.mark.parametrize("path", UNLIKE, ids=lambda path: path.stem)
def test_a_star_is_explained_whatever_is_planned(place, path):
    """It was not where a study's figure stood on the first side and its picture had moved to the booklet; and
    it was where a study gave no counts, so that no figure had a star."""
    assert_star_explained(form_of(pipeline.make_pack(place, path)))


def assert_star_explained(text: str) -> None:
    said = "A star (*) marks a figure from a study elsewhere."
    assert (said in text) == ("*" in text.replace(said, ""))


def test_a_harm_of_a_step_that_may_follow_says_so_wherever_it_stands(clinic_copy):
    plan = Path(clinic_copy / "plans/p-101.toml")
    text = re.sub(
        r"may_become_necessary = \[.*?\]",
        'may_become_necessary = ["filler-after-release"]',
        plan.read_text("utf-8"),
    )
    plan.write_text(f'experience = "Invented: 20 times."\n{text}', encoding="utf-8")
    pack = pipeline.make_pack(pipeline.open_workplace(clinic_copy), plan)
    only = [m.id for m in pack.matches.risks if m.only_if_needed]
    assert only
    library = pipeline.open_workplace(clinic_copy).library
    told = [id for id in only if pack.rates[id].rate or pack.rates[id].seen or pack.rates[id].told]
    lines = form_of(pack).splitlines()
    for id in told:
        line = next(
            each
            for each in lines
            if library.risks[id].title in each and each[:1] in "-" + library.risks[id].title[0]
        )
        assert "Only if we need more on the day." in line, line
    assert told


MANY = ("shave-removal", "dermal-graft", "deep-support-filler", "bevelled-blade-needle")
"""Five at once had filled the form beyond its limit."""


@pytest.mark.parametrize("count", [3, 4])
def test_of_many_techniques_the_form_says_what_comes_first_and_what_is_said_strongly(place, tmp_path, count):
    path = tmp_path / "many.toml"
    text = (place.folder / "plans" / "p-101.toml").read_text(encoding="utf-8")
    planned = ", ".join(f'"{each}"' for each in MANY[:count])
    path.write_text(
        re.sub(r"(?m)^planned = .*$", f'planned = [{planned}]\nexperience = "Often."', text), encoding="utf-8"
    )
    said = form_of(pipeline.judge_plan(place, path))
    assert ("cut out the whole spot" in said) == (count == 3)
    told = ("We shave it off", "to a laboratory", "A blocked blood vessel", "This way is newer")
    for words in told:
        assert words in said, words


@pytest.mark.parametrize(
    "planned",
    [
        ["dermabrasion-mechanical", "local-infiltration"],
        ["laser-ablative-fractional", "topical-anaesthetic"],
        ["peel-medium"],
    ],
)
def test_the_row_of_a_hurt_eye_says_what_may_last(place, planned, tmp_path):
    """It said that a scratch can heal in days, and no more: a form has room for the first paragraph alone."""
    plan = next(path for path in UNLIKE if path.stem == "dermabrasion").read_text(encoding="utf-8")
    plan = re.sub(r"(?m)^planned = .*$", f"planned = {json.dumps(planned)}", plan)
    path = tmp_path / "p.toml"
    path.write_text(
        f'experience = "Invented."\n{plan}'.replace('experience = "Dr', '# "Dr'), encoding="utf-8"
    )
    lines = form_of(pipeline.make_pack(place, path)).splitlines()
    (row,) = (line for line in lines if line.startswith("Harm to an eye |"))
    assert row.endswith("for good.")
