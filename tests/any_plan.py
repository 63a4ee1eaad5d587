"""What holds of every pack of every plan, whatever the field of medicine: no duplicates, no contradictions,
within its targets, every serious harm in the form. Run for each shipped field (`tests/packs/test_any_plan*`).

No audit: the figures are printed ones or missing, which is when most is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from hypothesis import HealthCheck
from hypothesis import strategies as st

from consentpack.assemble.sheet import MOST_ROWS
from consentpack.catalogues import load
from consentpack.export.text import export_text
from consentpack.length import check as check_length
from consentpack.library import Library
from consentpack.match import match
from consentpack.model import Clinic, Matches, Plan
from consentpack.pipeline.deciding import Decided, seen_by
from consentpack.pipeline.drafting import draft
from consentpack.pipeline.lengths import measures_of
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.prepare import Prepared, Wanted
from consentpack.rates import answer_all
from consentpack.readability import target_for
from consentpack.suitability import with_implied
from consentpack.tree import Document, Items, Table, bodies, paragraphs, text_of

CATALOGUE = load("en-GB", (), where="test")
TODAY = date(2026, 11, 25)
SOUND = {"deadline": None, "suppress_health_check": list(HealthCheck)}
LIMITED = ("form", "booklet", "aftercare")
"""What patients get that may have so many words and sides and no more."""
MOST_WORDS = 650
"""What one sheet of paper is to hold (the clinic's brief; no source)."""


@dataclass(frozen=True)
class AnyPlan:
    """The plans of one clinic's library, and what must hold of each."""

    place: Workplace
    usual: Mapping[str, Any]
    """What a plan says that a test does not change: site, region, indication, strata, words."""
    drawn: Mapping[str, tuple[str, ...]]
    """Stratum -> the values that plans are drawn with."""

    @property
    def library(self) -> Library:
        return self.place.library

    @property
    def clinic(self) -> Clinic:
        return self.place.clinic

    def together(self, ids: tuple[str, ...]) -> bool:
        """Whether a plan may name these: each anaesthetic must be one that the others list."""
        techniques = [self.library.techniques[id] for id in ids]
        numbing = [t.id for t in techniques if not self.library.treats(t)]
        return all(
            not t.anaesthetics or n in t.anaesthetics for n in numbing for t in techniques if t.id != n
        )

    def plan_of(self, ids: tuple[str, ...], **more: Any) -> Plan:
        """Every rule answered: what may not be done together has papers too, once somebody says why."""
        reasons = {id: {"by": "Dr Invented", "why": "To see the papers."} for id in self.library.suitability}
        given = {"sessions": 2, "clinician": "Dr Invented", "experience": "She has done it 20 times."}
        return Plan(
            "R-1", TODAY, "en-GB", planned=ids, reasons=reasons, **{**given, **self.usual, **more}
        )  # fmt: skip

    def plans(self) -> st.SearchStrategy[Plan]:
        return st.composite(self._drawn)()

    def _drawn(self, draw: Any) -> Plan:
        library = self.library
        lead = draw(st.sampled_from(sorted(library.treating)))
        others = draw(
            st.lists(st.sampled_from(sorted(set(library.techniques) - {lead})), max_size=4, unique=True)
        )
        ids: tuple[str, ...] = (lead,)
        for other in others:
            ids = (*ids, other) if self.together((*ids, other)) else ids
        rest = sorted(set(library.treating) - set(ids))
        return self.plan_of(
            ids,
            may_become_necessary=tuple(draw(st.lists(st.sampled_from(rest), max_size=1))),
            factors=tuple(draw(st.lists(st.sampled_from(sorted(library.factors)), max_size=4, unique=True))),
            indication=draw(st.sampled_from(sorted(library.field.indications))),
            region=draw(st.sampled_from(sorted(library.regions))),
            strata={id: draw(st.sampled_from(values)) for id, values in self.drawn.items()},
        )

    def made(self, plan: Plan):
        """The plan with what follows from it, the library as it sees it, its matches, its patient's
        documents."""
        plan = with_implied(plan, self.library)
        seen = seen_by(plan, self.library)
        matches = match(plan, seen.planned, self.clinic.care, afterwards=seen.done)
        rates = answer_all(plan, seen.planned, self.clinic, matches, None)
        drafted = draft(self.prepared(plan), Decided(seen, matches, rates, (), {}, {}))
        documents = {document.kind: document for document in (each.document for each in drafted.made)}
        patients = {
            id: found for id, found in documents.items() if self.library.documents[id].audience == "patient"
        }
        return plan, seen, matches, patients

    def prepared(self, plan: Plan) -> Prepared:
        """The plan as the first stage of a pack gives it, with no file read."""
        return Prepared(self.place, Wanted(TODAY), plan, CATALOGUE, CATALOGUE, (), {})

    def assert_sound(self, plan: Plan) -> None:
        plan, seen, matches, documents = self.made(plan)
        for kind, document in documents.items():
            target = target_for(kind, document.language, self.clinic.reading, self.library.targets)
            score = self.place.scorer.score(document, target)
            assert not score.over, (plan.planned, plan.factors, score.over)
            smog = next(m.value for m in score.measures if m.id == "smog")
            assert smog is None or smog <= 9, (plan.planned, smog)  # few sentences have none
        assert_nothing_twice(documents["homecare"])
        assert_times_agree(documents["homecare"])
        assert_one_sheet(documents["aftercare"], seen.done, matches)
        self.assert_no_longer_than_allowed(plan, documents)
        assert_every_serious_harm(documents["form"], seen.planned, matches)
        self.assert_choices(plan, [m.id for m in matches.options])
        told = {m.id for m in matches.risks}
        assert told >= {r for id in plan.planned for r in seen.planned.techniques[id].risks}

    def assert_no_longer_than_allowed(self, plan: Plan, documents: Mapping[str, Document]) -> None:
        """Hard limits of words and sides, whatever is planned: what the form has no room for has moved."""
        measures = measures_of(self.prepared(plan), [documents[kind] for kind in LIMITED], ())
        for length in measures.lengths:
            assert length.limits.words and (length.limits.sides or length.kind == "booklet") and length.sides
            assert not check_length(length), (plan.planned, plan.may_become_necessary, length)

    def assert_choices(self, plan: Plan, options: list[str]) -> None:
        """Doing nothing first, another choice beside it, and nothing that is planned anyway."""
        assert self.library.options[options[0]].no_treatment
        assert len(options) > 1 and len(options) == len(set(options))
        for id in options:
            assert not set(self.library.options[id].techniques) & set(plan.planned)


def texts_of(document: Document, section: str) -> list[str]:
    (found,) = [s for s in document.sections if s.id == section]
    return [text_of(p.runs) for node in found.nodes for p in paragraphs(node) if p.scored]


def assert_every_serious_harm(form: Document, library: Library, matches: Matches) -> None:
    """In the table of serious harms, a row each, however little room there is."""
    (section,) = [s for s in form.sections if "serious-harms" in s.parts]
    named = {p.source.module for node in section.nodes for p in paragraphs(node)}
    assert named >= {m.id for m in matches.risks if library.risks[m.id].group == "serious"}


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
