"""The record: two pages to read and sign, and an annex in which nothing is lost."""

from __future__ import annotations

import json
import random
import re
from dataclasses import replace

import pytest
from test_rendered import drawn

from consentpack import pipeline
from consentpack.assemble.context import make_context
from consentpack.assemble.inputs import Inputs
from consentpack.assemble.record_brief import FEW, Group, fitted, targets_met
from consentpack.assemble.record_matter import FEWEST, MOST
from consentpack.errors import ConsentpackError
from consentpack.export.text import export_text
from consentpack.library.schema import CLINICIAN_DIRECTIVES
from consentpack.suitability import would_matter
from consentpack.tree import Choice, Items, Table, contents, paragraphs, text_of

PLANS = ("p-101", "p-102", "p-103", "p-104")
PAGES = ["the-plan", "before-the-talk", "figures-that-matter-most", "what-was-talked-about", "what-was-done",
         "signature-of-the-clinician-who-held-this-talk"]  # fmt: skip
WEIGHT = ("Not together", "Talk first", "Not asked", "Notes", "Worse", "Perhaps", "Counts", "Lost", "Unread",
          "Left out", "Say why", "Waits", "Papers", "Draft")  # fmt: skip
"""The groups of alerts, from the weightiest: may it be done, are the figures sound, what else, the papers."""


def record(pack):
    return next(d for d in pack.documents if d.kind == "record")


def part(pack, directive):
    return next(s for s in record(pack).sections if directive in s.parts)


def words(section):
    return [text_of(p.runs) for node in section.nodes for p in paragraphs(node)]


def rows(pack, directive):
    """Label of a row -> its words."""
    table = next(n for n in part(pack, directive).nodes if isinstance(n, Table))
    cells = (["\n".join(text_of(p.runs) for c in cell.content for p in paragraphs(c)) for cell in row]
             for row in table.rows)  # fmt: skip
    return {first: others for first, *others in cells}


def notes(pack):
    (items,) = (n for n in part(pack, "record-notes").nodes if isinstance(n, Items))
    return [text_of(item.runs) for item in items.items]


# --- pages, then annex ---------------------------------------------------------------------------


@pytest.mark.parametrize("plan", PLANS)
def test_what_is_signed_stands_before_the_annex_and_the_annex_begins_a_side(packs, plan):
    sections = record(packs[plan]).sections
    assert [s.id for s in sections if not s.annex] == PAGES
    annex = [s for s in sections if s.annex]
    assert [s.id for s in annex if s.new_side] == ["annex"] == [annex[0].id]
    assert not any(s.new_side for s in sections if not s.annex)


def test_every_part_for_the_clinician_stands_in_the_record_once(packs):
    built = [directive for s in record(packs["p-103"]).sections for directive in s.parts]
    assert sorted(built) == sorted(CLINICIAN_DIRECTIVES)


@pytest.mark.parametrize("plan", PLANS)
def test_the_plan_says_all_that_was_written_of_it(packs, plan):
    pack = packs[plan]
    said, wanted = "\n".join(words(part(pack, "record-plan"))), pack.plan
    for text in (wanted.reference, wanted.condition, wanted.site, wanted.reason, wanted.clinician,
                 wanted.clinician_role, *wanted.strata.values()):  # fmt: skip
        assert text in said, text
    assert f"sessions: {wanted.sessions}" in said and "days up to the treatment" in said
    days = (wanted.prepared, wanted.information_given, wanted.treatment_date)
    assert all(f"{day.day} {day:%B} {day.year}" in said for day in days if day)


def test_a_newer_technique_is_named_as_newer_on_the_first_page(packs):
    assert "Gel filler after loosening the scar (newer)" in rows(packs["p-103"], "record-plan")["What"][0]


