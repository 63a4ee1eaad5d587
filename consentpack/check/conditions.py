"""Conditions that can never hold, or always do: text nobody can be shown, or a mark that is for nothing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from consentpack.conditions import Condition, Facts, parse, possible
from consentpack.errors import Problem
from consentpack.library import Library
from consentpack.library.conditional import conditions_of
from consentpack.library.field_table import chain
from consentpack.model import Module, Technique
from consentpack.relevance import facts_about


def check_possible(library: Library) -> Iterator[Problem]:
    """Every condition of a module, a rule or a wait that cannot hold, or cannot fail."""
    for _, module in library.modules():
        for each in conditions_of(module):
            where = f"{module.file}, line {each.line}" if each.line else module.file
            yield from _checked(parse(each.text), where, each.what, library, _given(module))
    rules = {id: rule.when for id, rule in library.suitability.items()}
    for id, when in (rules | {id: wait.when for id, wait in library.waits.items()}).items():
        yield from _checked(parse(when), "content", f"[{id}]", library, frozenset())


def _given(module: Module) -> Facts:
    """What is true whenever a module is printed at all."""
    if isinstance(module, Technique):
        return facts_about(module)
    return frozenset()


def _checked(
    condition: Condition, where: str, what: str, library: Library, given: Facts
) -> Iterator[Problem]:
    kinds = exclusive(library)
    named = {atom.partition(":")[0] for atom in condition.atoms} & set(kinds)
    alternatives = [given.union(*chosen) for chosen in product(*(kinds[key] for key in sorted(named)))]
    free = {a for a in condition.atoms if a.partition(":")[0] not in kinds and a not in given}
    can_hold, can_fail = possible(condition, alternatives, free)
    if not can_hold:
        yield Problem(where, f"{what} can never appear: '{condition.text}' cannot hold.")
    elif not can_fail:
        yield Problem(where, f"{what} always appears: '{condition.text}' always holds.", "Take it away.")


def exclusive(library: Library) -> dict[str, list[Facts]]:
    """Keys of which a plan has one value -> the facts each value brings."""
    regions = [frozenset(f"region:{r}" for r in chain(id, library.regions)) for id in library.regions]
    indications = [frozenset({f"indication:{id}"}) for id in library.field.indications]
    strata = {
        id: [frozenset({f"{id}:{value}"}) for value in stratum.values]
        for id, stratum in library.field.strata.items()
    }
    return {"region": regions, "indication": indications, **strata}
