"""The booklet and the paper behind it: what the booklet has no room for moves by rule, and nothing is lost.

What is compared is the booklet that would be made if it had no limit, block by block and word for word.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from test_any_plan import CATALOGUE, CLINIC, LIBRARY, PAIRS, leading_first, plan_of, plans, prepared

from consentpack import pipeline
from consentpack.assemble import MOVABLE, Inputs, assemble, make_context
from consentpack.assemble.layers import BOOKLET, FORM, HOW_SURE, MORE, NOTICE, SOURCES, STEPS, WHAT_IT_IS
from consentpack.assemble.short_figures import is_worse
from consentpack.export.text import export_text
from consentpack.length import choose
from consentpack.length.moving import Priced
from consentpack.match import match
from consentpack.model import Plan
from consentpack.pipeline.deciding import Decided, seen_by
from consentpack.pipeline.drafting import draft
from consentpack.rates import answer_all
from consentpack.suitability import with_implied
from consentpack.tree import Document, Node, Paragraph, Pictograph, Table, contents, texts

PLANS = ("p-101", "p-102", "p-103", "p-104")


@dataclass(frozen=True)
class Set:
    """The papers about the choice, and the booklet as it would be without a limit."""

    whole: Document
    booklet: Document
    more: Document | None
    inputs: Inputs


def set_of(pack) -> Set:
    made = {each.document.kind: each for each in pack.drafted.made}
    inputs = made[BOOKLET].inputs
    more = made[MORE].document if MORE in made else None
    return Set(assemble(BOOKLET, replace(inputs, moved={})).document, made[BOOKLET].document, more, inputs)


@dataclass(frozen=True)
class _Pack:
    drafted: object


def of_plan(plan: Plan) -> Set:
    """The papers of a plan without an audit."""
    plan = with_implied(plan, LIBRARY)
    seen = seen_by(plan, LIBRARY)
    matches = match(plan, seen.planned, CLINIC.care, afterwards=seen.done)
    rates = answer_all(plan, seen.planned, CLINIC, matches, None)
    return set_of(_Pack(draft(prepared(plan), Decided(seen, matches, rates, (), {}, {}))))


def said(document: Document) -> Iterator[str]:
    """Each piece of words, and what each picture is of."""
    for node in _nodes(document):
        yield from texts(node)
        if isinstance(node, Table):
            yield from (each.alt for each in contents(node) if isinstance(each, Pictograph))


def _nodes(document: Document) -> Iterator[Node]:
    yield from document.lead
    for section in document.sections:
        yield from section.nodes


def assert_nothing_lost(papers: Set) -> None:
    """Word for word, but for the list of contents, and for lines of whom to ring: these name each sign, in a
    list of all or in the row of its harm, where several of one speed share a line."""
    held = {*said(papers.booklet), *(said(papers.more) if papers.more else ())}
    signs = {CATALOGUE.block(each.short).text for each in LIBRARY.warnings.values()}
    together = " ".join(held)
    for words in said(papers.whole):
        if words in held or words.startswith("In this booklet:"):
            continue
        named = [sign for sign in signs if sign in words]
        assert named and words.startswith(("Ring ", "Tell us at your next visit")), words
        assert all(sign in together for sign in named), words


def assert_by_the_rules(papers: Set) -> None:
    ctx = make_context(papers.inputs)
    left = papers.inputs.moved[BOOKLET]
    library, gains = papers.inputs.library, {match.id for match in papers.inputs.matches.benefits}
    assert not left & gains
    newer = {match.id for match in papers.inputs.matches.newer}
    for id in left:
        what, _, of = id.rpartition(":")
        if (what in ("", NOTICE)) and of in library.risks:
            assert library.risks[of].group != "serious" and not is_worse(ctx, of)
        elif what in ("", WHAT_IT_IS):
            assert not library.options[of].no_treatment and of not in papers.inputs.moved[FORM]
        else:
            assert what in (STEPS, SOURCES) or (what == HOW_SURE and of not in newer), id
    for shortest in (NOTICE, WHAT_IT_IS):  # only of what is told in short already
        assert {id.partition(":")[2] for id in left if id.startswith(f"{shortest}:")} <= left


def rows_about(document: Document) -> dict[str, list[str]]:
    """Harm -> the words of its row, in the part on what can go wrong."""
    found = {}
    for section in document.sections:
        if {"risk-table", "harms-in-full"} & {*section.parts}:
            for table in (node for node in section.nodes if isinstance(node, Table)):
                for row in table.rows:
                    (title, *_) = row[0].content
                    words = [t for c in row for p in c.content if isinstance(p, Paragraph) for t in texts(p)]
                    found[next(texts(title))] = words
    return found


@pytest.mark.parametrize("plan", PLANS)
def test_the_booklet_and_the_paper_behind_it_hold_every_word_of_the_booklet_without_a_limit(packs, plan):
    papers = set_of(packs[plan])
    assert papers.more is not None
    assert_nothing_lost(papers)
    assert_by_the_rules(papers)


@pytest.mark.parametrize("plan", PLANS)
def test_a_serious_harm_stands_whole_in_the_booklet_with_its_figure(packs, plan):
    papers = set_of(packs[plan])
    before, after = (rows_about(each) for each in (papers.whole, papers.booklet))
    serious = [r for r in papers.inputs.library.risks.values() if r.group == "serious" and r.title in before]
    assert len(serious) >= 5
    for risk in serious:
        assert after[risk.title] == before[risk.title]


@pytest.mark.parametrize("plan", PLANS)
def test_every_harm_keeps_its_row_with_a_figure_and_what_may_last(packs, plan):
    """In short or at length: each harm is in the booklet by name, with its figure or that there is none."""
    papers = set_of(packs[plan])
    before, after = (rows_about(each) for each in (papers.whole, papers.booklet))
    assert list(before) == list(after)
    library = papers.inputs.library
    for risk in (each for each in library.risks.values() if each.title in after):
        lasts = [i.text for b in risk.sections["How long it lasts"] for i in b.items if "{{" not in i.text]
        assert set(lasts) <= set(after[risk.title]), risk.id
        if risk.id in papers.inputs.moved[BOOKLET]:
            assert any(FIGURE.search(words) for words in after[risk.title]), risk.id


def test_a_harm_worse_here_than_elsewhere_is_told_at_length(packs):
    """Of one demo plan bleeding is worse than published: its row has whom it was counted in."""
    papers = set_of(packs["p-102"])
    ctx = make_context(papers.inputs)
    worse = [m.id for m in papers.inputs.matches.risks if is_worse(ctx, m.id)]
    assert "bleeding" in worse and not set(worse) & papers.inputs.moved[BOOKLET]
    row = rows_about(papers.booklet)["Bleeding where we worked"]
    assert any("treatments here" in words for words in row)
    assert "Bleeding where we worked" not in rows_about(papers.more)


def test_the_booklet_says_where_the_rest_stands_once_for_each_part(packs):
    papers = set_of(packs["p-102"])
    line = "This stands in full in “More about your treatment”."
    for part in ("what-happens", "anaesthetics", "benefits", "risk-table", "options", "figure-sources"):
        (section,) = [each for each in papers.booklet.sections if part in each.parts]
        words = [text for node in section.nodes for text in texts(node)]
        assert sum(line in each for each in words) == (2 if part == "risk-table" else 1), part
    assert line not in list(said(papers.more))


FIGURE = re.compile(r"^(under |over |none in )?\d+|figure|A study saw")


def with_limit(clinic: Path, words: int) -> pipeline.Pack:
    settings_file = clinic / "clinic.toml"
    limit = f"\n[length.booklet]\nwords = {words}\neach_more_words = 0\n"
    settings_file.write_text(settings_file.read_text(encoding="utf-8") + limit, encoding="utf-8")
    return pipeline.make_pack(pipeline.open_workplace(clinic), clinic / "plans/p-101.toml")


def test_without_a_limit_nothing_moves_and_the_paper_behind_is_not_made(clinic_copy):
    pack = with_limit(clinic_copy, 0)
    assert MORE not in {each.kind for each in pack.documents}
    assert not any(name.startswith("more") for name in pack.files)
    papers = set_of(pack)
    assert papers.booklet == papers.whole and papers.inputs.moved[BOOKLET] == frozenset()
    (line,) = [each for each in record_says(pack) if "More about your treatment" in each]
    assert line == "Nothing had to move from the booklet to “More about your treatment”."


def record_says(pack) -> list[str]:
    record = next(each for each in pack.documents if each.kind == "record")
    (section,) = [s for s in record.sections if "record-readability" in s.parts]
    return [text for node in section.nodes for text in texts(node)]


def test_record_and_manifest_name_all_that_moved(packs):
    pack = packs["p-102"]
    moved = json.loads(pack.files["manifest.json"])["moved"]
    assert moved == {kind: list(ids) for kind, ids in pack.drafted.moved.items()}
    assert list(moved) == [FORM, BOOKLET] and len(moved[BOOKLET]) > 20
    (line,) = [each for each in record_says(pack) if each.startswith("Moved from the booklet")]
    for name in ("Infection", "steps of the day", "studies that figures are from", "Acid peels of the skin"):
        assert name in line
    assert "how much is known of a numbing injection near a nerve of the face" in line
    assert line.count("; ") + 1 == len(moved[BOOKLET])


def test_more_moves_only_where_less_room_is(clinic_copy):
    """Where the limit cannot be kept all that may move has moved, what one may notice too, and it is said."""
    pack = with_limit(clinic_copy, 2000)
    papers = set_of(pack)
    items = MOVABLE[BOOKLET](make_context(replace(papers.inputs, moved={FORM: papers.inputs.moved[FORM]})))
    assert papers.inputs.moved[BOOKLET] == {each.id for each in items if each.may_move}
    assert any(id.startswith(NOTICE) for id in papers.inputs.moved[BOOKLET])
    assert any(problem.where.startswith("booklet") for problem in pack.problems)
    assert_nothing_lost(papers)
    assert_by_the_rules(papers)


def test_harms_move_after_all_else_and_what_one_may_notice_of_them_last(packs):
    papers = set_of(packs["p-102"])
    items = MOVABLE[BOOKLET](make_context(replace(papers.inputs, moved={})))
    kinds = [_kind(each, papers) for each in sorted(items, key=lambda each: each.order)]
    order = list(dict.fromkeys(kinds))
    assert order == [NOTICE, WHAT_IT_IS, "harm", STEPS, "choice", HOW_SURE, SOURCES]
    raised = {id for m in papers.inputs.matches.factors for id in LIBRARY.factors[m.id].raises}
    harms = [each.id for each in items if _kind(each, papers) == "harm"]
    last = max(harms.index(id) for id in harms if id in raised)
    assert raised & set(harms) == set(harms[: last + 1])
    half = choose(items, budget=sum(each.words for each in items) - 300)
    assert {_kind(each, papers) for each in half.moves} <= {"choice", HOW_SURE, SOURCES}


def _kind(item: Priced, papers: Set) -> str:
    what, _, of = item.id.rpartition(":")
    return what or ("harm" if of in papers.inputs.library.risks else "choice")


def test_a_translation_keeps_and_moves_the_same(place, packs):
    """Makes a pack in Vietnamese, in which the same is said in a third more words: the limit is a third
    higher, and little more moves for it."""
    pack = pipeline.make_pack(place, place.folder / "plans/p-102.toml", language="vi")
    moved, in_english = (set(each.drafted.moved[BOOKLET]) for each in (pack, packs["p-102"]))
    assert in_english <= moved and len(moved) <= len(in_english) + 3
    assert not [each for each in pack.measures.lengths if each.over]


def test_the_paper_behind_is_scored_approved_and_measured_as_the_booklet_is(packs):
    pack = packs["p-103"]
    assert MORE in {score.kind for score in pack.scores}
    assert pack.measures.of(MORE).words > 1000
    assert {"more.docx", "more.html"} <= set(pack.files)
    assert "In full" not in export_text(pack.documents[0])


SOUND = {"deadline": None, "suppress_health_check": list(HealthCheck)}


@settings(max_examples=8, **SOUND)
@given(plans())
def test_no_word_is_lost_for_any_plan(plan):
    """Takes seconds: the papers of eight plans."""
    papers = of_plan(plan)
    assert_nothing_lost(papers)
    assert_by_the_rules(papers)


@pytest.mark.slow("300 plans")
@settings(max_examples=300, **SOUND)
@given(plans())
def test_no_word_is_lost_for_many_more_plans(plan):
    papers = of_plan(plan)
    assert_nothing_lost(papers)
    assert_by_the_rules(papers)


@pytest.mark.parametrize("pair", PAIRS[::60], ids="+".join)
def test_no_word_is_lost_for_pairs_of_techniques(pair):
    papers = of_plan(plan_of(leading_first(pair)))
    assert_nothing_lost(papers)
    assert_by_the_rules(papers)
