"""The paper for the talk: its questions are about this plan, its papers answer them, none is asked twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from test_any_plan import CLINIC, LIBRARY, PLACE, SOUND, plan_of, plans, prepared

from consentpack.assemble import make_context
from consentpack.assemble.talk_back import said_in
from consentpack.export.pdf import export_pdf
from consentpack.length import pages_in
from consentpack.match import match
from consentpack.model import Plan
from consentpack.pipeline import make_pack
from consentpack.pipeline.deciding import Decided, seen_by
from consentpack.pipeline.drafting import Drafted, draft, inputs_of
from consentpack.pipeline.lengths import sides_in
from consentpack.pipeline.packs import judge_plan
from consentpack.rates import answer_all
from consentpack.readability import target_for
from consentpack.suitability import with_implied
from consentpack.talk_back import MARKS, MOST, QUESTIONS, Place, Question, like, shorter
from consentpack.talk_back.question import FEWEST
from consentpack.tree import Document, Paragraph, Run, Table, text_of, texts


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
    assert set(QUESTIONS) - set(kinds) <= {"gain", "harm", "serious"}
    assert "gain" in kinds or "harm" not in kinds  # what most people have leaves first
    assert sides_in(prepared(plan), papers["talk-back"]) == 1
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


# --- one side ---------------------------------------------------------------------------------------


LANGUAGES = ("en-GB", "es", "fr", "pl", "ar", "vi", "zh-Hans")
PLANS = ("p-101", "p-102", "p-103", "p-104")


def assert_one_side(place, plan, language):
    judged = judge_plan(place, place.folder / f"plans/{plan}.toml", language=language)
    length = judged.measures.of("talk-back")
    assert (length.sides, length.limits.sides, length.over) == (1, 1, ()), (plan, language, length.filled)
    asked = judged.drafted.asked
    assert FEWEST <= len(asked) <= MOST and {"what", "serious", "choice", "tonight", "ring"} <= {
        each.kind for each in asked
    }
    (paper,) = [d for d in judged.documents if d.kind == "talk-back"]
    assert len(table_of(paper).rows) == len(asked)
    for twin in (made.document for kind, made in judged.drafted.twins.items() if kind == "talk-back"):
        assert len(table_of(twin).rows) == len(asked)


def test_the_longest_paper_of_a_demo_plan_is_one_side(place):
    """Takes seconds: a whole plan. In French it was one side and a quarter."""
    assert_one_side(place, "p-103", "fr")


@pytest.mark.slow("28 plans judged")
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("plan", PLANS)
def test_the_paper_of_every_demo_plan_is_one_side_in_every_language(place, plan, language):
    assert_one_side(place, plan, language)


@pytest.mark.office
@pytest.mark.parametrize("language", ["fr", "pl", "vi"])
def test_it_is_one_side_as_drawn(place, language):
    files = {}
    for plan in PLANS:
        judged = judge_plan(place, place.folder / f"plans/{plan}.toml", language=language)
        files[f"{plan}.docx"] = judged.measures.files["docx", "talk-back"].content
    drawn = export_pdf(files)
    assert {name: pages_in(data) for name, data in drawn.items()} == dict.fromkeys(drawn, 1)
    assert len(drawn) == len(PLANS)


def a_question(kind, *said):
    answer = tuple(Paragraph((Run(each),)) for each in said)
    return Question(kind, f"risks/{kind}", "0" * 64, "", answer, Place("form", "Form", "Head"))


ALL = tuple(a_question(kind, f"{kind} one", f"{kind} two", f"{kind} three") for kind in QUESTIONS)


def test_answers_are_said_in_short_first_and_then_two_questions_leave():
    steps = list(shorter(ALL))
    assert steps[0] == ALL
    kinds = [[each.kind for each in some] for some in steps]
    assert kinds[1] == list(QUESTIONS)
    assert [len(each.answer) for each in steps[1]] == [1, 3, 3, 3, 2, 3, 3]
    assert kinds[2] == [kind for kind in QUESTIONS if kind != "harm"]
    assert kinds[3] == ["what", "serious", "choice", "tonight", "ring"] and len(kinds) == 4


def test_no_talk_has_fewer_than_five_questions():
    five = tuple(each for each in ALL if each.kind not in ("harm", "serious"))
    assert [len(some) for some in shorter(five)] == [5, 5]


def test_the_paper_beside_it_asks_the_same_with_as_much_of_each_answer():
    chosen = list(shorter(ALL))[-1]
    assert like(ALL, chosen) == chosen
    assert like(ALL[1:], chosen) == chosen[1:]  # what the other language lacks is not made up


def test_a_clinic_may_have_a_longer_paper(place):
    """Takes seconds: a plan judged twice. Without a limit nothing is left out."""
    free = replace(place, clinic=replace(place.clinic, length={"talk-back": {"sides": 0}}))
    held, whole = (judge_plan(p, p.folder / "plans/p-103.toml", language="fr") for p in (place, free))
    assert whole.measures.of("talk-back").sides == 2 and len(whole.drafted.asked) == MOST
    there = {each.kind: each.said for each in whole.drafted.asked}
    assert all(there[each.kind].startswith(each.said) for each in held.drafted.asked)


def test_a_paper_with_no_room_at_all_says_that_it_is_too_long(place):
    """Takes seconds: a plan judged."""
    tight = replace(place, clinic=replace(place.clinic, length={"talk-back": {"words": 20}}))
    judged = judge_plan(tight, tight.folder / "plans/p-101.toml")
    assert judged.measures.of("talk-back").over == ("words",)
