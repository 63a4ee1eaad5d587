"""Rules with a condition: suitability.toml (may this be done at all?) and waits.toml (longer times)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from consentpack.conditions import BadCondition, parse
from consentpack.errors import Problem
from consentpack.model import STRENGTHS, SuitabilityRule, WaitRule
from consentpack.strict import Key, TomlText, named_tables

SUITABILITY_KEYS: Mapping[str, Key] = {
    "when": Key(str, "the condition under which the rule speaks"),
    "most": Key(dict, "a fact -> how many techniques with it one visit may hold", required=False),
    "strength": Key(str, "how it binds", allowed=STRENGTHS),
    "what": Key(str, "what the clinician should know, a sentence"),
    "why": Key(str, "what it rests on, with marks"),
    "sources": Key(list, "where it comes from", refers_to="sources"),
}


def suitability(text: str, *, file: str) -> tuple[dict[str, SuitabilityRule], list[Problem]]:
    """The rules by id, in the order of the file."""
    found, problems = named_tables(text, SUITABILITY_KEYS, file=file)
    toml = TomlText(file, text)
    problems += _unread(found, toml)
    for id, item in found.items():
        for fact, most in item.get("most", {}).items():
            if type(most) is not int or most < 1:
                what = f"'{fact}' of [{id}] should be a whole number of 1 or more."
                problems.append(Problem(toml.where("most", table=id), what))
    return {id: SuitabilityRule(id, **item) for id, item in found.items()}, problems


WAIT_KEYS: Mapping[str, Key] = {
    "when": Key(str, "the condition under which the time is longer"),
    "setting": Key(str, "the care setting that texts print"),
    "longer": Key(str, "the care setting whose time counts instead, if it is longer"),
    "why": Key(str, "what it rests on, with marks"),
    "sources": Key(list, "where it comes from", refers_to="sources"),
}


def waits(text: str, *, file: str) -> tuple[dict[str, WaitRule], list[Problem]]:
    """The longer times by id, in the order of the file."""
    found, problems = named_tables(text, WAIT_KEYS, file=file)
    problems += _unread(found, TomlText(file, text))
    return {id: WaitRule(id, **item) for id, item in found.items()}, problems


def _unread(found: Mapping[str, Mapping[str, Any]], toml: TomlText) -> list[Problem]:
    """Conditions that cannot be read."""
    problems = []
    for id, item in found.items():
        try:
            parse(item["when"])
        except BadCondition as error:
            problems.append(Problem(toml.where("when", table=id), f"the condition {error}."))
    return problems
