"""Sign-off: approving modules, and how each of them stands in each language."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial

from consentpack.approvals import (
    APPROVALS_FILE,
    PHRASES,
    TRANSLATORS,
    added,
    digest_in,
    ending,
    key_of,
    load_approvals,
    phrases_of,
    states,
    tables,
)
from consentpack.catalogues import Catalogue, available
from consentpack.check import module_document
from consentpack.errors import Problem, TranslationError
from consentpack.files import write_file
from consentpack.library.texts import patient_texts
from consentpack.locks import locked
from consentpack.model import Approval, ApprovalState, DocumentPlan, Module
from consentpack.pipeline.approved_texts import keep_approved
from consentpack.pipeline.clinic_languages import language_of
from consentpack.pipeline.library import find_module
from consentpack.pipeline.place import Workplace

_HEAD = "# Who signed off which module. Editing a module withdraws its approval.\n"


def states_of(
    place: Workplace,
    used: Mapping[str, Module],
    catalogue: Catalogue,
    *,
    approvals: Iterable[Approval],
    today: date,
) -> dict[str, ApprovalState]:
    """How modules stand for a pack in one language.

    A translation needs two people, and its original must be approved in the clinic's own language
    too. What prints numbers, and what only the clinician reads, is judged in the clinic's language.
    """
    approvals, own = tuple(approvals), place.clinic.language
    in_own = _states(place, used, approvals, language_of(place, own), today)
    if catalogue.language == own:
        return in_own
    translated = {file: m for file, m in used.items() if _is_translated(file, m)}
    found = _states(place, translated, approvals, catalogue, today)
    phrases = _states(place, {PHRASES: phrases_of(catalogue)}, approvals, catalogue, today)
    return {
        file: found[file] if file in found and base.state == "approved" else base
        for file, base in in_own.items()
    } | phrases


def languages_begun(place: Workplace) -> tuple[str, ...]:
    """The clinic's own language, and those in which it has approved anything."""
    approved = sorted({approval.language for approval in load_approvals(place.folder)})
    return tuple(dict.fromkeys((place.clinic.language, *approved)))


def languages_left(place: Workplace) -> list[str]:
    """Languages there is a translation for, in which the clinic has approved nothing."""
    begun = languages_begun(place)
    return [tag for tag in available(place.locales) if tag not in begun]


def _is_translated(file: str, module: Module) -> bool:
    clinicians = isinstance(module, DocumentPlan) and "patient" not in (module.audience, module.language)
    return not file.startswith("tables/") and not clinicians


def _states(
    place: Workplace,
    used: Mapping[str, Module],
    approvals: Iterable[Approval],
    catalogue: Catalogue,
    today: date,
) -> dict[str, ApprovalState]:
    digest: Callable[[Module], str] = partial(digest_in, catalogue=catalogue)
    persons = 1 if catalogue.is_source else TRANSLATORS
    return states(used, approvals, language=catalogue.language, today=today, digest=digest, persons=persons)


def approve(
    place: Workplace,
    ids: list[str],
    *,
    by: str,
    role: str,
    day: date,
    until: date | None,
    language: str = "",
) -> list[Approval]:
    """Sign modules off in a language (the clinic's own without one), and keep it in the clinic folder.

    All when no ids. Raises TranslationError when a module is not translated into the language.
    """
    with locked(place.folder):
        return _approve(place, ids, by=by, role=role, day=day, until=until, language=language)


def _approve(
    place: Workplace,
    ids: list[str],
    *,
    by: str,
    role: str,
    day: date,
    until: date | None,
    language: str,
) -> list[Approval]:
    """What `approve` does while nobody else writes: what stands in the file is read under the lock."""
    catalogue = language_of(place, language or place.clinic.language)
    wanted = _wanted(place, ids, catalogue)
    made = [
        _approval(place, folder, module, catalogue, by=by, role=role, day=day, until=until)
        for folder, module in wanted
    ]
    path = place.folder / APPROVALS_FILE
    load_approvals(place.folder)  # a file that cannot be read must not be added to
    keep_approved(place, (module for _, module in wanted), catalogue)
    before = path.read_text(encoding="utf-8-sig") if path.is_file() else _HEAD
    write_file(path, before + added(made))
    return made


def _wanted(place: Workplace, ids: list[str], catalogue: Catalogue) -> list[tuple[str, Module]]:
    """The modules to approve: those named, or all that are read in the language."""
    by_name = {module.id: module for module in tables(place.library, place.clinic).values()}
    if not catalogue.is_source:
        by_name["phrases"] = phrases_of(catalogue)
    if ids:
        return [("", by_name[id]) if id in by_name else find_module(place.library, id) for id in ids]
    modules = list(place.library.modules())
    if catalogue.language == place.clinic.language:
        return [*modules, *(("", module) for module in by_name.values())]
    return [*((f, m) for f, m in modules if _is_translated(m.file, m)), ("", by_name["phrases"])]


def _approval(
    place: Workplace,
    folder: str,
    module: Module,
    catalogue: Catalogue,
    *,
    by: str,
    role: str,
    day: date,
    until: date | None,
) -> Approval:
    if text := _untranslated(module, catalogue):
        what = f"“{text[:60]}” of {key_of(module.file)} is not translated; nobody can have read it."
        raise TranslationError(Problem(catalogue.language, what, "Translate it first."))
    latest = day.replace(year=day.year + 2, day=min(day.day, 28))  # for tables, which name no day
    last = until or (latest if module.review_by == date.max else module.review_by)
    grade = _grade(place, folder, module, catalogue)
    key, digest = key_of(module.file), digest_in(module, catalogue)
    return Approval(key, catalogue.language, digest, by, role, day, last, grade)


def _untranslated(module: Module, catalogue: Catalogue) -> str:
    """A text of a module that has no translation; '' where all have one."""
    if not _is_translated(module.file, module):
        return ""
    texts = (piece.text for piece in patient_texts(module))
    return next((text for text in texts if catalogue.block(text).status == "missing"), "")


def _grade(place: Workplace, folder: str, module: Module, catalogue: Catalogue) -> float | None:
    """The grade of the text that is approved; None for tables and where no measure fits."""
    if not folder:
        return None
    document = module_document(
        folder,
        module,
        place.library,
        language=catalogue.language,
        translate=lambda text: catalogue.block(text).text,
    )
    return place.scorer.score(document, None).grade


@dataclass(frozen=True)
class StatusRow:
    """How one module stands in one language."""

    language: str
    state: ApprovalState
    ends_soon: bool


def library_status(place: Workplace, *, today: date, languages: Iterable[str] = ()) -> list[StatusRow]:
    """Every module in each language the clinic has begun to approve (or in `languages`), as of a day."""
    everything = {m.file: m for _, m in place.library.modules()} | tables(place.library, place.clinic)
    approvals = load_approvals(place.folder)
    return [
        row
        for tag in languages or languages_begun(place)
        for row in status_of(place, everything, language_of(place, tag), approvals=approvals, today=today)
    ]


def status_of(
    place: Workplace,
    some: Mapping[str, Module],
    catalogue: Catalogue,
    *,
    approvals: Iterable[Approval],
    today: date,
) -> list[StatusRow]:
    """Some modules (file -> module) in one language; without those that no translation needs."""
    found, tag = states_of(place, some, catalogue, approvals=approvals, today=today), catalogue.language
    if tag != place.clinic.language:
        found = {
            file: state
            for file, state in found.items()
            if file == PHRASES or _is_translated(file, some[file])
        }
    soon = ending(found.values(), today=today)
    return [StatusRow(tag, state, state in soon) for state in found.values()]
