"""Any plan that may be made gives a pack without duplicates or contradictions, within its targets.

Plans drawn from one to five techniques with factors, and pairs of techniques that may be planned
together; a few each time, hundreds in CI. No audit: the figures are printed ones or missing, which is
when most is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from itertools import combinations

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from consentpack import shipped
from consentpack.assemble.on_the_day import shared_steps
from consentpack.assemble.sheet import MOST_ROWS
from consentpack.catalogues import load
from consentpack.consent_rules import UNDER_AGE
from consentpack.export.docx import export_docx
from consentpack.export.text import export_text
from consentpack.length import check as check_length
from consentpack.library import Library
from consentpack.match import match
from consentpack.model import Matches, Plan
from consentpack.pipeline import open_workplace
from consentpack.pipeline.deciding import Decided, seen_by
from consentpack.pipeline.drafting import draft
from consentpack.pipeline.lengths import measures_of
from consentpack.pipeline.prepare import Prepared, Wanted
from consentpack.rates import answer_all
from consentpack.readability import target_for
from consentpack.suitability import with_implied
from consentpack.tree import Document, Items, Table, bodies, paragraphs, text_of

PLACE = open_workplace(shipped.demo_clinic())
LIBRARY, CLINIC = PLACE.library, PLACE.clinic
CATALOGUE = load("en-GB", (), where="test")
TODAY = date(2026, 11, 25)


def together(ids: tuple[str, ...]) -> bool:
    """Whether a plan may name these: each anaesthetic must be one that the others list."""
    techniques = [LIBRARY.techniques[id] for id in ids]
    numbing = [t.id for t in techniques if not LIBRARY.treats(t)]
    return all(not t.anaesthetics or n in t.anaesthetics for n in numbing for t in techniques if t.id != n)


REASONS = {id: {"by": "Dr Invented", "why": "To see the papers."} for id in LIBRARY.suitability}
"""Every rule answered: what may not be done together has papers too, once somebody says why."""


def plan_of(ids: tuple[str, ...], **more) -> Plan:
    usual = {"site": "left cheek", "region": "cheek", "strata": {"skin_type": "III"}, "indication": "rolling"}
    return Plan(
        "R-1", TODAY, "en-GB", planned=ids, sessions=2, reasons=REASONS,
        condition="dipped scars from acne", reason="Tight bands pull your scars down. We can free them.",
        clinician="Dr Invented", clinician_role="skin doctor", experience="She has done it 20 times.",
        **{**usual, **more},
    )  # fmt: skip


@st.composite
def plans(draw) -> Plan:
    lead = draw(st.sampled_from(sorted(LIBRARY.treating)))
    others = draw(
        st.lists(st.sampled_from(sorted(set(LIBRARY.techniques) - {lead})), max_size=4, unique=True)
    )
    ids: tuple[str, ...] = (lead,)
    for other in others:
        ids = (*ids, other) if together((*ids, other)) else ids
    rest = sorted(set(LIBRARY.treating) - set(ids))
    return plan_of(
        ids,
        may_become_necessary=tuple(draw(st.lists(st.sampled_from(rest), max_size=1))),
        factors=tuple(draw(st.lists(st.sampled_from(sorted(LIBRARY.factors)), max_size=4, unique=True))),
        indication=draw(st.sampled_from(sorted(LIBRARY.field.indications))),
        region=draw(st.sampled_from(sorted(LIBRARY.regions))),
        strata={"skin_type": draw(st.sampled_from(("I", "III", "VI")))},
    )


def made(plan: Plan):
    """The plan with what follows from it, the library as it sees it, its matches, its patient's documents."""
    plan = with_implied(plan, LIBRARY)
    seen = seen_by(plan, LIBRARY)
    matches = match(plan, seen.planned, CLINIC.care, afterwards=seen.done)
    rates = answer_all(plan, seen.planned, CLINIC, matches, None)
    drafted = draft(prepared(plan), Decided(seen, matches, rates, (), {}, {}))
    documents = {document.kind: document for document in (each.document for each in drafted.made)}
    patients = {id: found for id, found in documents.items() if LIBRARY.documents[id].audience == "patient"}
    return plan, seen, matches, patients


def prepared(plan: Plan) -> Prepared:
    """The plan as the first stage of a pack gives it, with no file read."""
    return Prepared(PLACE, Wanted(TODAY), plan, CATALOGUE, CATALOGUE, (), {})


