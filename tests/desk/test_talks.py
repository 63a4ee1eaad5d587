"""The talk at the desk: questions of the pack itself, marks by the commands' rules, counts without a name."""

from __future__ import annotations

import re
from datetime import date

import pytest
from desk.asking import Asking

from consentpack import pipeline

NAMED = "/patients/HS-P-101/talk"
BY = {"by": "Dr Ruth Ambrose", "day": "2026-11-20"}


@pytest.fixture
def made(audited, desk) -> Asking:
    """A desk whose first plan has a pack. Takes seconds: a whole pack is made."""
    place = pipeline.open_workplace(audited)
    pipeline.build(place, audited / "plans" / "p-101.toml", allow_draft=True)
    return desk


def test_the_questions_are_those_of_the_pack_with_the_place_of_each_answer(made, audited):
    """Takes seconds: a whole pack is made."""
    page = made.get(NAMED).text
    asking = pipeline.asked_about(pipeline.open_workplace(audited), "HS-P-101")
    assert 5 <= len(asking.questions) <= 7
    assert page.count("<fieldset>") == len(asking.questions)
    assert all(each.heading in page for each in asking.questions)
    assert "never an exam" in page


def test_marks_are_entered_counted_and_can_be_taken_back(made, audited):
    """Takes seconds: a whole pack is made."""
    answer = made.post(NAMED, {"mark-what": "said", "mark-harm": "not-yet", "mark-ring": "", **BY})
    assert answer.status_code == 303
    number = re.search(r"entered=(\d+)", answer.location).group(1)
    assert f"as number {number}" in made.get(answer.location).text
    report = made.get("/patients/talks").text
    assert "HS-P-101" not in report and "1 of 1" in report and "0 of 1" in report
    place = pipeline.open_workplace(audited)
    found = pipeline.talk_report(place, date.today())
    assert {each.group[0]: each.said for each in found.groups["question"]} == {"harm": 0, "what": 1}


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (BY, "there is no mark to enter"),
        ({"mark-what": "said", "day": "2026-11-20", "by": " "}, "nobody was named"),
        ({"mark-what": "said", "day": "20.11.", "by": "Dr A"}, "is no day"),
        ({"mark-what": "said", "day": "2999-01-01", "by": "Dr A"}, "still to come"),
        ({"mark-what": "<b>well</b>", **BY}, "&lt;b&gt;well&lt;/b&gt;"),
    ],
)
def test_what_cannot_be_entered_is_said_and_what_was_typed_stays(made, typed, told):
    """Takes seconds: a whole pack is made."""
    answer = made.post(NAMED, typed)
    assert answer.status_code == 409 and told in answer.text
    if typed.get("mark-what") == "said":
        assert re.search(r'name="mark-what" value="said" checked', answer.text)
    assert "No talk has been entered yet" in made.get("/patients/talks").text


def test_a_plan_without_a_pack_says_so(desk):
    answer = desk.get("/patients/HS-P-104/talk")
    assert answer.status_code == 409 and "there is no pack of this plan" in answer.text
