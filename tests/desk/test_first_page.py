"""The first page: what needs somebody, the worst first, each with where it is mended; backups."""

from __future__ import annotations

import html
import re
from datetime import date, datetime, timedelta
from pathlib import Path
from threading import Event

import pytest

from consentpack import pipeline
from consentpack.desk.later import Later

ADDRESSES = re.compile(r"^/(?:patients/[\w-]+|audit|audit/rates|audit/due|texts(?:[/?].*)?|#backup)$")
"""Where anything on the page may lead to."""


def needs(clinic: Path, today: date | None = None) -> list[pipeline.Need]:
    return list(pipeline.needing(pipeline.open_workplace(clinic, whole=False), today or date.today()))


def about(found: list[pipeline.Need], what: str) -> list[pipeline.Need]:
    return [each for each in found if each.about == what]


def links(page: str) -> dict[str, str]:
    """What is said -> where it leads."""
    listed = re.findall(r'<li><a href="([^"]+)">([^<]+)</a></li>', page.partition("<main")[2])
    return {html.unescape(words): html.unescape(address) for address, words in listed}


def test_the_page_lists_what_the_function_gives_with_where_each_is_mended(desk, clinic, audited):
    """The audit of the demo is counted, with its signals."""
    found = needs(clinic)
    page = desk.get("/?again=1").text
    assert list(links(page)) == [each.what for each in found]
    assert all(ADDRESSES.match(address) for address in links(page).values())
    assert [each.urgency for each in found] == sorted(each.urgency for each in found)
    assert {each.about for each in found} == {"rates", "approvals", "due", "backup"}
    assert "Still being counted" not in page


def test_follow_up_and_signals_are_those_of_the_commands(clinic, audited):
    """The audit of the demo is counted, with its signals."""
    place, found = pipeline.open_workplace(clinic), needs(clinic)
    (late,) = about(found, "due")
    assert late.what.startswith(f"{len(pipeline.overdue(place, date.today()))} treatments have outcomes")
    sheet = pipeline.watch_over_time(place, date.today())
    assert len(about(found, "rates")) == len(sheet.signals()) + len(sheet.worse())
    assert sheet.signals() and about(found, "rates")[0].urgency == 0


def test_the_page_does_not_wait_for_what_takes_long(desk, monkeypatch):
    held = Event()
    monkeypatch.setattr(pipeline, "counted_needs", lambda *_: held.wait(60) and ())
    page = desk.get("/").text
    assert "Still being counted" in page and "approval of" in page
    held.set()
    assert "Still being counted" not in desk.get("/?again=1").text


def test_what_is_counted_is_counted_once_and_anew_when_something_changed():
    later, made, seen = Later[int](), [], ["a"]

    def make() -> int:
        made.append(seen[0])
        return len(made)

    assert [later.get(lambda: seen[0], make, wait=5) for _ in range(3)] == [1, 1, 1]
    seen[0] = "b"
    assert later.get(lambda: seen[0], make, wait=5) == 2 and made == ["a", "b"]


def test_a_count_that_failed_says_so_and_is_tried_again():
    later, tries = Later[int](), []

    def make() -> int:
        tries.append(1)
        if len(tries) == 1:
            raise ValueError("once")
        return 7

    with pytest.raises(ValueError, match="once"):
        later.get(lambda: 0, make, wait=5)
    assert later.get(lambda: 0, make, wait=5) == 7


def test_a_text_with_a_mistake_comes_first_and_leads_to_where_it_is_mended(desk, clinic):
    """The library is read anew."""
    own = clinic / "content/risks"
    own.mkdir(parents=True)
    (own / "bruising.md").write_text("+++\nnonsense\n", encoding="utf-8")
    page = desk.get("/").text
    (said,) = (words for words in links(page) if "risks/bruising" in words)
    assert links(page)[said] == "/texts/risks/bruising" and next(iter(links(page))) == said
    assert re.search(r"So are \d+ that name it", said)
    assert desk.get(links(page)[said], follow_redirects=True).status_code == 200


@pytest.mark.parametrize(
    ("days", "says", "urgency"),
    [(1, None, None), (700, "ends in", 1), (800, "has run out", 0)],
)
def test_approvals_that_end_or_have_ended_are_told(clinic, days, says, urgency):
    """The library is read anew."""
    place = pipeline.open_workplace(clinic)
    until = date.today() + timedelta(days=720)
    pipeline.approve(place, ["bruising"], by="A", role="B", day=date.today(), until=until)
    day = date.today() + timedelta(days=days)
    found = [each for each in pipeline.needs_at_hand(place, day) if each.about == "text"]
    assert bool(found) is bool(says)
    if says:
        assert says in found[0].what and (found[0].id, found[0].urgency) == ("risks/bruising", urgency)


