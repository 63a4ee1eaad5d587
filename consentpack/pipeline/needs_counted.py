"""What needs somebody and has to be counted or compared for it: the audit, packs, targets, translations."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from consentpack.approvals import APPROVALS_FILE, key_of
from consentpack.check import module_document
from consentpack.errors import ConsentpackError
from consentpack.files import digest_of
from consentpack.manifest import MANIFEST
from consentpack.model import DocumentPlan, Module
from consentpack.pipeline.clinic_languages import language_of
from consentpack.pipeline.follow_ups import overdue
from consentpack.pipeline.given_list import Filter, issued
from consentpack.pipeline.needs import NOW, ORDER, SOON, About, Need, in_order
from consentpack.pipeline.needs_of_files import needs_at_hand
from consentpack.pipeline.place import Workplace, library_of, plans_in
from consentpack.pipeline.registers import existing_register
from consentpack.pipeline.sign_off import languages_begun
from consentpack.pipeline.staleness import stale
from consentpack.pipeline.watching import titles, whole_sheet
from consentpack.plans import load_plan, reference_in
from consentpack.readability import FEWEST_WORDS, target_for
from consentpack.register import moment_of
from consentpack.translate.place import clinics_texts

_NAMED = 3
"""How many of several are named."""


def needing(place: Workplace, today: date) -> tuple[Need, ...]:
    """All that needs somebody, as of a day, the worst first; also what a few files tell."""
    return in_order((*needs_at_hand(place, today), *counted_needs(place, today)))


def counted_needs(place: Workplace, today: date) -> tuple[Need, ...]:
    """What has to be counted or compared, the worst first.

    What cannot be looked at is a need of its own, and the others are looked at all the same.
    """
    return in_order(need for look, about in LOOKS for need in _tried(look, about, place, today))


def seen_for_counting(place: Workplace) -> tuple[object, ...]:
    """What the counts are made from, as a value that differs when any of it has changed."""
    files = [place.folder / APPROVALS_FILE, *plans_in(place.folder), *_manifests(place)]
    stamps = tuple((str(path), path.stat().st_mtime_ns) for path in files if path.exists())
    content = digest_of(repr(sorted(place.library.digests.items())).encode())
    return (place.folder, content, tuple(place.clinic.digests.items()), stamps, *_ledger_and_audit(place))


def _ledger_and_audit(place: Workplace) -> tuple[object, ...]:
    try:
        given = tuple((s.given.number, s.state) for s in issued(place.folder, Filter(open_only=True)))
        if not place.clinic.register_url:
            return (given,)
        with existing_register(place).connect() as connection:
            return (given, moment_of(connection))
    except ConsentpackError as error:
        return (str(error),)


Look = Callable[[Workplace, date], Iterator[Need]]


def _tried(look: Look, about: About, place: Workplace, today: date) -> list[Need]:
    found: list[Need] = []
    try:
        found += look(place, today)
    except ConsentpackError as error:
        found += [Need(NOW, about, "", f"{each.where}: {each.what}") for each in error.problems]
    return found


# --- the audit --------------------------------------------------------------------------------------


def _follow_up(place: Workplace, today: date) -> Iterator[Need]:
    if place.clinic.register_url and (late := overdue(place, today)):
        oldest = min(each.day for each in late)
        number = f"{len(late):,} treatment{' has' if len(late) == 1 else 's have'}"
        what = f"{number} outcomes that should have been looked for by now; the oldest is of {oldest}."
        yield Need(SOON, "due", "", what)


def _drift(place: Workplace, today: date) -> Iterator[Need]:
    if not place.clinic.register_url:
        return
    sheet, name = whole_sheet(place, today), titles(place)
    for each, signal in sheet.signals():
        what = (
            f"{name(each.outcome)} after “{name(each.technique)}”: seen {signal.events} times between "
            f"{signal.since} and {signal.day}, where {signal.expected:.1f} were to be expected."
        )
        yield Need(NOW, "rates", f"{each.technique}/{each.outcome}", what)
    for line in sheet.worse():
        what = (
            f"{name(line.outcome)} after “{name(line.technique)}”: the clinic's own figure is worse than the "
        )
        yield Need(SOON, "rates", f"{line.technique}/{line.outcome}", f"{what}published one.")


# --- packs ------------------------------------------------------------------------------------------


def _given(place: Workplace, today: date) -> Iterator[Need]:
    """Given packs that no longer tell what would be told now."""
    for each in stale(place, today=today):
        given = each.standing.given
        why = [f"{moved.name}: {moved.why}" for moved in each.figures] + [*each.texts, *each.rules]
        what = f"{given.reference}, version {given.version}, has to be told again: {_some(why)}."
        yield Need(NOW, "plan", given.reference, what)


def _packs(place: Workplace, today: date) -> Iterator[Need]:
    """Working packs over their targets, short of a checklist, or made from texts that are others now."""
    now = {key_of(module.file): module.digest for _, module in place.library.modules()}
    plans = {reference_in(path): path for path in plans_in(place.folder)}
    for path in _manifests(place):
        try:
            manifest = json.loads(path.read_bytes())
            if (reference := manifest["reference"]) in plans:
                yield from _pack(manifest, now, plans[reference], reference)
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            yield Need(
                SOON, "plan", path.parent.name, f"The manifest of packs/{path.parent.name} cannot be read."
            )


def _pack(manifest: Mapping[str, Any], now: Mapping[str, str], plan: Path, reference: str) -> Iterator[Need]:
    hard = [each["document"] for each in manifest["scores"] if each["over"]]
    long = [each["document"] for each in manifest["lengths"] if each["over"]]
    fails = [f"{name} {item}" for name, each in manifest["checklists"].items() for item in each["fails"]]
    inputs = {k: v for k, v in manifest["inputs"].items() if "content/" in k and k.endswith(".md")}
    other = sorted({key_of(file) for file, digest in inputs.items() if now.get(key_of(file)) != digest})
    if manifest["inputs"].get(f"plan: {plan.name}") != digest_of(plan.read_bytes()):
        other = ["its plan", *other]
    for found, what, urgency in (
        (hard, "harder to read than its target", SOON),
        (long, "longer than it may be", SOON),
        (fails, "short of a published list", SOON),
        (other, "not made from what holds now; build it again", ORDER),
    ):
        if found:
            yield Need(urgency, "plan", reference, f"The pack of {reference} is {what}: {_some(found)}.")


def _manifests(place: Workplace) -> list[Path]:
    return sorted(place.folder.glob(f"packs/*/{MANIFEST}"))


def _plans(place: Workplace, _today: date) -> Iterator[Need]:
    for path in plans_in(place.folder):
        try:
            load_plan(path, place.library, place.clinic)
        except ConsentpackError as error:
            reference = reference_in(path) or path.stem
            what = f"The plan of {reference} cannot be used: {error.problems[0].what}"
            yield Need(SOON, "plan", reference, what)


# --- targets and translations -----------------------------------------------------------------------


def _targets(place: Workplace, _today: date) -> Iterator[Need]:
    """Texts of the clinic's own that miss their target; those of the program are held to it by its tests."""
    for folder, module in place.library.modules():
        if not module.file.startswith("content/") and not _for_clinicians(module):
            document = module_document(folder, module, place.library)
            target = target_for("", document.language, place.clinic.reading, place.library.targets)
            score = place.scorer.score(document, target)
            if score.over and score.words >= FEWEST_WORDS:
                key, grade = f"{folder}/{module.id}", f"{score.grade or 0:.1f}"
                limit = f"{target.limit:g}" if target else ""
                what = f"{key} is harder to read than its target: grade {grade}, target {limit}, as a whole "
                yield Need(SOON, "text", key, f"{what}or in a part.")


