"""What is wrong in clinic.toml, table by table."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol

from consentpack.clinic.check_rules import check_care, check_length
from consentpack.clinic.keys import DEFAULT_REGISTER, KEYS, OPTIONAL_TABLES, OWN_NAMES, SETTINGS_FILE
from consentpack.clinic.numbers import check_numbers
from consentpack.clinic.written_rows import header_rows
from consentpack.errors import Problem, did_you_mean
from consentpack.model import (
    CareSetting,
    ConsentRule,
    DocumentPlan,
    Field,
    LengthTarget,
    ReadingTarget,
    Stratum,
)
from consentpack.normal import place
from consentpack.strict import Key, TomlText, check_table, said


class Names(Protocol):
    """What of a library settings may name; a `Library` is one."""

    @property
    def settings(self) -> Mapping[str, CareSetting]: ...
    @property
    def targets(self) -> Mapping[str, ReadingTarget]: ...
    @property
    def rules(self) -> Mapping[str, ConsentRule]: ...
    @property
    def documents(self) -> Mapping[str, DocumentPlan]: ...
    @property
    def lengths(self) -> Mapping[str, LengthTarget]: ...
    @property
    def field(self) -> Field: ...


def check_register(data: Mapping[str, Any], folder: Path) -> list[Problem]:
    """No clinic forgets an audit it has."""
    if "audit" in data or not (folder / DEFAULT_REGISTER).exists():
        return []
    what = f"there is a register here ({DEFAULT_REGISTER}), and no table [audit]: nothing would be counted."
    fix = f'Write [audit] with register = "{DEFAULT_REGISTER}", or register = "none", in it.'
    return [Problem(SETTINGS_FILE, what, fix)]


def check(data: Mapping[str, Any], toml: TomlText, names: Names) -> list[Problem]:
    strata = names.field.strata
    problems = []
    for name in data:
        if name not in KEYS and name not in OWN_NAMES:
            fix = did_you_mean(name, (*KEYS, *OWN_NAMES))
            problems.append(Problem(SETTINGS_FILE, f"there is no table [{name}].", fix))
    for name in (*KEYS, *OWN_NAMES):
        if name not in data:
            if name not in OPTIONAL_TABLES:
                problems.append(Problem(SETTINGS_FILE, f"the table [{name}] is missing."))
        elif not isinstance(data[name], dict):
            what = f"'{name}' should be a table; it is {said(data[name])}."
            problems.append(Problem(toml.where(name), what, f"Write [{name}] on a line of its own."))
        elif name in KEYS:
            more = _stratum_keys(strata) if name == "groups" else {}
            before = names.field.renamed_groups if name == "groups" else {}
            problems += _called_otherwise(data[name], before, toml)
            now = {key: value for key, value in data[name].items() if key not in before}
            problems += check_table(now, {**KEYS[name], **more}, toml=toml, name=name)
    if not problems:
        problems = check_numbers(data["clinic"], toml)
        problems += _check_groups(data, toml, strata) + check_care(data.get("care", {}), toml, names.settings)
        problems += _check_meanings(data.get("audit", {}), toml) + _check_rows(data.get("audit", {}), toml)
        problems += check_length(data.get("length", {}), toml, {**names.documents, **names.lengths})
        problems += _check_watch(data.get("watch", {}), toml, strata)
    return problems


def _called_otherwise(groups: Mapping[str, Any], before: Mapping[str, str], toml: TomlText) -> list[Problem]:
    """Groups of settings from before their stratum was called as it is now."""
    return [
        Problem(
            toml.where(f"groups.{name}"),
            f"[groups.{name}] is called [groups.{before[name]}] now.",
            f"Write [groups.{before[name]}] there. `consentpack migrate` does so, for plans too.",
        )
        for name in groups
        if name in before
    ]


def _check_watch(watch: Mapping[str, Any], toml: TomlText, strata: Mapping[str, Stratum]) -> list[Problem]:
    problems = []
    if watch.get("odds_ratio", 2) <= 1:
        what = "'odds_ratio' should be above 1: it is the change that is looked for."
        problems.append(Problem(toml.where("odds_ratio"), what))
    if watch.get("limits", 95) not in (95, 99.8):
        what = f"'limits' should be 95 or 99.8; it is {watch['limits']}."
        fix = "With 95 and some dozens of groups somebody nearly always stands out by chance alone."
        problems.append(Problem(toml.where("limits", table="watch"), what, fix))
    for name in watch.get("adjust_for", ()):
        if name != "site" and name not in strata:
            what = f"'adjust_for' names '{name}', which is not recorded of a treatment."
            fix = did_you_mean(name, ("site", *strata)) or f"There are: {', '.join(('site', *strata))}."
            problems.append(Problem(toml.where("adjust_for", name, table="watch"), what, fix))
    return problems


def _stratum_keys(strata: Mapping[str, Stratum]) -> dict[str, Key]:
    """[groups] may group the values of each stratum of the field, under its own name."""
    return {
        id: Key(dict, f"name of a group -> the {s.title}s compared together", required=False)
        for id, s in strata.items()
    }


def _check_meanings(audit: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    """What headers and words of the spreadsheet stand for is said in words."""
    return [
        Problem(
            toml.where(name, table=f"audit.{table}"),
            f"'{name}' should be words in quotes; it is {said(meaning)}.",
            'Write it as "Header" = "bruising".',
        )
        for table in ("columns", "words")
        for name, meaning in audit.get(table, {}).items()
        if not isinstance(meaning, str)
    ]


def _check_rows(audit: Mapping[str, Any], toml: TomlText) -> list[Problem]:
    rows = audit.get("header_row", "")
    if header_rows(rows) is not None:
        return []
    what = f"'header_row' should be the number of a row, or two that follow; it is '{rows}'."
    return [Problem(toml.where("header_row", table="audit"), what, 'Write "3", or "2-3" for two lines.')]


def _check_groups(data: Mapping[str, Any], toml: TomlText, strata: Mapping[str, Stratum]) -> list[Problem]:
    problems = []
    for kind, groups in data.get("groups", {}).items():
        seen: dict[str, str] = {}
        for name, members in groups.items():
            if not isinstance(members, list) or not all(isinstance(m, str) for m in members):
                problems.append(Problem(toml.where(name), f"'{name}' should be a list of words."))
                continue
            for member in members:
                same = place(member) if kind == "sites" else member
                if same in seen:
                    what = f"'{member}' is in two groups, '{seen[same]}' and '{name}'."
                    problems.append(Problem(toml.where(name, member), what))
                if kind in strata and member not in strata[kind].values:
                    there = ", ".join(strata[kind].values)
                    what = f"there is no {strata[kind].title} '{member}'; use {there}."
                    problems.append(Problem(toml.where(name, member), what))
                seen[same] = name
    return problems
