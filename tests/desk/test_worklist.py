"""What needs somebody, in order and within what somebody reads; the command says what the page says."""

from __future__ import annotations

import json
from datetime import date

from lxml import html

from consentpack import pipeline
from consentpack.pipeline.needs import MOST_SHOWN, NOW, ORDER, SOON, Need, grouped


def needs(urgency: int, number: int, about: str = "language") -> list[Need]:
    return [Need(urgency, about, f"{n:02}", f"{about} {n}.") for n in range(number)]


def test_a_long_group_is_folded_and_nothing_is_lost():
    (soon, order) = grouped([*needs(ORDER, MOST_SHOWN), *needs(SOON, MOST_SHOWN + 5)])
    assert (len(soon.shown), len(soon.folded)) == (MOST_SHOWN, 5)
    assert [need.id for need in (*soon.shown, *soon.folded)] == [f"{n:02}" for n in range(MOST_SHOWN + 5)]
    assert (len(order.shown), order.folded) == (MOST_SHOWN, ())


def test_what_is_urgent_is_never_folded():
    (now,) = grouped(needs(NOW, 40))
    assert (now.heading, len(now.shown), now.folded) == ("Now", 40, ())


def test_what_matters_most_stands_first_and_is_not_folded():
    """By the alphabet alone, forty approvals would come before the pack that has to be told again."""
    (soon,) = grouped([*needs(SOON, 40, "approvals"), *needs(SOON, 2, "plan"), *needs(SOON, 1, "text")])
    assert [need.about for need in soon.shown][:4] == ["text", "plan", "plan", "approvals"]


def test_groups_with_nothing_in_them_are_left_out():
    assert grouped([]) == ()


def test_the_page_folds_what_the_function_folds(desk, clinic, monkeypatch):
    """About a second: the demo's clinic is opened."""
    monkeypatch.setattr(
        pipeline, "counted_needs", lambda *_: (*needs(SOON, MOST_SHOWN + 3), *needs(NOW, 12, "plan"))
    )
    page = html.fromstring(desk.get("/?again=1").text)
    folded = page.xpath("//details[contains(summary, 'more')]//li")
    soon = pipeline.needs_at_hand(pipeline.open_workplace(clinic), date.today())
    number = sum(need.urgency == SOON for need in soon) + 3
    assert len(folded) == number and f"{number} more" in page.text_content()
    assert len(page.xpath("//h2[.='Now']/following-sibling::ul[1]/li")) == 12
    assert not page.xpath("//details[@open]")


def test_the_command_prints_what_the_page_shows(desk, audited, run):
    """The audit of the demo is counted, twice."""
    page = html.fromstring(desk.get("/?again=1").text)
    listed = [link.text_content() for link in page.xpath("//main//ul[@class='needs']/li/a")]
    printed = run(audited, "worklist").stdout.splitlines()
    assert [line.strip() for line in printed if line.startswith("  ")] == listed
    headings = [line.partition(":")[0] for line in printed if not line.startswith("  ")][:-1]
    assert headings == [each.text for each in page.xpath("//main/h2")]
    assert printed[-1] == f"{len(listed)} things need somebody."
    found = json.loads(run(audited, "worklist", "--json").stdout)
    assert [each["what"] for each in found] == listed
    assert {each["urgency"] for each in found} <= {"now", "soon", "to keep in order"}
