"""Nobody but this computer, this browser and this page asks the desk for anything.

Each header is what the standard names: Fetch Metadata Request Headers (W3C), Origin (RFC 6454), SameSite and
HttpOnly (RFC 6265bis), Content Security Policy level 3 (W3C).
"""

from __future__ import annotations

import pytest
from desk.asking import HOST, OURS

from consentpack.desk.app import create_app
from consentpack.desk.guard import COOKIE, Keys

FIRST = f"http://{HOST}"


def test_the_link_opens_one_browser_once(locked_desk, keys):
    link = f"/enter/{keys.new_link()}"
    assert locked_desk.get("/").status_code == 401
    entered = locked_desk.get(link)
    assert (entered.status_code, entered.location) == (302, "/")
    cookie = entered.headers["Set-Cookie"]
    assert cookie.startswith(f"{COOKIE}=") and "HttpOnly" in cookie and "SameSite=Strict" in cookie
    assert locked_desk.get("/").status_code == 200
    locked_desk.client.delete_cookie(COOKIE, domain="127.0.0.1")
    assert locked_desk.get(link).status_code == 401
    assert locked_desk.get("/").status_code == 401


@pytest.mark.parametrize("word", ["", "x", "%00", "..%2f..%2fetc%2fpasswd", "é"])
def test_a_link_that_was_never_given_out_opens_nothing(locked_desk, keys, word):
    keys.new_link()  # one that waits, to be compared with
    assert locked_desk.get(f"/enter/{word}").status_code in (401, 404)
    assert locked_desk.get("/").status_code == 401


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8123", "127.0.0.1:9", "localhost", "[::1]:8123"]
)
@pytest.mark.parametrize("method", ["GET", "POST", "HEAD", "OPTIONS"])
def test_another_name_for_this_computer_is_refused(desk, host, method):
    answer = desk.client.open("/", method=method, base_url=FIRST, headers={**OURS, "Host": host})
    assert answer.status_code in (400, 403)


FOREIGN = [
    {"Sec-Fetch-Site": "cross-site", "Origin": "http://evil.example"},
    {"Sec-Fetch-Site": "same-site", "Origin": "http://127.0.0.1:9"},
    {"Sec-Fetch-Site": "none"},
    {"Sec-Fetch-Site": "same-origin", "Origin": "http://evil.example"},
    {"Origin": "http://evil.example"},
    {"Origin": "null"},
    {},
]


@pytest.mark.parametrize("headers", FOREIGN)
def test_a_change_from_another_page_is_refused(desk, headers):
    assert desk.post("/", headers=headers).status_code == 403


@pytest.mark.parametrize("headers", [OURS, {"Origin": FIRST}, {"Sec-Fetch-Site": "same-origin"}])
def test_a_change_from_a_page_of_the_desk_gets_past_the_guard(desk, headers):
    assert desk.post("/", headers=headers).status_code == 405  # the first page takes no form


@pytest.mark.parametrize("cookie", ["x", "\xe9", "a" * 5_000])
def test_any_other_cookie_opens_nothing(desk, cookie):
    desk.client.delete_cookie(COOKIE, domain="127.0.0.1")
    assert desk.get("/", headers={"Cookie": f"{COOKIE}={cookie}"}).status_code == 401


def test_a_clinic_folder_without_its_settings_is_told_and_none_above_it_is_opened(desk, clinic):
    """Takes a second: the demo's clinic is opened."""
    assert desk.get("/patients").status_code == 200
    (clinic.parent / "clinic.toml").write_bytes((clinic / "clinic.toml").read_bytes())
    (clinic / "clinic.toml").unlink()
    answer = desk.get("/patients")
    assert answer.status_code == 409 and "it is not there any more" in answer.text


def test_without_the_cookie_nothing_is_changed(locked_desk):
    assert locked_desk.post("/").status_code == 401


def test_every_answer_says_that_nothing_else_may_be_loaded_and_nothing_kept(desk):
    for address in ("/", "/no-such-page", "/static/desk.css"):
        headers = desk.get(address).headers
        assert "default-src 'none'" in headers["Content-Security-Policy"]
        assert "unsafe" not in headers["Content-Security-Policy"]
        assert (headers["Cache-Control"], headers["Referrer-Policy"]) == ("no-store", "no-referrer")
        assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    "path", ["../clinic.toml", "..%2f..%2fclinic.toml", "%2e%2e/app.py", "%2fetc%2fpasswd"]
)
def test_no_file_beside_those_of_the_pages_is_handed_out(desk, path):
    assert desk.get(f"/static/{path}").status_code in (308, 404)  # 308: without the second slash


def test_an_unused_desk_locks_and_prints_a_new_link(clinic):
    now = [0.0]
    keys, said = Keys(clock=lambda: now[0], idle=60), []
    client = create_app(clinic, keys=keys, hosts=lambda: frozenset({HOST}), say=said.append).test_client()
    client.get(f"/enter/{keys.new_link()}", base_url=FIRST)
    for now[0] in (50, 100):  # each page counts as use
        assert client.get("/", base_url=FIRST).status_code == 200
    now[0] = 161
    assert [client.get("/", base_url=FIRST).status_code for _ in range(3)] == [401] * 3
    (line,) = said  # once, however often somebody knocks
    assert client.get(line.split(": ", 1)[1].removeprefix(FIRST), base_url=FIRST).status_code == 302
    assert client.get("/", base_url=FIRST).status_code == 200


def test_a_fault_shows_nothing_of_the_clinics(clinic, keys):
    said: list[str] = []
    app = create_app(clinic, keys=keys, hosts=lambda: frozenset({HOST}), say=said.append)

    @app.get("/fault")
    def fault() -> str:
        raise ValueError("row 12: Mrs Secret, bruising yes")

    client = app.test_client()
    client.get(f"/enter/{keys.new_link()}", base_url=FIRST)
    answer = client.get("/fault", base_url=FIRST)
    assert answer.status_code == 500
    assert "Secret" not in answer.text + "".join(said) and "ValueError" in said[0]
