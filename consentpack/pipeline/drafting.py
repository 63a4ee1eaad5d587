"""The third stage of a pack: its documents, each in the language of its reader."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import reduce
from math import ceil

from consentpack.approvals import holding, phrases_of
from consentpack.assemble import (
    ABOUT_ITSELF,
    BEHIND,
    MOVABLE,
    Assembled,
    Context,
    Inputs,
    Printed,
    asked_of,
    assemble,
    make_context,
    with_questions,
)
from consentpack.conditions import parse
from consentpack.length import Priced, choose, words_in
from consentpack.model import DocumentPlan, Limits
from consentpack.pipeline.deciding import Decided
from consentpack.pipeline.lengths import limits_for, sides_in
from consentpack.pipeline.prepare import Prepared
from consentpack.relevance import facts_of
from consentpack.talk_back import Question, like, shorter
from consentpack.tree import Document

Moved = Mapping[str, tuple[str, ...]]
"""Document -> ids of what it leaves to the one behind it."""


@dataclass(frozen=True)
class Drafted:
    """The documents of a pack, in its order, before anything has been judged."""

    made: tuple[Assembled, ...]
    twins: Mapping[str, Assembled]
    """Kind -> a document of the patient's once more in the clinic's language; empty where that is one."""
    moved: Moved = field(default_factory=dict)
    """What the form leaves to the booklet, and the booklet to the paper behind it, for want of room."""
    asked: tuple[Question, ...] = ()
    """What may be asked about the papers, in the patient's language."""

    @property
    def printed(self) -> Printed:
        """All that went into the documents."""
        return printed_in(self.made)


def printed_in(some: Iterable[Assembled]) -> Printed:
    """All that went into some documents."""
    return reduce(lambda whole, each: whole | each.printed, some, Printed())


def draft(prepared: Prepared, decided: Decided) -> Drafted:
    """Make every document there is a file for in content/documents/."""
    patients = inputs_of(prepared, decided)
    moved = _moved(prepared, decided, patients)
    patients = replace(patients, moved={kind: frozenset(ids) for kind, ids in moved.items()})
    # who checked the translation is no matter of what is in the clinic's own language
    own = replace(patients, catalogue=prepared.own, checked=())

    def made(document: DocumentPlan, inputs: Inputs | None = None) -> Assembled:
        inputs = inputs or (own if document.in_clinics_language else patients)
        return assemble(document.id, replace(inputs, library=decided.seen.of(document)))

    one_language = prepared.own.language == prepared.catalogue.language
    all_of_them = tuple(each for d in called_for(prepared) if _has_words(each := made(d)))
    kinds = {each.document.kind for each in all_of_them}
    twice = () if one_language else (d for d in prepared.documents if not d.in_clinics_language)
    twins = {d.id: made(d, own) for d in twice if d.id in kinds}
    asked = _that_fit(prepared, _asked(patients, all_of_them), all_of_them)
    in_own = like(_asked(own, twins.values()), asked)
    asking = tuple(with_questions(each, asked) for each in all_of_them)
    twins = {kind: with_questions(each, in_own) for kind, each in twins.items()}
    return Drafted(asking, twins, moved, asked)


def _asked(inputs: Inputs, made: Iterable[Assembled]) -> tuple[Question, ...]:
    """All that may be asked about some papers of one language."""
    return asked_of(make_context(inputs), {each.document.kind: each.document for each in made})


def _that_fit(
    prepared: Prepared, asked: tuple[Question, ...], made: Sequence[Assembled]
) -> tuple[Question, ...]:
    """As many of the questions, and as much of their answers, as the paper for the talk has room for."""
    for some in shorter(asked):
        papers = (new for each in made if (new := with_questions(each, some)) is not each)
        if not any(_runs_over(prepared, each.document) for each in papers):
            break
    return some


def _runs_over(prepared: Prepared, document: Document) -> bool:
    limit = limits_for(prepared, document.kind, language=document.language).sides
    return bool(limit) and sides_in(prepared, document) > limit


def draft_one(prepared: Prepared, decided: Decided, kind: str) -> Assembled:
    """One document of a pack, as it would stand there but for what is said of the whole pack."""
    patients = inputs_of(prepared, decided)
    moved = _moved(prepared, decided, patients, upto=kind)
    document = prepared.place.library.documents[kind]
    language = (
        replace(patients, catalogue=prepared.own, checked=()) if document.in_clinics_language else patients
    )
    left = {kind: frozenset(ids) for kind, ids in moved.items()}
    return assemble(kind, replace(language, moved=left, library=decided.seen.of(document)))