def test_a_changed_text_is_told_with_its_pack_and_its_missed_target(clinic, audited):
    """A pack is built, and the audit counted."""
    place = pipeline.open_workplace(clinic)
    pipeline.approve(place, ["bruising"], by="A", role="B", day=date.today(), until=None)
    pipeline.build(place, clinic / "plans/p-101.toml")
    assert about(needs(clinic), "plan") == []
    hard = (
        "Ecchymosis generally necessitates approximately fortnightly reconsideration of vascular fragility. "
        * 4
    )
    pipeline.copy_module(place, "bruising")
    own = clinic / "content/risks/bruising.md"
    own.write_text(own.read_text().replace("It fades on its own.", hard.strip()))
    found = needs(clinic)
    assert "the text was changed" in about(found, "text")[0].what
    assert any("harder to read than its target" in each.what for each in about(found, "text"))
    (pack,) = about(found, "plan")
    assert pack.id == "HS-P-101" and "build it again: risks/bruising" in pack.what


def test_a_pack_that_was_given_and_does_not_hold_any_more_comes_first(desk, clinic, audited):
    """The library is approved, a pack is given, and looked at again."""
    today = date.today()
    place = pipeline.open_workplace(clinic)
    pipeline.approve(place, [], by="Dr Ruth Ambrose", role="skin doctor", day=today, until=None)
    pipeline.give(place, clinic / "plans/p-101.toml", pipeline.Handing("Dr Ruth Ambrose", datetime.now()))
    assert about(needs(clinic), "plan") == []
    pipeline.copy_module(place, "bruising")
    own = clinic / "content/risks/bruising.md"
    own.write_text(own.read_text().replace("It fades on its own.", "It goes away on its own."))
    (found,) = about(needs(clinic), "plan")
    assert found.urgency == 0 and "HS-P-101, version 1, has to be told again: risks/bruising" in found.what
    assert links(desk.get("/?again=1").text)[found.what] == "/patients/HS-P-101"


def test_a_plan_that_cannot_be_used_is_told(clinic, audited):
    """The audit is counted."""
    plan = clinic / "plans/p-102.toml"
    plan.write_text(plan.read_text().replace('planned = ["', 'planned = ["no-such-technique", "'))
    (found,) = about(needs(clinic), "plan")
    assert found.id == "HS-P-102" and "cannot be used" in found.what


def test_texts_of_the_clinics_own_that_are_not_translated_are_told(clinic, audited):
    """The audit is counted."""
    place = pipeline.open_workplace(clinic)
    pipeline.approve(place, ["bruising"], by="A", role="B", day=date.today(), until=None, language="pl")
    pipeline.copy_module(place, "bruising")
    own = clinic / "content/risks/bruising.md"
    own.write_text(own.read_text().replace("It fades on its own.", "It goes away by itself."))
    told = {each.id: each.what for each in about(needs(clinic), "language")}
    assert "pl" in told and re.match(r"pl: 1 of \d+ texts", told["pl"])


def test_an_audit_that_cannot_be_counted_is_told_and_the_rest_all_the_same(clinic):
    """All else is looked at."""
    found = needs(clinic)  # nothing was imported yet
    assert any("no audit register" in each.what and each.urgency == 0 for each in found)
    assert about(found, "approvals") and about(found, "backup")


def test_a_backup_is_made_and_shown_and_the_command_restores_it(desk, clinic, tmp_path):
    """All of the folder is saved and laid out again."""
    assert "There is none in the clinic folder yet" in desk.get("/").text
    done = desk.post("/backup")
    assert (done.status_code, done.location) == (303, "/#backup")
    (made,) = (clinic / "backups").glob("*.zip")
    page = desk.get("/").text
    assert made.name in page and "No backup of the clinic folder" not in html.unescape(page)
    restored = pipeline.restore(made, tmp_path / "again", progress=lambda _: None)
    assert (tmp_path / "again/clinic.toml").read_bytes() == (clinic / "clinic.toml").read_bytes()
    assert restored is not None


def test_an_old_backup_is_told(clinic):
    place = pipeline.open_workplace(clinic)
    saved = pipeline.backup(clinic, None, now=datetime.now(), progress=lambda _: None)
    assert saved.path.exists()
    for days, told in ((7, []), (8, ["backup"])):
        found = pipeline.needs_at_hand(place, date.today() + timedelta(days=days))
        assert [each.about for each in found if each.about == "backup"] == told


def test_a_backup_is_not_made_by_looking(desk, clinic):
    assert desk.get("/backup").status_code == 405
    assert not (clinic / "backups").exists()
