"""Packs: from a plan to files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from consentpack import readability
from consentpack.approvals import APPROVALS_FILE, not_approved, tables
from consentpack.assemble import Context, assemble, make_context
from consentpack.check.checklists import Held, report
from consentpack.clinic import SETTINGS_FILE
from consentpack.consent_rules import broken, undecided
from consentpack.errors import (
    ConsentpackError,
    ConsentRuleError,
    PlanError,
    Problem,
    ReadabilityError,
    TranslationError,
)
from consentpack.export.docx import export_docx
from consentpack.export.html import export_html
from consentpack.export.look import Look
from consentpack.export.pdf import export_pdf
from consentpack.manifest import MANIFEST, digest_of, manifest, with_documents
from consentpack.match import match
from consentpack.model import ApprovalState, ItemResult, Matches, Plan, RateAnswer, Score
from consentpack.pipeline.audit import audit_digests, audit_source
from consentpack.pipeline.in_language import (
    beside,
    catalogue_for,
    differences,
    in_clinics_language,
    twins_of,
    untranslated,
)
from consentpack.pipeline.keeping import keep_pack, pack_folder
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.sign_off import checked_by, states_of
from consentpack.plans import in_future, load_plan
from consentpack.rates import answer_all, compare_newer
from consentpack.tree import Document

PATIENT_DOCUMENTS = ("consent", "aftercare")
LARGE_PRINT = "-large-print.docx"
"""How the name of a document in large print ends."""


Progress = Callable[[str], None]


@dataclass(frozen=True)
class Pack:
    """Everything made from one plan, before anything is written."""

    plan: Plan
    matches: Matches
    rates: Mapping[str, RateAnswer]
    documents: tuple[Document, ...]
    scores: tuple[Score, ...]
    draft: tuple[str, ...]
    problems: tuple[Problem, ...]
    """What keeps patients from having it: not translated, against the consent rules, too hard."""
    refusal: type[ConsentpackError]
    """The kind of error it is to ask for the pack all the same, if there are problems."""
    files: Mapping[str, bytes]
    checklists: tuple[ItemResult, ...] = ()
    """How the documents stand to published checklists."""


def make_pack(
    place: Workplace,
    plan_path: Path,
    *,
    today: date | None = None,
    large_print: bool = False,
    both_languages: bool = False,
    language: str = "",
    progress: Progress = lambda _: None,
) -> Pack:
    """Match, rate, assemble, score and export one plan. Writes nothing.

    `large_print` adds every document in 18 pt; `both_languages` the patient's documents beside the same
    in the clinic's language. `language` goes before the plan's own. `today` decides which approvals
    hold; without it, the day it is.
    """
    plan = load_plan(plan_path, place.library, place.clinic)
    plan = replace(plan, language=language or plan.language)
    if problems := in_future(plan, today or date.today()):
        raise PlanError(problems)
    catalogue = catalogue_for(place, plan.language, where=plan.file)
    progress(f"matching {plan.reference}")
    matches = match(plan, place.library, place.clinic.care)
    progress("counting the audit")
    audit = audit_source(place.clinic)
    rates = answer_all(plan, place.library, place.clinic, matches, audit)
    progress("assembling and scoring")
    newer = compare_newer(plan, place.library, place.clinic, matches, audit)
    ctx = make_context(plan, place.library, place.clinic, matches, rates, catalogue, beside=newer)
    ctx.checked = checked_by(place, catalogue, today=today or date.today())
    patient = [assemble(kind, ctx) for kind in PATIENT_DOCUMENTS]
    scores = tuple(_score(place, document) for document in patient)
    own = in_clinics_language(place, ctx)
    twins = twins_of(ctx, own, PATIENT_DOCUMENTS)
    not_in_language = [*untranslated(ctx), *(differences(patient, twins) if twins else ())]
    against = broken(plan, place.clinic, place.library)
    problems = [*not_in_language, *against, *_too_hard(place, patient, scores)]
    ctx.states = _states(place, ctx, today or date.today())
    ctx.scores = scores
    refusal = TranslationError if not_in_language else ConsentRuleError if against else ReadabilityError
    undated = undecided(plan, place.clinic, place.library)
    draft = (*not_approved(ctx.states), *undated, *(problem.what for problem in problems))
    ctx.checklists = report(held(ctx, patient, _record(own, ctx)))
    made = [replace(d, draft=draft) for d in (*patient, _record(own, ctx))]
    both = beside(made[: len(patient)], twins, ctx, own) if both_languages else []
    documents = (*made, *both)
    progress("writing the documents")
    files = _word_files(place, documents, plan.prepared, large_print)
    files |= {f"{d.kind}.html": export_html(d) for d in documents}
    text = manifest(
        plan,
        inputs=_inputs(place, ctx, plan_path),
        documents=files,
        matches=matches,
        rates=rates,
        scores=scores,
        states={_named(place, file): state for file, state in ctx.states.items()},
        draft=draft,
        checklists=ctx.checklists,
    )
    files[MANIFEST] = text.encode()
    return Pack(
        plan,
        matches,
        rates,
        documents,
        scores,
        draft,
        tuple(problems),
        refusal,
        files,
        ctx.checklists,
    )


def held(ctx: Context, patient: Sequence[Document], record: Document) -> Held:
    """A pack as published checklists look at it; `patient` are consent form and aftercare sheet."""
    consent, aftercare = patient
    return Held(
        consent=consent,
        aftercare=aftercare,
        record=record,
        plan=ctx.plan,
        matches=ctx.matches,
        library=ctx.library,
        clinic=ctx.clinic,
        scores=ctx.scores,
        rates=ctx.rates,
    )


def _word_files(
    place: Workplace, documents: tuple[Document, ...], day: date, large_print: bool
) -> dict[str, bytes]:
    """File name -> content, in the clinic's look."""
    look = Look(place.clinic.brand)
    files = {f"{d.kind}.docx": export_docx(d, day=day, look=look) for d in documents}
    if large_print:
        large = replace(look, large=True)
        files |= {f"{d.kind}{LARGE_PRINT}": export_docx(d, day=day, look=large) for d in documents}
    return files


