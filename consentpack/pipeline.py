"""The conductor: one short function per command, each a list of stages."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from consentpack import readability, shipped
from consentpack.approvals import APPROVALS_FILE, added, key_of, load_approvals, not_approved, states
from consentpack.assemble import Context, assemble, make_context
from consentpack.catalogues import Catalogue, load
from consentpack.clinic import SETTINGS_FILE, SKIN_TYPES, find_clinic, load_clinic
from consentpack.errors import (
    ContentError,
    OutputError,
    PlanError,
    Problem,
    ReadabilityError,
    TranslationError,
    did_you_mean,
)
from consentpack.export.docx import export_docx
from consentpack.files import write_file, write_folder
from consentpack.library import Library, load_library
from consentpack.manifest import digest_of, manifest
from consentpack.match import match
from consentpack.model import Approval, Clinic, Matches, Module, Plan, RateAnswer, Score
from consentpack.plans import load_plan
from consentpack.rates import AuditSource, answer_all
from consentpack.register import (
    Comparison,
    ImportResult,
    Tally,
    Window,
    import_csv,
    open_register,
    set_aside_csv,
    tally,
)
from consentpack.tree import Document

PATIENT_DOCUMENTS = ("consent", "aftercare")
DOCUMENTS = (*PATIENT_DOCUMENTS, "record")

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Workplace:
    """A clinic folder that has been read and checked."""

    folder: Path
    clinic: Clinic
    library: Library


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
    """What keeps patients from having it: over the reading target, or not translated."""
    files: Mapping[str, bytes]


def open_workplace(start: Path) -> Workplace:
    """The clinic folder at or above `start`, with its library."""
    folder = find_clinic(start)
    library = load_library(shipped.content(), folder / "content")
    return Workplace(folder, load_clinic(folder, library.settings), library)


def open_library(start: Path | None) -> Library:
    """The library of a clinic folder, or the shipped one alone when `start` is None."""
    own = find_clinic(start) / "content" if start else None
    return load_library(shipped.content(), own)


def audit_source(clinic: Clinic) -> AuditSource | None:
    """The clinic's register as a source of counts; None when nothing has been imported."""
    engine = open_register(clinic.register_url)
    if engine is None:
        return None

    def counts(comparison: Comparison, window: Window, watch_days: Mapping[str, int]) -> Tally:
        with engine.connect() as connection:
            return tally(connection, comparison, window, watch_days)

    return counts


def make_pack(place: Workplace, plan_path: Path, *, progress: Progress = lambda _: None) -> Pack:
    """Match, rate, assemble, score and export one plan. Writes nothing."""
    plan = load_plan(plan_path, place.library, place.clinic)
    catalogue = _catalogue(place, plan.language, where=plan.file)
    progress(f"matching {plan.reference}")
    matches = match(plan, place.library)
    progress("counting the audit")
    rates = answer_all(plan, place.library, place.clinic, matches, audit_source(place.clinic))
    progress("assembling and scoring")
    ctx = make_context(plan, place.library, place.clinic, matches, rates, catalogue)
    patient = [assemble(kind, ctx) for kind in PATIENT_DOCUMENTS]
    scores = tuple(readability.score(document, place.clinic.target_grade) for document in patient)
    problems = _problems(patient, scores, catalogue)
    ctx.states = states(ctx.used, load_approvals(place.folder), language=plan.language, today=plan.prepared)
    ctx.scores = scores
    draft = (*not_approved(ctx.states), *(problem.what for problem in problems))
    record = _record(place, ctx, catalogue)
    documents = tuple(replace(document, draft=draft) for document in (*patient, record))
    progress("writing Word files")
    files = {f"{d.kind}.docx": export_docx(d, day=plan.prepared) for d in documents}
    text = manifest(
        plan,
        inputs=_inputs(place, ctx, plan_path),
        documents=files,
        matches=matches,
        rates=rates,
        scores=scores,
        states=ctx.states,
        draft=draft,
    )
    files["manifest.json"] = text.encode()
    return Pack(plan, matches, rates, documents, scores, draft, tuple(problems), files)


def _catalogue(place: Workplace, tag: str, *, where: str) -> Catalogue:
    return load(tag, (place.folder / "locales", shipped.locales()), where=where)


def _record(place: Workplace, ctx: Context, catalogue: Catalogue) -> Document:
    """The clinician's record, always in the clinic's own language."""
    own = place.clinic.language
    if own == catalogue.language:
        return assemble("record", ctx)
    record_ctx = make_context(
        ctx.plan, ctx.library, ctx.clinic, ctx.matches, ctx.rates, _catalogue(place, own, where=SETTINGS_FILE)
    )
    record_ctx.states, record_ctx.scores = ctx.states, ctx.scores
    return assemble("record", record_ctx)


