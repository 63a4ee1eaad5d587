"""What was given is kept, found again and held against what is true now: the whole story, as it happens."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import given as g
import pytest
from given import BY, MORNING, approved, change_plan, give, mark, more_bruises

from consentpack import pipeline
from consentpack.assemble import make_context
from consentpack.assemble.told_before import MOST, told_now
from consentpack.errors import ConsentpackError, KeptError, LedgerError
from consentpack.export.text import export_text
from consentpack.ledger import AFTER_GIVEN, KINDS
from consentpack.model import Counts, Interval, Seen, ToldBefore
from consentpack.pipeline import staleness
from consentpack.pipeline.deciding import decide
from consentpack.pipeline.drafting import inputs_of
from consentpack.pipeline.giving import HOW
from consentpack.pipeline.ledgers import given_folder
from consentpack.pipeline.rebuilding import Rebuilt
from consentpack.tree import text_of

REFERENCE = "HS-P-101"
LATER = MORNING + timedelta(days=4)


@pytest.fixture(scope="session")
def _approved(tmp_path_factory, demo_clinic) -> Path:
    folder = tmp_path_factory.mktemp("given") / "clinic"
    shutil.copytree(demo_clinic, folder)
    return approved(folder)


@pytest.fixture(scope="session")
def _with_one(tmp_path_factory, _approved) -> Path:
    """A clinic that has given one pack."""
    folder = tmp_path_factory.mktemp("one") / "clinic"
    shutil.copytree(_approved, folder)
    give(folder)
    return folder


@pytest.fixture
def clinic(tmp_path, _approved) -> Path:
    """A clinic that has given nothing yet."""
    return Path(shutil.copytree(_approved, tmp_path / "clinic"))


@pytest.fixture
def one(tmp_path, _with_one) -> Path:
    return Path(shutil.copytree(_with_one, tmp_path / "clinic"))


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


# --- giving ---------------------------------------------------------------------------------------


def test_a_draft_is_not_given(demo_clinic, tmp_path):
    """Nothing of the demo was approved."""
    folder = Path(shutil.copytree(demo_clinic, tmp_path / "clinic"))
    with pytest.raises(LedgerError, match="no draft is given"):
        give(folder)
    assert not (folder / "given").exists()


def test_a_given_pack_has_its_version_its_code_and_an_entry_and_cannot_be_changed(one):
    """The very pack that is kept, looked at file by file."""
    folder = given_folder(one, REFERENCE, 1)
    (standing,) = pipeline.issued(one)
    entry = standing.given
    assert (entry.reference, entry.version, entry.by, entry.day) == (REFERENCE, 1, BY, "2026-11-20")
    page = (folder / "form.html").read_text(encoding="utf-8")
    assert "Version 1" in page and f"{entry.code}-" in page
    manifest = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["given"] == {"version": 1, "day": "2026-11-20", "code": entry.code}
    assert all(path.stat().st_mode & 0o777 == 0o400 for path in folder.iterdir())
    assert folder.stat().st_mode & 0o777 == 0o500
    assert pipeline.verify_all(one).holds


def test_no_patient_and_no_treatment_is_in_the_ledger(one):
    """What the plan says of the person stays in the plan and in the papers."""
    (standing,) = pipeline.issued(one)
    kept = standing.given.content.decode()
    for words in ("acne", "cheek", "HS-0001", "Tight bands", "p-101"):
        assert words not in kept


def test_the_same_is_not_given_twice(one):
    with pytest.raises(LedgerError, match="says the very same"):
        give(one, now=LATER)
    assert len(pipeline.issued(one)) == 1


def test_another_plan_under_the_same_reference_is_refused(one):
    """Two plans under one reference may be two patients."""
    text = (one / "plans/p-102.toml").read_text(encoding="utf-8").replace("HS-P-102", REFERENCE)
    (one / "plans/p-999.toml").write_text(text, encoding="utf-8")
    with pytest.raises(LedgerError, match="has the same reference"):
        give(one, "p-999", now=LATER)
    assert len(pipeline.issued(one)) == 1 and pipeline.verify_all(one).holds


def test_a_clinic_that_keeps_no_audit_gives_too(clinic):
    change = (clinic / "clinic.toml").read_text(encoding="utf-8")
    (clinic / "clinic.toml").write_text(
        change.replace('register = "register.sqlite"', 'register = "none"'), encoding="utf-8"
    )
    given = give(clinic)
    assert (clinic / "ledger.sqlite").is_file()
    found = pipeline.verify(clinic, given.entry.code)
    assert found.holds and found.rebuilt.holds


@pytest.mark.slow("whole packs in another language, given and made again")
def test_a_pack_in_another_language_is_given_and_made_again(clinic):
    for by in (BY, "A. Reviser"):
        pipeline.approve(
            pipeline.open_workplace(clinic), [], by=by, role="x", day=g.DAY, until=None, language="fr"
        )
    given = give(clinic, language="fr", both_languages=True, large_print=True)
    assert given.entry.more["language"] == "fr" and "form-side-by-side.docx" in given.pack.files
    found = pipeline.verify(clinic, str(given.folder))
    assert found.holds, found


def test_names_of_the_command_line_are_those_of_the_ledger():
    from consentpack.cli import give as command

    assert command.KINDS == AFTER_GIVEN and command.HOW == HOW and set(AFTER_GIVEN) < set(KINDS)


# --- what came of it ------------------------------------------------------------------------------


def test_what_came_of_a_pack_is_an_entry_of_its_own(one, tmp_path):
    scan = tmp_path / "scan.pdf"
    scan.write_bytes(b"%PDF- signed")
    mark(one, REFERENCE, "more-time", now=LATER)
    mark(one, REFERENCE, "signed", now=LATER, scan=scan)
    (standing,) = pipeline.issued(one)
    assert standing.state == "signed" and [each.kind for each in standing.later] == ["more-time", "signed"]
    found = pipeline.verify(one, str(scan))
    assert found.same and "scan of 'signed'" in found.document
    mark(one, REFERENCE, "treated", now=LATER + timedelta(days=15))
    assert pipeline.issued(one)[0].state == "treated"
    mark(one, REFERENCE, "withdrawn", now=LATER + timedelta(days=16))
    assert pipeline.issued(one)[0].state == "withdrawn"


@pytest.mark.parametrize(
    ("reference", "kind", "more", "said"),
    [
        ("HS-P-102", "signed", {}, "nothing was given under this reference"),
        (REFERENCE, "sined", {}, "nothing of this name"),
        (REFERENCE, "signed", {"version": 2}, "there is no version 2. Given: 1"),
        (REFERENCE, "signed", {"day": date(2026, 11, 19)}, "nothing came of it on 2026-11-19"),
        (REFERENCE, "signed", {"day": date(2026, 12, 19)}, "a day to come"),
        (REFERENCE, "differently", {}, "names the techniques"),
        (REFERENCE, "signed", {"scan": Path("none.pdf")}, "none.pdf"),
    ],
)
def test_a_slip_is_not_entered(one, reference, kind, more, said):
    with pytest.raises(LedgerError, match=said):
        mark(one, reference, kind, now=LATER, **more)
    assert pipeline.issued(one)[0].later == ()


def test_nothing_is_signed_twice(one):
    mark(one, REFERENCE, "signed", now=LATER)
    with pytest.raises(LedgerError, match="was entered for version 1"):
        mark(one, REFERENCE, "signed", now=LATER)


# --- the story that rewrote history ---------------------------------------------------------------


def test_figures_move_and_what_was_given_stays_as_it_was(one):
    """More bruises in the audit and something added to the plan made the old form say another number, still
    as version 1 of the old day. Now: the old one stays in every byte, is named, and is explained."""
    folder = given_folder(one, REFERENCE, 1)
    before = bytes_of(folder)
    mark(one, REFERENCE, "signed", now=LATER)
    more_bruises(one, now=LATER)
    place = pipeline.open_workplace(one)
    pipeline.build(place, one / "plans/p-101.toml", allow_draft=True, today=LATER.date())
    assert bytes_of(folder) == before

    (old,) = pipeline.stale(pipeline.open_workplace(one), today=LATER.date())
    moved = {each.outcome: each for each in old.figures}
    assert old.standing.given.reference == REFERENCE and moved["bruising"].why == "it is worse now"
    assert moved["bruising"].then.startswith("35 in 100")
    assert moved["bruising"].now != moved["bruising"].then

    found = pipeline.verify(one, str(folder / "form.docx"))
    assert found.holds and found.rebuilt.holds and not found.rebuilt.other

    change_plan(one, "p-101", r"sessions = 2", "sessions = 3")
    again = give(one, now=LATER)
    assert again.entry.version == 2 and bytes_of(folder) == before
    assert "changed.docx" in again.pack.files and "changed.docx" not in before
    sheet = export_text(next(each for each in again.pack.documents if each.kind == "changed"))
    assert f"Bruising | {moved['bruising'].then} | " in sheet and "20 November 2026" in sheet
    first, second = pipeline.issued(one)
    assert (first.state, second.state) == ("superseded", "given")
    assert pipeline.verify_all(one, again=True).holds


def test_any_figure_is_counted_again_as_of_an_entry(one, run):
    """Before the audit changed, and after it, by the numbers that the list shows."""
    more_bruises(one, now=LATER)
    mark(one, REFERENCE, "signed", now=LATER)
    assert "entry 1" in run(one, "issued").output
    shares = {}
    for entry in ("1", "2"):
        answers = json.loads(run(one, "audit", "rates", REFERENCE, "--entry", entry, "--json").output)
        shares[entry] = next(a["quoted"]["events"] for a in answers if a["outcome"] == "bruising")
    assert shares["1"] == 19 < shares["2"]
    assert "there is no entry 9" in run(one, "audit", "rates", REFERENCE, "--entry", "9").output


def test_working_packs_carry_no_version_and_no_code(one):
    pack = pipeline.make_pack(pipeline.open_workplace(one), one / "plans/p-101.toml", today=LATER.date())
    page = pack.files["form.html"].decode()
    (standing,) = pipeline.issued(one)
    assert "Version 1" not in page and standing.given.code not in page


# --- what is found --------------------------------------------------------------------------------


def changed(path: Path, content: bytes) -> None:
    path.chmod(0o600)
    path.write_bytes(content)


def test_a_paper_that_was_changed_is_told_by_its_part(one, tmp_path):
    """A filled-in or forged page: which words, under which heading."""
    page = (given_folder(one, REFERENCE, 1) / "form.html").read_text(encoding="utf-8")
    copy = tmp_path / "form.html"
    copy.write_text(page.replace("in 100", "in 1000", 1), encoding="utf-8")
    found = pipeline.verify(one, str(copy), again=False)
    assert not found.same and found.document == "form.html" and found.differs
    assert any("in 1000" in each.now for each in found.differs)


@pytest.mark.parametrize("name", ["form.docx", "record.html", "manifest.json", "told.json", "inputs.json"])
def test_a_file_that_was_changed_where_it_lies_is_named(one, name):
    path = given_folder(one, REFERENCE, 1) / name
    changed(path, path.read_bytes() + b" ")
    found = pipeline.verify_all(one)
    assert f"given/{REFERENCE}/1/{name}" in {each.where for each in found.findings}


def test_a_file_that_is_gone_or_was_put_there_is_named(one):
    folder = given_folder(one, REFERENCE, 1)
    folder.chmod(0o700)
    (folder / "diary.docx").unlink()
    (folder / "extra.txt").write_text("x")
    found = {each.where.rsplit("/", 1)[1]: each.what for each in pipeline.verify_all(one).findings}
    assert "not here any more" in found["diary.docx"] and "was not given" in found["extra.txt"]


def test_a_folder_without_an_entry_and_an_entry_without_a_folder_are_named(one):
    folder = given_folder(one, REFERENCE, 1)
    shutil.copytree(folder, folder.parent / "2")
    assert any("no entry of this" in each.what for each in pipeline.verify_all(one).findings)
    for path in (folder, folder.parent / "2"):
        path.chmod(0o700)
        shutil.rmtree(path)
    assert any("papers that were given are not here" in e.what for e in pipeline.verify_all(one).findings)


def test_what_was_kept_and_is_gone_or_was_changed_is_named(one):
    paths = sorted((one / "kept").glob("*/*"))
    changed(paths[0], paths[0].read_bytes() + b" ")
    paths[1].chmod(0o600)
    paths[1].unlink()
    said = " ".join(f"{each.where} {each.what}" for each in pipeline.verify_all(one).findings)
    assert str(paths[0].relative_to(one)) in said
    (standing,) = pipeline.issued(one)
    assert not pipeline.verify(one, standing.given.code, again=True).holds


def test_a_code_nobody_gave_and_a_word_that_is_none(one):
    assert not pipeline.verify(one, "00000-00000", again=False).holds
    with pytest.raises(LedgerError, match="it is no code"):
        pipeline.verify(one, "hello")


def test_a_paper_from_elsewhere_was_never_given(one, tmp_path):
    other = tmp_path / "other.docx"
    shutil.copy(one / "old-form.docx", other)
    found = pipeline.verify(one, str(other))
    assert found.standing is None and not found.holds


# --- looking things up ----------------------------------------------------------------------------


def test_packs_are_listed_by_what_they_hold(one):
    assert [each.given.reference for each in pipeline.issued(one, pipeline.Filter(module="risks/bruising"))]
    assert pipeline.issued(
        one, pipeline.Filter(module="bruising", technique="blunt-cannula", language="en-GB")
    )
    for none in (
        pipeline.Filter(module="risks/none"),
        pipeline.Filter(technique="dermal-graft"),
        pipeline.Filter(language="fr"),
        pipeline.Filter(clinician="Nobody"),
        pipeline.Filter(since="2026-11-21"),
        pipeline.Filter(until="2026-11-19"),
        pipeline.Filter(state="signed"),
    ):
        assert pipeline.issued(one, none) == []
    with pytest.raises(LedgerError, match="no pack stands like this"):
        pipeline.issued(one, pipeline.Filter(state="singed"))


def test_a_text_that_was_changed_and_an_approval_that_ran_out_make_a_pack_stale(one):
    for day in (g.DAY, LATER.date()):
        assert pipeline.stale(pipeline.open_workplace(one), today=day) == []
    (old,) = pipeline.stale(pipeline.open_workplace(one), today=date(2031, 1, 1))
    assert any("expired" in each for each in old.texts)
    pipeline.copy_module(pipeline.open_workplace(one), "risks/bruising")
    own = one / "content/risks/bruising.md"
    own.write_text(own.read_text(encoding="utf-8").replace("bruise", "blue mark"), encoding="utf-8")
    (old,) = pipeline.stale(pipeline.open_workplace(one), today=g.DAY)
    assert "risks/bruising: changed" in old.texts


def test_a_pack_somebody_was_treated_by_is_not_stale(one):
    mark(one, REFERENCE, "signed", now=LATER)
    mark(one, REFERENCE, "treated", now=LATER)
    more_bruises(one, now=LATER)
    assert pipeline.stale(pipeline.open_workplace(one), today=LATER.date()) == []


def test_the_story_says_first_where_things_disagree(one):
    """Treated before it was signed, by something else, on another day than in the audit."""
    day = datetime(2026, 12, 8, 17, 0)
    mark(one, REFERENCE, "treated", now=day, case="HS-0001", session=1)
    mark(one, REFERENCE, "signed", now=day + timedelta(days=1))
    story = pipeline.story(one, REFERENCE)
    said = " ".join(story.disagree)
    assert "before version 1 was signed" in said
    assert "on 2023-11-06 in the audit" in said
    assert "the audit says bevelled-blade-needle, nerve-block-face" in said
    assert dict(story.told[0].told)["Bruising"].startswith("35 in 100")
    assert pipeline.told_on(story, date(2026, 11, 19)) is None
    assert pipeline.told_on(story, date(2026, 11, 20)) == story.told[0]


def test_a_story_without_a_flaw_has_nothing_to_say_first(one):
    place = pipeline.open_workplace(one)
    day = datetime(2026, 12, 8, 17, 0)
    done = {"techniques": ("blunt-cannula", "local-infiltration"), "site": "left cheek"}
    strata = {"skin_type": "III"}
    pipeline.add(place, case=REFERENCE, session=1, day=day.date(), **done, strata=strata, now=day, by=BY)
    mark(one, REFERENCE, "signed", now=LATER)
    mark(one, REFERENCE, "treated", now=day)
    assert pipeline.story(one, REFERENCE).disagree == ()


def test_the_story_says_where_the_plan_has_another_day(clinic):
    """The days to think are counted from the day that the plan names."""
    said = []
    place = pipeline.open_workplace(clinic)
    pipeline.give(place, clinic / "plans/p-101.toml", pipeline.Handing(BY, LATER), progress=said.append)
    assert any("given on 2026-11-20, and it is given today" in each for each in said)
    (line,) = pipeline.story(clinic, REFERENCE).disagree
    assert line.endswith("given on 2026-11-20; it was given on 2026-11-24.")


def test_a_plan_that_was_changed_is_to_be_given_again(one):
    change_plan(one, "p-101", "sessions = 2", "sessions = 3")
    (line,) = pipeline.story(one, REFERENCE).disagree
    assert "give it again" in line


def test_nobody_knows_another_story(one):
    with pytest.raises(LedgerError, match="nothing was given under this reference"):
        pipeline.story(one, "HS-P-10")


def test_a_clinic_that_has_given_nothing_says_so(clinic):
    assert pipeline.issued(clinic) == []
    with pytest.raises(LedgerError, match="nothing has been given here yet"):
        pipeline.head(clinic)
    (clinic / "register.sqlite").unlink()
    with pytest.raises(LedgerError, match="nothing has been given here yet"):
        pipeline.issued(clinic)


# --- the commands ---------------------------------------------------------------------------------


def test_the_commands_say_it_all(clinic, run):
    given = run(clinic, "give", REFERENCE, "--by", BY)
    assert given.exit_code == 0 and f"given/{REFERENCE}/1/form.docx" in given.output
    assert run(clinic, "mark", REFERENCE, "signed", "--by", BY).exit_code == 0
    assert "signed" in run(clinic, "issued").output
    assert REFERENCE in run(clinic, "recall", "risks/bruising").output
    told = run(clinic, "story", REFERENCE)
    assert "Bruising: 35 in 100" in told.output
    looked = run(clinic, "verify", f"given/{REFERENCE}/1/form.docx")
    assert looked.exit_code == 0 and "exactly what was given" in looked.output
    assert "the same in every byte" in looked.output
    assert run(clinic, "ledger", "key").exit_code == 0
    assert "signed with" in run(clinic, "ledger", "head").output
    page = clinic / "page.html"
    assert run(clinic, "verify", "--html", str(page)).exit_code == 0
    assert "All of it is as it was given." in page.read_text(encoding="utf-8")
    changed(given_folder(clinic, REFERENCE, 1) / "form.docx", b"other")
    bad = run(clinic, "verify", "--json")
    assert bad.exit_code == LedgerError.exit_code and not json.loads(bad.output)["holds"]
    one = run(clinic, "verify", f"given/{REFERENCE}/1", "--quick", "--html", str(page))
    assert one.exit_code == LedgerError.exit_code and "form.docx: it is not as it was given" in one.output
    for command in (["issued", "--json"], ["story", REFERENCE, "--json"], ["ledger", "head", "--json"]):
        assert json.loads(run(clinic, *command).output)
    assert "By 2020-01-01 nothing" in run(clinic, "story", REFERENCE, "--on", "2020-01-01").output
    stale = run(clinic, "stale", "--json")
    assert stale.exit_code in (0, LedgerError.exit_code)


# --- runs that are stopped ------------------------------------------------------------------------


def test_a_run_that_is_stopped_before_the_entry_has_given_nothing(clinic, monkeypatch):
    from consentpack.pipeline import giving

    def stopped(*_args, **_more):
        raise KeyboardInterrupt

    monkeypatch.setattr(giving, "enter", stopped)
    with pytest.raises(KeyboardInterrupt):
        give(clinic)
    assert list((clinic / "given").glob("*/*")) == [] and pipeline.verify_all(clinic).holds


def test_a_run_that_is_stopped_after_the_entry_has_given_it_all(clinic, monkeypatch):
    """The entry stands; the next command gives the folder its name."""
    from consentpack.pipeline import ledgers

    def stopped(*_args, **_more):
        raise OSError(5, "stopped")

    with monkeypatch.context() as patched:
        patched.setattr(ledgers, "move_whole", stopped)
        with pytest.raises(KeptError, match="the entry stands"):
            give(clinic)
    monkeypatch.setattr(ledgers, "runs", lambda _pid: False)  # as if that run were gone
    assert pipeline.verify_all(clinic).holds and (clinic / f"given/{REFERENCE}/1").is_dir()


def test_when_two_give_at_once_none_is_lost(clinic):
    """From threads, each waiting for the folder's lock in turn."""
    from concurrent.futures import ThreadPoolExecutor

    def one_of(plan: str) -> str:
        try:
            return give(clinic, plan).entry.reference
        except ConsentpackError as error:
            return str(error)

    with ThreadPoolExecutor(4) as pool:
        said = list(pool.map(one_of, ["p-101", "p-102", "p-101", "p-104"]))
    given = [each.given.reference for each in pipeline.issued(clinic)]
    assert given == ["HS-P-101", "HS-P-102", "HS-P-104"] and sum("very same" in each for each in said) == 1
    assert pipeline.verify_all(clinic).holds


