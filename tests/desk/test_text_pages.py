"""The library at the desk: read, changed, begun; what the desk writes the command line reads, and back."""

from __future__ import annotations

import html
import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from click.testing import CliRunner

from consentpack import pipeline
from consentpack.cli.main import main

HOSTILE = "<script>alert(1)</script>"
OWN_WORDS = "Most bruises are gone in 2 weeks."


def command(clinic: Path, *words: str):
    return CliRunner().invoke(main, [*words, "--clinic", str(clinic)], catch_exceptions=False)


def typed_in(page) -> str:
    """What stands in the field of the text."""
    return html.unescape(re.search(r"<textarea[^>]*>\n(.*?)</textarea>", page.text, re.S)[1])


def opened_as(page) -> str:
    return html.unescape(re.search(r'name="opened" value="(.*?)">', page.text, re.S)[1])


def change(desk, key: str, old: str, new: str, *, do: str = "save", page=None):
    """Open a text (or take the page that is open), change it, and press a button."""
    page = page or desk.get(f"/texts/{key}/edit")
    before = opened_as(page)
    assert old in before
    # a browser ends its lines like this
    text, was = (words.replace("\n", "\r\n") for words in (typed_in(page).replace(old, new), before))
    return desk.post(f"/texts/{key}/edit", {"text": text, "opened": was, "do": do})


def test_the_shelf_holds_every_text_that_the_command_lists(desk, clinic):
    listed = re.findall(r"^  (\S+): (.+)$", command(clinic, "library", "list").output, re.M)
    page = html.unescape(desk.get("/texts").text)
    assert len(listed) > 100
    assert [title for id, title in listed if f'/{id}">{title}</a>' not in page] == []


def test_texts_are_looked_for_by_their_words(desk):
    page = desk.get("/texts?q=bruis")
    assert "/texts/risks/bruising" in page.text and "/texts/risks/infection" not in page.text
    assert "No text has these words" in desk.get("/texts", query_string={"q": HOSTILE}).text
    assert HOSTILE not in desk.get("/texts", query_string={"q": HOSTILE}).text


def test_a_text_is_shown_as_patients_read_it_with_all_that_is_known_of_it(desk):
    page = desk.get("/texts/risks/bruising").text
    for words in (
        "You may see a blue or purple patch.", "What you may notice", "Only when: region:face",
        "barikbin2017", "HS-P-101", "/texts/techniques/blunt-cannula", "never approved", "polski (Polish)",
        "7 of 7", "Flesch-Kincaid", "<svg",
    ):  # fmt: skip
        assert words in page
    assert "[only" not in page


def test_placeholders_are_the_clinics_own_numbers(desk, clinic):
    """The library is read anew after each change."""
    change(desk, "risks/bruising", "It fades on its own.", "Ring {{ clinic.phone }} if it does not fade.")
    page = desk.get("/texts/risks/bruising")
    assert "Ring 020 7946 0101 if it does not fade." in page.text


def test_a_translation_is_shown_in_its_own_direction(desk):
    page = desk.get("/texts/risks/bruising?language=ar")
    assert 'lang="ar" dir="rtl"' in page.text and "الكدمات" in page.text


@pytest.mark.parametrize(
    "address", ["risks/no-such-text", "nowhere/bruising", "risks/..%2f..%2fclinic", "tables/x"]
)
def test_an_address_of_no_text_leads_to_no_file(desk, address):
    for end in ("", "/edit"):
        page = desk.get(f"/texts/{address}{end}")
        assert page.status_code in (404, 409) and "Hazel Street" not in page.text


def test_what_the_desk_writes_the_command_reads(desk, clinic):
    """The library is read anew after each change."""
    done = change(desk, "risks/bruising", "Bruises fade in 1 to 2 weeks.", OWN_WORDS)
    assert (done.status_code, done.location) == (303, "/texts/risks/bruising")
    assert OWN_WORDS in desk.get(done.location).text
    assert OWN_WORDS in command(clinic, "library", "show", "bruising").output
    own = (clinic / "content/risks/bruising.md").read_bytes()
    assert b"\r" not in own and own.startswith(b'+++\nid = "bruising"\n')


def test_what_the_command_writes_the_desk_reads(desk, clinic):
    """The library is read anew after each change."""
    assert "The clinic&#39;s own file" not in desk.get("/texts/risks/bruising").text
    command(clinic, "library", "copy", "bruising")
    file = clinic / "content/risks/bruising.md"
    file.write_text(file.read_text().replace("Bruises fade in 1 to 2 weeks.", OWN_WORDS))
    assert OWN_WORDS in desk.get("/texts/risks/bruising").text
    assert OWN_WORDS in typed_in(desk.get("/texts/risks/bruising/edit"))


