"""Modules a clinic does without: they leave the library before anybody looks, with all that only they name.

What something that stays cannot do without is not switched off, and it is said what needs it: a form without
a harm that its treatment has, or a rule that speaks of nothing any more, would be wrong in silence.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Any

from consentpack.conditions import parse, possible
from consentpack.errors import Problem, did_you_mean
from consentpack.library.draft import Draft
from consentpack.library.field_table import FIELD_KEYS
from consentpack.library.half_written import Name, named
from consentpack.library.modules import blocks_of
from consentpack.library.schema import SCHEMA
from consentpack.model import Module, Option, Risk

WHERE = "clinic.toml, [library] without"
SWITCHED = ("techniques", "risks", "benefits", "options", "factors", "aftercare", "warnings")
RULES = ("suitability", "waits")
"""Tables whose rules are switched off by name too, where they can speak of nothing any more."""
_NAMED_BY_OTHERS = ("risks", "benefits", "options", "aftercare", "warnings")
_FACTS = {"techniques": "technique", "factors": "factor"}
"""Folder -> how a condition names a module of it."""
_CARE = re.compile(r"care\.(\w+)")


def switch_off(draft: Draft, without: Collection[str]) -> frozenset[str]:
    """Take modules out of a draft; what is gone, as 'folder/id', with what only those had named.

    Leaves the draft as it is, with the problems, where something that stays needs one of them.
    """
    asked, problems = _asked(draft, without)
    off = _with_their_own(draft, asked)
    problems = problems or [*_needed(draft, off), *_rules(draft, off)]
    if problems:
        draft.problems += problems
        return frozenset()
    _take_out(draft, off)
    return frozenset(f"{folder}/{id}" for folder, id in off)


def _asked(draft: Draft, without: Collection[str]) -> tuple[set[Name], list[Problem]]:
    found, problems = set(), []
    for name in without:
        folder, _, id = name.partition("/")
        known = _ids(draft, folder)
        if folder not in (*SWITCHED, *RULES):
            fix = f"Write folder and id, such as techniques/…. Folders: {', '.join((*SWITCHED, *RULES))}."
            problems.append(Problem(WHERE, f"'{name}' is nothing that can be switched off.", fix))
        elif id not in known:
            problems.append(Problem(WHERE, f"there is no '{id}' in {folder}.", did_you_mean(id, known)))
        else:
            found.add((folder, id))
    return found, problems


def _ids(draft: Draft, folder: str) -> set[str]:
    if folder in RULES:
        return set(getattr(draft, folder))
    return {*draft.modules.get(folder, ()), *(id for where, id in draft.unread if where == folder)}


def _with_their_own(draft: Draft, asked: set[Name]) -> set[Name]:
    """What is switched off, with what nothing that stays names any more."""
    off, named_before = set(asked), {name for each in _all(draft) for name in named(*each)}
    while True:
        staying = {n for folder, m in _all(draft) if (folder, m.id) not in off for n in named(folder, m)}
        staying |= {name for name, _ in _of_field(draft)}
        more = {
            (folder, module.id)
            for folder, module in _all(draft)
            if folder in _NAMED_BY_OTHERS
            and (folder, module.id) in named_before - staying - off
            and not (isinstance(module, Option) and module.no_treatment)
        }
        if not more:
            return off
        off |= more


def _all(draft: Draft) -> Iterator[tuple[str, Module]]:
    for folder, found in draft.modules.items():
        for module in found.values():
            yield folder, module


def _of_field(draft: Draft) -> Iterator[tuple[Name, str]]:
    """Modules that field.toml names, with the key under which it does."""
    for key, spec in FIELD_KEYS.items():
        if spec.refers_to in SCHEMA:
            for id in getattr(draft.medicine, key):
                yield (spec.refers_to, id), key


def _needed(draft: Draft, off: set[Name]) -> Iterator[Problem]:
    """Why something has to stay: one sentence for each thing that needs it."""
    for name, key in _of_field(draft):
        if name in off:
            yield _cannot(name, f"field.toml names it under '{key}'")
    nothing = [o for o in draft.modules["options"].values() if isinstance(o, Option) and o.no_treatment]
    if nothing and all(("options", option.id) in off for option in nothing):
        yield _cannot(("options", nothing[-1].id), "every form offers to do nothing")
    for folder, module in _all(draft):
        if (folder, module.id) not in off:
            for name, why in _needed_by(draft, folder, module, off):
                yield _cannot(name, why)


def _cannot(name: Name, why: str) -> Problem:
    what = f"'{name[0]}/{name[1]}' cannot be switched off: {why}."
    return Problem(WHERE, what, "Take it out of the list, or switch off what needs it too.")


def _needed_by(draft: Draft, folder: str, module: Module, off: set[Name]) -> Iterator[tuple[Name, str]]:
    keys = {key: spec.refers_to for key, spec in SCHEMA[folder].keys.items() if spec.refers_to in SCHEMA}
    listed = set()
    for key, refers_to in keys.items():
        ids = _listed(getattr(module, key))
        gone = [id for id in ids if (refers_to, id) in off]
        listed |= {(refers_to, id) for id in ids}
        for id in gone:
            if why := _why_needed(draft, refers_to, id, key, only=len(gone) == len(ids)):
                yield (refers_to, id), why.format(f"'{folder}/{module.id}'")
    for name in named(folder, module):
        if name in off and name not in listed:
            yield name, f"the text of '{folder}/{module.id}' prints its figure"


def _why_needed(draft: Draft, folder: str, id: str, key: str, *, only: bool) -> str:
    """Why what names a module under a key cannot be without it; '' where it can."""
    module = draft.modules[folder].get(id)
    if key == "established_alternative":
        return "it is the established way that {} is offered beside"
    if key == "risks" and isinstance(module, Risk) and module.group == "serious":
        return "it is a serious harm of {}, which is in use"
    if folder == "warnings" and key != "beside":
        return "{} calls for this sign, and nobody would be told of it"
    if only and key in ("risks", "benefits", "options", "aftercare", "anaesthetics"):
        return f"it is all that {{}} has under '{key}'"
    return ""


def _listed(value: Any) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) and value else tuple(value)


def _rules(draft: Draft, off: set[Name]) -> Iterator[Problem]:
    """Rules that would speak of nothing any more, and rules that were to go although they still speak."""
    gone = {f"{_FACTS[folder]}:{id}" for folder, id in off if folder in _FACTS}
    for table in RULES:
        for id, rule in getattr(draft, table).items():
            condition = parse(rule.when)
            points = sorted({*condition.atoms, *getattr(rule, "most", ())} & gone)
            speaks, _ = possible(condition, [], set(condition.atoms) - gone)
            if (table, id) in off and (speaks or not points):
                yield _cannot((table, id), f"it still speaks: {rule.when}")
            elif (table, id) not in off and points and not speaks:
                what = (
                    f"the rule [{id}] of {table}.toml points to {', '.join(points)}, which is switched off."
                )
                yield Problem(WHERE, what, f'Add "{table}/{id}" to the list, or take that out of it.')


def _take_out(draft: Draft, off: set[Name]) -> None:
    printed = _settings(draft)
    for folder, id in off:
        (getattr(draft, folder) if folder in RULES else draft.modules[folder]).pop(id, None)
        draft.unread.discard((folder, id))
        forgotten = draft.wrong.pop((folder, id), [])
        draft.problems = [p for p in draft.problems if not any(p is each for each in forgotten)]
    for folder, found in draft.modules.items():
        for id, module in found.items():
            found[id] = _unnamed(folder, module, off)
    ids = {id for folder, id in off if folder not in RULES}
    draft.published = {
        id: rate
        for id, rate in draft.published.items()
        if not {rate.technique, rate.outcome, rate.factor or "-"} & ids
    }
    for name in printed - _settings(draft):
        draft.settings.pop(name, None)


def _unnamed(folder: str, module: Module, off: set[Name]) -> Module:
    """A module that names nothing any more that is gone."""
    changed: dict[str, Any] = {}
    for key, spec in SCHEMA[folder].keys.items():
        value = getattr(module, key) if spec.refers_to in SCHEMA else ()
        if isinstance(value, str) and (spec.refers_to, value) in off:
            changed[key] = ""
        elif isinstance(value, tuple) and any((spec.refers_to, id) in off for id in value):
            changed[key] = tuple(id for id in value if (spec.refers_to, id) not in off)
    return replace(module, **changed) if changed else module


def _settings(draft: Draft) -> set[str]:
    """Care settings that something prints or waits for."""
    texts = (item.text for _, m in _all(draft) for block in blocks_of(m) for item in block.items)
    found = {name for text in texts for name in _CARE.findall(text)}
    found |= {name for wait in draft.waits.values() for name in (wait.setting, wait.longer)}
    techniques = draft.modules["techniques"].values()
    return found | {n for t in techniques for pair in getattr(t, "waits", {}).items() for n in pair}
