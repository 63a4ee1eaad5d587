"""What a library names must be there: ids, sources, facts of conditions, placeholders."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.errors import Problem, did_you_mean
from consentpack.library.conditional import check_conditions, check_rules, known_facts
from consentpack.library.draft import Draft
from consentpack.library.field_table import FIELD_KEYS
from consentpack.library.modules import check_placeholders
from consentpack.library.schema import COMMON, PLACEHOLDERS, SCHEMA, TREATING_SECTIONS
from consentpack.library.sheet_marks import check_notes
from consentpack.model import Module, Technique


def check_references(draft: Draft) -> None:
    """Every id, fact and placeholder named anywhere must exist; a newer technique has an established one."""
    known = known_facts(draft)
    for folder, modules in draft.modules.items():
        for module in modules.values():
            problems: list[Problem] = []
            for name, key in {**COMMON, **SCHEMA[folder].keys}.items():
                if key.refers_to:
                    ids = draft.sources if key.refers_to == "sources" else draft.modules[key.refers_to]
                    problems += _check_ids(draft, module, name, key.refers_to, ids)
            if isinstance(module, Technique):
                problems += _check_technique(draft, module)
                problems += _check_waits(draft, module)
            problems += check_conditions(module, known, draft.raws[module.file].toml)
            draft.found(folder, module.id, problems)
    draft.problems += check_rules(draft, known)
    check_notes(draft)
    _check_field(draft)
    _check_published(draft)
    for setting in draft.settings.values():
        _check_sources(draft, f"{draft.settings_file}, [{setting.name}]", setting.sources)
    for target in draft.targets.values():
        _check_sources(draft, f"{draft.targets_file}, [{target.id}]", target.sources)
    for length in draft.lengths.values():
        file = draft.files.get("length_targets.toml", "length_targets.toml")
        _check_sources(draft, f"{file}, [{length.document}]", length.sources)
    for rule in draft.rules.values():
        _check_sources(draft, f"{draft.rules_file}, [{rule.id}]", rule.sources)
    for id, named in draft.named_sources():
        _check_sources(draft, id, named)
    _check_words(draft)


def _check_field(draft: Draft) -> None:
    """What field.toml names in the library must be there."""
    file = draft.files.get("field.toml", "field.toml")
    for name, key in FIELD_KEYS.items():
        for id in getattr(draft.medicine, name) if key.refers_to in SCHEMA else ():
            if id not in draft.modules[key.refers_to] and (key.refers_to, id) not in draft.unread:
                what = f"'{name}' names '{id}', which is not in {key.refers_to}."
                fix = did_you_mean(id, draft.modules[key.refers_to])
                draft.problems.append(Problem(f"{file}, [field]", what, fix))


def _check_sources(draft: Draft, where: str, named: tuple[str, ...]) -> None:
    for id in named:
        if id not in draft.sources:
            what = f"there is no '{id}' in sources."
            draft.problems.append(Problem(where, what, did_you_mean(id, draft.sources)))


def _check_ids(
    draft: Draft, module: Module, key: str, folder: str, known: Mapping[str, Any]
) -> list[Problem]:
    problems, value = [], getattr(module, key)
    for id in (value,) if isinstance(value, str) and value else value:
        if id not in known and (folder, id) not in draft.unread:
            where = draft.raws[module.file].toml.where(key, id)
            what = f"there is no '{id}' in {folder}."
            problems.append(Problem(where, what, did_you_mean(id, known)))
    return problems


def _check_technique(draft: Draft, technique: Technique) -> list[Problem]:
    problems, raw = [], draft.raws[technique.file]
    beside = draft.modules["techniques"].get(technique.established_alternative)
    if technique.standing == "newer" and not technique.established_alternative:
        what = "a newer technique must name the established one to offer beside it."
        fix = 'Add established_alternative = "…".'
        problems.append(Problem(raw.toml.where("standing"), what, fix))
    elif isinstance(beside, Technique) and beside.standing != "established":
        what = f"'{beside.id}' is offered as the established technique but is itself newer."
        problems.append(Problem(raw.toml.where("established_alternative"), what))
    if not _numbs(draft, technique):
        for label in TREATING_SECTIONS:
            if not technique.sections.get(label):
                problems.append(Problem(technique.file, f"'## {label}' is missing."))
    for id in technique.anaesthetics:
        other = draft.modules["techniques"].get(id)
        if isinstance(other, Technique) and not _numbs(draft, other):
            where = raw.toml.where("anaesthetics", id)
            problems.append(Problem(where, f"'{id}' is not an anaesthetic."))
    return problems + _check_whole(technique, draft.medicine.topics, treats=not _numbs(draft, technique))


def _numbs(draft: Draft, technique: Technique) -> bool:
    kind = draft.medicine.kinds.get(technique.kind)
    return kind is not None and kind.role == "numbs"


def _check_whole(technique: Technique, topics: tuple[str, ...], *, treats: bool) -> list[Problem]:
    """A form without harms, other choices or signs to ring about is none that anybody may sign, and no
    sheet may lack a topic that the field asks of every one."""
    needed = ("risks", "aftercare", "warnings")
    more = ("benefits", "options") if treats else ()
    lacking = [topic for topic in topics if treats and topic not in technique.aftercare]
    problems = [
        Problem(
            technique.file,
            f"its aftercare lacks '{topic}', which field.toml asks of every treatment.",
            f'Add "{topic}" to aftercare.',
        )
        for topic in lacking
    ]
    return problems + [
        Problem(
            technique.file, f"it lists no {key}.", f'Add {key} = ["…"]; `consentpack library list` has all.'
        )
        for key in (*needed, *more)
        if not getattr(technique, key)
    ]


def _check_waits(draft: Draft, technique: Technique) -> list[Problem]:
    """Both sides of a technique's waits must be care settings."""
    problems, toml = [], draft.raws[technique.file].toml
    for name, longer in technique.waits.items():
        for setting in (name, longer):
            if not isinstance(setting, str) or setting not in draft.settings:
                where = toml.where(name, table="waits")
                what = f"there is no care setting '{setting}'."
                problems.append(Problem(where, what, did_you_mean(str(setting), draft.settings)))
    return problems


