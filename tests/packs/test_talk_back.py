"""The paper for the talk: its questions are about this plan, its papers answer them, none is asked twice."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from hypothesis import example, given, settings
from test_any_plan import CLINIC, LIBRARY, PLACE, SOUND, plan_of, plans, prepared

from consentpack.assemble import make_context
from consentpack.assemble.talk_back import said_in
from consentpack.match import match
from consentpack.model import Plan
from consentpack.pipeline import make_pack
from consentpack.pipeline.deciding import Decided, seen_by
from consentpack.pipeline.drafting import Drafted, draft, inputs_of
from consentpack.rates import answer_all
from consentpack.readability import target_for
from consentpack.suitability import with_implied
from consentpack.talk_back import MARKS, MOST, QUESTIONS, Question
from consentpack.tree import Document, Table, text_of, texts

FEWEST = 5


def drafted(plan: Plan) -> tuple[Plan, Decided, Drafted]:
    plan = with_implied(plan, LIBRARY)
    seen = seen_by(plan, LIBRARY)
    matches = match(plan, seen.planned, CLINIC.care, afterwards=seen.done)
    rates = answer_all(plan, seen.planned, CLINIC, matches, None)
    decided = Decided(seen, matches, rates, (), {}, {})
    return plan, decided, draft(prepared(plan), decided)


def words_of(document: Document) -> Iterator[str]:
    """Every piece of words of a paper, its headings too."""
    yield document.title
    for node in document.lead:
        yield from texts(node)
    for section in document.sections:
        yield section.heading
        for node in section.nodes:
            yield from texts(node)


def table_of(document: Document) -> Table:
    (table,) = [n for s in document.sections for n in s.nodes if isinstance(n, Table)]
    return table


def assert_asks_what_can_be_answered(plan: Plan) -> None:
    plan, decided, made = drafted(plan)
    papers = {each.document.kind: each.document for each in made.made}
    ctx = make_context(inputs_of(prepared(plan), decided))
    asked = {said_in(ctx, each): each for each in made.asked}
    assert FEWEST <= len(made.asked) <= MOST and len(asked) == len(made.asked), plan.planned
    kinds = [each.kind for each in made.asked]
    assert kinds == [kind for kind in QUESTIONS if kind in kinds]
    assert {"what", "gain", "harm", "serious", "choice", "tonight", "ring"} - set(kinds) <= {
        "harm",
        "serious",
    }
    for question, each in asked.items():
        assert_answered_by(papers[each.place.paper], each)
        assert_of_this_plan(each, plan, decided)
        assert_gives_nothing_away(question, each)
        assert question.endswith(("?", "words."))
    assert_as_printed(papers["talk-back"], made.asked, list(asked))


def assert_answered_by(paper: Document, asked: Question) -> None:
    """Each sentence of the answer stands in the paper it names, and so does the heading it stands under."""
    there = list(words_of(paper))
    assert asked.answer
    for each in asked.answer:
        assert any(text_of(each.runs) in words for words in there), (asked.kind, text_of(each.runs))
    assert asked.place.heading in there, asked.place


def assert_of_this_plan(asked: Question, plan: Plan, decided: Decided) -> None:
    folder, id = asked.module.split("/")
    matches = decided.matches
    called_for = {
        "techniques": plan.planned,
        "risks": [m.id for m in matches.risks],
        "benefits": [m.id for m in matches.benefits],
        "options": [m.id for m in matches.options],
        "warnings": [m.id for m in matches.warnings],
        "documents": ["aftercare"],
    }
    assert id in called_for[folder], asked
    assert asked.digest == LIBRARY.kind(folder)[id].digest
    if folder == "risks":
        assert (LIBRARY.risks[id].group == "serious") is (asked.kind == "serious")
        assert id not in LIBRARY.field.may_not_work


def plain(words: str) -> str:
    return re.sub(r"\W+", " ", words).casefold().strip()


def assert_gives_nothing_away(question: str, asked: Question) -> None:
    """No figure, and no sentence of the answer; what a question names it does not ask for."""
    assert not any(letter.isdigit() for letter in question)
    for each in asked.answer:
        answer = plain(text_of(each.runs))
        if asked.about:
            answer = answer.removeprefix(plain(asked.about)).strip()
        assert answer and answer not in plain(question), (question, answer)


def assert_as_printed(paper: Document, asked: tuple[Question, ...], said: list[str]) -> None:
    """A row for each, three boxes in each, and as easy to read as the form has to be."""
    table = table_of(paper)
    assert [text_of(row[0].content[0].runs) for row in table.rows] == said
    assert all(len(row) == 2 + len(MARKS) for row in table.rows)
    for row, each in zip(table.rows, asked, strict=True):
        shown = text_of(row[1].content[0].runs)
        assert all(text_of(p.runs) in shown for p in each.answer)
    target = target_for("form", paper.language, CLINIC.reading, LIBRARY.targets)
    score = PLACE.scorer.score(paper, target)
    assert not score.over and score.grade is not None and score.grade <= target.limit


@settings(max_examples=15, **SOUND)
@example(plan_of(("needle-point-by-point",), may_become_necessary=("scar-excision",)))
@example(plan_of(("skin-biopsy",)))
@given(plans())
def test_any_plan_is_asked_about_from_its_own_papers(plan):
    """Takes seconds: fifteen whole drafts and more."""
    assert_asks_what_can_be_answered(plan)


@pytest.mark.slow("500 whole drafts")
@settings(max_examples=500, **SOUND)
@given(plans())
def test_many_more_plans_are_asked_about_from_their_own_papers(plan):
    assert_asks_what_can_be_answered(plan)


@pytest.mark.parametrize("id", sorted(LIBRARY.treating)[::4])
def test_the_talk_takes_no_more_than_a_sheet_and_three_minutes(id):
    """At 175 words a minute (Brysbaert 2019) for all that is printed; of it only the questions are said."""
    _, _, made = drafted(plan_of((id,)))
    (paper,) = [each.document for each in made.made if each.document.kind == "talk-back"]
    questions = [text_of(row[0].content[0].runs) for row in table_of(paper).rows]
    assert len(" ".join(questions).split()) / 175 < 1
    assert sum(len(words.split()) for words in words_of(paper)) / 175 < 3


def test_the_paper_says_that_it_is_no_exam_and_bars_no_treatment(packs):
    (paper,) = [d for d in packs["p-101"].documents if d.kind == "talk-back"]
    said = " ".join(words_of(paper))
    assert "It is not a test of you." in said
    assert "never by itself a reason not to treat you" in said
    assert paper.audience == "clinician" and not any("signature" in w.lower() for w in words_of(paper))


def test_a_patients_language_has_the_same_questions_with_the_clinics_words_beside(packs, place):
    """Takes seconds: a whole pack in another language."""
    pack = make_pack(place, place.folder / "plans/p-101.toml", language="pl")
    (paper,) = [d for d in pack.documents if d.kind == "talk-back"]
    own = packs["p-101"].drafted.asked
    assert [(q.kind, q.module) for q in pack.drafted.asked] == [(q.kind, q.module) for q in own]
    table = table_of(paper)
    assert [column.endswith(f"({mark})") for column, mark in zip(table.columns[2:], MARKS, strict=True)]
    harm = next(row for row, q in zip(table.rows, own, strict=True) if q.kind == "harm")
    question, clinics = (text_of(p.runs) for p in harm[0].content)
    assert "swelling" not in question and clinics == "harm: swelling"
    assert harm[0].content[1].runs[0].language == "en-GB"
