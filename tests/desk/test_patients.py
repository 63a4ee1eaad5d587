"""The list of plans, and one plan with its steps: what the desk enters, commands read, and the other way."""

from __future__ import annotations

import re
import shutil
from datetime import date

import pytest
from click.testing import CliRunner

from consentpack import pipeline
from consentpack.cli.main import main

BY = "Dr Ruth Ambrose"


@pytest.fixture
def clinic(approved_folder, tmp_path):
    return shutil.copytree(approved_folder, tmp_path / "clinic", copy_function=shutil.copy2)


def command(clinic, *arguments: str) -> str:
    done = CliRunner().invoke(main, [*arguments, "--clinic", str(clinic)])
    assert done.exit_code == 0, done.output
    return done.output


def digest(page: str) -> str:
    return re.search(r'name="digest" value="(\w+)"', page)[1]


def state(desk, reference: str) -> str:
    rows = desk.get("/patients").text.split("<tr ")
    row = next(each for each in rows if f">{reference}</a>" in each)
    return re.search(r'class="state">([^<]+)<', row)[1]


def test_the_list_says_where_each_plan_stands(desk, clinic):
    """Builds a whole pack by the command: over a second."""
    assert [state(desk, f"HS-P-10{n}") for n in (1, 2)] == ["given", "not built"]
    command(clinic, "build", "HS-P-102")
    assert state(desk, "HS-P-102") == "built"
    command(clinic, "mark", "HS-P-101", "signed", "--by", BY)
    assert state(desk, "HS-P-101") == "signed"


def test_a_plan_that_was_changed_since_is_told(desk, clinic):
    plan = clinic / "plans/p-101.toml"
    assert "the plan was changed since" not in desk.get("/patients").text
    plan.write_text(plan.read_text() + "\n# a word more\n")
    assert "the plan was changed since" in desk.get("/patients").text
    assert "give it again" in desk.get("/patients/HS-P-101").text


def test_plans_are_found_by_what_they_say(desk):
    page = desk.get("/patients?search=forehead").text
    assert "HS-P-104" in page and "HS-P-101" not in page
    assert "No plan was found" in desk.get("/patients?search=nothing-like-it").text
    page = desk.get("/patients?state=given").text
    assert "HS-P-101" in page and "HS-P-102" not in page


def test_a_file_that_cannot_be_read_stands_in_the_list(desk, clinic):
    (clinic / "plans/broken.toml").write_bytes(b"\xff\xfe = 1")
    (clinic / "plans/half.toml").write_text("reference = [")
    page = desk.get("/patients").text
    assert page.count("This file cannot be read.") == 2
    assert desk.get("/patients/half").status_code == 200


def test_the_pack_is_made_from_the_page_and_commands_find_it(desk, clinic):
    """Makes a whole pack, in large print too, and checks the folder: over a second."""
    page = desk.get("/patients/HS-P-102").text
    answer = desk.post("/patients/HS-P-102/build", {"digest": digest(page), "large_print": "on"})
    assert (answer.status_code, answer.location) == (303, "/patients/HS-P-102?done=built")
    assert (clinic / "packs/HS-P-102/form-large-print.docx").is_file()
    shown = desk.get("/patients/HS-P-102/pack/form.html")
    assert shown.data == (clinic / "packs/HS-P-102/form.html").read_bytes()
    command(clinic, "check")


def test_a_pack_is_given_and_answered_and_commands_tell_the_same(desk, clinic):
    """Builds one whole pack twice: over a second."""
    page = desk.get("/patients/HS-P-102").text
    answer = desk.post("/patients/HS-P-102/give", {"digest": digest(page), "by": BY, "to": "mail"})
    assert answer.status_code == 303
    assert "version 1" in command(clinic, "story", "HS-P-102")
    for what in ("more-time", "signed", "confirmed", "treated"):
        done = desk.post("/patients/HS-P-102/mark", {"what": what, "by": BY, "version": "1"})
        assert done.status_code == 303, done.text
    assert state(desk, "HS-P-102") == "treated"
    told = command(clinic, "story", "HS-P-102")
    assert all(f"{what} on {date.today()} by {BY}" in told for what in ("signed", "confirmed", "treated"))
    command(clinic, "verify")


def test_what_commands_refuse_the_page_refuses_too(desk):
    """The very words of the command stand on the page, and nothing is entered."""
    tomorrow = {"what": "signed", "by": BY, "day": "2999-01-01"}
    answer = desk.post("/patients/HS-P-101/mark", tomorrow)
    assert answer.status_code == 409 and "a day to come" in answer.text
    assert 'value="2999-01-01"' in answer.text  # what was typed is there
    assert desk.post("/patients/HS-P-101/mark", {"what": "signed", "by": BY}).status_code == 303
    again = desk.post("/patients/HS-P-101/mark", {"what": "signed", "by": BY})
    assert again.status_code == 409 and "was entered for version 1" in again.text
    for wrong in (
        {"what": "given", "by": BY},
        {"what": "signed", "by": " "},
        {"what": "signed", "by": BY, "day": "x"},
    ):
        assert desk.post("/patients/HS-P-101/mark", wrong).status_code == 409
    assert state(desk, "HS-P-101") == "signed"