def test_every_topic_of_the_talk_has_its_tick(packs):
    (table,) = (n for n in part(packs["p-101"], "record-checklist").nodes if isinstance(n, Table))
    tags = {c.tag for c in contents(table) if isinstance(c, Choice)}
    treatment = {"treatment", "gain", "harm", "options", "anaesthetic", "newer", "extra", "aftercare"}
    person = {"hopes", "factors", "teach-back", "capacity", "wellbeing", "time", "law"}
    assert tags == treatment | person


# --- alerts --------------------------------------------------------------------------------------


@pytest.mark.parametrize("plan", PLANS)
def test_alerts_are_grouped_and_the_weightiest_come_first(packs, plan):
    labels = list(rows(packs[plan], "record-alerts"))
    assert labels == sorted(labels, key=WEIGHT.index)


def test_outcomes_that_were_not_followed_up_are_one_line_with_all_of_them_named(packs):
    """Thirteen lines of one kind hid the one that mattered."""
    pack = packs["p-101"]
    said = (n for n in notes(pack) if "not followed up" in n and "no share" not in n)
    lost = [note.split(":")[0] for note in said]
    assert len(lost) > 10
    (line,) = rows(pack, "record-alerts")["Lost"]
    assert all(title in line for title in lost) and "\n" not in line


@pytest.mark.parametrize("plan", PLANS)
def test_each_finding_is_said_on_the_page_with_who_decided_and_in_the_annex_with_its_sources(
    place, packs, plan
):
    pack = packs[plan]
    judged = pipeline.judge_plan(place, place.folder / f"plans/{plan}.toml")
    page, annex = export_text(record(pack)).split("## Annex")
    for each in judged.decided.seen.findings:
        assert each.rule.why in annex and each.rule.what in annex
        if each.rule.strength != "note":
            assert each.rule.what in page
            assert not each.by or f"{each.by} goes on all the same: {each.reason}" in page


@pytest.mark.parametrize("plan", PLANS)
def test_whatever_a_page_leaves_out_it_says_so_and_the_annex_has_it(packs, plan):
    pack = packs[plan]
    alerts = rows(pack, "record-alerts")
    kinds = {"Counts": "the patient reads your count", "Unread": "until somebody has read it in the source",
             "Lost": "not followed up"}  # fmt: skip
    for label, said in kinds.items():
        (line,) = alerts.get(label, [""])
        here = (n for n in notes(pack) if said in n and (label != "Lost" or "no share" not in n))
        titles = {n.split(":")[0] for n in here}
        more = re.search(r"and (\d+) more, in the annex", line)
        named = {title for title in titles if title in line}
        assert len(titles - named) == (int(more[1]) if more else 0), label


def test_a_circumstance_with_which_a_rule_would_speak_is_named_first(place, packs):
    judged = pipeline.judge_plan(place, place.folder / "plans/p-103.toml")
    unasked = judged.decided.seen.not_asked
    matter = {each.id for each in would_matter(unasked, judged.plan, place.library)}
    assert 0 < len(matter) < len(unasked)
    assert {each.id for each in unasked[: len(matter)]} == matter
    assert rows(packs["p-103"], "record-alerts")["Not asked"][0].startswith(unasked[0].title)


def group(label, *, lines=(), names=0):
    return Group(
        label, tuple(lines), names=tuple(f"{label} outcome {n} of some length" for n in range(names))
    )


def test_names_give_way_from_the_least_weighty_group_and_say_how_many_more():
    groups = [group("A", names=12), group("B", names=12)]
    assert fitted(groups, 99) == [g.said() for g in groups]
    first, second = fitted(groups, 10)
    assert first == groups[0].said() and second == groups[1].said(FEW[0])
    assert second[0].endswith("B outcome 7 of some length; and 4 more, in the annex.")


def test_what_a_finding_says_is_never_left_out_however_little_room_there_is():
    groups = [
        group("Talk first", lines=[f"Ask of {n}. (factor:{n})" for n in range(30)]),
        group("B", names=30),
    ]
    said = [" ".join(lines) for lines in fitted(groups, 1)]
    assert all(f"Ask of {n}." in said[0] for n in range(30)) and said[1] == "30 in the annex."


