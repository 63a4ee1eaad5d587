"""Published checklists against real packs: each item that a program judges is made to fail, alone in
its list, by one change of a pack that holds it. The lists are those of the reference standards; their
lengths are the published ones: PEMAT-P 24 items for print (AHRQ 2013), Clear Communication Index 20
(CDC), IPDAS 6 qualifying and 10 certifying with 4 of them for tests (Joseph-Williams 2014)."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from pack_changes import changed, with_document
from pack_faults import MUTATIONS

from consentpack import pipeline
from consentpack.check.checklists import (
    CHECKLISTS,
    TOGETHER,
    Held,
    Item,
    judged,
    report,
    summary,
    with_holders,
)
from consentpack.export.text import export_text
from consentpack.pipeline.deciding import seen_by
from consentpack.tree import (
    Choice,
    Facts,
    Field,
    Fields,
    Heading,
    Items,
    Panel,
    Paragraph,
    Pictograph,
    Table,
    text_of,
)

PLANS = ("p-101", "p-102", "p-103", "p-104")
RICH = """
reference = "HS-P-900"
prepared = 2026-11-20
planned = ["blunt-cannula", "filler-after-release", "local-infiltration"]
may_become_necessary = ["punch-excision", "acid-focal"]
site = "left cheek"
region = "cheek"
indication = "rolling"
skin_type = "III"
sessions = 1
condition = "dipped scars from acne"
reason = "Tight bands pull your scars down."
factors = ["under-18"]
experience = "Dr Ambrose has put gel under a freed scar for 3 years."
clinician = "Dr Ruth Ambrose"
clinician_role = "skin doctor"
interpreter_language = "Portuguese"
follow_up = "8 weeks after the treatment"