def _states(place: Workplace, ctx: Context, today: date) -> dict[str, ApprovalState]:
    """How everything the pack is made of stands: modules, and the tables that print numbers.

    A plan dated back must not revive an approval that has run out, so the later day counts.
    """
    record = place.library.documents["record"]
    used = {**ctx.used, record.file: record, **tables(place.library, place.clinic)}
    return states_of(place, used, ctx.catalogue, today=max(today, ctx.plan.prepared))


def _record(own: Context, ctx: Context) -> Document:
    """The clinician's record, always in the clinic's own language."""
    own.states, own.scores, own.checklists = ctx.states, ctx.scores, ctx.checklists
    return assemble("record", own)


def _score(place: Workplace, document: Document) -> Score:
    library, rules = place.library, place.clinic.reading
    target = readability.target_for(document.kind, document.language, rules, library.targets)
    return place.scorer.score(document, target)


def _too_hard(place: Workplace, documents: list[Document], scores: tuple[Score, ...]) -> list[Problem]:
    both = zip(documents, scores, strict=True)
    return [p for document, score in both for p in readability.check(place.scorer, document, score)]


def _inputs(place: Workplace, ctx: Context, plan_path: Path) -> dict[str, str]:
    """Digest of every file that went in: plan, settings, approvals, modules used, tables."""
    files = {
        f"plan: {plan_path.name}": plan_path,
        SETTINGS_FILE: place.folder / SETTINGS_FILE,
        APPROVALS_FILE: place.folder / APPROVALS_FILE,
        **{f"brand: {name}": place.folder / name for name in place.clinic.brand.files},
    }
    found = {name: digest_of(path.read_bytes()) for name, path in files.items() if path.is_file()}
    tables = {name: d for name, d in place.library.digests.items() if not name.endswith(".md")}
    modules = {file: module.digest for file, module in ctx.used.items()}
    catalogues = {f"locales: {path.name}": digest_of(path.read_bytes()) for path in ctx.catalogue.files}
    named = found | tables | modules | catalogues | audit_digests(place)
    return {_named(place, name): digest for name, digest in named.items()}


def _named(place: Workplace, file: str) -> str:
    """A file's name in the manifest: the same wherever the clinic folder lies."""
    return file.replace(f"{place.folder.name}/content/", "clinic/content/", 1)


def build(
    place: Workplace,
    plan_path: Path,
    *,
    allow_draft: bool = False,
    pdf: bool = False,
    large_print: bool = False,
    both_languages: bool = False,
    language: str = "",
    folder: Path | None = None,
    today: date | None = None,
    progress: Progress = lambda _: None,
) -> tuple[Pack, Path]:
    """Make a pack and write it whole.

    Raises TranslationError, ConsentRuleError or ReadabilityError, with nothing written, when
    patients must not have it and no draft was asked for.
    """
    pack = make_pack(
        place,
        plan_path,
        today=today,
        large_print=large_print,
        both_languages=both_languages,
        language=language,
        progress=progress,
    )
    if pack.problems and not allow_draft:
        raise pack.refusal(pack.problems)
    target = folder or pack_folder(place, pack.plan)
    if pdf:
        progress("drawing PDFs")
        pack = _with_pdf(pack)
    for message in keep_pack(target, pack.files, plan_file=plan_path.name, clinic=place.folder):
        progress(message)
    return pack, target


def _with_pdf(pack: Pack) -> Pack:
    """The pack with a PDF beside each Word file, named in the manifest too."""
    drawn = export_pdf({name: data for name, data in pack.files.items() if name.endswith(".docx")})
    listed = with_documents(pack.files[MANIFEST].decode(), drawn)
    return replace(pack, files={**pack.files, **drawn, MANIFEST: listed.encode()})


def score_plans(
    place: Workplace, paths: list[Path]
) -> list[tuple[Plan, tuple[Document, ...], tuple[Score, ...]]]:
    """The scores of the patient documents of some plans."""
    packs = [make_pack(place, path) for path in paths]
    return [(pack.plan, pack.documents, pack.scores) for pack in packs]