# --- figures, papers -----------------------------------------------------------------------------


@pytest.mark.parametrize("plan", PLANS)
def test_five_to_eight_figures_are_on_the_page_with_those_that_are_worse(packs, plan):
    pack = packs[plan]
    shown = rows(pack, "record-matter")
    assert FEWEST <= len(shown) <= MOST
    for line in rows(pack, "record-alerts").get("Worse", []):
        titles = re.findall(r"(?:^|; )(.+?), \d", line)
        assert titles and set(titles) <= set(shown)


def test_a_figure_of_the_page_is_the_one_that_patients_read(packs):
    """19 of 54 (Wilson, 95%): 35% (24 to 49)."""
    assert rows(packs["p-101"], "record-matter")["Bruising"] == ["35 (23 to 49)", "19 of 54", "same group"]


def test_a_document_over_its_target_is_named_with_its_grade(place, packs):
    judged = pipeline.judge_plan(place, place.folder / "plans/p-101.toml")
    inputs = Inputs(
        judged.plan, place.library, place.clinic, judged.matches, judged.rates, judged.prepared.own
    )
    ctx = make_context(inputs)
    (met,) = targets_met(ctx, judged.scores)
    assert met.startswith("Reading targets are met: ") and all(s.kind in met for s in judged.scores)
    hard = replace(judged.scores[0], grade=9.4)
    assert list(targets_met(ctx, (hard, *judged.scores[1:]))) == [
        f"OVER the reading target: {hard.kind} (9.4, target 6)."
    ]


def test_the_record_says_which_slips_were_made_and_why_it_is_a_draft(packs):
    alerts = rows(packs["p-101"], "record-alerts")
    assert "Slips made: interpreter, witness, withdrawal." in alerts["Papers"][0]
    assert (
        alerts["Draft"][0].startswith("Not approved for patients: ")
        and "never approved" in alerts["Draft"][0]
    )


def test_the_record_says_what_only_was_judged_when_no_slips_are_wanted(place):
    path = place.folder / "plans/p-101.toml"
    pack = pipeline.make_pack(place, path, only=frozenset({"record"}))
    assert "record" in [d.kind for d in pack.documents]
    assert "Papers" in rows(pack, "record-alerts")


def test_no_row_of_modules_runs_over_a_page(packs):
    """In large print a page holds about 26 lines of two modules."""
    for pack in packs.values():
        (table,) = (n for n in part(pack, "record-modules").nodes if isinstance(n, Table))
        lists = [
            text_of(p.runs).split(", ") for row in table.rows for c in row[1].content for p in paragraphs(c)
        ]
        assert max(map(len, lists)) <= 25
        assert sum(map(len, lists)) > 60


# --- how long ------------------------------------------------------------------------------------


def random_plan(library, draw: random.Random, number: int) -> str:
    """A plan of one to five techniques with circumstances, and every 'not together' answered."""
    ids = [draw.choice(sorted(library.treating))]
    for other in draw.sample(sorted(set(library.techniques) - set(ids)), draw.randint(0, 4)):
        ids += [other] if together(library, [*ids, other]) else []
    factors = draw.sample(sorted(library.factors), draw.randint(0, 4))
    rest = sorted(set(library.factors) - set(factors))
    keys = {
        "reference": f"R-{number}", "planned": ids, "site": "left cheek", "sessions": draw.randint(1, 6),
        "may_become_necessary": draw.sample(sorted(set(library.treating) - set(ids)), draw.randint(0, 2)),
        "region": draw.choice(sorted(library.regions)), "skin_type": draw.choice(("I", "III", "VI")),
        "indication": draw.choice(sorted(library.field.indications)), "factors": factors,
        "asked": draw.sample(rest, draw.choice((0, 0, 10, 15))), "condition": "dipped scars from acne",
        "reason": "Tight bands pull your scars down. We can free them.", "clinician": "Dr Ruth Ambrose",
        "clinician_role": "skin doctor", "experience": "Dr Ambrose has done it 20 times.",
        "follow_up": "8 weeks after the treatment",
    }  # fmt: skip
    lines = ["prepared = 2026-11-20", *(f"{key} = {json.dumps(value)}" for key, value in keys.items())]
    for rule in library.suitability.values():
        if rule.strength == "not-together":
            lines += [f"[reasons.{rule.id}]", 'by = "Dr Invented"', 'why = "To see the papers."']
    return "\n".join(lines)