def test_a_text_that_nobody_changed_is_written_back_to_the_letter(desk, clinic):
    """The library is read anew after each change."""
    from consentpack import shipped

    page = desk.get("/texts/risks/bruising/edit")
    ours = (shipped.content() / "risks/bruising.md").read_text(encoding="utf-8")
    assert typed_in(page) == opened_as(page) == ours
    change(desk, "risks/bruising", "Bruises", "Bruises")
    assert (clinic / "content/risks/bruising.md").read_text(encoding="utf-8") == ours


def test_a_mistake_is_told_at_the_top_and_what_was_typed_is_there(desk, clinic):
    """The library is read anew after each change."""
    done = change(desk, "risks/bruising", "It fades on its own.", "Ring {{ clinic.phnoe }} about it.")
    assert done.status_code == 400 and not (clinic / "content").exists()
    assert done.text.index("Did you mean &#39;clinic.phone&#39;") < done.text.index("<textarea")
    assert "Ring {{ clinic.phnoe }} about it." in typed_in(done)
    mended = change(desk, "risks/bruising", "", "", page=done)
    assert mended.status_code == 400  # the same mistake once more
    assert "techniques/blunt-cannula" in done.text or "other texts would be set aside" in done.text


def test_a_text_with_a_mistake_can_be_kept_and_is_set_aside_as_by_hand(desk, clinic):
    """The library is read anew after each change."""
    done = change(desk, "risks/lasting-lumps", "+++\n\n## ", "+++\n\n## Nonsense\n\nx\n\n## ", do="anyway")
    assert done.status_code == 303
    assert "has a mistake (`consentpack library check`)" in command(clinic, "library", "list").stderr
    shelf = desk.get("/texts").text
    assert "Set aside, as they have mistakes" in shelf and "/texts/risks/lasting-lumps/edit" in shelf
    page = desk.get("/texts/risks/lasting-lumps", follow_redirects=True)
    assert "Nonsense" in typed_in(page) and "What needs to be put right" in page.text
    assert change(desk, "risks/lasting-lumps", "## Nonsense\n\nx\n\n", "").status_code == 303
    assert "Set aside" not in desk.get("/texts").text


def test_a_mistake_that_would_stop_every_pack_is_never_written(desk, clinic):
    """The library is read anew after each change."""
    for do in ("save", "anyway"):
        done = change(desk, "documents/form", "+++\n", "+++\nnonsense = 1\n", do=do)
        assert done.status_code == 400 and not (clinic / "content").exists()
    assert "Save with its mistakes" not in done.text
    assert desk.get("/texts").status_code == 200


def test_two_who_write_one_text_do_not_write_over_each_other(desk, clinic):
    """The library is read anew after each change."""
    mine = desk.get("/texts/risks/bruising/edit")
    theirs = "Bruises fade in about 9 days."
    assert change(desk, "risks/bruising", "Bruises fade in 1 to 2 weeks.", theirs).status_code == 303
    refused = change(desk, "risks/bruising", "It fades on its own.", "It goes away by itself.", page=mine)
    assert refused.status_code == 409
    assert "Somebody else changed this text" in refused.text
    assert "fade in <del>1 to 2 weeks.</del><ins>about 9 days.</ins> They" in refused.text
    assert theirs in (clinic / "content/risks/bruising.md").read_text()
    assert "It goes away by itself." in typed_in(refused)  # mine is not lost
    again = desk.post(
        "/texts/risks/bruising/edit",
        {"text": typed_in(refused), "opened": opened_as(refused), "do": "save"},
    )
    assert again.status_code == 303
    assert "It goes away by itself." in (clinic / "content/risks/bruising.md").read_text()


def test_of_two_who_save_at_the_same_moment_one_is_told(clinic):
    """The library is read for both."""
    place = pipeline.open_workplace(clinic)
    opened = pipeline.text_to_edit(place, "risks", "bruising").text

    def save(words: str) -> pipeline.Written:
        text = opened.replace("It fades", words)
        return pipeline.save_text(place, "risks", "bruising", text, opened=opened)

    with ThreadPoolExecutor(2) as both:
        done = dict(zip(("It goes", "It pales"), both.map(save, ("It goes", "It pales")), strict=True))
    (kept,) = (words for words, each in done.items() if each.meanwhile is None)
    now = (clinic / "content/risks/bruising.md").read_text()
    assert kept in now and [each.meanwhile for each in done.values() if each.meanwhile] == [now]


