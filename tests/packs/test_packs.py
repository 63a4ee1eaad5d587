"""Whole packs: from plan and audit to documents and manifest."""

from __future__ import annotations

import csv
import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from types import MappingProxyType

import pytest

from consentpack import pipeline
from consentpack.assemble.document import BUILDERS
from consentpack.errors import ContentError, PlanError, ReadabilityError
from consentpack.export.text import export_text
from consentpack.library.schema import DIRECTIVES

NOW = datetime(2026, 11, 25, 9, 0)
PLANS = ("p-101", "p-102", "p-103", "p-104")


def text_of(pack, kind: str) -> str:
    return export_text(next(d for d in pack.documents if d.kind == kind))


def test_every_directive_a_document_may_name_can_be_built():
    assert set(BUILDERS) == set(DIRECTIVES)


@pytest.mark.parametrize("plan", PLANS)
def test_every_patient_document_and_section_is_within_the_target(packs, plan):
    for score in packs[plan].scores:
        assert score.over == ()
        assert score.grade is not None and score.grade <= 6


@pytest.mark.parametrize("plan", PLANS)
def test_every_risk_of_every_technique_is_in_form_and_booklet_however_rare(packs, place, plan):
    """In the form by name, whether it has a figure or not; in the booklet with all that is known of it, in
    its own row or in that of the risk from which patients cannot tell it apart."""
    pack, risks = packs[plan], place.library.risks
    form, booklet = text_of(pack, "form").lower(), text_of(pack, "booklet")
    matched = {match.id for match in pack.matches.risks}
    for id in (*pack.plan.planned, *pack.plan.may_become_necessary):
        for risk in place.library.techniques[id].risks:
            assert risks[risk].title.lower() in form
            other = risks[risk].told_with
            assert risks[other if other in matched else risk].title in booklet


@pytest.mark.parametrize("plan", PLANS)
def test_no_treatment_is_always_among_the_choices(packs, plan):
    assert "No treatment" in text_of(packs[plan], "form")
    assert "No treatment" in text_of(packs[plan], "booklet")


@pytest.mark.parametrize("plan", PLANS)
def test_nothing_unfilled_reaches_a_document(packs, plan):
    for document in packs[plan].documents:
        text = export_text(document)
        assert "{{" not in text and "{%" not in text and "None" not in text.split("\n")[0]


@pytest.mark.parametrize("plan", PLANS)
def test_emergency_signs_come_before_everything_else_in_the_aftercare_sheet(packs, plan):
    lines = text_of(packs[plan], "aftercare").splitlines()
    assert lines[1].startswith("Ring 999 now if you see this")


@pytest.mark.parametrize("plan", PLANS)
def test_patients_see_no_frequency_word_and_no_one_in_n(packs, plan):
    import re

    texts = [text_of(packs[plan], score.kind) for score in packs[plan].scores]
    assert len(texts) > 4
    for text in texts:
        assert not re.search(r"\b1 in (?!100\b)\d", text)  # out of 100, as all others are, it is no "1 in X"
        assert not re.search(r"\b(very common|common|uncommon|rare|rarely|very rare)\b", text, re.I)


def test_a_newer_technique_is_named_as_newer_with_the_established_one_beside(packs):
    newer = text_of(packs["p-104"], "booklet")
    assert "A newer treatment" in newer
    assert "This is a newer treatment. Less is known about it." in newer
    assert "Loosening the scar with a needle from one entry" in newer or "longer-known" in newer
    assert "about 20 times in this clinic" in newer
    assert "This is a newer treatment." not in text_of(packs["p-101"], "booklet")


def test_aftercare_follows_what_was_done_and_the_record_names_the_difference(packs):
    pack = packs["p-104"]
    aftercare, record = text_of(pack, "homecare"), text_of(pack, "record")
    assert "What we did" in aftercare and "18 November 2026" in aftercare
    assert "Planned and not done: tumescent-dilute" in record
    assert "Needed, as agreed: bevelled-blade-needle" in record
    assert "Done, not agreed: local-infiltration" in record