def _for_clinicians(module: Module) -> bool:
    return isinstance(module, DocumentPlan) and module.audience == "clinician"


def _languages(place: Workplace, _today: date) -> Iterator[Need]:
    """What of the clinic's own texts is not translated into the languages it uses."""
    own = clinics_texts(place.library, place.clinic, place.folder, library_of(None)).messages
    used = {*languages_begun(place), *_with_own_words(place)} - {place.clinic.language}
    for tag in sorted(used) if own else ():
        catalogue = language_of(place, tag)
        behind = sum(catalogue.block(message.id).status in ("missing", "needs review") for message in own)
        if behind and not catalogue.is_source:
            texts = f"{behind} of {len(own)} texts of the clinic's own"
            what = f"{tag}: {texts} are not translated, or were changed since."
            yield Need(SOON, "language", tag, what)


def _with_own_words(place: Workplace) -> set[str]:
    return {
        path.parent.parent.name.replace("_", "-") for path in place.folder.glob("locales/*/LC_MESSAGES/*.po")
    }


def _some(names: list[str]) -> str:
    more = f" and {len(names) - _NAMED} more" if names[_NAMED:] else ""
    return f"{', '.join(names[:_NAMED])}{more}"


LOOKS: tuple[tuple[Look, About], ...] = (
    (_follow_up, "due"),
    (_drift, "rates"),
    (_given, "plan"),
    (_packs, "plan"),
    (_plans, "plan"),
    (_targets, "texts"),
    (_languages, "language"),
)
"""What is looked at, with where it is mended when it cannot be looked at."""
