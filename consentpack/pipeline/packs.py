"""Packs: from a plan to files."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from consentpack import readability, shipped
from consentpack.approvals import APPROVALS_FILE, not_approved, tables
from consentpack.assemble import Context, assemble, make_context
from consentpack.catalogues import Catalogue, load
from consentpack.clinic import SETTINGS_FILE
from consentpack.consent_rules import broken
from consentpack.errors import (
    ConsentpackError,
    ConsentRuleError,
    OutputError,
    PlanError,
    Problem,
    ReadabilityError,
    TranslationError,
)
from consentpack.export.docx import export_docx
from consentpack.export.look import Look
from consentpack.files import write_folder
from consentpack.manifest import digest_of, manifest
from consentpack.match import match
from consentpack.model import ApprovalState, Matches, Plan, RateAnswer, Score
from consentpack.pipeline.audit import audit_digests, audit_source
from consentpack.pipeline.place import Workplace
from consentpack.pipeline.sign_off import states_of
from consentpack.plans import load_plan
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


def make_pack(
    place: Workplace,
    plan_path: Path,
    *,
    today: date | None = None,
    large_print: bool = False,
    progress: Progress = lambda _: None,
) -> Pack:
    """Match, rate, assemble, score and export one plan. Writes nothing.

    `large_print` adds every document in 18 pt. `today` decides which approvals hold; without it, the
    day it is.
    """
    plan = load_plan(plan_path, place.library, place.clinic)
    catalogue = _catalogue(place, plan.language, where=plan.file)
    progress(f"matching {plan.reference}")
    matches = match(plan, place.library, place.clinic.care)
    progress("counting the audit")
    audit = audit_source(place.clinic)
    rates = answer_all(plan, place.library, place.clinic, matches, audit)
    progress("assembling and scoring")
    beside = compare_newer(plan, place.library, place.clinic, matches, audit)
    ctx = make_context(plan, place.library, place.clinic, matches, rates, catalogue, beside=beside)
    patient = [assemble(kind, ctx) for kind in PATIENT_DOCUMENTS]
    scores = tuple(_score(place, document) for document in patient)
    untranslated = _untranslated(catalogue)
    against = broken(plan, place.clinic, place.library)
    problems = [*untranslated, *against, *_too_hard(place, patient, scores)]
    ctx.states = _states(place, ctx, today or date.today())
    ctx.scores = scores
    refusal = TranslationError if untranslated else ConsentRuleError if against else ReadabilityError
    draft = (*not_approved(ctx.states), *(problem.what for problem in problems))
    record = _record(place, ctx, catalogue)
    documents = tuple(replace(document, draft=draft) for document in (*patient, record))
    progress("writing Word files")
    files = _word_files(place, documents, plan.prepared, large_print)
    text = manifest(
        plan,
        inputs=_inputs(place, ctx, plan_path),
        documents=files,
        matches=matches,
        rates=rates,
        scores=scores,
        states={_named(place, file): state for file, state in ctx.states.items()},
        draft=draft,
    )
    files["manifest.json"] = text.encode()
    return Pack(plan, matches, rates, documents, scores, draft, tuple(problems), refusal, files)


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


def _catalogue(place: Workplace, tag: str, *, where: str) -> Catalogue:
    return load(tag, (place.folder / "locales", shipped.locales()), where=where)


def _record(place: Workplace, ctx: Context, catalogue: Catalogue) -> Document:
    """The clinician's record, always in the clinic's own language."""
    own = place.clinic.language
    if own == catalogue.language:
        return assemble("record", ctx)
    record = make_context(
        ctx.plan,
        ctx.library,
        ctx.clinic,
        ctx.matches,
        ctx.rates,
        _catalogue(place, own, where=SETTINGS_FILE),
        beside=ctx.beside,
    )
    record.states, record.scores = ctx.states, ctx.scores
    return assemble("record", record)


def _untranslated(catalogue: Catalogue) -> list[Problem]:
    return [
        Problem(catalogue.language, f"“{text[:60]}” is {status} in the translation.")
        for text, status in catalogue.lacking.items()
    ]


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


def pack_folder(place: Workplace, plan: Plan) -> Path:
    """Where a plan's pack is kept. Two references never share a folder."""
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", plan.reference).strip("-.")
    if name != plan.reference:
        name = f"{name}-{digest_of(plan.reference.encode())[:8]}"
    return place.folder / "packs" / name


def build(
    place: Workplace,
    plan_path: Path,
    *,
    allow_draft: bool = False,
    large_print: bool = False,
    folder: Path | None = None,
    today: date | None = None,
    progress: Progress = lambda _: None,
) -> tuple[Pack, Path]:
    """Make a pack and write it whole.

    Raises TranslationError, ConsentRuleError or ReadabilityError, with nothing written, when
    patients must not have it and no draft was asked for.
    """
    pack = make_pack(place, plan_path, today=today, large_print=large_print, progress=progress)
    if pack.problems and not allow_draft:
        raise pack.refusal(pack.problems)
    target = folder or pack_folder(place, pack.plan)
    # an older pack's large print must not lie beside a newer form that says something else
    former = [f"{document.kind}{LARGE_PRINT}" for document in pack.documents]
    write_folder(target, pack.files, mark="manifest.json", former=former)
    return pack, target


def score_plans(
    place: Workplace, paths: list[Path]
) -> list[tuple[Plan, tuple[Document, ...], tuple[Score, ...]]]:
    """The scores of the patient documents of some plans."""
    packs = [make_pack(place, path) for path in paths]
    return [(pack.plan, pack.documents, pack.scores) for pack in packs]


def plan_files(place: Workplace) -> list[Path]:
    """All plans of the clinic folder. Raises PlanError when there is none."""
    found = sorted((place.folder / "plans").glob("*.toml"))
    if not found:
        raise PlanError(Problem("plans/", "there is no plan here.", "Name a plan file."))
    return found


def copy_demo(folder: Path) -> Path:
    """Copy the invented clinic to a new folder. Raises OutputError when something is there."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        what = "there is something here already; the demo needs an empty or new folder."
        raise OutputError(Problem(str(folder), what, "Give another name: `consentpack demo NAME`."))
    try:
        shutil.copytree(shipped.demo_clinic(), folder, dirs_exist_ok=True)
    except OSError as error:
        raise OutputError(Problem(str(folder), f"it cannot be written ({error.strerror}).")) from None
    return folder
