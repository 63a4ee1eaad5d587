"""The first stage of a pack: everything it is made from is read once, and digested as it was read.

What is edited while a pack is being made must not leave the digest of the new text beside the old words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from consentpack import shipped
from consentpack.approvals import APPROVALS_FILE, approvals_in, read_approvals
from consentpack.catalogues import SOURCE_LANGUAGE, Catalogue, load
from consentpack.clinic import SETTINGS_FILE
from consentpack.errors import OutputError, PlanError, Problem, TranslationError, did_you_mean
from consentpack.files import digest_of
from consentpack.model import Approval, DocumentPlan, Given, Plan, ToldBefore
from consentpack.pipeline.place import Workplace
from consentpack.plans import LARGE_PRINT, PlanText, check_plan, in_future, read_plan
from consentpack.signs import root
from consentpack.suitability import with_implied


@dataclass(frozen=True)
class Wanted:
    """How a pack is asked for."""

    today: date
    """Decides which approvals hold."""
    language: str = ""
    """Goes before the plan's own; '' for the plan's."""
    formats: frozenset[str] = frozenset()
    """Names of `export.EXPORTERS` that are made only on request."""
    both_languages: bool = False
    """Whether the patient's documents are made beside the same in the clinic's language, too."""
    only: frozenset[str] = frozenset()
    """The kinds of document that are written; all of them without one. All are judged in any case."""
    pdf: bool = False
    """Whether PDFs are drawn: limits of sides are then held against those."""
    given: Given | None = None
    """As what it is given to the patient; None for a working copy."""
    told_before: ToldBefore | None = None
    """What an older version told otherwise; None where there is none, or nothing has changed."""


@dataclass(frozen=True)
class Prepared:
    """One plan with all that was read for it."""

    place: Workplace
    wanted: Wanted
    plan: Plan
    catalogue: Catalogue
    """The patient's language."""
    own: Catalogue
    """The clinic's own language."""
    approvals: tuple[Approval, ...]
    read: Mapping[str, str]
    """What was read, modules and tables of the library aside -> its SHA-256."""

    @property
    def documents(self) -> tuple[DocumentPlan, ...]:
        """The documents of the pack, in its order."""
        found = self.place.library.documents.values()
        return tuple(sorted(found, key=lambda document: (document.order, document.id)))

    @property
    def codes(self) -> dict[str, str]:
        """Kind -> the code on a document that is given; empty for a working copy.

        The number is its place among all the kinds there are, whatever this plan calls for and whatever is
        written: the same paper must not have one code in a whole pack and another made by itself.
        """
        given = self.wanted.given
        numbered = enumerate(self.documents, 1) if given else ()
        return {document.id: given.code_of(number) for number, document in numbered if given}

    def catalogue_of(self, document: DocumentPlan) -> Catalogue:
        """The language a document is made in."""
        return self.own if document.in_clinics_language else self.catalogue


def prepare(place: Workplace, plan_path: Path, wanted: Wanted) -> Prepared:
    """Read what the pack of a plan is made from.

    Raises PlanError, ClinicError, TranslationError; OutputError for a document there is none of.
    """
    _refuse_unknown(place, wanted.only)
    return prepared_from(place, read_plan(plan_path), wanted, name=plan_path.name)


def prepared_from(place: Workplace, plan_file: PlanText, wanted: Wanted, *, name: str) -> Prepared:
    """What `prepare` does for a plan that lies in no file yet; `name` is the one that it will have."""
    plan = check_plan(plan_file, place.library, place.clinic)
    if LARGE_PRINT in plan.reader_needs:
        wanted = replace(wanted, formats=wanted.formats | {LARGE_PRINT})
    plan = replace(plan, language=wanted.language or plan.language, told_before=wanted.told_before)
    plan = with_implied(plan, place.library)
    if problems := in_future(plan, wanted.today):
        raise PlanError(problems)
    catalogue = catalogue_for(place, plan.language, where=plan.file)
    approvals = read_approvals(place.folder)
    read = {f"plan: {name}": digest_of(plan_file.data), **place.clinic.digests}
    if approvals is not None:
        read[APPROVALS_FILE] = digest_of(approvals)
    return Prepared(
        place,
        wanted,
        plan,
        catalogue,
        _own_catalogue(place, catalogue),
        approvals_in(approvals or b""),
        read | _digests(place, catalogue),
    )


def _refuse_unknown(place: Workplace, kinds: frozenset[str]) -> None:
    """Nothing is left out of a pack for a slip of the pen."""
    known = place.library.documents
    problems = [
        Problem("--only", f"there is no document '{kind}'.", did_you_mean(kind, known) or _named(known))
        for kind in sorted(kinds - set(known))
    ]
    if problems:
        raise OutputError(problems)


def _named(documents: Iterable[str]) -> str:
    return f"Documents: {', '.join(documents)}."


def catalogue_for(place: Workplace, tag: str, *, where: str) -> Catalogue:
    """The words of a language: the clinic's own before ours. Raises TranslationError."""
    return load(tag, place.locales, where=where)


def _own_catalogue(place: Workplace, patients: Catalogue) -> Catalogue:
    """The clinic's own language: for its record, and to set the patient's documents beside it."""
    own = place.clinic.language
    if root(own) != SOURCE_LANGUAGE:
        what = f"the clinic's own language is '{own}', and the record is written in English only."
        fix = "Set language to English, such as en-GB; patients can have theirs all the same."
        raise TranslationError(Problem(SETTINGS_FILE, what, fix))
    return patients if own == patients.language else catalogue_for(place, own, where=SETTINGS_FILE)


def _digests(place: Workplace, catalogue: Catalogue) -> dict[str, str]:
    """Each PO file by its name; the clinic's own is told apart, because it may have the name of ours."""
    both = zip(catalogue.files, catalogue.digests, strict=True)
    ours = (shipped.content(), shipped.locales())
    return {
        f"locales: {'' if any(map(path.is_relative_to, ours)) else 'clinic/'}{path.name}": digest
        for path, digest in both
    }