def texts_of(document: Document, section: str) -> list[str]:
    (found,) = [s for s in document.sections if s.id == section]
    return [text_of(p.runs) for node in found.nodes for p in paragraphs(node) if p.scored]


def assert_sound(plan: Plan) -> None:
    plan, seen, matches, documents = made(plan)
    for kind, document in documents.items():
        target = target_for(kind, document.language, CLINIC.reading, LIBRARY.targets)
        score = PLACE.scorer.score(document, target)
        assert not score.over, (plan.planned, plan.factors, score.over)
        smog = next(m.value for m in score.measures if m.id == "smog")
        assert smog is None or smog <= 9, (plan.planned, smog)  # few sentences have none
    assert_nothing_twice(documents["homecare"])
    assert_times_agree(documents["homecare"])
    assert_one_sheet(documents["aftercare"], seen.done, matches)
    assert_no_longer_than_allowed(plan, documents)
    assert_every_serious_harm(documents["form"], seen.planned, matches)
    assert_choices(plan, [m.id for m in matches.options])
    told = {m.id for m in matches.risks}
    assert told >= {r for id in plan.planned for r in seen.planned.techniques[id].risks}


LIMITED = ("form", "booklet", "aftercare")
"""What patients get that may have so many words and sides and no more."""


def assert_no_longer_than_allowed(plan: Plan, documents: Mapping[str, Document]) -> None:
    """Hard limits of words and sides, whatever is planned: what the form has no room for has moved."""
    measures = measures_of(prepared(plan), [documents[kind] for kind in LIMITED], ())
    for length in measures.lengths:
        assert length.limits.words and (length.limits.sides or length.kind == "booklet") and length.sides
        assert not check_length(length), (plan.planned, plan.may_become_necessary, length)


def assert_every_serious_harm(form: Document, library: Library, matches: Matches) -> None:
    """In the table of serious harms, a row each, however little room there is."""
    (section,) = [s for s in form.sections if "serious-harms" in s.parts]
    named = {p.source.module for node in section.nodes for p in paragraphs(node)}
    assert named >= {m.id for m in matches.risks if library.risks[m.id].group == "serious"}


MOST_WORDS = 650
"""What one sheet of paper is to hold (the clinic's brief; no source)."""


def assert_one_sheet(sheet: Document, library: Library, matches: Matches) -> None:
    """Few words; every emergency sign under the one number; every sign of a serious harm."""
    said = export_text(sheet).split()
    # the raised figure that leads to a note below a table is no word
    assert sum(any(c.isalpha() or c.isdecimal() for c in word) for word in said) <= MOST_WORDS
    (table,) = sheet.lead
    assert isinstance(table, Table) and table.urgent and len(table.rows) <= MOST_ROWS + 1
    named = {p.source.module for p in paragraphs(table)}
    told = {p.source.module for s in sheet.sections for n in s.nodes for p in paragraphs(n)}
    warnings = [library.warnings[m.id] for m in matches.warnings]
    assert named >= {w.id for w in warnings if w.tier == "ambulance"}
    serious = {sign for r in library.risks.values() if r.group == "serious" for sign in r.signs}
    assert told >= {w.id for w in warnings if w.tier == "at-once"}
    assert told >= {w.id for w in warnings if w.tier == "same-day" and w.id in serious}


def assert_nothing_twice(aftercare: Document) -> None:
    """Two techniques that ask for one thing give one instruction."""
    for section in aftercare.sections:
        said = [
            text_of(item.runs)
            for node in section.nodes
            for body in bodies(node)
            for item in (body.items if isinstance(body, Items) else ())
        ]
        assert len(said) == len(set(said)), section.id


def assert_times_agree(aftercare: Document) -> None:
    """Each activity has one row, and nobody is told to do what they are told not to do."""
    (section,) = [s for s in aftercare.sections if s.id == "when-you-can-do-things-again"]
    (table,) = [n for n in section.nodes if isinstance(n, Table)]
    activities = [text_of(row[0].content[0].runs) for row in table.rows]
    assert len(activities) == len(set(activities))
    told, forbidden = set(), set()
    for period in ("tonight", "tomorrow", "the-first-week", "after-the-first-week"):
        if any(s.id == period for s in aftercare.sections):
            for text in texts_of(aftercare, period):
                first = text.split(". ")[0].strip(". ").lower()
                (forbidden if first.startswith("do not ") else told).add(first.removeprefix("do not "))
    assert not told & forbidden


