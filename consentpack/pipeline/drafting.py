"""The third stage of a pack: its documents, each in the language of its reader."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import reduce

from consentpack.approvals import holding, phrases_of
from consentpack.assemble import (
    ABOUT_ITSELF,
    Assembled,
    Inputs,
    Printed,
    assemble,
    make_context,
    movable,
)
from consentpack.conditions import parse
from consentpack.length import choose, words_in
from consentpack.model import DocumentPlan
from consentpack.pipeline.deciding import Decided
from consentpack.pipeline.lengths import limits_for, sides_in
from consentpack.pipeline.prepare import Prepared
from consentpack.relevance import facts_of


@dataclass(frozen=True)
class Drafted:
    """The documents of a pack, in its order, before anything has been judged."""

    made: tuple[Assembled, ...]
    twins: Mapping[str, Assembled]
    """Kind -> a document of the patient's once more in the clinic's language; empty where that is one."""
    moved: tuple[str, ...] = ()
    """What the form leaves to the booklet, since it had no room for it."""

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
    patients = replace(patients, moved=frozenset(moved))
    # who checked the translation is no matter of what is in the clinic's own language
    own = replace(patients, catalogue=prepared.own, checked=())

    def made(document: DocumentPlan, inputs: Inputs | None = None) -> Assembled:
        inputs = inputs or (own if document.in_clinics_language else patients)
        return assemble(document.id, replace(inputs, library=decided.seen.of(document)))

    one_language = prepared.own.language == prepared.catalogue.language
    all_of_them = tuple(each for d in _called_for(prepared) if _has_words(each := made(d)))
    kinds = {each.document.kind for each in all_of_them}
    twice = () if one_language else (d for d in prepared.documents if not d.in_clinics_language)
    return Drafted(all_of_them, {d.id: made(d, own) for d in twice if d.id in kinds}, moved)


def _moved(prepared: Prepared, decided: Decided, patients: Inputs) -> tuple[str, ...]:
    """What must leave the form so that it keeps its limits: of words in the clinic's own language, and of
    sides in the patient's, with the mark of a draft on each. A translation then has the same parts.
    """
    if FORM not in prepared.place.library.documents:
        return ()
    own = replace(patients, catalogue=prepared.own, checked=(), library=decided.seen.planned)
    theirs = replace(patients, library=decided.seen.planned)
    items = movable(make_context(own))
    budget, most = sum(each.words for each in items), sum(each.may_move for each in items)
    moved: tuple[str, ...] = ()
    while len(moved) < most and (over := _words_over(prepared, own, moved)):
        budget -= over
        moved = tuple(each.id for each in choose(items, budget=budget).moves)
    enough = moved
    while _too_many_sides(prepared, theirs, moved):
        if len(moved) == most:
            return enough  # what runs over for all that is not helped by moving more
        budget -= _A_LINE
        moved = tuple(each.id for each in choose(items, budget=budget).moves)
    return moved


def _words_over(prepared: Prepared, own: Inputs, moved: tuple[str, ...]) -> int:
    """Words that the form has too many with some things moved; 0 where it keeps its limit."""
    made = assemble(FORM, replace(own, moved=frozenset(moved))).document
    limit = limits_for(prepared, made).words
    return max(0, sum(each.words for each in words_in(made)) - limit) if limit else 0


def _too_many_sides(prepared: Prepared, theirs: Inputs, moved: tuple[str, ...]) -> bool:
    read = assemble(FORM, replace(theirs, moved=frozenset(moved))).document
    limit = limits_for(prepared, read).sides
    return bool(limit) and sides_in(prepared, read) > limit


_A_LINE = 15
"""Words by which the form is cut where it runs over its last side."""
FORM = "form"


def _called_for(prepared: Prepared) -> Iterator[DocumentPlan]:
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