# --- what is absent -------------------------------------------------------------------------------


def test_where_it_cannot_be_told_from_which_plan_a_version_was_given_no_other_is(one):
    """Another patient's plan under the same reference would pass for the first one's."""
    folder = given_folder(one, REFERENCE, 1)
    folder.chmod(0o700)
    (folder / "inputs.json").unlink()
    change_plan(one, "p-101", "sessions = 2", "sessions = 3")
    with pytest.raises(LedgerError, match="is not here any more"):
        give(one, now=LATER)
    assert len(pipeline.issued(one)) == 1


def test_what_cannot_be_read_is_said_in_the_story(one):
    folder = given_folder(one, REFERENCE, 1)
    folder.chmod(0o700)
    (folder / "told.json").unlink()
    assert any("cannot be read" in each for each in pipeline.story(one, REFERENCE).disagree)


def test_whoever_may_have_a_wrong_text_is_not_missed_for_a_damaged_list(one):
    (standing,) = pipeline.issued(one)
    digest = standing.given.more["modules"]
    (one / "kept" / digest[:2] / digest[2:]).chmod(0o600)
    (one / "kept" / digest[:2] / digest[2:]).unlink()
    said = []
    wanted = pipeline.Filter(module="risks/not-in-it")
    assert pipeline.issued(one, wanted, say=said.append) == [standing]
    assert "listed too" in said[0]