def _problems(documents: list[Document], scores: tuple[Score, ...], catalogue: Catalogue) -> list[Problem]:
    problems = [
        Problem(catalogue.language, f"“{text[:60]}” is {status} in the translation.")
        for text, status in catalogue.lacking.items()
    ]
    for document, score in zip(documents, scores, strict=True):
        problems += readability.check(document, score)
    return problems


def _inputs(place: Workplace, ctx: Context, plan_path: Path) -> dict[str, str]:
    """Digest of every file that went in: plan, settings, approvals, modules used, tables."""
    files = {
        f"plan: {plan_path.name}": plan_path,
        SETTINGS_FILE: place.folder / SETTINGS_FILE,
        APPROVALS_FILE: place.folder / APPROVALS_FILE,
    }
    found = {name: digest_of(path.read_bytes()) for name, path in files.items() if path.is_file()}
    tables = {name: d for name, d in place.library.digests.items() if not name.endswith(".md")}
    return found | tables | {file: module.digest for file, module in ctx.used.items()}


def pack_folder(place: Workplace, plan: Plan) -> Path:
    """Where a plan's pack is kept."""
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", plan.reference).strip("-.") or "pack"
    return place.folder / "packs" / name


def build(
    place: Workplace,
    plan_path: Path,
    *,
    allow_draft: bool = False,
    folder: Path | None = None,
    progress: Progress = lambda _: None,
) -> tuple[Pack, Path]:
    """Make a pack and write it whole.

    Raises ReadabilityError or TranslationError, with nothing written, when patients must not have
    it and no draft was asked for.
    """
    pack = make_pack(place, plan_path, progress=progress)
    if pack.problems and not allow_draft:
        missing = any("in the translation" in problem.what for problem in pack.problems)
        raise (TranslationError if missing else ReadabilityError)(pack.problems)
    target = folder or pack_folder(place, pack.plan)
    write_folder(target, pack.files)
    return pack, target


def import_audit(place: Workplace, path: Path, *, now: datetime) -> tuple[ImportResult, Path | None]:
    """Import a spreadsheet; the result, and the file of rows set aside (None when there are none)."""
    engine = open_register(place.clinic.register_url, create=True)
    assert engine is not None
    result = import_csv(
        engine,
        path,
        columns=place.clinic.audit_columns,
        date_order=place.clinic.date_order,
        techniques=place.library.techniques,
        outcomes=place.library.outcomes,
        skin_types=SKIN_TYPES,
        now=now,
    )
    aside = path.with_name(f"{path.stem}.set-aside.csv")
    if result.set_aside:
        write_file(aside, set_aside_csv(result))
        return result, aside
    aside.unlink(missing_ok=True)
    return result, None


def plan_rates(place: Workplace, plan_path: Path) -> tuple[Plan, dict[str, RateAnswer]]:
    """The figures one plan would quote."""
    plan = load_plan(plan_path, place.library, place.clinic)
    matches = match(plan, place.library)
    return plan, answer_all(plan, place.library, place.clinic, matches, audit_source(place.clinic))


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


def find_module(library: Library, id: str) -> tuple[str, Module]:
    """A module by id, or by 'folder/id' where two folders share one. Raises ContentError."""
    folder, _, name = id.rpartition("/")
    found = [(f, m) for f, m in library.modules() if m.id == name and folder in ("", f)]
    if len(found) == 1:
        return found[0]
    if found:
        choices = ", ".join(f"{f}/{name}" for f, _ in found)
        raise ContentError(Problem(id, "more than one module has this id.", f"Say which: {choices}."))
    known = [module.id for _, module in library.modules()]
    raise ContentError(Problem(id, "there is no such module.", did_you_mean(name, known)))


def approve(
    place: Workplace, ids: list[str], *, by: str, role: str, day: date, until: date | None
) -> list[Approval]:
    """Sign modules off in the clinic's language and keep it in the clinic folder. All when no ids."""
    modules = [m for _, m in place.library.modules()]
    if ids:
        modules = [find_module(place.library, id)[1] for id in ids]
    made = [
        Approval(key_of(m.file), place.clinic.language, m.digest, by, role, day, until or m.review_by)
        for m in modules
    ]
    path = place.folder / APPROVALS_FILE
    load_approvals(place.folder)  # a file that cannot be read must not be added to
    before = path.read_text(encoding="utf-8-sig") if path.is_file() else _APPROVALS_HEAD
    write_file(path, before + added(made))
    return made


_APPROVALS_HEAD = "# Who signed off which module. Editing a module withdraws its approval.\n"


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
