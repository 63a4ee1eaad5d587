"""Approving by plan: what changed since the last approval is marked, and what is signed is what was shown."""

from __future__ import annotations

import html
import re
from datetime import date
from pathlib import Path
from urllib.parse import urlencode

import pytest
from click.testing import CliRunner

from consentpack import pipeline
from consentpack.approvals import load_approvals
from consentpack.cli.main import main

PLAN = "HS-P-101"
RUTH = {"by": "Dr Ruth Ambrose", "role": "skin doctor"}
OWN_WORDS = "Most bruises are gone in 2 weeks."
BEFORE, AFTER = "<{0}>Bruises fade</{0}>", "<{0}>Most bruises are gone</{0}>"


def command(clinic: Path, *words: str):
    return CliRunner().invoke(main, [*words, "--clinic", str(clinic)], catch_exceptions=False)


def reading_list(desk, **more: str) -> str:
    page = desk.get(f"/texts/approve?{urlencode({'plan': PLAN, **more})}")
    assert page.status_code == 200
    return page.text


def digests(page: str) -> dict[str, str]:
    return dict(re.findall(r'name="digest:([^"]+)" value="([0-9a-f]{64})"', page))


def sign(desk, page: str, *keys: str, **more: str):
    held = {f"digest:{key}": digest for key, digest in digests(page).items()}
    form = {"plan": PLAN, "language": "en-GB", **held, **RUTH, **more}
    return desk.post("/texts/approve", {**form, "read": list(keys)})


def approve_all(clinic: Path) -> None:
    found = pipeline.open_workplace(clinic)
    pipeline.approve(found, [], by=RUTH["by"], role=RUTH["role"], day=date.today(), until=None)


def change_bruising(clinic: Path) -> None:
    own = clinic / "content/risks/bruising.md"
    command(clinic, "library", "copy", "bruising")
    own.write_text(own.read_text().replace("Bruises fade in 1 to 2 weeks.", OWN_WORDS))


def test_the_list_holds_what_the_papers_of_the_plan_are_made_of_and_no_more(desk, clinic, audited):
    """A pack is judged beside it."""
    place = pipeline.open_workplace(clinic)
    judged = pipeline.judge_plan(place, pipeline.plan_with(place, PLAN))
    page = reading_list(desk)
    assert sorted(digests(page)) == sorted(state.module for state in judged.states.values())
    assert len(digests(page)) < len(list(place.library.modules()))


def test_what_was_ticked_is_approved_as_the_command_would(desk, clinic, audited):
    """Two reading lists are made."""
    done = sign(desk, reading_list(desk), "risks/bruising", "tables/care-settings")
    assert done.status_code == 303 and PLAN in done.location
    made = {each.module: each for each in load_approvals(clinic)}
    assert set(made) == {"risks/bruising", "tables/care-settings"}
    place = pipeline.open_workplace(clinic)
    assert made["risks/bruising"].digest == place.library.risks["bruising"].digest
    assert (made["risks/bruising"].by, made["risks/bruising"].role) == (RUTH["by"], RUTH["role"])
    assert made["risks/bruising"].until == place.library.risks["bruising"].review_by
    assert "2 modules approved" in command(clinic, "library", "status").output
    assert "risks/bruising" not in digests(reading_list(desk))


def test_what_the_command_approved_need_not_be_read_again(desk, clinic, audited):
    """The whole library is approved."""
    assert command(clinic, "library", "approve", "--all", "--by", "A", "--role", "B").exit_code == 0
    page = reading_list(desk)
    assert digests(page) == {} and "All are approved." in page


def test_only_what_changed_has_to_be_read_with_the_change_marked(desk, clinic, audited):
    """The whole library is approved, and read anew."""
    approve_all(clinic)
    change_bruising(clinic)
    page = reading_list(desk)
    assert list(digests(page)) == ["risks/bruising"]
    assert "Changed since they were approved (1)" in page
    assert f"{BEFORE.format('del')}{AFTER.format('ins')} in<del> 1 to</del> 2 weeks." in page
    assert sign(desk, page, "risks/bruising").status_code == 303
    assert "All are approved." in reading_list(desk)


def test_the_text_that_was_approved_is_kept_though_the_program_brings_another(desk, clinic, audited):
    """As after an update: what the clinic had copied and approved is gone but for what was kept of it."""
    change_bruising(clinic)
    command(clinic, "library", "approve", "bruising", "--by", "A", "--role", "B")
    (clinic / "content/risks/bruising.md").unlink()
    page = reading_list(desk)
    assert f"{AFTER.format('del')}{BEFORE.format('ins')} in<ins> 1 to</ins> 2 weeks." in page


def test_a_text_that_was_changed_while_it_was_read_is_not_signed(desk, clinic, audited):
    """A reading list is made twice."""
    page = reading_list(desk)
    change_bruising(clinic)
    refused = sign(desk, page, "risks/bruising", "risks/swelling")
    assert refused.status_code == 400 and "it was changed while it was being read" in refused.text
    assert load_approvals(clinic) == ()
    assert 'value="risks/swelling" checked' in refused.text  # what was ticked is not lost


@pytest.mark.parametrize(
    ("ticked", "more", "says"),
    [
        ((), {}, "nothing was chosen"),
        (("risks/bruising",), {"by": " "}, "Say who has read it"),
        (("risks/bruising",), {"role": ""}, "Say who has read it"),
        (("risks/bruising",), {"until": "soon"}, "is no day"),
        (("risks/no-such",), {}, "it was changed while it was being read"),
        (("../../x",), {"digest:../../x": ""}, "it was changed while it was being read"),
        (("risks/bruising",), {"digest:risks/bruising": "0" * 64}, "it was changed"),
    ],
)
def test_what_cannot_be_signed_is_told_and_nothing_is(desk, clinic, audited, ticked, more, says):
    """A reading list is made twice."""
    refused = sign(desk, reading_list(desk), *ticked, **more)
    assert refused.status_code == 400 and says in html.unescape(refused.text)
    assert load_approvals(clinic) == ()


def test_a_translation_waits_for_a_second_person(desk, clinic, audited):
    """The whole library is approved, and three lists are made."""
    approve_all(clinic)
    page = reading_list(desk, language="pl")
    assert "risks/bruising" in digests(page) and "Masz siniak" not in page
    for name, state in (
        ("Ana Invented", "Waiting for a second person (1)"),
        ("Rui Invented", "with nothing to be done (1)"),
    ):
        page = reading_list(desk, language="pl")
        assert sign(desk, page, "risks/bruising", language="pl", by=name).status_code == 303
        assert state in reading_list(desk, language="pl")


def test_a_plan_that_is_not_there_leads_to_no_file(desk):
    for name in ("HS-P-999", "../../etc/passwd", "<script>alert(1)</script>", "/etc/passwd"):
        page = desk.get("/texts/approve", query_string={"plan": name})
        assert page.status_code == 409 and "<script>" not in page.text