def test_a_technique_nobody_knows_is_not_entered(one):
    with pytest.raises(LedgerError, match="blunt-canula"):
        mark(one, REFERENCE, "differently", now=LATER, techniques=("blunt-canula",))
    assert pipeline.issued(one)[0].later == ()


def test_a_figure_told_as_a_count_that_is_worse_makes_a_pack_stale(one):
    """No share of 100 was quoted then or now: it passed for unchanged, however many more had it."""
    counts = Counts(events=9, watched=67, due=67, due_watched=67)
    day = date(2026, 11, 20)
    seen = Seen("raised-scar", "closest", counts, Interval(0.06, 0.24), "too few", day, day)
    now = SimpleNamespace(rate=None, seen=seen)
    told = {"quoted": None, "told_as_counts": {"counts": {"events": 1, "watched": 67}}}
    then = staleness._share_then(told)
    assert staleness._why(then, now, harm=True) == "it is worse now"
    same = SimpleNamespace(rate=None, seen=replace(seen, counts=replace(counts, events=1)))
    assert staleness._why(then, replace_interval(same), harm=True) == ""
    assert staleness._why(None, now, harm=True) == "there is a figure now"
    assert staleness._share_then({"quoted": None, "told_as_counts": None}) is None


def replace_interval(answer):
    return SimpleNamespace(rate=None, seen=replace(answer.seen, interval=Interval(0.0, 0.1)))


