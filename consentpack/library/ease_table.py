"""familiarity.toml: what the score beside the grade is made of, and rare words that may stand unexplained."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from consentpack.errors import Problem, did_you_mean
from consentpack.model import EaseRules, Ingredient, TextKind
from consentpack.strict import Key, TomlText, check_table, load_toml

INGREDIENTS = ("familiarity", "unlisted", "longest", "ideas")
"""What can be counted. (A test holds this to the readability room's own table.)"""
INGREDIENT_KEYS: Mapping[str, Key] = {
    "name": Key(str, "what is counted, in words"),
    "weight": Key(float, "how much of the score it is"),
    "easy_when_high": Key(bool, "true where a high value is easy", required=False),
    "mean": Key(float, "its mean over the texts that set the scale"),
    "sd": Key(float, "their standard deviation"),
    "why": Key(str, "where the numbers come from"),
}
TEXT_KIND_KEYS: Mapping[str, Key] = {
    "name": Key(str, "the texts, in the plural"),
    "texts": Key(int, "how many were counted"),
    "why": Key(str, "where they come from"),
}
KNOWN_KEYS: Mapping[str, Key] = {
    "reason": Key(str, "why these rare words may stand unexplained"),
    "words": Key(list, "the words, in small letters"),
}
CUTS = 99
"""Percentiles of one kind of text."""
_TABLES = ("ingredients", "kinds", "known")


def ease_rules(text: str, *, file: str) -> tuple[EaseRules, list[Problem]]:
    """The rules of one file; what is wrong is left out and reported."""
    data, problems = load_toml(text, file=file)
    toml = TomlText(file, text)
    problems += [
        Problem(file, f"there is no table '{name}'.", did_you_mean(name, _TABLES))
        for name in data
        if name not in _TABLES
    ]
    ingredients = _ingredients(_named(data, "ingredients", toml, problems), toml, problems)
    kinds = _kinds(_named(data, "kinds", toml, problems), toml, problems)
    return EaseRules(ingredients, kinds, _known(data.get("known", []), toml, problems)), problems


def over(shipped: EaseRules, own: EaseRules) -> EaseRules:
    """The shipped rules with a clinic's own laid over them: its words beside ours."""
    return EaseRules(
        own.ingredients or shipped.ingredients,
        own.kinds or shipped.kinds,
        {**shipped.known, **own.known},
    )


def _named(
    data: Mapping[str, Any], name: str, toml: TomlText, problems: list[Problem]
) -> list[tuple[str, dict[str, Any]]]:
    """The tables below one, such as [kinds.school]."""
    table = data.get(name, {})
    if isinstance(table, dict) and all(isinstance(item, dict) for item in table.values()):
        return [(id, dict(item)) for id, item in table.items()]
    problems.append(Problem(toml.file, f"[{name}] should hold tables, such as [{name}.name]."))
    return []


def _ingredients(
    found: Iterable[tuple[str, dict[str, Any]]], toml: TomlText, problems: list[Problem]
) -> tuple[Ingredient, ...]:
    made = []
    for id, item in found:
        wrong = check_table(item, INGREDIENT_KEYS, toml=toml, name=f"ingredients.{id}")
        if id not in INGREDIENTS:
            fix = did_you_mean(id, INGREDIENTS) or f"Use: {', '.join(INGREDIENTS)}."
            wrong.append(Problem(toml.file, f"nothing counts '{id}'.", fix))
        problems += wrong
        if not wrong:
            sign = -1 if item.get("easy_when_high") else 1
            mean, sd = float(item["mean"]), float(item["sd"])
            made.append(Ingredient(id, item["name"], sign * float(item["weight"]), mean, sd, item["why"]))
    return tuple(made)


def _kinds(
    found: Iterable[tuple[str, dict[str, Any]]], toml: TomlText, problems: list[Problem]
) -> tuple[TextKind, ...]:
    made = []
    for id, item in found:
        cuts = item.pop("cuts", None)
        wrong = check_table(item, TEXT_KIND_KEYS, toml=toml, name=f"kinds.{id}")
        if not _are_cuts(cuts):
            what = f"'cuts' of [kinds.{id}] should be {CUTS} numbers, the lowest first."
            wrong.append(Problem(toml.file, what))
        problems += wrong
        if not wrong:
            made.append(TextKind(id, item["name"], item["texts"], tuple(map(float, cuts)), item["why"]))
    return tuple(made)


def _are_cuts(cuts: Any) -> bool:
    return (
        isinstance(cuts, list)
        and len(cuts) == CUTS
        and all(type(cut) in (int, float) for cut in cuts)
        and cuts == sorted(cuts)
    )


def _known(listed: Any, toml: TomlText, problems: list[Problem]) -> dict[str, str]:
    """Word -> reason. A word with two reasons is told, since one of them is not read."""
    if not isinstance(listed, list) or not all(isinstance(item, dict) for item in listed):
        problems.append(Problem(toml.file, "rare words that may stand are [[known]]s, in double brackets."))
        return {}
    found: dict[str, str] = {}
    for number, item in enumerate(listed, 1):
        wrong = check_table(item, KNOWN_KEYS, toml=toml, name="known")
        problems += [Problem(f"{toml.file}, known {number}", each.what, each.fix) for each in wrong]
        for word in [] if wrong else item["words"]:
            if word in found or word != word.lower():
                problems.append(Problem(toml.file, f"'{word}' is listed twice, or not in small letters."))
            found[word] = item["reason"]
    return found