def test_the_same_inputs_give_the_same_bytes(place):
    first, second = (pipeline.make_pack(place, place.folder / "plans/p-103.toml") for _ in range(2))
    assert first.files == second.files


def test_the_same_bytes_in_another_process_time_zone_and_hash_seed(demo_clinic, packs):
    """Takes long: another process makes a whole pack."""
    code = (
        "import sys, hashlib, pathlib\n"
        "from consentpack import pipeline\n"
        "place = pipeline.open_workplace(pathlib.Path(sys.argv[1]))\n"
        "pack = pipeline.make_pack(place, place.folder / 'plans/p-101.toml')\n"
        "print(hashlib.sha256(b''.join(pack.files.values())).hexdigest())"
    )
    environ = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "LC_ALL": "C.UTF-8"}
    done = subprocess.run(
        [sys.executable, "-c", code, str(demo_clinic)],
        env=environ, capture_output=True, text=True, check=True,
    )  # fmt: skip
    here = hashlib.sha256(b"".join(packs["p-101"].files.values())).hexdigest()
    assert done.stdout.strip() == here


# --- figures that can be recomputed by hand ---------------------------------------------------


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def by_hand(
    place,
    row_filter,
    header: str,
    watch: int,
    prepared: date,
    beside: Mapping[str, int] = MappingProxyType({}),
) -> tuple[int, int]:
    """Events and watched treatments counted straight from the spreadsheet, row by row.

    `beside` are columns of which each must be known too, with their days of watching.
    """
    events = watched = 0
    seen_keys = set()
    first = prepared.replace(year=prepared.year - 3)
    bad_rows = {int(r["row"]) for r in rows_of(place.folder / "audit.set-aside.csv")}
    for number, row in enumerate(rows_of(place.folder / "audit.csv"), 2):
        key = (row["Case no"], row["Visit"])
        if number in bad_rows or key in seen_keys or not row_filter(row):
            continue
        seen_keys.add(key)
        day = datetime.strptime(row["Date"], "%d/%m/%Y").date()
        if not first <= day <= prepared:
            continue
        last = row["Last seen"]
        looked = (datetime.strptime(last, "%d/%m/%Y").date() - day).days if last else -1
        asked = {**beside, header: watch}
        to_the_end = all(looked >= days and (prepared - day).days >= days for days in asked.values())
        if to_the_end and all(row[h] in ("yes", "no") for h in asked):
            events, watched = events + (row[header] == "yes"), watched + 1
    return events, watched


@pytest.mark.parametrize("plan", PLANS)
def test_every_own_figure_in_the_manifest_can_be_recounted_from_the_spreadsheet(packs, place, plan):
    pack, library = packs[plan], place.library
    headers = {outcome: header for header, outcome in place.clinic.audit_columns.items()}
    anaesthetics = set(library.anaesthetics)
    checked = 0
    answers = json.loads(pack.files["manifest.json"])["rates"]
    # gains and their opposite are read together, so they are counted where all of them are known
    gains = {
        a["outcome"]
        for a in answers
        if a["technique"] in library.treating
        and (a["outcome"] in library.benefits or a["outcome"] in library.field.may_not_work)
        and a["outcome"] in headers
    }
    for answer in answers:
        figure = answer["quoted"]
        if not figure or figure["source"] != "own audit":
            continue
        lead = answer["technique"]
        family = anaesthetics if lead in anaesthetics else set(library.techniques) - anaesthetics
        together = (set(pack.plan.planned) | {lead}) & family

        def comparable(row, lead=lead, family=family, together=together, level=figure["level"]):
            used = {t.strip() for t in row["Techniques"].split(";")}
            if level == "lead-technique":
                return lead in used
            if used & family != together:
                return False
            groups = place.clinic.site_groups, place.clinic.stratum_groups["skin_type"]
            same = (
                groups[0].get(row["Area"], row["Area"]) == groups[0].get(pack.plan.site, pack.plan.site)
                and groups[1][row["Skin type"]] == groups[1][pack.plan.strata["skin_type"]]
            )
            return same or level == "same-techniques"

        counted = by_hand(
            place, comparable, headers[answer["outcome"]],
            library.outcome(answer["outcome"]).watch_days, pack.plan.prepared,
            {headers[o]: library.outcome(o).watch_days for o in gains} if answer["outcome"] in gains else {},
        )  # fmt: skip
        assert (figure["events"], figure["n"]) == counted, answer["outcome"]
        checked += 1
    assert checked >= 3