@pytest.mark.parametrize("table", staleness.RULES)
def test_a_table_of_the_clinics_own_that_is_new_or_changed_makes_a_pack_stale(one, table):
    place = pipeline.open_workplace(one)
    own = replace(
        place, library=replace(place.library, digests=place.library.digests | own_table(one, table))
    )
    (old,) = pipeline.stale(own, today=g.DAY)
    assert any(f"clinic/content/{table}" in each for each in old.rules)


def own_table(clinic: Path, table: str) -> dict[str, str]:
    return {f"{clinic.name}/content/{table}": "0" * 64}


@pytest.mark.parametrize(
    ("found", "holds"),
    [
        ({}, True),
        ({"failed": "the register is gone"}, False),
        ({"figures": ("bruising",)}, False),
        ({"other": ("form.docx",)}, False),
        ({"other": ("form.docx",), "newer": "made by another program"}, True),
        ({"newer": "made by another program"}, True),
        ({"figures": ("bruising",), "newer": "made by another program"}, False),
    ],
)
def test_a_pack_made_again_holds_when_its_figures_do_and_by_the_same_program_its_papers(found, holds):
    """Files that came out differently by the very same program passed; the same ones by a newer did not."""
    rebuilt = Rebuilt(**{"entry": None, "other": (), "figures": (), **found})
    assert rebuilt.holds == holds
    said = pipeline.again_words(rebuilt)
    assert ("the same in every byte" in said) == (not found or found == {"newer": "made by another program"})


def test_the_sheet_of_what_has_changed_has_room_for_some_figures_and_for_every_serious_harm(place):
    prepared = pipeline.judge_plan(place, place.folder / "plans" / "p-101.toml").prepared
    decided = decide(prepared)
    figures = tuple((id, "1 in 100") for id in decided.rates)
    told = ToldBefore(1, date(2026, 11, 20), figures)
    ctx = make_context(replace(inputs_of(prepared, decided), plan=replace(prepared.plan, told_before=told)))
    table, *others = told_now(ctx)
    named = [text_of(row[0].content[0].runs) for row in table.rows]
    serious = [
        r.title for id, r in place.library.risks.items() if r.group == "serious" and id in decided.rates
    ]
    assert len(named) == MOST and set(serious) <= set(named[: len(serious)])
    assert len(others) == 1 and "These figures have changed too" in text_of(others[0].runs)