def test_a_text_that_was_changed_by_hand_meanwhile_is_not_written_over(desk, clinic):
    """The library is read anew after each change."""
    mine = desk.get("/texts/risks/bruising/edit")
    command(clinic, "library", "copy", "bruising")
    file = clinic / "content/risks/bruising.md"
    file.write_text(file.read_text().replace("Bruises fade", "All bruises fade"))
    assert change(desk, "risks/bruising", "It fades", "It goes", page=mine).status_code == 409
    assert "All bruises fade" in file.read_text() and "It goes" not in file.read_text()


def test_the_editor_says_the_grade_before_and_after_and_puts_a_suggestion_in(desk, clinic):
    """The library is read anew after each change."""
    hard = "Ecchymosis generally resolves within approximately 2 weeks."
    looked = change(desk, "risks/bruising", "Bruises fade in 1 to 2 weeks.", hard, do="look")
    assert looked.status_code == 200 and not (clinic / "content").exists()
    assert "Say “mostly”" in looked.text and "is not saved yet" in looked.text
    before, after = re.search(r"Grade ([\d.]+) before, <strong>([\d.]+)", looked.text).groups()
    assert float(after) > float(before)
    take = html.unescape(re.search(r'name="take" value="(plain-word.*?)" class', looked.text, re.S)[1])
    put_in = desk.post(
        "/texts/risks/bruising/edit",
        {"text": typed_in(looked), "opened": opened_as(looked), "take": take},
    )
    assert "mostly" in typed_in(put_in) and hard not in typed_in(put_in)
    assert not (clinic / "content").exists()


def test_a_new_text_begins_from_the_template_and_is_not_finished(desk, clinic):
    """The library is read anew after each change."""
    done = desk.post("/texts/new", {"kind": "aftercare", "name": "glasses"})
    assert (done.status_code, done.location) == (303, "/texts/aftercare/glasses/edit")
    page = desk.get(done.location)
    assert "TO FILL IN" in typed_in(page) and "it is not finished" in page.text
    assert "it is not finished" in command(clinic, "library", "check").output
    by_command = command(clinic, "library", "new", "aftercare", "glasses")
    assert by_command.exit_code != 0  # it is there


@pytest.mark.parametrize(
    ("kind", "name", "says"),
    [
        ("risk", "bruising", "there is a risk of this name already"),
        ("risk", "../../x", "a module cannot be called this"),
        ("risk", HOSTILE, "a module cannot be called this"),
        ("nonsense", "glasses", "none was chosen"),
        ("", "", "none was chosen"),
    ],
)
def test_a_name_that_cannot_be_one_is_told_and_kept(desk, clinic, kind, name, says):
    done = desk.post("/texts/new", {"kind": kind, "name": name})
    assert done.status_code == 400 and says in done.text
    assert f'value="{html.escape(name)}"' in done.text and HOSTILE not in done.text
    assert not (clinic / "content").exists()


def test_signs_of_html_in_a_text_are_shown_as_signs(desk, clinic):
    """The library is read anew after each change."""
    refused = change(desk, "risks/bruising", 'title = "Bruising"', f'title = "A {HOSTILE} & more"')
    if refused.status_code == 303:
        for address in ("/texts", "/texts/risks/bruising", "/texts/risks/bruising/edit", "/texts?q=script"):
            page = desk.get(address).text
            assert HOSTILE not in page and "&lt;script&gt;" in page
    else:
        assert HOSTILE not in refused.text


def test_a_module_with_html_that_somebody_put_there_by_hand_is_shown_escaped(desk, clinic):
    """The library is read anew after each change."""
    command(clinic, "library", "copy", "bruising")
    file = clinic / "content/risks/bruising.md"
    file.write_text(file.read_text() + f"\n\n{HOSTILE}\n\n</textarea><img src=x onerror=alert(1)>\n")
    for address in ("/", "/texts", "/texts/risks/bruising/edit"):
        page = desk.get(address).text
        assert HOSTILE not in page and "<img" not in page


def test_the_tables_that_are_approved_like_a_text_can_be_read(desk):
    assert "makeup_wait: 24 hours" in desk.get("/texts/tables/care-settings").text
    assert len(desk.get("/texts/tables/published-rates").text) > 2000
