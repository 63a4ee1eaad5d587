"""What is wrong with the rules a clinic sets for its papers: reading, consent, length, care."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.clinic.keys import LENGTH_KEYS
from consentpack.errors import Problem, did_you_mean
from consentpack.model import CareSetting, ConsentRule, ReadingTarget
from consentpack.strict import TomlText, check_table, said


def check_reading(
    reading: Mapping[str, Any], toml: TomlText, known: Mapping[str, ReadingTarget]
) -> list[Problem]:
    """Every reading target must be a published one by name, or a grade above 0."""
    problems = []
    if "target" in reading and "target_grade" in reading:
        what = "'target' and 'target_grade' are both there; keep one."
        problems.append(Problem(toml.where("target_grade"), what))
    named = {"target": reading["target"]} if "target" in reading else {}
    for table in ("documents", "languages"):
        named |= reading.get(table, {})
    for name, chosen in named.items():
        if isinstance(chosen, str) and chosen not in known:
            fix = did_you_mean(chosen, known) or f"There are: {', '.join(known)}."
            problems.append(Problem(toml.where(name), f"there is no reading target '{chosen}'.", fix))
        elif not isinstance(chosen, str) and (type(chosen) not in (int, float) or not 0 < chosen < 20):
            what = (
                f"'{name}' should be a target's name in quotes, or a grade such as 6; it is {said(chosen)}."
            )
            problems.append(Problem(toml.where(name), what))
    return problems


def check_consent(
    consent: Mapping[str, Any], toml: TomlText, known: Mapping[str, ConsentRule]
) -> list[Problem]:
    """The named rule must exist, and the clinic may only be stricter than it."""
    rule = known.get(consent["rules"])
    if rule is None:
        fix = did_you_mean(consent["rules"], known) or f"There are: {', '.join(known)}."
        what = f"there is no rule '{consent['rules']}' about consent."
        return [Problem(toml.where("rules", table="consent"), what, fix)]
    problems = []
    for name, least in (("wait_days", rule.wait_days), ("minimum_age", rule.minimum_age)):
        if name in consent and consent[name] < least:
            what = f"'{name}' is {consent[name]}; {rule.where} asks for {least}."
            problems.append(Problem(toml.where(name, table="consent"), what, "It may be more, never less."))
    if rule.taken_by == "operator" and consent.get("taken_by") == "trained":
        what = f"'taken_by' is 'trained'; {rule.where} asks that whoever does the treatment takes consent."
        problems.append(Problem(toml.where("taken_by", table="consent"), what))
    return problems


def check_length(tables: Mapping[str, Any], toml: TomlText, known: Mapping[str, Any]) -> list[Problem]:
    """A limit of a misspelt document would limit nothing."""
    problems = []
    for kind, limits in tables.items():
        if kind not in known:
            fix = did_you_mean(kind, known) or f"There are: {', '.join(known)}."
            where = toml.where(f"length.{kind}")
            problems.append(Problem(where, f"there is no document '{kind}' whose length could be set.", fix))
        elif not isinstance(limits, dict):
            what = f"'{kind}' should be a table; it is {said(limits)}."
            problems.append(Problem(toml.where(kind, table="length"), what, f"Write [length.{kind}]."))
        else:
            problems += check_table(limits, LENGTH_KEYS, toml=toml, name=f"length.{kind}")
    return problems


def check_care(care: Any, toml: TomlText, known: Mapping[str, CareSetting]) -> list[Problem]:
    problems = []
    for name, value in care.items():
        if name not in known:
            fix = did_you_mean(name, known)
            problems.append(Problem(toml.where(name), f"there is no care setting '{name}'.", fix))
            continue
        setting = known[name]
        if type(value) is not int or not setting.lowest <= value <= setting.highest:
            what = (
                f"'{name}' should be from {setting.lowest} to {setting.highest} {setting.unit};"
                f" it is {said(value)}."
            )
            problems.append(Problem(toml.where(name), what, setting.why))
    return problems
