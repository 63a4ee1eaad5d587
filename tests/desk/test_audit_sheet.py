"""A spreadsheet at the desk: dropped, looked at, kept, and taken back. Everything is invented."""

from __future__ import annotations

import io
import re
import socket
import stat
import threading
import zipfile
from datetime import datetime, timedelta

import pytest
from desk.asking import HOST, OURS
from desk.audit_jobs import NAMES, audited, choose, dropped, form_of, messy, new_clinic, say, sent
from messy_sheet import UNREADABLE, WORDS

from consentpack import pipeline
from consentpack.desk.guard import MOST_BYTES
from consentpack.desk.serving import open_desk
from consentpack.pipeline.dropped import clear_dropped
from consentpack.register import open_register
from consentpack.register.case import treatments_of

SMALL = (
    "Our ref,Session,Day,What we did,Where,Last visit,Bruise\n"
    "Z-1,1,2026-03-02,blunt-cannula,chin,2026-04-20,yes\n"
    "Z-2,1,2026-03-03,blunt-cannula,chin,2026-04-20,?\n"
)


def small(desk, text: str = SMALL, name: str = "small.csv") -> str:
    answer = dropped(desk, name, text.encode())
    assert answer.status_code == 303, answer.text
    return answer.location


def counts(page: str) -> list[int]:
    return [int(number) for number in re.findall(r"<strong>(\d+)</strong>", page)]


def held(clinic, case: str):
    place = pipeline.open_workplace(clinic, whole=False)
    with open_register(place.clinic.register_url).connect() as connection:
        return treatments_of(connection, case)


@pytest.fixture
def fresh(clinic):
    return new_clinic(clinic)


def explained(desk, at: str):
    """The words of the messy sheet said, as somebody of the clinic says them."""
    fields = form_of(desk.get(at).text, do="look")
    for word, ids in WORDS.items():
        if ("word", word.lower()) in fields:
            fields = say(fields, word.lower(), *ids.split("; "))
    fields = say(fields, "Usual", *WORDS["usual"].split("; "))
    return choose(fields, "Remarks Patient name", "ignore")


def test_a_new_clinic_goes_from_a_messy_sheet_to_a_kept_audit(fresh, desk, tmp_path):
    """Over a second: a workbook of 300 rows is read as often as somebody looks at it."""
    path, expected = messy(tmp_path / "a.xlsx")
    at = dropped(desk, "Scar audit 2024.xlsx", path.read_bytes()).location
    page = desk.get(at).text
    assert "Sheet “All treatments” was read. Its headers are in row 4 and 5." in page
    assert "Refused:</strong> Remarks Patient name" in page and "Nothing would go in as it is" in page
    assert not any(name in page for name in NAMES)  # neither of the column nor of the remarks
    assert not (fresh / "register.sqlite").exists()
    assert desk.post(at, sent(explained(desk, at))).status_code == 303
    page = desk.get(at).text
    assert counts(page)[:5] == [300, len(expected), 0, 0, len(UNREADABLE)]
    assert "&#39;?&#39; stands in Bruise" in page and "1 row holds totals" in page
    assert not (fresh / "register.sqlite").exists()  # not before it is kept
    assert desk.post(at, sent(form_of(page, do="keep", by="Sam Invented"))).location == at
    page = desk.get(at).text
    assert counts(page) == [300, len(expected), 0, 0, len(UNREADABLE)]
    for case in ("AB-000", "AB-150", "AB-299"):
        (found,) = held(fresh, case)
        outcomes = [found.outcomes.get(id) for id in ("bruising", "swelling", "infection")]
        assert (found.session, found.day, found.techniques) == expected[case][:3]
        assert [found.watched_days, *outcomes] == list(expected[case][5:])
    aside = desk.get(f"{at}/set-aside.csv")
    assert aside.headers["Content-Disposition"].startswith("attachment")
    assert len({line.split(",")[0] for line in aside.text.splitlines()[1:]}) == len(UNREADABLE)
    everything = "".join(
        each.read_bytes().decode("utf-8", "replace") for each in fresh.rglob("*") if each.is_file()
    )
    assert not any(name in everything for name in NAMES)


