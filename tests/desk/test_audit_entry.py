"""Entering by hand at the desk: a treatment, what was seen, and who is due. Everything is invented."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from desk.audit_jobs import audited, form_of, sent
from lxml import html

from consentpack import pipeline
from consentpack.pipeline.visits import weight_of

BY = "Ms Fern Odell"


@pytest.fixture
def place(clinic):
    audited(clinic)
    return pipeline.open_workplace(clinic, whole=False)


def entered(desk, *, day: str = "2026-06-01", case: str = "N-1", **more):
    data = {"case": case, "session": 1, "day": day, "site": "chin", "by": BY}
    data |= {"technique": ["blunt-cannula", "local-infiltration"], "stratum:skin_type": "III"}
    return desk.post("/audit/add", data | more)


def held(place, case: str = "N-1"):
    (found,) = pipeline.case_sessions(place, case)
    return found


def test_a_treatment_is_entered_and_what_was_seen_of_it(place, desk):
    answer = entered(desk)
    assert answer.status_code == 303 and answer.location.startswith("/audit/case?case=N-1&session=1")
    page = desk.get(answer.location).text
    assert "The treatment was entered" in page
    fields = form_of(page, seen_on="2026-07-01", by=BY, **{"seen:bruising": "yes", "seen:swelling": "no"})
    fields = [pair for pair in fields if pair[0] != "noticed:bruising"] + [("noticed:bruising", "2026-06-02")]
    answer = desk.post("/audit/case", sent(fields))
    assert answer.status_code == 303 and "Entered." in desk.get(answer.location).text
    found = held(place)
    assert (found.day, found.techniques) == (date(2026, 6, 1), ("blunt-cannula", "local-infiltration"))
    assert found.strata == {"skin_type": "III"} and found.watched_days == 30
    assert found.outcomes == {"bruising": 1, "swelling": 0} and found.noticed == {"bruising": 1}
    page = desk.get("/audit/case?case=N-1&session=1").text
    assert "The register has: <strong>yes</strong>, by hand, noticed 1 days after" in page
    assert [(each.kind, each.by) for each in pipeline.past_imports(place)[1:]] == [("entry", BY)] * 2


def test_what_was_noticed_on_several_days_is_one_entry_and_taken_back_at_once(place, desk):
    """Once a form of three days made three entries, and who took one back had taken back a third."""
    entered(desk)
    page = desk.get("/audit/case?case=N-1&session=1").text
    seen = {"seen:bruising": "yes", "seen:swelling": "moderate", "seen:infection": "no"}
    days = {"noticed:bruising": "2026-06-02", "noticed:swelling": "2026-06-05"}
    fields = form_of(page, seen_on="2026-07-01", again="2026-06-30", by=BY, **seen, **days)
    assert desk.post("/audit/case", sent(fields)).status_code == 303
    found, entries = held(place), pipeline.past_imports(place)
    assert found.outcomes == {"bruising": 1, "swelling": 2, "infection": 0}
    assert found.noticed == {"bruising": 1, "swelling": 4} and found.retreated_days == 29
    assert len(entries) == 3 and (entries[2].read, entries[2].updated) == (1, 1)
    assert desk.post("/audit/history/3/undo", {"by": BY}).status_code == 303
    assert held(place).outcomes == {} and held(place).noticed == {} and held(place).retreated_days is None


def test_what_a_command_entered_stands_on_the_page_and_the_other_way_round(place, desk):
    entered(desk)
    pipeline.record(
        place,
        "N-1",
        1,
        {"infection": "no"},
        seen_on=date(2026, 6, 20),
        now=datetime.now(),
        by="B",
        diary=True,
    )
    assert (
        "The register has: <strong>no</strong>, by diary" in desk.get("/audit/case?case=N-1&session=1").text
    )
    told = pipeline.values(place, "N-1", 1)
    assert [(each.outcome, each.kind, each.looked) for each in told] == [("infection", "diary", 19)]


def test_what_was_left_open_is_not_recorded_unless_all_was_asked_about(place, desk):
    entered(desk)
    page = desk.get("/audit/case?case=N-1&session=1").text
    desk.post("/audit/case", sent(form_of(page, seen_on="2026-06-20", by=BY, **{"seen:bruising": "severe"})))
    assert held(place).outcomes == {"bruising": 3}
    page = desk.get("/audit/case?case=N-1&session=1").text
    desk.post("/audit/case", sent(form_of(page, seen_on="2026-07-20", by=BY, rest="yes")))
    found = held(place)
    asked = {each.id for each in pipeline.visit_of(place, "N-1", 1).asked}
    assert set(found.outcomes) == asked and len(asked) > 10
    assert {id: grade for id, grade in found.outcomes.items() if grade} == {"bruising": 3}


@pytest.mark.parametrize(
    ("filled", "said"),
    [
        ({"seen_on": ""}, "is blank; it is the day somebody looked"),
        ({"seen_on": "soon"}, "is no day"),
        ({"seen_on": "2026-05-01"}, "is before the day of the treatment"),
        ({"seen_on": "2999-01-01"}, "is in the future"),
        ({"by": " "}, "choose or type a name"),
        ({"seen:swelling": "", "again": ""}, "nothing was chosen"),
        ({"seen:swelling": "perhaps"}, "is neither yes, no nor a grade"),
        ({"noticed:swelling": "2026-06-30"}, "first noticed on 2026-06-30 and seen before"),
        ({"noticed:swelling": "2026-06-05", "seen:swelling": "no"}, "needs something that was seen"),
        ({"noticed:bruising": "2026-06-05"}, "a day was typed, and not what was seen"),
        ({"noticed:swelling": "2026-05-05"}, "is before the day of the treatment"),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_is_there(place, desk, filled, said):
    entered(desk)
    page = desk.get("/audit/case?case=N-1&session=1").text
    more = {"seen_on": "2026-06-20", "by": BY, "seen:swelling": "moderate", "again": "2026-06-19"} | filled
    answer = desk.post("/audit/case", sent(form_of(page, **more)))
    assert answer.status_code == 422 and said in answer.text
    kept = dict(form_of(answer.text))
    assert kept["again"] == more["again"] and kept["seen:bruising"] == ""
    assert kept["seen_on"] == more["seen_on"]
    assert held(place).outcomes == {} and held(place).retreated_days is None


def test_what_came_in_since_the_page_was_opened_is_shown_and_nothing_is_changed(place, desk):
    entered(desk)
    page = desk.get("/audit/case?case=N-1&session=1").text
    fields = sent(form_of(page, seen_on="2026-06-20", by=BY, **{"seen:bruising": "no"}))
    pipeline.record(
        place, "N-1", 1, {"bruising": "yes"}, seen_on=date(2026, 6, 20), now=datetime.now(), by="B"
    )
    answer = desk.post("/audit/case", fields)
    assert answer.status_code == 409 and "The register has: <strong>yes</strong>, by hand" in answer.text
    assert dict(form_of(answer.text))["seen:bruising"] == "no" and held(place).outcomes == {"bruising": 1}
    assert desk.post("/audit/case", sent(form_of(answer.text))).status_code == 303
    assert held(place).outcomes == {"bruising": 0}


def test_a_treatment_is_not_entered_twice_and_words_nobody_knows_are_refused(place, desk):
    assert entered(desk).status_code == 303
    again = entered(desk)
    assert again.status_code == 422 and "is in the register already" in again.text
    assert dict(form_of(again.text))["site"] == "chin"
    for more, said in (
        ({"technique": "none-such"}, "there is no technique"),
        ({"technique": []}, "nothing was chosen"),
        ({"day": "2999-01-01"}, "is in the future"),
        ({"day": ""}, "is blank"),
        ({"session": "0"}, "should be from 1"),
        ({"session": "x"}, "should be from 1"),
        ({"site": " "}, "is blank"),
        ({"by": ""}, "choose or type a name"),
        ({"stratum:skin_type": "IX"}, "IX"),
    ):
        answer = entered(desk, **({"case": "N-9"} | more))
        assert answer.status_code == 422 and said in answer.text, more
    assert pipeline.case_sessions(place, "N-9") == ()


def test_a_hostile_reference_is_shown_as_it_is_typed(place, desk):
    """Over a second: all figures are counted to see it behind one of them."""
    case = '"><script>alert(1)</script>&case=x#'
    answer = entered(desk, case=case)
    page = desk.get(answer.location).text
    assert answer.status_code == 303 and "<script>" not in page and "&lt;script&gt;" in page
    desk.post("/audit/case", sent(form_of(page, seen_on="2026-06-20", by=BY, **{"seen:bruising": "yes"})))
    assert held(place, case).outcomes == {"bruising": 1}
    rows = desk.get("/audit/rates/blunt-cannula/bruising?rows=all").text
    assert "<script>" not in rows and "&lt;script&gt;" in rows


def test_a_case_is_found_by_how_it_begins(place, desk):
    page = desk.get("/audit/case?case=hs-033").text
    assert "Which case?" in page and page.count("/audit/case?case=HS-033") == 10
    assert "No case begins with" in desk.get("/audit/case?case=nobody%25").text
    assert desk.get("/audit/case?case=HS-0334&session=99").status_code == 404
    one = entered(desk)
    assert one.status_code == 303
    assert desk.get("/audit/case?case=N-1").location == "/audit/case?case=N-1&session=1"


def test_who_is_due_begins_with_serious_harms_and_is_all_that_the_command_lists(place, desk):
    day = date(2026, 11, 25)
    listed = {(each.case, each.session): set(each.outcomes) for each in pipeline.overdue(place, day)}
    visits = pipeline.due_visits(place, day)
    assert {(v.due.case, v.due.session): {id for id, *_ in v.outcomes} for v in visits} == listed
    weights = [each.weight for each in visits]
    assert weights == sorted(weights) and weights[0] == 0
    for each in visits:
        mine = [weight_of(place, id) for id, *_ in each.outcomes]
        assert mine == sorted(mine) and each.weight == mine[0] and each.since <= day
    serious = [each.since for each in visits if not each.weight]
    assert serious == sorted(serious, reverse=True)
    found = []
    for page in range(1, 20):
        text = desk.get(f"/audit/due?on={day}&page={page}").text
        rows = html.fromstring(text).xpath("//table/tbody/tr/th/a/@href")
        found += rows
        if not rows:
            break
    assert len(found) == len(set(found)) == len(listed)
    few = desk.get(f"/audit/due?on={day}&only=serious&case=HS-00").text
    cases = html.fromstring(few).xpath("//table/tbody/tr/th/a/text()")
    assert 0 < len(cases) < len(listed) and all(case.startswith("HS-00") for case in cases)


def test_what_is_entered_takes_a_treatment_off_the_list(place, desk):
    visit = pipeline.due_visits(place, date.today())[0].due
    at = f"/audit/case?case={visit.case}&session={visit.session}"
    fields = form_of(desk.get(at).text, seen_on=str(date.today()), by=BY, rest="yes")
    assert desk.post("/audit/case", sent(fields)).status_code == 303
    left = {(each.case, each.session) for each in pipeline.overdue(place, date.today())}
    assert (visit.case, visit.session) not in left


@pytest.mark.parametrize("query", ["page=0", "on=1", "page=-2"])
def test_a_wrong_address_of_the_list_is_refused(place, desk, query):
    assert desk.get(f"/audit/due?{query}").status_code in (400, 404)