def _moved(prepared: Prepared, decided: Decided, patients: Inputs, *, upto: str = "") -> Moved:
    """What must leave a paper so that it keeps its limits: of words in the clinic's own language and in the
    patient's, and of sides in the patient's, with the mark of a draft on each. A translation then has the
    same parts as its original. `upto`: what leaves the papers behind that one is not asked.
    """
    documents = prepared.place.library.documents
    moved: Moved = {}
    movable = list(MOVABLE)
    last = movable.index(upto) + 1 if upto in movable else len(movable)
    for kind, items in list(MOVABLE.items())[:last]:
        if kind in documents and BEHIND[kind] in documents:
            moved = {**moved, kind: ()}
            moved[kind] = _Held(prepared, decided, patients, kind, moved).leaves(items)
    return moved


@dataclass(frozen=True)
class _Held:
    """One paper that is held to a length, with what those before it leave."""

    prepared: Prepared
    decided: Decided
    patients: Inputs
    kind: str
    before: Moved

    def leaves(self, movable: Callable[[Context], tuple[Priced, ...]]) -> tuple[str, ...]:
        """Ids of what it leaves, in reading order: no more than it must."""
        items = movable(make_context(self._inputs(self._languages[0], ())))
        budget, most = sum(each.words for each in items), sum(each.may_move for each in items)
        moved: tuple[str, ...] = ()
        while len(moved) < most and (over := self._words_over(moved)):
            budget -= over
            moved = tuple(each.id for each in choose(items, budget=budget).moves)
        enough = moved
        while self._too_many_sides(moved):
            if len(moved) == most:
                return enough  # what runs over for all that is not helped by moving more
            budget -= _A_LINE
            moved = tuple(each.id for each in choose(items, budget=budget).moves)
        return moved

    @property
    def _languages(self) -> tuple[Inputs, ...]:
        """The clinic's own language; and the patient's, where that is another."""
        own = replace(self.patients, catalogue=self.prepared.own, checked=())
        same = self.prepared.own.language == self.prepared.catalogue.language
        return (own,) if same else (own, self.patients)

    def _inputs(self, inputs: Inputs, moved: tuple[str, ...]) -> Inputs:
        left = {kind: frozenset(ids) for kind, ids in {**self.before, self.kind: moved}.items()}
        return replace(inputs, library=self.decided.seen.planned, moved=left)

    def _words_over(self, moved: tuple[str, ...]) -> int:
        """Words that it has too many with some things moved; 0 where it keeps its limit."""
        return max(self._over(inputs, moved) for inputs in self._languages)

    def _over(self, inputs: Inputs, moved: tuple[str, ...]) -> int:
        """In words of the clinic's own language, as what may move is priced."""
        if not (limit := self._limits(inputs).words):
            return 0
        over = sum(each.words for each in words_in(self._made(inputs, moved))) - limit
        return max(0, ceil(over * self._limits(self._languages[0]).words / limit))

    def _too_many_sides(self, moved: tuple[str, ...]) -> bool:
        if not (limit := self._limits(self.patients).sides):
            return False
        return sides_in(self.prepared, self._made(self.patients, moved)) > limit

    def _limits(self, inputs: Inputs) -> Limits:
        return limits_for(self.prepared, self.kind, language=inputs.catalogue.language)

    def _made(self, inputs: Inputs, moved: tuple[str, ...]) -> Document:
        return assemble(self.kind, self._inputs(inputs, moved)).document


_A_LINE = 15
"""Words by which a paper is cut where it runs over its last side."""


def called_for(prepared: Prepared) -> Iterator[DocumentPlan]:
    """The documents whose own condition holds for the plan."""
    library = prepared.place.library
    for document in prepared.documents:
        facts = facts_of(prepared.plan, library, done=document.about == "done")
        if not document.only or parse(document.only).holds(facts):
            yield document


def _has_words(made: Assembled) -> bool:
    """Whether it says anything but who made it: an empty sheet would look as if something were lost."""
    document = made.document
    return bool(document.lead) or any(set(s.parts) != {ABOUT_ITSELF} for s in document.sections)


def inputs_of(prepared: Prepared, decided: Decided) -> Inputs:
    """What the patient's documents are made from."""
    place, catalogue = prepared.place, prepared.catalogue
    return Inputs(
        prepared.plan,
        decided.seen.planned,
        place.clinic,
        decided.matches,
        decided.rates,
        catalogue,
        decided.beside,
        _checked_by(prepared),
        decided.seen.findings,
        decided.seen.not_asked,
        shrunken=decided.shrunken,
        given=prepared.wanted.given,
        codes=prepared.codes,
    )


def _checked_by(prepared: Prepared) -> tuple[str, ...]:
    """Who stands for a translation as a whole: whoever approved its phrases, which no pack is without."""
    catalogue, today = prepared.catalogue, prepared.wanted.today
    if catalogue.is_source:
        return ()
    return holding(prepared.approvals, phrases_of(catalogue), catalogue.language, today=today)