def test_the_command_reads_the_file_as_the_desk_kept_it(fresh, desk, tmp_path):
    path, expected = messy(tmp_path / "a.xlsx")
    at = dropped(desk, path.name, path.read_bytes()).location
    desk.post(at, sent(explained(desk, at)))
    desk.post(at, sent(form_of(desk.get(at).text, do="keep", by="Sam Invented")))
    place = pipeline.open_workplace(fresh, whole=False)
    result, _ = pipeline.import_audit(place, path, now=datetime.now(), by="x")
    assert (result.added, result.updated, result.unchanged) == (0, 0, len(expected))


def test_what_a_command_imported_stands_in_the_history_and_the_desk_takes_it_back(clinic, desk):
    audited(clinic)
    (entry,) = pipeline.past_imports(pipeline.open_workplace(clinic, whole=False))
    page = desk.get("/audit").text
    assert "audit.csv" in page and f"/audit/history/{entry.id}" in page
    at = f"/audit/history/{entry.id}"
    assert desk.post(f"{at}/undo", {"by": ""}).status_code == 422
    assert desk.post(f"{at}/undo", {"by": "Sam Invented"}).location == at
    (entry,) = pipeline.past_imports(pipeline.open_workplace(clinic, whole=False))
    assert entry.undone and entry.undone_by == "Sam Invented"
    assert "Taken back" in desk.get(at).text
    assert desk.post(f"{at}/undo", {"by": "Sam Invented"}).status_code == 422  # once
    assert desk.get("/audit/history/999").status_code == 404


def test_an_identity_is_refused_until_it_is_said_to_be_left_unread_and_never_read_as_anything_else(desk):
    at = small(desk, SMALL.replace("Our ref", "Our ref,Surname").replace("Z-1", "Z-1,Secret"))
    page = desk.get(at).text
    assert "Refused:</strong> Surname" in page and "Secret" not in page and 'value="keep"' not in page
    fields = form_of(page, do="look")
    answer = desk.post(at, sent(choose(fields, "Surname", "site")))
    assert answer.status_code == 303 and "Refused:</strong> Surname" in desk.get(at).text
    kept = desk.post(at, sent(form_of(desk.get(at).text, do="keep", by="A")))
    assert kept.status_code == 422 or "again" in kept.location
    desk.post(at, sent(choose(form_of(desk.get(at).text, do="look"), "Surname", "ignore")))
    assert "Refused:</strong>" not in desk.get(at).text


def test_a_column_can_be_chosen_otherwise_and_its_words_explained(fresh, desk):
    at = small(desk, SMALL.replace("Bruise", "Blue?").replace("yes", "some"))
    page = desk.get(at).text
    assert counts(page)[:2] == [2, 2] and "Columns that are never read: Blue?" in page
    desk.post(at, sent(choose(form_of(page, do="look"), "Blue?", "bruising")))
    page = desk.get(at).text
    assert counts(page)[:5] == [2, 1, 0, 0, 1] and "“some”" in page and "“?”" in page
    desk.post(at, sent(say(form_of(page, do="look"), "some", "yes")))
    assert counts(desk.get(at).text)[:5] == [2, 2, 0, 0, 0]
    assert "some" not in (fresh / "clinic.toml").read_text()
    desk.post(at, sent(form_of(desk.get(at).text, do="keep", by="A")))
    assert held(fresh, "Z-1")[0].outcomes == {"bruising": 1}
    assert held(fresh, "Z-2")[0].outcomes == {}  # '?' is not recorded
    assert '"some" = "yes"' in (text := (fresh / "clinic.toml").read_text()).replace("some =", '"some" =')
    assert "# An invented clinic." in text  # what was written by hand stays


def test_keeping_with_a_choice_that_the_counts_do_not_show_keeps_nothing(fresh, desk):
    at = small(desk)
    fields = choose(form_of(desk.get(at).text, do="keep", by="A"), "Bruise", "swelling")
    answer = desk.post(at, sent(fields))
    assert answer.location == f"{at}?again=chosen" and not (fresh / "register.sqlite").exists()
    assert "Nothing was kept" in desk.get(answer.location).text
    desk.post(at, sent(form_of(desk.get(at).text, do="keep", by="A")))
    assert held(fresh, "Z-1")[0].outcomes == {"swelling": 1}


