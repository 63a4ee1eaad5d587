"""What should be joined in the library and is not: figures, sources, settings, choices, questions."""

from __future__ import annotations

import re
from collections.abc import Iterator

from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.library.labels import ANSWERS
from consentpack.library.modules import blocks_of
from consentpack.wording import UNITS

DIARY = "In your diary"
_ACTIVITY = re.compile(r"\*\*([^*]+)\*\*")
_CARE = re.compile(r"care\.(\w+)")
RATES = "content/published_rates.csv"


def check_links(library: Library) -> Iterator[Problem]:
    """Everything that nobody can reach, and everything that is said in two places."""
    yield from _rates(library)
    yield from _sources(library)
    yield from _settings(library)
    yield from _choices(library)
    yield from _said_twice(library)


def _rates(library: Library) -> Iterator[Problem]:
    """A printed figure must have a denominator, and belong to a technique that carries its outcome."""
    for rate in library.published:
        technique = library.techniques.get(rate.technique)
        if technique is None:  # it is set aside, and that is said
            continue
        if rate.outcome not in (*technique.risks, *technique.benefits):
            what = f"'{rate.id}': '{technique.id}' does not list '{rate.outcome}'; nobody can be shown it."
            yield Problem(RATES, what)
        case_report = rate.seen == "abstract" and not rate.n  # shows that something can happen, no rate
        if rate.events is not None and rate.n is not None and rate.n < 1 and not case_report:
            yield Problem(RATES, f"'{rate.id}' has no denominator.")
        units = (*UNITS, *library.field.units)
        if rate.unit not in units:
            fix = f"Use one of: {', '.join(units)}; or add it to [units] in field.toml."
            what = f"'{rate.id}': '{rate.unit}' is no unit here; no patient can be shown it."
            yield Problem(RATES, what, fix)


def _sources(library: Library) -> Iterator[Problem]:
    """A source that nothing names is a leftover, or was meant for something."""
    used = {id for _, module in library.modules() for id in module.sources}
    used |= {rate.source for rate in library.published}
    for tabled in (library.settings, library.targets, library.rules, library.lengths):
        used |= {id for each in tabled.values() for id in each.sources}
    for ruled in (library.suitability, library.waits, library.regions, library.field.strata):
        used |= {id for each in ruled.values() for id in each.sources}
    for id in library.sources:
        if id not in used:
            yield Problem("content/sources.json", f"nothing names the source '{id}'.")


def _settings(library: Library) -> Iterator[Problem]:
    """A care setting that no text prints and no technique waits for does nothing."""
    used = {name for t in library.techniques.values() for pair in t.waits.items() for name in pair}
    used |= {wait.longer for wait in library.waits.values()}
    for _, module in library.modules():
        for block in blocks_of(module):
            for item in block.items:
                used |= set(_CARE.findall(item.text))
    for name in library.settings:
        if name not in used:
            yield Problem("content/settings.toml", f"no text prints the setting '{name}'.")


def _choices(library: Library) -> Iterator[Problem]:
    """Every kind of condition needs a choice beside the treatment and beside doing nothing."""
    choices = [option for option in library.options.values() if not option.no_treatment]
    for kind in library.field.indications:
        if not any(kind in option.indications or not option.indications for option in choices):
            yield Problem("content/options", f"there is no other choice for '{kind}'.")


def _said_twice(library: Library) -> Iterator[Problem]:
    """One activity in one aftercare topic, one question in one outcome: two could contradict."""
    answers = [(m.file, ANSWERS, m) for m in library.aftercare.values()]
    questions = [(m.file, DIARY, m) for m in library.outcomes.values()]
    seen: dict[str, str] = {}
    for file, label, module in (*answers, *questions):
        for block in module.sections.get(label, ()):
            for item in block.items:
                bold = _ACTIVITY.search(item.text)
                said = (bold.group(1) if bold else item.text).strip().casefold()
                if said in seen:
                    yield Problem(f"{file}, line {item.line}", f"“{said}” is in {seen[said]} too.")
                seen.setdefault(said, file)