NO_PRINTED_SOURCE = "personal_communication"
"""CSL type of the source that stands for common practice: no figure can come from there."""


def _check_published(draft: Draft) -> None:
    outcomes = {**draft.modules["risks"], **draft.modules["benefits"]}
    checks = (("technique", draft.modules["techniques"]), ("outcome", outcomes))
    for rate in draft.published.values():
        for name, known in (*checks, ("source", draft.sources), ("factor", draft.modules["factors"])):
            id = getattr(rate, name)
            unread = id in {unread for _, unread in draft.unread}
            if id not in known and (id or name != "factor") and not unread:
                where, what = f"{draft.published_file}, '{rate.id}'", f"there is no {name} '{id}'."
                draft.problems.append(Problem(where, what, did_you_mean(id, known)))
        if draft.sources.get(rate.source, {}).get("type") == NO_PRINTED_SOURCE:
            where = f"{draft.published_file}, '{rate.id}'"
            draft.problems.append(Problem(where, f"'{rate.source}' is no printed source for a figure."))


def _check_words(draft: Draft) -> None:
    """Placeholders everywhere must be ones that can be filled."""
    names = {**PLACEHOLDERS, **{f"care.{name}": s.why for name, s in draft.settings.items()}}
    unread = tuple(id for folder, id in draft.unread if folder in ("risks", "benefits"))
    words = {"rate": (*draft.modules["risks"], *draft.modules["benefits"], *unread)}
    for folder, modules in draft.modules.items():
        for module in modules.values():
            draft.found(folder, module.id, check_placeholders(module, names, words))