def together(library, ids):
    found = [library.techniques[id] for id in ids]
    numbing = [t.id for t in found if not library.treats(t)]
    return all(not t.anaesthetics or n in t.anaesthetics for n in numbing for t in found if t.id != n)


def two_pages(found) -> dict[str, int]:
    """Name -> pages before the annex, where they are not two."""
    before = {
        name: next(number for number, page in enumerate(pages) if re.search("^Annex$", page, re.MULTILINE))
        for name, pages in found.items()
    }
    return {name: number for name, number in before.items() if number != 2}


@pytest.mark.office
@pytest.mark.slow("24 packs, each record drawn")
def test_two_pages_stand_before_the_annex_whatever_is_planned(office, place, packs, clinic_copy, tmp_path):
    """With a logo, a draft mark and a line for an invented clinic on each page, which real ones lack."""
    for plan, pack in packs.items():
        (tmp_path / f"{plan}.docx").write_bytes(pack.files["record.docx"])
    draw, made = random.Random(15), 0
    copy = pipeline.open_workplace(clinic_copy)
    while made < 20:
        path = clinic_copy / "plans/random.toml"
        path.write_text(random_plan(place.library, draw, made), encoding="utf-8")
        try:
            pack = pipeline.make_pack(copy, path)
        except ConsentpackError:  # two things that no plan may name together
            continue
        made += 1
        (tmp_path / f"random-{made}.docx").write_bytes(pack.files["record.docx"])
    found = drawn(office, tmp_path)
    assert len(found) == 24 and two_pages(found) == {}


# --- what moved from the form --------------------------------------------------------------------


def test_record_and_manifest_name_what_the_form_had_no_room_for(packs, clinic_copy):
    """In the form it has its name alone; who holds the talk must not believe its figure was seen there."""
    assert packs["p-101"].drafted.moved["form"] == ()
    assert json.loads(packs["p-101"].files["manifest.json"])["moved"]["form"] == []
    assert "Nothing had to move from the form to the booklet." in words(
        part(packs["p-101"], "record-readability")
    )
    settings = clinic_copy / "clinic.toml"
    settings.write_text(
        settings.read_text(encoding="utf-8") + "\n[length.form]\nwords = 700\nany_plan_words = 700\n",
        encoding="utf-8",
    )
    place = pipeline.open_workplace(clinic_copy)
    pack = pipeline.make_pack(place, clinic_copy / "plans/p-101.toml")
    moved = json.loads(pack.files["manifest.json"])["moved"]["form"]
    assert moved == list(pack.drafted.moved["form"]) and len(moved) > 3
    library = place.library
    titles = {**library.risks, **library.benefits, **library.options}
    said = words(part(pack, "record-readability"))
    (line,) = [each for each in said if each.startswith("Moved from the form")]
    assert line == (
        "Moved from the form to the booklet, for want of room: "
        f"{'; '.join(sorted(titles[id].title for id in moved))}."
    )
    form, booklet = (next(d for d in pack.documents if d.kind == kind) for kind in ("form", "booklet"))
    for id in moved:
        title = titles[id].title.lower()
        assert title in export_text(form).lower() and title in export_text(booklet).lower()
        assert id not in library.risks or library.risks[id].group != "serious"