def test_another_window_that_chose_in_the_meantime_is_told_and_nothing_is_changed(fresh, desk):
    at = small(desk)
    old = form_of(desk.get(at).text, do="look")
    desk.post(at, sent(choose(old, "Bruise", "swelling")))
    answer = desk.post(at, sent(choose(old, "Bruise", "soreness")))
    assert answer.status_code == 409 and "was set to &#39;swelling&#39; in another window" in answer.text
    assert ("means", "soreness") in form_of(answer.text)  # what was typed is there
    assert ("means", "swelling") in form_of(desk.get(at).text)  # and was not kept


def test_an_audit_that_changed_since_somebody_looked_is_looked_at_again(fresh, desk):
    at = small(desk)
    fields = form_of(desk.get(at).text, do="keep", by="A")
    place = pipeline.open_workplace(fresh, whole=False)
    day = datetime(2026, 3, 2)
    pipeline.add(
        place, case="Z-1", session=1, day=day.date(), techniques=["blunt-cannula"], site="chin", strata={},
        now=datetime.now(), by="B",
    )  # fmt: skip
    answer = desk.post(at, sent(fields))
    assert answer.location == f"{at}?again=changed" and held(fresh, "Z-2") == ()
    page = desk.get(answer.location).text
    assert "Nothing was kept" in page and counts(page)[:3] == [2, 1, 1]


def test_two_windows_that_keep_the_same_file_at_once_import_it_once(fresh, desk):
    first, second = small(desk), small(desk, name="again.csv")
    assert first == second  # the same file is one thing, whatever it is called
    fields = sent(form_of(desk.get(first).text, do="keep", by="A"))
    cookie = desk.client.get_cookie("consentpack_desk", domain="127.0.0.1").value
    answers: list[int] = []

    def keep() -> None:
        client = desk.client.application.test_client(use_cookies=False)
        headers = {**OURS, "Cookie": f"consentpack_desk={cookie}"}
        answer = client.post(first, data=fields, base_url=f"http://{HOST}", headers=headers)
        answers.append(answer.status_code)

    windows = [threading.Thread(target=keep) for _ in range(4)]
    for window in windows:
        window.start()
    for window in windows:
        window.join()
    assert answers == [303] * 4
    assert len(pipeline.past_imports(pipeline.open_workplace(fresh, whole=False))) == 1


def test_the_file_waits_in_private_and_is_gone_when_it_is_kept_or_a_day_is_over(fresh, desk):
    at = small(desk, name="../../etc/C:\\evil\\<b>Old audit</b>.csv")
    (path,) = (fresh / ".waiting").glob("*/*.csv")
    assert path.name == "b-Old-audit-b.csv" or "/" not in path.name
    for each in (fresh / ".waiting", path.parent, path, path.parent / "state.json"):
        assert stat.S_IMODE(each.stat().st_mode) & 0o077 == 0, each
    page = desk.get("/audit").text
    assert at in page and "<b>" not in page
    desk.post(at, sent(form_of(desk.get(at).text, do="keep", by="A")))
    assert not path.exists() and desk.get(at).status_code == 200
    other = small(desk, SMALL.replace("Z-", "Y-"))
    clear_dropped(fresh, now=datetime.now() + timedelta(hours=23))
    assert desk.get(other).status_code == 200
    clear_dropped(fresh, now=datetime.now() + timedelta(hours=25))
    assert desk.get(other).status_code == 404 and not list((fresh / ".waiting").iterdir())


def test_a_file_can_be_taken_away(fresh, desk):
    at = small(desk)
    assert desk.post(f"{at}/away").location == "/audit"
    assert desk.get(at).status_code == 404 and not list((fresh / ".waiting").iterdir())


def test_no_other_address_opens_a_file(fresh, desk):
    small(desk)
    for id in ("..", "%2e%2e", "..%2f..", "0" * 16, "x" * 16, ".waiting"):
        assert desk.get(f"/audit/sheets/{id}").status_code in (404, 308)


