"""Any form can be scored at the desk: its grade by part, its hard sentences. Nothing is kept of the file."""

from __future__ import annotations

import http.client
import io
import re
import tempfile
import zipfile
from threading import Thread

import pytest
from desk.asking import OURS

from consentpack import pipeline
from consentpack.desk.serving import open_desk

HOSTILE = "<script>alert(1)</script>"
HARD = "Ecchymosis and oedema are generally transient, and the utilisation of cosmetics should be avoided."
EASY = "You may have a bruise. It will go away. Ring us if it hurts. We will help you. " * 4


def hand_in(desk, name: str, content: bytes, language: str = "en-GB", **more):
    data = {"file": (io.BytesIO(content), name), "language": language}
    return desk.post("/score", data, content_type="multipart/form-data", **more)


def scored(desk, name: str, text: str, **more) -> str:
    done = hand_in(desk, name, text.encode(), **more)
    assert done.status_code == 303
    return desk.get(done.location).text


def test_the_old_form_of_the_demo_is_scored_as_the_command_scores_it(desk, clinic):
    """A Word file is read, scored and looked over."""
    done = hand_in(desk, "old-form.docx", (clinic / "old-form.docx").read_bytes())
    page = desk.get(done.location).text
    place = pipeline.open_workplace(clinic)
    by_command = pipeline.score_file(clinic / "old-form.docx", place.library, place.clinic.reading)
    assert f"<strong>{by_command.score.grade:.1f}</strong>: over the target of 6" in page
    assert f"{by_command.length.words:,} words: {by_command.length.minutes[0]:.1f} minutes" in page
    for part in by_command.score.sections:
        assert f">{part.heading}</th>" in page
    assert page.count("<svg") == 1 + sum(part.grade is not None for part in by_command.score.sections)
    assert page.count("<mark>") > 5 and "neocollagenesis (7)" in page
    assert "Can everybody use the Word file?" in page and "Instead: " in page
    assert len(by_command.remarks) == len(re.findall(r"<li>“", page))


def test_a_hard_sentence_is_marked_and_an_easy_one_is_not(desk):
    page = scored(desk, "leaflet.txt", f"{EASY}\n\n{HARD}\n")
    assert f"<mark>{HARD}</mark>" in page and "<mark>You may" not in page
    assert "Can everybody use the Word file?" not in page


def test_the_result_can_be_saved_as_a_page_that_needs_nothing_else(desk):
    done = hand_in(desk, f"leaf {HOSTILE}.txt", f"{EASY}\n\n{HARD}\n".encode())
    saved = desk.get(f"{done.location}/page")
    assert saved.headers["Content-Disposition"].startswith("attachment; filename")
    assert saved.text.startswith("<!doctype html>") and "generally" in saved.text
    assert "http" not in saved.text.replace("http-equiv", "") and HOSTILE not in saved.text


def test_nothing_of_the_file_is_left(desk, clinic, monkeypatch, tmp_path):
    room = tmp_path / "temporary"
    room.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(room))
    before = sorted(clinic.rglob("*"))
    scored(desk, "leaflet.md", f"# Secret title\n\n{EASY}")
    assert list(room.iterdir()) == [] and sorted(clinic.rglob("*")) == before


def test_only_the_last_results_are_held(desk):
    """Eleven texts are scored."""
    places = [hand_in(desk, "a.txt", EASY.encode()).location for _ in range(11)]
    assert [desk.get(place).status_code for place in places] == [404] + [200] * 10


@pytest.mark.parametrize("name", [f"{HOSTILE}.txt", f"x' onload='{HOSTILE}.md", "..\\..\\clinic.toml.txt"])
def test_hostile_names_and_words_are_shown_as_words(desk, name):
    page = scored(
        desk, name, f"# {HOSTILE}\n\n{EASY} {HOSTILE} & <b>more</b>.\n\n<img src=x onerror=alert(1)>\n"
    )
    assert "<script>" not in page and "<img" not in page and "x' onload" not in page
    assert "/tmp" not in page and "clinic.toml</h1>" not in page


def bomb() -> bytes:
    """A Word file that unpacks to 300 million zeros."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("word/document.xml", b"0" * 300_000_000)
    return made.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("form.pdf.exe", b"MZ", "cannot be read"),
        ("form", b"words", "its name has no ending"),
        ("form.docx", b"no word file", "form.docx"),
        ("form.txt", b"\xff\xfe\x00\x00\xd8\x00", "form.txt"),
        ("../../etc/form.docx", b"", "form.docx"),
        ("", b"", "none was chosen"),
    ],
)
def test_what_cannot_be_scored_is_told_at_the_top(desk, name, content, says):
    done = hand_in(desk, name, content)
    assert done.status_code == 400 and says in done.text and 'role="alert"' in done.text
    assert "etc" not in done.text and "/tmp" not in done.text


def test_a_file_that_would_fill_the_memory_is_refused(desk):
    """Making it takes a second."""
    done = hand_in(desk, "form.docx", bomb())
    assert done.status_code == 400 and "million bytes" in done.text


def test_an_upload_over_the_limit_is_refused_before_it_is_read(desk):
    desk.client.application.config["MAX_CONTENT_LENGTH"] = 1000
    done = hand_in(desk, "form.txt", b"x" * 2000)
    assert done.status_code == 413 and "The file is too large" in done.text


def test_a_language_without_a_measure_is_not_judged_and_one_that_is_none_is_told(desk):
    assert "There is no validated measure for “cy”" in scored(desk, "a.txt", EASY, language="cy")
    assert "INFLESZ" in scored(
        desk, "hoja.txt", "Le dormimos la piel. Si sangra, paramos. " * 12, language="es"
    )
    for wrong in (HOSTILE, "not a language", "../.."):
        done = hand_in(desk, "a.txt", EASY.encode(), wrong)
        assert "<script>" not in done.text and done.status_code in (303, 400)


def test_a_result_of_somebody_else_cannot_be_guessed(desk):
    assert desk.get("/score/x").status_code == 404
    assert desk.get("/score/..%2f..%2fclinic.toml").status_code == 404


def test_the_field_names_what_can_be_read(desk):
    page = desk.get("/score").text
    assert all(kind in page for kind in pipeline.readable()) and ".docx" in page


def test_a_huge_upload_is_refused_by_the_server_before_it_has_come(clinic):
    """200 million bytes are announced; none is sent."""
    desk = open_desk(clinic, say=lambda _: None)
    Thread(target=desk.run, daemon=True).start()
    host, _, word = desk.link.removeprefix("http://").partition("/enter/")
    ours = http.client.HTTPConnection(host, timeout=60)
    try:
        ours.request("GET", f"/enter/{word}")
        entered = ours.getresponse()
        entered.read()
        cookie = str(entered.headers["Set-Cookie"]).partition(";")[0]
        kind = "multipart/form-data; boundary=x"
        heads = {"Cookie": cookie, **OURS, "Content-Type": kind, "Content-Length": "200000000"}
        ours.request("POST", "/score", headers=heads)
        assert ours.getresponse().status == 413
    finally:
        ours.close()
        desk.close()
