"""Who cannot be asked any more, said at the desk and by the command: both read what the other wrote."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from desk.audit_jobs import form_of, sent
from lxml import html

from consentpack import pipeline

BY = "Ms Fern Odell"
AT = "/audit/due"


@pytest.fixture
def place(audited):
    return pipeline.open_workplace(audited, whole=False)


def rows(page: str) -> list[str]:
    """The cases and sessions of the list."""
    return html.fromstring(page).xpath("//table/tbody/tr/th/a/text()")


def ticks(page: str) -> list[str]:
    return html.fromstring(page).xpath("//table//input[@name='treatment']/@value")


def tick(desk, address: str, number: int, **filled):
    """Tick the first of the list and send it; the answer, and what was ticked."""
    page = desk.get(address).text
    data = sent(form_of(page, 1, by=BY, **filled)) | {"treatment": ticks(page)[:number]}
    return desk.post(html.fromstring(page).forms[1].action, data), ticks(page)[:number]


def test_those_ticked_leave_the_list_and_are_told_with_their_number(place, desk):
    before = pipeline.overdue(place, date.today())
    answer, gone = tick(desk, f"{AT}?only=serious", 2, how="elsewhere:family-doctor")
    assert answer.status_code == 303 and "only=serious" in answer.location and "entered=2" in answer.location
    page = desk.get(answer.location).text
    assert "number 2 of the history" in page and "0 lost to follow-up, 2 followed elsewhere" in page
    assert not set(gone) & set(ticks(page)) and len(gone) == 2
    after = pipeline.overdue(place, date.today())
    assert len(after) == len(before) - 2 and set(after) < set(before)
    (entry,) = pipeline.past_imports(place)[1:]
    assert (entry.kind, entry.by, entry.read) == ("follow-up", BY, 2)
    assert "about follow-up" in desk.get("/audit/history").text
    assert "Its marks hold no more" in desk.get("/audit/history/2").text


def test_those_asked_no_more_are_listed_and_can_be_asked_again(place, desk, run):
    """Both ways: what the desk says the command lists, and what the command says the desk shows."""
    _, (gone,) = tick(desk, AT, 1, how="lost")
    session, _, case = gone.partition(" ")
    listed = run(place.folder, "audit", "due", "--not-asked").stdout
    today = date.today()
    assert listed.startswith(f"{case}, session {session}, ") and f"lost to follow-up, since {today}" in listed
    assert run(place.folder, "audit", "follow-up", case, session, "--elsewhere", "hospital").exit_code == 0
    page = desk.get(f"{AT}?only=not-asked").text
    assert rows(page) == [f"{case}, session {session}"]
    assert f"followed elsewhere: a hospital, since {today}" in page
    answer, _ = tick(desk, f"{AT}?only=not-asked", 1)
    assert answer.status_code == 303 and "Nobody." in desk.get(answer.location).text
    assert "0 treatments not asked about." in run(place.folder, "audit", "due", "--not-asked").stdout
    # and back to the mark before, from the history
    assert desk.post("/audit/history/4/undo", {"by": BY}).status_code == 303
    assert rows(desk.get(f"{AT}?only=not-asked").text) == [f"{case}, session {session}"]


def test_what_is_seen_after_all_ends_it(place, desk):
    _, (gone,) = tick(desk, AT, 1, how="lost", since="2026-11-01")
    session, _, case = gone.partition(" ")
    pipeline.record(
        place,
        case,
        int(session),
        {"bruising": "no"},
        seen_on=date(2026, 11, 20),
        now=datetime.now(),
        by=BY,
    )
    assert rows(desk.get(f"{AT}?only=not-asked").text) == []


@pytest.mark.parametrize(
    ("filled", "number", "said"),
    [
        ({"how": "lost"}, 0, "none is ticked"),
        ({"how": ""}, 1, "nothing was chosen"),
        ({"how": "lost", "by": " "}, 1, "choose or type a name"),
        ({"how": "lost", "since": "soon"}, 1, "is no day"),
        ({"how": "lost", "since": "2999-01-01"}, 1, "in the future"),
        ({"how": "elsewhere:Mrs Invented"}, 1, "is nobody who may be named"),
        ({"how": "nonsense"}, 1, "is not known"),
    ],
)
def test_what_cannot_be_is_refused_with_all_that_was_ticked_and_typed(place, desk, filled, number, said):
    page = desk.get(AT).text
    ticked = ticks(page)[:number]
    data = sent(form_of(page, 1, **({"by": BY, "since": "2026-11-20"} | filled))) | {"treatment": ticked}
    answer = desk.post(AT, data)
    assert answer.status_code == 422 and said in html.fromstring(answer.text).text_content()
    kept = dict(form_of(answer.text, 1))
    boxes = html.fromstring(answer.text).xpath("//input[@name='treatment'][@checked]/@value")
    assert boxes == ticked and kept["since"] == data["since"][0]
    assert len(pipeline.past_imports(place)) == 1


@pytest.mark.parametrize("treatment", ["", "1", "x HS-0001", "-1 HS-0001", "1 "])
def test_a_treatment_that_no_page_wrote_is_refused(place, desk, treatment):
    assert desk.post(AT, {"treatment": treatment, "how": "lost", "by": BY}).status_code == 400


def test_the_command_says_how_many_are_not_on_its_list_and_undo_puts_them_back(place, run):
    before = run(place.folder, "audit", "due").stdout
    first = before.partition(",")[0]
    session = before.partition("session ")[2].partition(",")[0]
    said = run(place.folder, "audit", "follow-up", first, session, "--lost")
    assert said.stdout == f"{first}, session {session}: lost to follow-up. Entered as number 2.\n"
    after = run(place.folder, "audit", "due").stdout
    assert after.splitlines()[-1].startswith("Not among them: 1 lost to follow-up, 0 followed elsewhere")
    assert after.splitlines()[:-2] == before.splitlines()[1:-1]
    assert "about follow-up: 1 mark" in run(place.folder, "audit", "history").stdout
    back = run(place.folder, "audit", "undo")
    assert back.stdout == "Taken back: an entry about follow-up. Its marks hold no more.\n"
    assert run(place.folder, "audit", "due").stdout == before


def test_the_command_takes_one_word_at_a_time_and_names_those_it_knows(place, run):
    for words in ([], ["--lost", "--again"], ["--lost", "--elsewhere", "hospital"]):
        assert run(place.folder, "audit", "follow-up", "HS-0002", "1", *words).exit_code == 2
    told = run(place.folder, "audit", "follow-up", "HS-0002", "1", "--elsewhere", "Mrs Invented")
    assert told.exit_code == 11 and "family-doctor" in told.stderr
    help = " ".join(run(place.folder, "audit", "follow-up", "--help").stdout.split())
    assert all(word in help for word in pipeline.FOLLOWED_BY)
    assert "Mrs Invented" not in (place.folder / "register.sqlite").read_bytes().decode("latin-1")
