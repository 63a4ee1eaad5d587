"""What is sent to a desk that has locked is not lost, and is shown to nobody else."""

from __future__ import annotations

import io

import pytest
from desk.asking import HOST, OURS
from lxml import html

from consentpack import pipeline
from consentpack.desk import held_back
from consentpack.desk.app import create_app
from consentpack.desk.guard import COOKIE, Keys
from consentpack.desk.held_back import HeldBack, HeldBacks

FIRST = f"http://{HOST}"
FORM = {
    "case": "N-1", "session": "1", "day": "2026-06-01", "site": "chin", "by": "Ms Fern Odell",
    "technique": ["blunt-cannula", "local-infiltration"], "stratum:skin_type": "III",
}  # fmt: skip


class Locking:
    """A desk whose clock is turned by hand."""

    def __init__(self, folder):
        self.now, self.said = 0.0, []
        self.keys = Keys(clock=lambda: self.now, idle=60)
        app = create_app(folder, keys=self.keys, hosts=lambda: frozenset({HOST}), say=self.said.append)
        self.app, self.client = app, app.test_client()

    def get(self, address: str, client=None):
        return (client or self.client).get(address, base_url=FIRST)

    def post(self, address: str, data, client=None, headers=OURS, **more):
        return (client or self.client).post(address, data=data, base_url=FIRST, headers=headers, **more)

    def open(self, client=None):
        return self.get(f"/enter/{self.keys.new_link()}", client)


@pytest.fixture
def locking(audited) -> Locking:
    made = Locking(audited)
    made.open()
    made.now += 61
    return made


def test_what_was_sent_is_offered_again_and_goes_in_once_it_is_sent(locking, audited):
    answer = locking.post("/audit/add?x=1", FORM)
    assert answer.status_code == 401 and "is kept for this browser" in answer.text
    place = pipeline.open_workplace(audited, whole=False)
    assert pipeline.case_sessions(place, "N-1") == ()
    assert locking.open().location == "/again"
    page = locking.get("/again").text
    assert "/audit/add?x=1" in page and "Ms Fern Odell" in page and "local-infiltration" in page
    form = html.fromstring(page).forms[0]
    sent: dict[str, list[str]] = {}
    for name, value in form.form_values():
        sent.setdefault(name, []).append(value)
    assert form.action == "/audit/add?x=1" and sent == {
        name: value if isinstance(value, list) else [value] for name, value in FORM.items()
    }
    assert locking.post(form.action, sent).status_code == 303
    (found,) = pipeline.case_sessions(place, "N-1")
    assert found.techniques == ("blunt-cannula", "local-infiltration")
    assert "Nothing is kept" in locking.get("/again").text


def test_it_can_be_thrown_away_and_another_page_does_not_lose_it(locking):
    locking.post("/audit/add", FORM)
    locking.open()
    assert locking.post("/audit/due", {}).status_code == 422
    assert "N-1" in locking.get("/again").text
    assert locking.post("/again", {}).location == "/"
    assert "Nothing is kept" in locking.get("/again").text


def test_another_browser_is_offered_nothing(locking):
    locking.post("/audit/add", FORM)
    other = locking.app.test_client()
    assert locking.open(other).location == "/"
    assert "Nothing is kept" in locking.get("/again", other).text
    assert locking.open().location == "/again"


@pytest.mark.parametrize(
    "headers", [{"Sec-Fetch-Site": "cross-site", "Origin": "http://evil.example"}, {"Origin": "null"}, {}]
)
def test_what_another_page_sends_is_not_kept(locking, headers):
    answer = locking.post("/audit/add", FORM, headers=headers)
    assert answer.status_code == 401 and "kept" not in answer.text
    assert locking.open().location == "/"


def test_a_browser_that_was_never_let_in_has_nothing_kept(audited):
    desk = Locking(audited)
    client = desk.app.test_client()
    client.set_cookie(COOKIE, "x" * 43, domain="127.0.0.1")
    assert "kept" not in desk.post("/audit/add", FORM, client).text
    assert desk.open(client).location == "/"


def test_nothing_is_kept_of_what_is_only_looked_at(locking):
    assert "kept" not in locking.get("/audit").text
    assert locking.open().location == "/"


def test_what_is_too_large_is_said_not_to_be_kept(locking):
    big = FORM | {"site": "x" * held_back.MOST_BYTES}
    assert "too large to be kept" in locking.post("/audit/add", big).text
    assert locking.open().location == "/"


def test_a_hostile_field_is_shown_as_it_was_typed(locking):
    locking.post("/audit/add", FORM | {"case": '"><script>alert(1)</script>'})
    locking.open()
    page = locking.get("/again").text
    assert "<script>" not in page and "&lt;script&gt;" in page


def test_it_is_gone_after_a_working_day(locking):
    locking.post("/audit/add", FORM)
    locking.now += held_back.SECONDS + 1
    assert locking.open().location == "/"


def test_files_are_not_kept_and_are_named(locking):
    data = {"what": "signed", "scan": (io.BytesIO(b"%PDF"), "signed form.pdf")}
    locking.post("/patients/HS-P-101/mark", data)
    locking.open()
    page = locking.get("/again").text
    assert "signed form.pdf" in page and "Choose this again" in page


def test_only_so_many_are_kept_and_the_newest_stay(audited):
    app = create_app(audited, keys=Keys(), hosts=lambda: frozenset({HOST}), say=print)
    kept = HeldBacks(clock=lambda: 0.0)
    for number in range(held_back.MOST + 3):
        with app.test_request_context("/x", method="POST", data={"n": str(number)}) as context:
            assert kept.keep(f"c{number}", context.request)
    assert [kept.of(f"c{n}") is not None for n in range(held_back.MOST + 3)] == (
        [False] * 3 + [True] * held_back.MOST
    )
    assert kept.of("c5") == HeldBack("/x", (("n", "5"),), (), 0.0)


def test_a_text_with_lines_comes_back_as_it_was(locking):
    text = "First.\r\n\r\n  Second, with “quotes” & <signs>.\r\n"
    locking.post("/texts/risks/bruising/edit", {"text": text})
    locking.open()
    form = html.fromstring(locking.get("/again").text).forms[0]
    assert dict(form.form_values())["text"].replace("\r\n", "\n") == text.replace("\r\n", "\n")
