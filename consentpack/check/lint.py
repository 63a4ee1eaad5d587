"""Checks of the whole library beyond reading it: parts, reachability, reading grade, dates."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from consentpack.check.conditions import check_possible
from consentpack.check.links import check_links
from consentpack.check.parts import check_parts
from consentpack.check.sample import module_document
from consentpack.check.signs import check_signs
from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.library.schema import SCHEMA
from consentpack.model import DocumentPlan, Module, ReadingTarget, Technique
from consentpack.readability import FEWEST_WORDS, Scorer, check

MODULE_TARGET = ReadingTarget("ama", "flesch-kincaid", 6.0, "American Medical Association")
"""Highest grade of a module and of each of its sections."""


def check_library(library: Library, scorer: Scorer, *, today: date) -> list[Problem]:
    """Everything a careful editor would send back, in the order of the modules."""
    problems = list(dict.fromkeys(problem for found in library.set_aside.values() for problem in found))
    used = _named_by_others(library)
    for folder, module in library.modules():
        problems += _dates(module, today)
        problems += _reading(folder, module, library, scorer)
        if folder not in ("documents", "techniques", "factors") and module.id not in used[folder]:
            problems.append(Problem(module.file, "no other module names this one; no pack can hold it."))
    problems += _techniques(library)
    problems += check_links(library)
    problems += check_possible(library)
    problems += check_signs(library)
    problems += check_parts(library)
    return problems


def _named_by_others(library: Library) -> dict[str, set[str]]:
    """Folder -> ids named in the front matter of other modules."""
    named: dict[str, set[str]] = {folder: set() for folder in SCHEMA}
    for folder, module in library.modules():
        for key, spec in SCHEMA[folder].keys.items():
            if spec.refers_to in named:
                value = getattr(module, key)
                named[spec.refers_to].update([value] if isinstance(value, str) else value)
    named["options"].update(o.id for o in library.options.values() if o.no_treatment)
    return named


def _dates(module: Module, today: date) -> Iterator[Problem]:
    if module.review_by < today:
        what = f"it should have been reviewed by {module.review_by}."
        yield Problem(module.file, what, "Check its facts, then set new dates.")
    if module.reviewed > module.review_by:
        yield Problem(module.file, "'review_by' is before 'reviewed'.")


def _reading(folder: str, module: Module, library: Library, scorer: Scorer) -> Iterator[Problem]:
    """The grade of what a patient reads, whole and by section, with the sentences to mend."""
    if isinstance(module, DocumentPlan) and module.audience == "clinician" and not module.scored:
        return
    document = module_document(folder, module, library)
    result = scorer.score(document, MODULE_TARGET)
    if result.words >= FEWEST_WORDS:
        found = check(scorer, document, result)
        # a part that is over says more than the whole, which is over because of it
        for problem in [p for p in found if p.where != document.kind] or found:
            yield Problem(module.file, f"{problem.where}: {problem.what}", problem.fix)


def _techniques(library: Library) -> Iterator[Problem]:
    if not any(option.no_treatment for option in library.options.values()):
        yield Problem("content/options", "no option is marked no_treatment = true.")
    for technique in library.techniques.values():
        if library.treats(technique):
            yield from _treating(technique, library.field.may_not_work)


def _treating(technique: Technique, may_not_work: tuple[str, ...]) -> Iterator[Problem]:
    if not technique.indications:  # risks, choices and the like: nothing is loaded without them
        yield Problem(technique.file, "it lists no indications.")
    if may_not_work and not set(may_not_work) & set(technique.risks):
        what = f"it carries none of {', '.join(may_not_work)}: that it may not work is a risk too."
        yield Problem(technique.file, what)