def assert_choices(plan: Plan, options: list[str]) -> None:
    """Doing nothing first, another choice beside it, and nothing that is planned anyway."""
    assert LIBRARY.options[options[0]].no_treatment
    assert len(options) > 1 and len(options) == len(set(options))
    for id in options:
        assert not set(LIBRARY.options[id].techniques) & set(plan.planned)


SOUND = {"deadline": None, "suppress_health_check": list(HealthCheck)}


@settings(max_examples=15, **SOUND)
@example(plan_of(("filler-after-release",), may_become_necessary=("scar-excision",)))
@example(
    plan_of(
        ("deep-support-filler", "acid-focal", "bevelled-blade-needle", "topical-anaesthetic"),
        strata={"skin_type": "I"}, region="between-brows", indication="boxcar",
    )
)  # fmt: skip
@given(plans())
def test_any_plan_gives_a_sound_pack(plan):
    """Takes seconds: fifteen whole packs and those that once were over their targets."""
    assert_sound(plan)


@pytest.mark.slow("500 whole packs")
@settings(max_examples=500, **SOUND)
@given(plans())
def test_many_more_plans_give_a_sound_pack(plan):
    assert_sound(plan)


PAIRS = [
    pair
    for pair in combinations(sorted(LIBRARY.techniques), 2)
    if together(pair) and set(pair) & set(LIBRARY.treating)
]


def leading_first(pair: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted(pair, key=lambda id: id not in LIBRARY.treating))


def test_there_are_as_many_pairs_as_the_library_allows():
    assert len(PAIRS) > 300
    assert not together(("filler-after-release", "topical-anaesthetic"))


@pytest.mark.parametrize("pair", PAIRS[::25], ids="+".join)
def test_some_pairs_of_techniques_that_may_be_planned_together_give_a_sound_pack(pair):
    assert_sound(plan_of(leading_first(pair)))


@pytest.mark.slow("300 whole packs and more")
@pytest.mark.parametrize("number", range(10))
def test_every_pair_of_techniques_that_may_be_planned_together_gives_a_sound_pack(number):
    for pair in PAIRS[number::10]:
        assert_sound(plan_of(leading_first(pair)))


@pytest.mark.parametrize("id", sorted(LIBRARY.treating))
def test_every_technique_alone_becomes_a_word_file(id):
    *_, documents = made(plan_of((id,)))
    for document in documents.values():
        assert export_docx(document, day=TODAY)[:2] == b"PK"


def test_the_longer_time_is_printed_once_for_a_release_with_surface_work():
    """A needle release asks for the usual sun cover, the laser for a longer one."""
    plan = plan_of(("needle-fan-one-entry", "laser-ablative-fractional"))
    _, _, matches, documents = made(plan)
    usual, longer = (LIBRARY.settings[name] for name in ("sun_cover", "sun_cover_surface"))
    assert longer.value > usual.value and longer.unit == usual.unit == "months"
    assert [w.because for w in matches.waits if w.setting == "sun_cover"] == ["laser-ablative-fractional"]
    text = " ".join(texts_of(documents["homecare"], "when-you-can-do-things-again"))
    assert f"{longer.value} {longer.unit}" in text and f"{usual.value} {usual.unit} after" not in text


def test_the_factor_for_minors_is_one_the_library_has():
    assert UNDER_AGE in LIBRARY.factors


# --- steps of a visit ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lists", "opening", "closing"),
    [
        ([["ask", "clean", "cut", "press"], ["ask", "clean", "laser", "press"]], ["ask", "clean"], ["press"]),
        ([["ask", "cut"], ["laser"]], [], []),
        ([["ask", "cut"], ["ask", "laser"], ["peel"]], ["ask"], []),
        ([list("abcdefgz"), list("ghijklmz")], [], ["z"]),
    ],
)
def test_steps_that_several_techniques_share_are_steps_of_the_visit(lists, opening, closing):
    assert shared_steps(lists) == (opening, closing)


words = st.lists(st.sampled_from("abcdefgh"), min_size=1, max_size=8, unique=True)


@given(st.lists(words, min_size=2, max_size=4))
def test_no_step_is_lost_and_none_is_both_at_the_start_and_the_end(lists):
    opening, closing = shared_steps(lists)
    assert not set(opening) & set(closing)
    own = {step for listed in lists for step in listed if step not in (*opening, *closing)}
    assert own | {*opening, *closing} == {step for listed in lists for step in listed}