def test_one_changed_outcome_changes_figure_record_and_manifest(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    plan = clinic_copy / "plans/p-101.toml"
    before = pipeline.make_pack(place, plan)
    sheet = clinic_copy / "audit.csv"
    lines = sheet.read_text(encoding="utf-8").splitlines()
    outcome = next(
        id for id, answer in before.rates.items()
        if answer.rate and answer.rate.level in ("same-techniques", "lead-technique")
        and answer.technique == "blunt-cannula"
    )  # fmt: skip
    header = next(h for h, id in place.clinic.audit_columns.items() if id == outcome)
    column = lines[0].split(",").index(header)
    at = next(
        i for i, line in enumerate(lines)
        if "blunt-cannula; local-infiltration" in line and line.split(",")[column] == "no"
        and datetime.strptime(line.split(",")[2], "%d/%m/%Y").date() > date(2024, 1, 1)
    )  # fmt: skip
    cells = lines[at].split(",")
    cells[column] = "yes"
    lines[at] = ",".join(cells)
    sheet.write_text("\n".join(lines) + "\n", encoding="utf-8")

    result, _ = pipeline.import_audit(place, sheet, now=NOW, by="tests")
    after = pipeline.make_pack(place, plan)

    assert (result.added, result.updated) == (0, 1)
    old, new = before.rates[outcome].rate, after.rates[outcome].rate
    assert new.events == old.events + 1 and new.n == old.n
    assert before.files["record.docx"] != after.files["record.docx"]
    assert f"{new.events} of {new.n} treatments" in text_of(after, "record")
    assert before.files["manifest.json"] != after.files["manifest.json"]


def test_importing_the_same_file_again_changes_nothing(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    before = pipeline.make_pack(place, clinic_copy / "plans/p-102.toml")
    result, _ = pipeline.import_audit(
        place, clinic_copy / "audit.csv", now=NOW + timedelta(days=1), by="tests"
    )
    after = pipeline.make_pack(place, clinic_copy / "plans/p-102.toml")
    assert (result.added, result.updated, result.unchanged) == (0, 0, 720)
    assert before.files == after.files


# --- nothing half-done ------------------------------------------------------------------------


def hard_plan(folder: Path) -> Path:
    """A plan whose reason is far too hard to read."""
    path = folder / "plans/p-101.toml"
    hard = (
        "Notwithstanding the comparatively unpredictable histopathological characteristics of "
        "atrophic cicatrisation, percutaneous subcutaneous incisionless undermining constitutes an "
        "appropriate intervention considering contemporaneous dermatological recommendations."
    )
    lines = [
        f'reason = "{hard}"' if line.startswith("reason") else line
        for line in path.read_text(encoding="utf-8").splitlines()
    ]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_a_document_over_the_target_is_not_written_and_the_worst_sentence_is_named(clinic_copy):
    plan = hard_plan(clinic_copy)
    with pytest.raises(ReadabilityError) as error:
        pipeline.build(pipeline.open_workplace(clinic_copy), plan)
    assert "Why we plan this" in str(error.value)
    assert "p-101.toml" in str(error.value) and "Notwithstanding" in str(error.value)
    assert not (clinic_copy / "packs").exists()


def test_asked_for_as_a_draft_it_is_written_and_marked(clinic_copy):
    pack, folder = pipeline.build(
        pipeline.open_workplace(clinic_copy), hard_plan(clinic_copy), allow_draft=True
    )
    kinds = ("aftercare", "booklet", "diary", "form", "homecare", "more", "record", "slips", "talk-back")
    names = [f"{kind}.{ending}" for kind in kinds for ending in ("docx", "html")]
    assert sorted(p.name for p in folder.iterdir()) == sorted([*names, "manifest.json"])
    assert any("reading grade" in reason for reason in pack.draft)


def test_a_broken_plan_lists_all_its_problems_and_writes_nothing(clinic_copy):
    plan = clinic_copy / "plans/p-101.toml"
    text = plan.read_text(encoding="utf-8")
    text = text.replace('"blunt-cannula"', '"blunt-canula"').replace("sessions = 2", 'sessions = "two"')
    plan.write_text(text, encoding="utf-8")
    with pytest.raises(PlanError) as error:
        pipeline.build(pipeline.open_workplace(clinic_copy), plan)
    assert "Did you mean 'blunt-cannula'?" in str(error.value)
    assert "'sessions' should be a whole number" in str(error.value)
    assert not (clinic_copy / "packs").exists()


def test_a_broken_module_stops_the_build(clinic_copy):
    own = clinic_copy / "content/risks"
    own.mkdir(parents=True)
    from consentpack.shipped import content

    text = (content() / "risks/bruising.md").read_text(encoding="utf-8")
    (own / "bruising.md").write_text(text + "\nRing {{ clinic.fone }}.\n", encoding="utf-8")
    with pytest.raises(ContentError, match=r"clinic.fone.*\n.*Did you mean 'clinic.phone'"):
        pipeline.open_workplace(clinic_copy)


def test_a_failed_rebuild_leaves_the_old_pack_as_it_was(clinic_copy):
    place = pipeline.open_workplace(clinic_copy)
    _, folder = pipeline.build(place, clinic_copy / "plans/p-101.toml")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(ReadabilityError):
        pipeline.build(place, hard_plan(clinic_copy))
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert sorted(p.name for p in (clinic_copy / "packs").iterdir()) == ["HS-P-101"]


def test_a_full_disk_leaves_no_half_written_pack(clinic_copy, monkeypatch):
    from consentpack.errors import OutputError

    place = pipeline.open_workplace(clinic_copy)
    written = []

    def full(handle):
        written.append(handle)
        if len(written) == 2:
            raise OSError(28, "No space left on device")
        return real(handle)

    real = os.fsync
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        pipeline.build(place, clinic_copy / "plans/p-101.toml")
    assert len(written) == 2 and list((clinic_copy / "packs").iterdir()) == []


# --- approvals --------------------------------------------------------------------------------


def test_approving_every_module_takes_the_draft_mark_off_and_an_edit_puts_it_back(clinic_copy):
    """Takes long: three whole packs."""
    place = pipeline.open_workplace(clinic_copy)
    day = date(2026, 11, 20)
    pipeline.approve(place, [], by="Dr Ruth Ambrose", role="skin doctor", day=day, until=None)
    plan = clinic_copy / "plans/p-101.toml"
    approved = pipeline.make_pack(place, plan)
    assert approved.draft == ()
    assert "approved: Dr Ruth Ambrose, skin doctor, 2026-11-20" in text_of(approved, "record")

    from consentpack.shipped import content

    own = clinic_copy / "content/risks"
    own.mkdir(parents=True)
    text = (content() / "risks/bruising.md").read_text(encoding="utf-8")
    (own / "bruising.md").write_text(text.replace("blue or purple", "blue"), encoding="utf-8")
    edited = pipeline.make_pack(pipeline.open_workplace(clinic_copy), plan)
    assert edited.draft == ("1 module changed since approval",)


def test_a_clinic_that_keeps_no_audit_has_packs_from_published_figures(clinic_copy):
    settings = clinic_copy / "clinic.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace('register = "register.sqlite"', 'register = "none"'), encoding="utf-8")
    pack = pipeline.make_pack(pipeline.open_workplace(clinic_copy), clinic_copy / "plans/p-101.toml")
    levels = {answer.rate.level for answer in pack.rates.values() if answer.rate}
    assert levels == {"published"}
    assert "this clinic keeps no audit" in text_of(pack, "record")
