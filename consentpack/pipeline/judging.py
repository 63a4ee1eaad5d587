"""The fourth stage of a pack: whether patients may have it, and how it stands to what is published."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from consentpack import readability
from consentpack.approvals import not_approved, tables
from consentpack.assemble import Judgement, complete
from consentpack.check.checklists import NOTES, Held, report, with_holders
from consentpack.consent_rules import broken, undecided
from consentpack.errors import (
    ConsentpackError,
    ConsentRuleError,
    LengthError,
    Problem,
    ReadabilityError,
    TranslationError,
)
from consentpack.length import check as check_length
from consentpack.model import ApprovalState, ItemResult, Matches, Module, Plan, RateAnswer, Score
from consentpack.pipeline.deciding import Decided
from consentpack.pipeline.drafting import Drafted, printed_in
from consentpack.pipeline.in_language import beside, differences, untranslated
from consentpack.pipeline.lengths import Measures, measures_of
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.prepare import Prepared
from consentpack.pipeline.sign_off import states_of
from consentpack.tree import Document


@dataclass(frozen=True)
class Judged:
    """Everything made from one plan, before any file of it."""

    prepared: Prepared
    decided: Decided
    drafted: Drafted
    documents: tuple[Document, ...]
    """In the order of the pack; with a mark for drafts where patients may not have them."""
    scores: tuple[Score, ...]
    """Of those documents that have to be easy to read."""
    states: Mapping[str, ApprovalState]
    draft: tuple[str, ...]
    problems: tuple[Problem, ...]
    """What keeps patients from having it: not translated, against the consent rules, too hard, too long."""
    refusal: type[ConsentpackError]
    """The kind of error it is to ask for the pack all the same, if there are problems."""
    checklists: tuple[ItemResult, ...] = ()
    """How the documents stand to published checklists."""
    measures: Measures = field(default_factory=Measures)
    """How long each document is."""

    @property
    def plan(self) -> Plan:
        return self.prepared.plan

    @property
    def matches(self) -> Matches:
        return self.decided.matches

    @property
    def rates(self) -> Mapping[str, RateAnswer]:
        return self.decided.rates

    def scored(self) -> Iterator[tuple[Document, Score]]:
        """Each document that has a score, with it."""
        by_kind = {score.kind: score for score in self.scores}
        yield from ((each, by_kind[each.kind]) for each in self.documents if each.kind in by_kind)


def judge(prepared: Prepared, decided: Decided, drafted: Drafted) -> Judged:
    """Hold the documents against targets of reading and length, translation, consent rules, approvals and
    checklists."""
    scores = scores_of(prepared.place, drafted)
    problems, refusal = _problems(prepared, drafted, scores)
    states = _states(prepared, drafted)
    checklists = _checklists(held(prepared, decided, drafted, scores))
    undated = undecided(prepared.plan, prepared.place.clinic, prepared.place.library)
    marks = (*not_approved(states), *undated, *(problem.what for problem in problems))
    made = tuple(each.document for each in drafted.made)
    judgement = Judgement(states, scores, (), checklists, documents=made, draft=marks)
    finished, measures = _complete(prepared, drafted, judgement, marks)
    too_long = [problem for length in measures.lengths for problem in check_length(length)]
    marks += tuple(f"{problem.where}: {problem.what}" for problem in too_long)
    documents = [replace(each.document, draft=marks) for each in finished.made]
    if prepared.wanted.both_languages:
        documents += beside(documents, drafted.twins, prepared)
    return Judged(
        prepared,
        decided,
        finished,
        tuple(documents),
        scores,
        states,
        marks,
        (*problems, *too_long),
        refusal if problems else LengthError,
        checklists,
        measures,
    )


def _complete(
    prepared: Prepared, drafted: Drafted, judgement: Judgement, marks: tuple[str, ...]
) -> tuple[Drafted, Measures]:
    """The documents with what they say of the whole pack, and the length of each.

    The record says how long the others are, so it is measured after them.
    """
    plans = prepared.place.library.documents
    patients = [d for each in drafted.made if plans[(d := each.document).kind].audience == "patient"]
    measures = measures_of(prepared, patients, marks)
    judgement = replace(judgement, lengths=measures.lengths)
    finished = replace(drafted, made=tuple(complete(each, judgement) for each in drafted.made))
    others = [d for each in finished.made if plans[(d := each.document).kind].audience != "patient"]
    return finished, measures | measures_of(prepared, others, marks)


def _checklists(pack: Held) -> tuple[ItemResult, ...]:
    """How the pack stands to published lists; with the document of each item where a record says it."""
    results = report(pack)
    return with_holders(pack, results) if NOTES in pack.documents else results


def scores_of(place: Workplace, drafted: Drafted) -> tuple[Score, ...]:
    """How hard the documents are to read that have to be easy."""
    return tuple(_score(place, document) for document in easy_to_be(place, drafted))


def easy_to_be(place: Workplace, drafted: Drafted) -> list[Document]:
    """The documents that have to be easy to read."""
    plans = place.library.documents
    return [each.document for each in drafted.made if plans[each.document.kind].must_be_easy]


def _score(place: Workplace, document: Document) -> Score:
    library, rules = place.library, place.clinic.reading
    target = readability.target_for(document.kind, document.language, rules, library.targets)
    return place.scorer.score(document, target)


def _problems(
    prepared: Prepared, drafted: Drafted, scores: Sequence[Score]
) -> tuple[list[Problem], type[ConsentpackError]]:
    """What keeps patients from having the pack, and the error that the first of it makes."""
    place, plan = prepared.place, prepared.plan
    plans = place.library.documents
    patients = [each for each in drafted.made if not plans[each.document.kind].in_clinics_language]
    not_in_language = [
        *untranslated(plan, prepared.catalogue, printed_in(patients)),
        *differences([each.document for each in patients], drafted.twins),
    ]
    against = broken(plan, place.clinic, place.library)
    too_hard = _too_hard(place, easy_to_be(place, drafted), scores)
    refusal = TranslationError if not_in_language else ConsentRuleError if against else ReadabilityError
    return [*not_in_language, *against, *too_hard], refusal


def _too_hard(place: Workplace, documents: Iterable[Document], scores: Iterable[Score]) -> list[Problem]:
    both = zip(documents, scores, strict=True)
    return [p for document, score in both for p in readability.check(place.scorer, document, score)]


def _states(prepared: Prepared, drafted: Drafted) -> dict[str, ApprovalState]:
    """How everything the pack is made of stands: modules, and the tables that print numbers.

    A plan dated back must not revive an approval that has run out, so the later day counts. What only
    the clinic's own documents print needs no approval in the patient's language. Modules are judged whole:
    people sign off all of a module, also what does not concern this plan.
    """
    place, today = prepared.place, max(prepared.wanted.today, prepared.plan.prepared)
    used, others = used_in(prepared, drafted)
    found = states_of(place, used, prepared.catalogue, approvals=prepared.approvals, today=today)
    return states_of(place, others, prepared.own, approvals=prepared.approvals, today=today) | found


def used_in(prepared: Prepared, drafted: Drafted) -> tuple[dict[str, Module], dict[str, Module]]:
    """What the patient's papers are made of, with the tables that print numbers, and what only the clinic's
    own papers hold besides: file -> module, whole."""
    place = prepared.place
    plans = place.library.documents
    patients = [each for each in drafted.made if not plans[each.document.kind].in_clinics_language]
    whole = {module.file: module for _, module in place.library.modules()}
    used = {file: whole[file] for file in printed_in(patients).used}
    used |= tables(place.library, place.clinic)
    return used, {file: whole[file] for file in drafted.printed.used if file not in used}


def held(prepared: Prepared, decided: Decided, drafted: Drafted, scores: tuple[Score, ...]) -> Held:
    """A pack as published checklists look at it.

    The aftercare sheet is held to the topics and signs of what was done: a line about what was planned
    and not done would be missed there for ever.
    """
    seen = decided.seen
    library = replace(seen.planned, aftercare=seen.done.aftercare, warnings=seen.done.warnings)
    return Held(
        documents={each.document.kind: each.document for each in drafted.made},
        plan=prepared.plan,
        matches=decided.matches,
        library=library,
        clinic=prepared.place.clinic,
        scores=scores,
        rates=decided.rates,
    )
