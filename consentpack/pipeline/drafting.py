"""The third stage of a pack: its documents, each in the language of its reader."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import reduce

from consentpack.approvals import holding, phrases_of
from consentpack.assemble import Assembled, Inputs, Printed, assemble
from consentpack.model import DocumentPlan
from consentpack.pipeline.deciding import Decided
from consentpack.pipeline.prepare import Prepared


@dataclass(frozen=True)
class Drafted:
    """The documents of a pack, in its order, before anything has been judged."""

    made: tuple[Assembled, ...]
    twins: Mapping[str, Assembled]
    """Kind -> a document of the patient's once more in the clinic's language; empty where that is one."""

    @property
    def printed(self) -> Printed:
        """All that went into the documents."""
        return printed_in(self.made)


def printed_in(some: Iterable[Assembled]) -> Printed:
    """All that went into some documents."""
    return reduce(lambda whole, each: whole | each.printed, some, Printed())


def draft(prepared: Prepared, decided: Decided) -> Drafted:
    """Make every document there is a file for in content/documents/."""
    patients = _inputs(prepared, decided)
    # who checked the translation is no matter of what is in the clinic's own language
    own = replace(patients, catalogue=prepared.own, checked=())

    def made(document: DocumentPlan, inputs: Inputs | None = None) -> Assembled:
        inputs = inputs or (own if document.in_clinics_language else patients)
        return assemble(document.id, replace(inputs, library=decided.seen.of(document)))

    one_language = prepared.own.language == prepared.catalogue.language
    twice = () if one_language else (d for d in prepared.documents if not d.in_clinics_language)
    return Drafted(
        tuple(made(document) for document in prepared.documents),
        {document.id: made(document, own) for document in twice},
    )


def _inputs(prepared: Prepared, decided: Decided) -> Inputs:
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
        decided.shrunken,
    )


def _checked_by(prepared: Prepared) -> tuple[str, ...]:
    """Who stands for a translation as a whole: whoever approved its phrases, which no pack is without."""
    catalogue, today = prepared.catalogue, prepared.wanted.today
    if catalogue.is_source:
        return ()
    return holding(prepared.approvals, phrases_of(catalogue), catalogue.language, today=today)