def test_nothing_is_given_of_a_plan_that_was_changed_meanwhile(desk, clinic):
    page = desk.get("/patients/HS-P-102").text
    plan = clinic / "plans/p-102.toml"
    plan.write_text(plan.read_text().replace("sessions = 3", "sessions = 1"))
    for step in ("build", "give"):
        answer = desk.post(f"/patients/HS-P-102/{step}", {"digest": digest(page), "by": BY, "to": "paper"})
        assert answer.status_code == 409 and "was changed while this page was open" in answer.text
    assert state(desk, "HS-P-102") == "not built"


def test_a_scan_is_entered_by_its_digest_and_not_kept(desk, clinic):
    import hashlib
    import io

    data = {"what": "signed", "by": BY, "scan": (io.BytesIO(b"a scan"), "scan.pdf")}
    assert desk.post("/patients/HS-P-101/mark", data).status_code == 303
    (found,) = pipeline.issued(clinic)
    assert found.later[-1].more["scan"] == hashlib.sha256(b"a scan").hexdigest()
    assert not list(clinic.rglob("scan*"))


def test_what_was_done_differently_stands_in_the_plan_and_its_aftercare(desk, clinic):
    for what in ("signed", "treated"):
        desk.post("/patients/HS-P-101/mark", {"what": what, "by": BY})
    done = {"what": "differently", "by": BY, "techniques": ["blunt-cannula", "topical-anaesthetic"]}
    assert desk.post("/patients/HS-P-101/mark", done).status_code == 303
    plan = pipeline.open_workplace(clinic)
    written = (clinic / "plans/p-101.toml").read_text()
    assert written.startswith("# Invented patient: the plain case.")
    judged = pipeline.judge_plan(plan, clinic / "plans/p-101.toml")
    assert judged.plan.done.techniques == ("blunt-cannula", "topical-anaesthetic")
    assert "differently (blunt-cannula, topical-anaesthetic)" in command(clinic, "story", "HS-P-101")


@pytest.mark.parametrize(
    "name",
    ["../clinic.toml", "..%2f..%2fclinic.toml", "clinic.toml", "p-101.toml", "plans%2fp-101",
     "%2fetc%2fpasswd", "..", ".", "%00", "<script>alert(1)</script>"],
)  # fmt: skip
def test_an_address_names_a_plan_of_the_list_and_no_file(desk, name):
    for rest in ("", "/plan", "/pack/form.html", "/given/1/form.html"):
        answer = desk.get(f"/patients/{name}{rest}")
        assert answer.status_code in (302, 308, 404, 409)
        assert "<script>alert" not in answer.text and "root:" not in answer.text


@pytest.mark.parametrize("name", ["inputs.json", "receipt.json", "manifest.json", "..%2fmanifest.json", "x"])
def test_only_the_papers_of_a_pack_are_handed_out(desk, name):
    assert desk.get(f"/patients/HS-P-101/given/1/{name}").status_code in (404, 409)


def test_a_paper_runs_its_own_style_and_script_and_nothing_else(desk):
    import base64
    import hashlib

    answer = desk.get("/patients/HS-P-101/given/1/diary.html")
    policy = answer.headers["Content-Security-Policy"]
    script = re.search(r"<script>(.*?)</script>", answer.text, re.DOTALL)[1]
    own = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src 'sha256-{own}';" in policy and "'unsafe-inline'" not in policy
    assert "sandbox allow-scripts" in policy and "allow-same-origin" not in policy
    assert "unsafe" not in desk.get("/patients/HS-P-101").headers["Content-Security-Policy"]


def test_hostile_words_in_a_plan_are_words(desk, clinic):
    attack = '"><script>alert(1)</script><img src=x onerror=alert(2)>'
    plan = clinic / "plans/p-102.toml"
    text = plan.read_text()
    for key in ("site", "clinician", "condition"):
        text = re.sub(rf"^{key} = .*$", f"{key} = '''{attack}'''", text, flags=re.MULTILINE)
    plan.write_text(text.replace("HS-P-102", f"HS{attack.replace(chr(34), '')}"))
    for address in ("/patients", "/patients/p-102"):
        page = desk.get(address).text
        assert "<script>" not in page and "<img" not in page and "&lt;script&gt;" in page