def test_what_stands_in_cells_is_shown_and_never_run(fresh, desk):
    hostile = "<img src=x onerror=alert(1)>"
    text = SMALL.replace("Bruise", hostile + ",Bruise").replace(",yes", ',1,"=cmd|calc"')
    page = desk.get(small(desk, text)).text
    assert hostile not in page and "&lt;img src=x onerror=alert(1)&gt;" in page
    at = small(desk, SMALL.replace("blunt-cannula", "=HYPERLINK(1)<script>"))
    page = desk.get(at).text
    assert "<script>" not in page and "=HYPERLINK(1)&lt;script&gt;" in page
    desk.post(at, sent(form_of(page, do="keep", by="A")))
    assert "'=HYPERLINK" in desk.get(f"{at}/set-aside.csv").text


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("audit.exe", b"MZ", "this is no spreadsheet"),
        ("audit.ods", b"PK", "this is no spreadsheet"),
        ("", b"", "no file was chosen"),
        ("audit.xlsx", b"not a workbook", "cannot be read as a workbook"),
        ("audit.csv", b"", "the file is empty"),
        ("audit.csv", b"\xff\xfe\x00", ""),
        ("\x00/..\\.csv.exe", b"a", "this is no spreadsheet"),
    ],
)
def test_what_is_no_spreadsheet_is_refused_and_does_not_wait(fresh, desk, name, data, said):
    answer = dropped(desk, name, data)
    assert answer.status_code == 422 and said in answer.text
    assert not list((fresh / ".waiting").glob("*/*"))


def test_a_workbook_that_unpacks_to_more_than_any_audit_is_refused(fresh, desk):
    """Over a second: the list of texts is unpacked up to its limit of letters."""
    stream, texts = io.BytesIO(), b"<si><t>" + b"A" * 32_000 + b"</t></si>"
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/"
        package.writestr("xl/workbook.xml", '<workbook><sheets><sheet name="A" id="r1"/></sheets></workbook>')
        package.writestr(
            "xl/_rels/workbook.xml.rels",
            f'<Relationships><Relationship Id="r1" Type="{kind}worksheet" Target="s.xml"/>'
            f'<Relationship Id="r2" Type="{kind}sharedStrings" Target="t.xml"/></Relationships>',
        )
        package.writestr("xl/s.xml", "<worksheet><sheetData/></worksheet>")
        package.writestr("xl/t.xml", b"<sst>" + texts * 2_200 + b"</sst>")
    assert len(stream.getvalue()) < 1_000_000
    answer = dropped(desk, "bomb.xlsx", stream.getvalue())
    assert answer.status_code == 422 and "more text than any audit" in answer.text
    assert not list((fresh / ".waiting").glob("*/*"))


def test_a_file_of_200_mb_is_refused_without_being_read(fresh, desk):
    class Never(io.BytesIO):
        def read(self, *_) -> bytes:
            raise AssertionError("it was read")

        readline = readinto = read

    large = 200 * 1024 * 1024
    assert large > MOST_BYTES
    answer = desk.post(
        "/audit/drop",
        input_stream=Never(),
        environ_overrides={"CONTENT_LENGTH": str(large)},
        content_type="multipart/form-data; boundary=x",
    )
    assert answer.status_code == 413 and "too large" in answer.text
    assert not (fresh / ".waiting").exists()


def test_the_server_itself_answers_a_file_of_200_mb_by_its_size_alone(fresh):
    opened = open_desk(fresh, say=lambda _: None)
    thread = threading.Thread(target=opened.run, daemon=True)
    thread.start()
    host = opened.link.split("/")[2]
    with socket.create_connection(host.split(":"), timeout=20) as connection:  # nothing is sent but the head
        head = f"POST /audit/drop HTTP/1.1\r\nHost: {host}\r\nContent-Length: {200 * 1024 * 1024}\r\n\r\n"
        connection.sendall(head.encode())
        answer = connection.recv(100)
    opened.close()
    thread.join(timeout=10)
    assert answer.startswith(b"HTTP/1.1 413")


def test_a_backup_leaves_out_what_waits(fresh, desk):
    from consentpack.pipeline.walking import place_of, walk

    small(desk)
    found = {each.name: each.why for each in walk(fresh, place_of("", fresh))}
    assert found[".waiting"] and not [name for name in found if name.startswith(".waiting/")]