[reasons.young-gel]
by = "Dr Ruth Ambrose"
why = "Invented: one scar is deep, and lifting it alone did not hold."
"""
"""An invented plan to which every item applies that a program judges. Of the acid that may follow, a study
is quoted."""


def held_of(place: pipeline.Workplace, pack: pipeline.Pack) -> Held:
    seen = seen_by(pack.plan, place.library)  # what concerns this plan, as `pipeline.judging.held` has it
    library = replace(seen.planned, aftercare=seen.done.aftercare, warnings=seen.done.warnings)
    return Held(
        documents={each.kind: each for each in pack.documents}, plan=pack.plan, matches=pack.matches,
        library=library, clinic=place.clinic, scores=pack.scores, rates=pack.rates,
    )  # fmt: skip


@pytest.fixture(scope="module")
def rich(place: pipeline.Workplace, tmp_path_factory: pytest.TempPathFactory) -> Held:
    path = tmp_path_factory.mktemp("plans") / "p-900.toml"
    path.write_text(RICH, encoding="utf-8")
    return held_of(place, pipeline.make_pack(place, path))


MACHINE = [(each.id, i) for each in CHECKLISTS for i in each.items if i.judged_by == "machine"]


def statuses(held: Held, checklist: str = "") -> dict[tuple[str, str], str]:
    return {(r.checklist, r.item): r.status for r in report(held) if checklist in ("", r.checklist)}


def failing(held: Held, checklist: str) -> set[str]:
    return {item for (_, item), status in statuses(held, checklist).items() if status == "fails"}


def test_every_item_that_a_program_judges_has_a_change_that_makes_it_fail():
    written = {(checklist, item) for checklist, found in MUTATIONS.items() for item in found}
    assert written == {(checklist, item.id) for checklist, item in MACHINE}


@pytest.mark.parametrize(("checklist", "item"), MACHINE, ids=lambda each: getattr(each, "id", each))
def test_a_pack_holds_an_item_until_just_that_is_taken_away(rich, checklist: str, item: Item):
    assert judged(item, rich)[0] == "holds"
    assert failing(MUTATIONS[checklist][item.id](rich), checklist) == {item.id}


@pytest.mark.parametrize("plan", PLANS)
def test_every_demo_pack_holds_every_item_that_applies(packs, plan):
    results = packs[plan].checklists
    assert [(r.item, r.why) for r in results if r.status == "fails"] == []
    assert sum(r.status == "holds" for r in results) > 100


def test_what_only_a_person_can_judge_is_never_passed(rich):
    persons = {(c.id, i.id) for c in CHECKLISTS for i in c.items if i.judged_by == "person"}
    found = statuses(rich)
    assert {found[each] for each in persons} == {"a person must judge", "does not apply"}
    assert len(persons) > 30


@pytest.mark.parametrize(
    ("checklist", "count"),
    [
        ("us-minimum", 11),
        ("gmc-cosmetic", 17),
        ("ipdas", 16),
        ("pemat-p", 24),
        ("cdc-index", 20),
        ("instructions", 18),
    ],
)
def test_a_list_is_as_long_as_it_was_published(checklist, count):
    assert sum(len(each.items) for each in CHECKLISTS if each.id == checklist) == count


def test_an_item_has_one_id_one_line_and_a_marked_source():
    for each in CHECKLISTS:
        assert len({item.id for item in each.items}) == len(each.items)
        for item in each.items:
            assert item.says and "\n" not in item.says and not item.says.endswith(".")
            assert item.source.mark in ("S", "S2", "M") and item.source.body and item.source.year


@pytest.mark.parametrize(
    ("checklist", "item", "reason"),
    [
        ("gmc-consent", "G9", "no circumstances"),
        ("gmc-consent", "G26 newer", "no newer technique"),
        ("gmc-cosmetic", "K6", "leaves a product"),
        ("gmc-cosmetic", "K17", "under 18"),
        ("ipdas", "2.4.1", "is a test"),
        ("instructions", "AC17", "leaves a product"),
        ("uk-model-form", "D5", "takes anything off"),
    ],
)
def test_what_does_not_apply_to_a_plain_plan_says_why(packs, checklist, item, reason):
    found = {(r.checklist, r.item): r for r in packs["p-101"].checklists}[checklist, item]
    assert found.status == "does not apply" and reason in found.why


def test_without_a_reading_measure_for_the_language_nothing_is_claimed(rich):
    unmeasured = replace(rich, scores=tuple(replace(s, target=None, grade=None) for s in rich.scores))
    found = next(r for r in report(unmeasured) if r.item == "AC16")
    assert found.status == "does not apply" and "a person must judge" in found.why


def in_another_language(held: Held) -> Held:
    """Every word that would be translated becomes another; tags, sources and the plan's own stay."""

    def runs(found):
        return tuple(replace(r, text="ж" * len(r.text)) for r in found)

    def other(node):
        if isinstance(node, Paragraph | Heading | Choice):
            return replace(node, runs=runs(node.runs))
        if isinstance(node, Items):
            return replace(node, items=tuple(other(i) for i in node.items))
        if isinstance(node, Fields):
            lines = tuple(Field("ж", line.kind, line.tag) for line in node.lines)
            return replace(node, title="ж", statement=runs(node.statement), lines=lines)
        if isinstance(node, Pictograph):
            return replace(node, alt="ж")
        if isinstance(node, Facts):
            return replace(node, pairs=tuple(("ж", value) for _, value in node.pairs))
        if isinstance(node, Panel):
            groups = (
                (tuple(replace(c, content=tuple(map(other, c.content))) for c in cells))
                for _, cells in node.groups
            )
            return replace(node, groups=tuple(("ж", cells) for cells in groups), summary="ж")
        rows = (tuple(replace(c, content=tuple(map(other, c.content))) for c in r) for r in node.rows)
        return replace(node, columns=("ж",) * len(node.columns), rows=tuple(rows), summary="ж")

    for kind in ("form", "aftercare", "record"):
        held = changed(kind, other)(held)
        made = held.of(kind)
        sections = tuple(replace(s, heading="ж") for s in made.sections)
        held = with_document(held, replace(made, title="ж", sections=sections))
    return held


def test_no_finding_depends_on_the_words_of_one_language(rich):
    assert statuses(in_another_language(rich)) == statuses(rich)


# --- where the results are shown --------------------------------------------------------------


def without_follow_up(folder: Path) -> Path:
    path = folder / "plans/p-101.toml"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(x for x in lines if not x.startswith("follow_up")), encoding="utf-8")
    return path


def record_of(pack):
    return next(each for each in pack.documents if each.kind == "record")


def test_record_and_manifest_name_what_fails(clinic_copy):
    path = without_follow_up(clinic_copy)
    pack = pipeline.make_pack(pipeline.open_workplace(clinic_copy), path)
    record = export_text(record_of(pack))
    assert "Cosmetic interventions (GMC), K5: Follow-up is told at the outset." in record
    lists = json.loads(pack.files["manifest.json"])["checklists"]
    assert lists["gmc-cosmetic"]["items"]["K5"] == "fails"
    assert lists["gmc-cosmetic"]["fails"] == {"K5": "the plan names no follow_up"}
    assert lists["gmc-consent"]["fails"] == {}


