"""Which blocks of the content concern a plan, and why: conditions against the facts of the plan.

A reader who meets one sentence that is not about them stops trusting the others. So what does not
belong is taken out of the library before anything is assembled: no later stage can print it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from consentpack.conditions import Condition, Facts, parse
from consentpack.library import KINDS, Library
from consentpack.library.conditional import shortened
from consentpack.library.field_table import chain
from consentpack.library.schema import SCHEMA
from consentpack.model import Aftercare, Chosen, DocumentPlan, Factor, Module, Plan, Technique
from consentpack.tree import Block

NAMED = ("risks", "benefits", "options", "aftercare", "warnings")
"""Folders whose modules a plan is led to by the lists of others: one that is out leaves those lists."""


@dataclass(frozen=True)
class Narrowed:
    """The library as one plan sees it, and why each conditional piece is in or out."""

    library: Library
    chosen: tuple[Chosen, ...]


def facts_of(plan: Plan, library: Library, *, done: bool = False) -> Facts:
    """What is true of a plan. `done`: of what was done, where that is known, and not of what may be."""
    ids: Iterable[str] = (*plan.planned, *plan.may_become_necessary)
    if done:
        ids = plan.done.techniques if plan.done else plan.planned
    techniques = [library.techniques[id] for id in ids]
    found = {fact for technique in techniques for fact in facts_about(technique)}
    found |= {f"region:{id}" for id in chain(plan.region, library.regions)}
    found |= {f"factor:{id}" for id in plan.factors}
    found |= {f"{stratum}:{value}" for stratum, value in plan.strata.items() if value}
    found |= {f"indication:{plan.indication}"} if plan.indication else set()
    found |= {f"plan:{name}" for name in _whole(plan, techniques, library)}
    looks = any(topic.check_hours for topic in _topics(plan, techniques, library, frozenset(found)))
    return frozenset(found | ({"plan:check-times"} if looks else set()))


def _topics(plan: Plan, techniques: list[Technique], library: Library, facts: Facts) -> Iterable[Aftercare]:
    """The aftercare topics of a plan; a topic's own condition never asks what depends on the topics."""
    modules: tuple[Technique | Factor, ...] = (*techniques, *(library.factors[id] for id in plan.factors))
    named = (library.aftercare[id] for m in modules for id in m.aftercare if id in library.aftercare)
    return (topic for topic in named if not topic.only or parse(topic.only).holds(facts))


def facts_about(technique: Technique) -> Facts:
    """What is true of a plan because a technique is in it."""
    traits = (f"trait:{trait}" for trait in technique.traits)
    return frozenset((f"technique:{technique.id}", f"kind:{technique.kind}", *traits))


def _whole(plan: Plan, techniques: list[Technique], library: Library) -> Iterable[str]:
    """The facts of the plan as a whole, of `library.schema.PLAN_FACTS`."""
    numbing = any(library.field.kinds[library.techniques[id].kind].role == "numbs" for id in plan.planned)
    return [
        name
        for name, holds in (
            ("numbing", numbing),
            ("may-become-necessary", bool(plan.may_become_necessary)),
            ("newer", any(t.standing == "newer" for t in techniques)),
            ("factors", bool(plan.factors)),
            ("several-visits", plan.sessions > 1),
            ("told-before", plan.told_before is not None),
        )
        if holds
    ]


def narrow(library: Library, facts: Facts) -> Narrowed:
    """The library without what does not belong to a plan with these facts."""
    log: list[Chosen] = []
    out = {
        folder: {m.id for m in library.kind(folder).values() if not _stays(m, facts, log)} for folder in NAMED
    }
    changed: dict[str, Any] = {}
    for folder in KINDS:
        found = {id: _without(folder, m, out, facts, log) for id, m in library.kind(folder).items()}
        if any(found[id] is not m for id, m in library.kind(folder).items()):
            changed[folder] = found
    return Narrowed(replace(library, **changed) if changed else library, tuple(log))


def _stays(module: Module, facts: Facts, log: list[Chosen]) -> bool:
    if not module.only:
        return True
    return _decided(parse(module.only), module.file, module.title_line, module.title, facts, log)


def _decided(condition: Condition, file: str, line: int, what: str, facts: Facts, log: list[Chosen]) -> bool:
    stays = condition.holds(facts)
    log.append(Chosen(file, line, what, condition.text, stays, condition.why(facts)))
    return stays


def _without(
    folder: str, module: Module, out: dict[str, set[str]], facts: Facts, log: list[Chosen]
) -> Module:
    """A module without the sections, texts and ids that do not belong; itself where all of it does."""
    changed: dict[str, Any] = {}
    for key, spec in SCHEMA[folder].keys.items():
        if spec.refers_to in out and isinstance(ids := getattr(module, key), tuple):
            kept = tuple(id for id in ids if id not in out[spec.refers_to])
            if kept != ids:
                changed[key] = kept
    if isinstance(module, DocumentPlan):
        changed |= _document(module, facts, log)
    else:
        sections = {
            label: _kept(module, blocks, facts, log)
            for label, blocks in module.sections.items()
            if _section_stays(module, label, facts, log)
        }
        if sections != module.sections:
            changed["sections"] = sections
    return replace(module, **changed) if changed else module


def _section_stays(module: Module, label: str, facts: Facts, log: list[Chosen]) -> bool:
    if label not in module.when:
        return True
    return _decided(parse(module.when[label]), module.file, 0, f"section “{label}”", facts, log)


def _document(document: DocumentPlan, facts: Facts, log: list[Chosen]) -> dict[str, Any]:
    lead = _kept(document, document.lead, facts, log)
    parts = tuple(
        replace(part, blocks=_kept(document, part.blocks, facts, log))
        for part in document.parts
        if _section_stays(document, part.heading, facts, log)
    )
    same = lead == document.lead and parts == document.parts
    return {} if same else {"lead": lead, "parts": parts}


def _kept(module: Module, blocks: tuple[Block, ...], facts: Facts, log: list[Chosen]) -> tuple[Block, ...]:
    """Some blocks without the texts that do not belong; a list that loses every point goes whole."""
    found = []
    for block in blocks:
        items = tuple(
            item
            for item in block.items
            if not item.only
            or _decided(parse(item.only), module.file, item.line, shortened(item.text), facts, log)
        )
        if items:
            found.append(block if items == block.items else replace(block, items=items))
    return tuple(found)