def test_the_record_counts_each_list(packs):
    pack = packs["p-103"]
    counts = summary(pack.checklists)["gmc-cosmetic"]
    section = next(s for s in record_of(pack).sections if "record-checklists" in s.parts)
    table = next(n for n in section.nodes if isinstance(n, Table))
    row = next(r for r in table.rows if "Cosmetic" in r[0].content[0].runs[0].text)
    shown = [cell.content[0].runs[0].text for cell in row[1:]]
    order = ("holds", "fails", "does not apply", "a person must judge")
    assert shown == [str(counts[status]) for status in order]
    assert sum(counts.values()) == 17
    assert "Every item that applies" in export_text(record_of(pack))


HOLDERS = {
    ("uk-model-form", "F16"): "slips", ("uk-model-form", "F24"): "slips", ("uk-model-form", "F28"): "slips",
    ("uk-model-form", "F18"): "form", ("uk-model-form", "F23"): "form", ("uk-model-form", "D1"): "record",
    ("gmc-consent", "G22"): "record", ("gmc-consent", "G16"): "slips", ("us-minimum", "U8"): "slips",
}  # fmt: skip
"""Where some items are held, as the set was laid out."""


def test_an_item_names_the_document_that_alone_holds_it(rich):
    found = {(r.checklist, r.item): r for r in with_holders(rich, report(rich))}
    assert {key: found[key].held_by for key in HOLDERS} == HOLDERS
    for (checklist, id), result in found.items():
        assert bool(result.held_by) <= (result.status == "holds")
        if result.held_by not in ("", TOGETHER):
            item = next(i for each in CHECKLISTS if each.id == checklist for i in each.items if i.id == id)
            assert judged(item, rich.alone(*result.held_by.split(" and ")))[0] == "holds"


def test_an_item_that_no_document_holds_alone_is_held_by_the_first_two_or_by_the_set(rich):
    items = {(each.id, i.id): i for each in CHECKLISTS for i in each.items}
    found = [r for r in with_holders(rich, report(rich)) if r.held_by == TOGETHER or " and " in r.held_by]
    assert {"booklet and more", TOGETHER} <= {result.held_by for result in found}
    for result in found:
        item = items[result.checklist, result.item]
        assert not any(judged(item, rich.alone(kind))[0] == "holds" for kind in rich.documents)
        if result.held_by == TOGETHER:
            for two in combinations(rich.documents, 2):
                meant = all(rich.meant(kind, item.where) for kind in two)
                assert not meant or judged(item, rich.alone(*two))[0] != "holds"


def test_what_holds_without_any_document_names_none(rich):
    """It looks at the library or the plan: no paper of the set holds it."""
    found = {
        (r.checklist, r.item): r.held_by for r in with_holders(rich, report(rich)) if r.status == "holds"
    }
    items = {(each.id, i.id): i for each in CHECKLISTS for i in each.items}
    bare = {key for key in found if judged(items[key], rich.alone())[0] == "holds"}
    assert bare == {key for key, by in found.items() if not by}


def test_the_record_says_which_document_holds_which_items(packs):
    section = next(s for s in record_of(packs["p-103"]).sections if "record-checklists" in s.parts)
    table = [n for n in section.nodes if isinstance(n, Table)][-1]
    shown = {row[0].content[0].runs[0].text: export_text_of(row[1]) for row in table.rows}
    assert "F28" in shown["slips"] and "F18" in shown["form"] and "G22" in shown["record"]


def export_text_of(cell) -> str:
    return " ".join(text_of(content.runs) for content in cell.content)


def test_the_command_shows_each_item_with_source_and_finding(run, clinic_copy):
    done = run(clinic_copy, "library", "check", "--checklists")
    assert done.exit_code == 0
    assert "HS-P-101" in done.output and "HS-P-104" in done.output
    assert (
        "    K5: holds, by booklet\n      Follow-up is told at the outset. GMC, Guidance for doctors"
        in done.output
    )
    assert "consent form, first page: 8 weeks after the treatment" in done.output


def test_the_command_ends_with_code_10_when_an_item_fails(run, clinic_copy):
    without_follow_up(clinic_copy)
    done = run(clinic_copy, "library", "check", "--checklists")
    assert done.exit_code == 10
    assert "K5: FAILS" in done.output and "the plan names no follow_up" in done.output


def test_a_pack_for_any_technique_alone_lacks_nothing(place):
    """Takes long: a pack for each technique."""
    found = dict(pipeline.checklists_of_library(place.library))
    assert set(found) == set(place.library.treating)
    lacking = {(id, r.item) for id, results in found.items() for r in results if r.status == "fails"}
    assert lacking == set()
